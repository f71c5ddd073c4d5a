package desk

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"strings"

	"legtrace/circuit"
)

// saved is what the saved page carries along: the dictionary, and pieces of
// HTML for each mode.
type saved struct {
	*dictionary
	Drawings []string `json:"drawings"` // by mode
	// Cuts holds what stops the load that the mode is about, by mode.
	Cuts []string `json:"cuts"`
}

// Save writes the page as one file that asks for nothing from anywhere. The
// engine is not in it: a dictionary of every single fault in every mode is.
// Built for WebAssembly the engine has 6.6 MB, 1.8 MB packed, fifteen times the
// demo's dictionary, and would be a binary in the source that nobody can read
// and every change of the engine makes stale.
func Save(ctx context.Context, c *circuit.Circuit, name string) ([]byte, error) {
	b := newBench(c)
	x := b.resolve(State{}, "")
	v, err := b.show(x)
	if err != nil {
		return nil, err
	}
	v.File = name
	data := &saved{}
	if data.dictionary, err = b.dictionary(ctx); err != nil {
		return nil, err
	}
	t := templates()
	for _, m := range c.Modes() {
		drawing, cuts, err := b.savedMode(ctx, t, m.Name)
		if err != nil {
			return nil, err
		}
		data.Drawings, data.Cuts = append(data.Drawings, drawing), append(data.Cuts, cuts)
	}
	packed, err := pack(data)
	if err != nil {
		return nil, err
	}
	css, err := b.drawingStyle(ctx, x)
	if err != nil {
		css = nil // what cannot be drawn needs no style
	}
	var page bytes.Buffer
	if err := t.ExecuteTemplate(&page, "saved", v); err != nil {
		return nil, err
	}
	style := string(Asset("page.css")) + string(css)
	script := string(Asset("diagram.js")) + string(Asset("saved.js"))
	policy := fmt.Sprintf("default-src 'none'; style-src '%s'; script-src '%s'; img-src data:; base-uri 'none'; form-action 'none'", digest(style), digest(script))
	return []byte(strings.NewReplacer("@POLICY@", policy, "@STYLE@", style, "@SCRIPT@", script, "@DATA@", packed).Replace(page.String())), nil
}

// savedMode writes the drawing of a mode, and what stops its load.
func (b *bench) savedMode(ctx context.Context, t *template.Template, mode string) (drawing, cuts string, err error) {
	x := b.resolve(State{Mode: mode}, mode)
	v, err := b.show(x)
	if err != nil {
		return "", "", err
	}
	var out [2]bytes.Buffer
	for i, p := range pieces[1:3] {
		if err := p.fill(b, ctx, x, v); err != nil {
			return "", "", err
		}
		if err := t.ExecuteTemplate(&out[i], p.name, v); err != nil {
			return "", "", err
		}
	}
	return out[0].String(), out[1].String(), nil
}

// pack writes data as text that a page can hold.
func pack(data any) (string, error) {
	var w bytes.Buffer
	z, err := gzip.NewWriterLevel(&w, gzip.BestCompression)
	if err != nil {
		return "", err
	}
	if err := json.NewEncoder(z).Encode(data); err != nil {
		return "", err
	}
	if err := z.Close(); err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(w.Bytes()), nil
}

// digest names a style or script to the content policy.
func digest(s string) string {
	sum := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}
