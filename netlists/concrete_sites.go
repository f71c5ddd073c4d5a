package netlists

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// site is a place where a text says something: a header, a key with its value,
// or an item of an array.
type site struct {
	path   []string // an item of an array as "[0]"
	line   int      // of the text's lines
	pieces []span   // of the header or key; none of an array's item
	value  *form    // none of a header
	in     *form    // the brackets that it stands in; none on a line of its own
	item   int      // which of those within the brackets
}

// sites lists what lines say, in the order of the text.
func sites(lines []textLine, text []byte) []site {
	var out []site
	var section []string
	tables := map[string]int{} // of [[name]], how many there were
	for i, l := range lines {
		switch {
		case l.header != "":
			section = names(l.pieces, text)
			if strings.HasPrefix(l.header, "[[") {
				key := strings.Join(section, "\x00")
				section = append(section, fmt.Sprintf("[%d]", tables[key]))
				tables[key]++
			}
			out = append(out, site{path: section, line: i, pieces: l.pieces})
		case l.value != nil:
			at := site{path: join(section, names(l.pieces, text)...), line: i, pieces: l.pieces, value: l.value}
			out = within(append(out, at), at, text)
		}
	}
	return out
}

// within adds what stands within a value's brackets.
func within(out []site, of site, text []byte) []site {
	for i, item := range of.value.items() {
		at := site{line: of.line, pieces: item.pieces, value: item.value, in: of.value, item: i}
		if of.value.open == "{" {
			at.path = join(of.path, names(item.pieces, text)...)
		} else {
			at.path = join(of.path, fmt.Sprintf("[%d]", i))
		}
		out = within(append(out, at), at, text)
	}
	return out
}

// items lists what stands within brackets, over all rows.
func (f *form) items() []formItem {
	var out []formItem
	for _, row := range f.rows {
		out = append(out, row.items...)
	}
	return out
}

// start is where an item begins, with its key.
func (i formItem) start() int {
	if len(i.pieces) > 0 {
		return i.pieces[0].at
	}
	return i.value.at
}

// comments lists those within the brackets of a value.
func (f *form) comments() []string {
	var out []string
	if f.comment != "" {
		out = append(out, f.comment)
	}
	for _, row := range f.rows {
		for _, item := range row.items {
			out = append(out, item.value.comments()...)
		}
		if row.comment != "" {
			out = append(out, row.comment)
		}
	}
	return out
}

func join(path []string, more ...string) []string { return append(slices.Clip(path), more...) }

func names(pieces []span, text []byte) []string {
	var out []string
	for _, p := range pieces {
		out = append(out, unquote(string(text[p.at:p.end])))
	}
	return out
}

// unquote is what a key or a string on one line stands for.
func unquote(s string) string {
	switch {
	case len(s) >= 2 && s[0] == '\'':
		return s[1 : len(s)-1]
	case len(s) >= 2 && s[0] == '"':
		if plain, err := strconv.Unquote(s); err == nil {
			return plain
		}
	}
	return s
}

// str is the text that a value gives; not ok where it is none.
func (f *form) str() (s string, ok bool) {
	if f == nil || f.open != "" || f.text == "" || f.text[0] != '"' && f.text[0] != '\'' {
		return "", false
	}
	return unquote(f.text), true
}

// change is a stretch of text and what is to stand there instead.
type change struct {
	span
	with string
}

// splice makes changes; of two that take out the same, each does what it can.
func splice(text []byte, changes []change) []byte {
	slices.SortStableFunc(changes, func(a, b change) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(b.end, a.end))
	})
	var out bytes.Buffer
	done := 0
	for _, c := range changes {
		if c.end < done || c.end == done && c.at < done {
			continue // within what is gone
		}
		c.at = max(c.at, done)
		out.Write(text[done:c.at])
		out.WriteString(c.with)
		done = c.end
	}
	out.Write(text[done:])
	return out.Bytes()
}
