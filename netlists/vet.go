package netlists

import (
	"bytes"
	"slices"
	"unicode/utf8"
)

// Bounds of what is read. They keep a hostile file from costing more than a
// moment.
const (
	// MaxBytes is the largest netlist that is read.
	MaxBytes = 1 << 20
	// MaxDepth is how deep brackets, and the pieces of a dotted key, may nest.
	MaxDepth = 64
)

// source is the text of one file with what is needed to tell positions.
type source struct {
	name  string
	text  []byte
	lines []int // where each line starts
	// runes counts the characters before each block of text, so that the
	// column of a place in a very long line is found quickly.
	runes []int
}

const runeBlock = 4096

// newSource vets a file's bytes: size, encoding, depth. It returns nil, and
// says why, if the file is not to be parsed.
func newSource(name string, text []byte, found *collector) *source {
	if len(text) > MaxBytes {
		found.fail(Position{File: name}, "", "a netlist of more than %d bytes is not read", MaxBytes)
		return nil
	}
	text = slices.Clone(bytes.TrimPrefix(text, []byte("\ufeff")))
	s := &source{name: name, text: slices.Clip(text), lines: []int{0}}
	count := 0
	for i, c := range s.text {
		if i%runeBlock == 0 {
			s.runes = append(s.runes, count)
		}
		if utf8.RuneStart(c) {
			count++
		}
		if c == '\n' {
			s.lines = append(s.lines, i+1)
		}
	}
	s.runes = append(s.runes, count)
	if i := firstInvalid(s.text); i >= 0 {
		found.fail(s.position(i), "save it as UTF-8", "the file is not UTF-8: byte %#02x", s.text[i])
		return nil
	}
	if i := firstTooDeep(s.text); i >= 0 {
		found.fail(s.position(i), "", "brackets or dotted keys nest more than %d deep", MaxDepth)
		return nil
	}
	return s
}

// position turns an offset into a position.
func (s *source) position(offset int) Position {
	line, exact := slices.BinarySearch(s.lines, offset)
	if !exact {
		line--
	}
	return Position{File: s.name, Line: line + 1, Column: s.runesBefore(offset) - s.runesBefore(s.lines[line]) + 1}
}

func (s *source) runesBefore(offset int) int {
	block := offset / runeBlock
	if block >= len(s.runes) {
		return s.runes[len(s.runes)-1]
	}
	n := s.runes[block]
	for _, c := range s.text[block*runeBlock : offset] {
		if utf8.RuneStart(c) {
			n++
		}
	}
	return n
}

func firstInvalid(text []byte) int {
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return -1
}

// firstTooDeep finds where nesting passes MaxDepth, so that no parser has to
// recurse into it. Up to the first syntax error it sees brackets, dots,
// strings and comments as a parser does; past that no parser reads on.
func firstTooDeep(text []byte) int {
	depth, dots := 0, 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '#':
			i += lengthTo(text[i:], "\n") - 1
			dots = 0
		case '"', '\'':
			i += stringLength(text[i:], c) - 1
		case '[', '{':
			depth++
			dots = 0
		case ']', '}':
			depth = max(depth-1, 0)
			dots = 0
		case '.':
			dots++
		case '\n', '=', ',':
			dots = 0
		}
		if depth > MaxDepth || dots >= MaxDepth {
			return min(i, len(text)-1)
		}
	}
	return -1
}

// lengthTo returns how far the text goes up to and including the end mark, or
// all of it.
func lengthTo(text []byte, end string) int {
	if i := bytes.Index(text, []byte(end)); i >= 0 {
		return i + len(end)
	}
	return len(text)
}

// stringLength returns the length of the string that text begins with.
func stringLength(text []byte, quote byte) int {
	mark := []byte{quote}
	if bytes.HasPrefix(text, []byte{quote, quote, quote}) {
		mark = []byte{quote, quote, quote}
	}
	for i := len(mark); i < len(text); i++ {
		switch {
		case text[i] == '\\' && quote == '"':
			i++
		case text[i] == '\n' && len(mark) == 1:
			return i // not closed: the parser will say so
		case bytes.HasPrefix(text[i:], mark):
			end := i + len(mark)
			// A multi-line string may end in one or two more quotes.
			for len(mark) == 3 && end < len(text) && end < i+5 && text[end] == quote {
				end++
			}
			return end
		}
	}
	return len(text)
}
