package netlists

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

// maxMended bounds how many slips of spelling a file may hold before no more
// are looked for: each costs another reading of the file.
const maxMended = 20

var (
	curly     = pattern(`[“”„‟‘’‚«»]`)
	keyBefore = pattern(`([A-Za-z0-9_-]+)["']?\s*=\s*$`)
	commaInIt = pattern(`=\s*(\d+(?:,\d+)+)\s*[,}\]#]?`)
	bareWord  = pattern(`^[A-Za-z0-9_.][A-Za-z0-9_./ +-]*$`)
)

// pattern is compiled when it is first wanted: most files never do.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// mend looks at what stands where the parser stopped. Where it is a slip that
// people make, such as a number with its unit or a curly quote, it says what
// would be right, and puts something of the same length in its place so that
// the rest of the file is read too.
func (p *parser) mend(text []byte, offset int) bool {
	start, end := lineAt(text, offset)
	line := text[start:end]
	for _, try := range []func(line []byte, start, offset int) bool{p.mendCurly, p.mendComma, p.mendBare} {
		if try(line, start, offset) {
			return true
		}
	}
	return false
}

func lineAt(text []byte, offset int) (start, end int) {
	start = 1 + bytes.LastIndexByte(text[:offset], '\n')
	if i := bytes.IndexByte(text[start:], '\n'); i >= 0 {
		return start, start + i
	}
	return start, len(text)
}

// mendCurly straightens the curly quotes of the text that begins where the
// parser stopped, or of one that does not end on its line.
func (p *parser) mendCurly(line []byte, start, offset int) bool {
	found := curly().FindAllIndex(line, -1)
	if found == nil {
		return false
	}
	i := slices.IndexFunc(found, func(at []int) bool { return at[0] == offset-start })
	if i < 0 {
		if i = len(found) - 1; bytes.Count(line[:found[i][0]], []byte{'"'})%2 == 0 {
			return false
		}
		straighten(line[found[i][0]:found[i][1]], false)
	} else {
		straighten(line[found[i][0]:found[i][1]], true)
		if i+1 < len(found) && !bytes.ContainsRune(line[found[i][1]:found[i+1][0]], '"') {
			straighten(line[found[i+1][0]:found[i+1][1]], false)
		}
	}
	at := p.src.text[start+found[i][0] : start+found[i][1]]
	p.found.fail(p.src.position(start+found[i][0]), `write " on both sides`, "%s is a curly quote, which TOML does not take for a quote", at)
	return true
}

// straighten writes a straight quote in the place of a curly one, with spaces
// on the outer side.
func straighten(at []byte, opening bool) {
	for i := range at {
		at[i] = ' '
	}
	if opening {
		at[len(at)-1] = '"'
	} else {
		at[0] = '"'
	}
}

// mendComma takes the commas out of a number such as 1,500.
func (p *parser) mendComma(line []byte, start, offset int) bool {
	for _, at := range commaInIt().FindAllSubmatchIndex(line, -1) {
		if offset < start+at[2] || offset > start+at[1] {
			continue
		}
		whole := string(line[at[2]:at[3]])
		p.found.fail(p.src.position(start+at[2]), "write "+plainNumber(whole), "%s: a number has no comma", whole)
		p.replace(line, start, at[2], at[3])
		return true
	}
	return false
}

// mendBare takes a word or a number with its unit that stands without quotes.
func (p *parser) mendBare(line []byte, start, offset int) bool {
	from := 1 + strings.LastIndexAny(string(line[:min(offset-start, len(line))]), "=[,{")
	for from < len(line) && line[from] == ' ' {
		from++
	}
	to := len(line)
	if i := strings.IndexAny(string(line[from:]), ",]}#\r"); i >= 0 {
		to = from + i
	}
	token := strings.TrimRight(string(line[from:to]), " \t")
	to = from + len(token)
	header := bytes.HasPrefix(bytes.TrimLeft(line, " \t"), []byte{'['})
	if from == 0 || header || token == "" || strings.ContainsAny(token, "=\"'") || p.isMended(start+from) {
		return false
	}
	key := ""
	if m := keyBefore().FindSubmatch(line[:from]); m != nil {
		key = string(m[1])
	}
	hint := meantHint(key, token)
	switch lower := strings.ToLower(token); {
	case hint != "":
	case lower == "true" || lower == "yes":
		hint = `write true, or with quotes if it is a name`
	case lower == "false" || lower == "no":
		hint = `write false, or with quotes if it is a name`
	case bareWord().MatchString(token) && utf8.ValidString(token):
		hint = fmt.Sprintf("write \"%s\", with quotes", token)
	default:
		return false
	}
	what := "found " + token + ", which is neither a number nor in quotes"
	if _, _, ok := meant(key, token); ok && strings.Trim(token, "0123456789.+-_") == "" {
		what = token + " is not how TOML writes a number"
	}
	if key != "" {
		what = key + ": " + what
	}
	p.found.fail(p.src.position(start+from), hint, "%s", what)
	p.replace(line, start, from, to)
	return true
}

// replace puts a number in the place of a value, to be passed over when the
// file is decoded.
func (p *parser) replace(line []byte, start, from, to int) {
	copy(line[from:to], "0"+strings.Repeat(" ", to-from-1))
	p.mended = append(p.mended, int32(start+from))
}

func (p *parser) isMended(at int) bool { return slices.Contains(p.mended, int32(at)) }
