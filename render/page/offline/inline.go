package offline

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"html"
	"regexp"
	"strings"

	"legtrace/render/page/desk"
)

// inliner takes into a page what the server sends beside it.
type inliner struct {
	text []byte
	// load reads what is at a path.
	load   func(path string) ([]byte, error)
	tail   bytes.Buffer // scripts and data, at the end of the page
	styled []string     // digests of what the page may use
	run    []string
}

// What the page's template writes of styles and scripts.
var (
	styleLink  = regexp.MustCompile(`<link rel="stylesheet" href="([^"]*)"([^>]*)>`)
	comments   = regexp.MustCompile(`(?s)/\*.*?\*/`) // of a style, which nobody reads in a saved page
	spaces     = regexp.MustCompile(`\s*([{};])\s+`)
	scriptLink = regexp.MustCompile(`<script src="([^"]*)"[^>]*></script>\n?`)
)

// instead are the assets that a saved page has others for.
var instead = map[string]string{"served.js": "assets/offline.js"}

const assetPath = "/assets/"

// assetAt reads one of the page's scripts and styles.
func assetAt(path string) ([]byte, bool) {
	name, ok := strings.CutPrefix(path, assetPath)
	if !ok {
		return nil, false
	}
	if own, ok := instead[name]; ok {
		return file(own), true
	}
	return desk.Asset(name), true
}

// styles puts every style where it is asked for.
func (in *inliner) styles() error {
	return in.each(styleLink, func(path, attributes string) (string, error) {
		style, err := in.inert(path, "</style")
		if err != nil {
			return "", err
		}
		style = spaces.ReplaceAll(comments.ReplaceAll(style, nil), []byte("$1"))
		in.styled = append(in.styled, digest(style))
		return fmt.Sprintf("<style%s>%s</style>", attributes, style), nil
	})
}

// scripts moves every script to the end of the page, where a script that is
// deferred runs.
func (in *inliner) scripts() error {
	return in.each(scriptLink, func(path, _ string) (string, error) {
		script, err := in.inert(path, "</script", "<!--")
		if err != nil {
			return "", err
		}
		script = lean(script)
		in.run = append(in.run, digest(script))
		fmt.Fprintf(&in.tail, "<script>%s</script>\n", script)
		return "", nil
	})
}

// each replaces what the page asks for.
func (in *inliner) each(link *regexp.Regexp, by func(path, attributes string) (string, error)) error {
	var errs []error
	in.text = link.ReplaceAllFunc(in.text, func(tag []byte) []byte {
		m := append(link.FindSubmatch(tag), nil)
		with, err := by(html.UnescapeString(string(m[1])), string(m[2]))
		errs = append(errs, err)
		return []byte(with)
	})
	return errors.Join(errs...)
}

// inert reads what is at a path, and refuses what would end its element early.
func (in *inliner) inert(path string, never ...string) ([]byte, error) {
	data, err := in.load(path)
	if err != nil {
		return nil, err
	}
	for _, s := range never {
		if bytes.Contains(bytes.ToLower(data), []byte(s)) {
			return nil, fmt.Errorf("%s has %q in it and cannot stand in a page", path, s)
		}
	}
	return data, nil
}

// data adds what is no script to a browser, for the scripts to read.
func (in *inliner) data(id, kind, text string) {
	fmt.Fprintf(&in.tail, "<script type=%q id=%q>%s</script>\n", kind, id, text)
}

// allow lets the page run a script that is not in it as one.
func (in *inliner) allow(script []byte) { in.run = append(in.run, digest(script)) }

// withoutScripts is said where nothing else of this page works.
const withoutScripts = `<noscript><p class="alert">Scripts are off, so the engine in this page cannot run. The page shows the machine as it was saved; nothing can be set, broken or measured.</p></noscript>`

// page is the whole page, with a policy that lets it use what is in it and ask
// for nothing.
func (in *inliner) page() ([]byte, error) {
	policy := fmt.Sprintf("default-src 'none'; style-src %s; script-src 'wasm-unsafe-eval' %s; worker-src blob:; img-src data:; connect-src 'none'; base-uri 'none'; form-action 'none'",
		strings.Join(in.styled, " "), strings.Join(in.run, " "))
	// Where scripts are off a link leads to this file again, not to its folder's.
	page := strings.ReplaceAll(string(in.text), `href="/?`, `href="?`)
	page = strings.Replace(page, "<body ", "<body data-saved ", 1)
	for _, put := range []struct{ at, it string }{ // before what
		{"<meta name=\"viewport\"", fmt.Sprintf("<meta http-equiv=\"Content-Security-Policy\" content=%q>\n", policy)},
		{"<header id=\"top\">", withoutScripts + "\n"},
		{"</body>", in.tail.String()},
	} {
		before, after, ok := strings.Cut(page, put.at)
		if !ok {
			return nil, fmt.Errorf("the page has no %q", put.at)
		}
		page = before + put.it + put.at + after
	}
	return []byte(page), nil
}

// digest names a style or script to the content policy.
func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
