package netlists

import (
	"strings"
)

// The concrete form of a file keeps what its meaning does not show: comments,
// blank lines, where a list was spread over lines, and where in the text each
// thing stands. It is only made of text that the parser has accepted.

// span is a stretch of text, by offsets.
type span struct{ at, end int }

// textLine is a line of a file, or the several that a spread value takes.
type textLine struct {
	span           // with its blanks and line end
	blank   bool   // a blank line stood above it
	header  string // "[parts]", if it opens a table
	key     string // if it gives a value
	pieces  []span // of the header or key
	value   *form
	comment string // with its #; alone on its line where there is nothing else
}

// form is a value as written.
type form struct {
	span
	text        string // of what has no brackets
	open, close string
	spread      bool   // over lines
	comment     string // right behind the opening bracket
	rows        []formRow
}

// formRow is what stands between two line ends within brackets.
type formRow struct {
	blank   bool
	items   []formItem
	comment string
}

type formItem struct {
	key    string // in a table
	pieces []span // of the key
	value  *form
}

// scanner reads the concrete form. Off the track it stops at the end.
type scanner struct {
	text   []byte
	at     int
	pieces []span // of the key read last
}

// textLines returns the lines of a file.
func textLines(text []byte) []textLine {
	s := &scanner{text: text}
	var out []textLine
	blank := false
	for {
		start := s.at
		s.space()
		if s.done() {
			return out
		}
		if s.take('\n') {
			blank = true
			continue
		}
		before := s.at
		l := textLine{span: span{at: start}, blank: blank}
		switch s.peek() {
		case '#':
		case '[':
			l.header = s.header()
			l.pieces = s.pieces
		default:
			l.key = s.key()
			l.pieces = s.pieces
			s.space()
			s.take('=')
			s.space()
			l.value = s.value()
		}
		s.space()
		l.comment = s.comment()
		s.take('\n')
		blank = false
		l.end = s.at
		out = append(out, l)
		if s.at == before {
			s.at = len(s.text) // never, in what the parser has accepted
		}
	}
}

func (s *scanner) done() bool { return s.at >= len(s.text) }

// peek returns the next byte, 0 at the end.
func (s *scanner) peek() byte {
	if s.done() {
		return 0
	}
	return s.text[s.at]
}

func (s *scanner) take(c byte) bool {
	if s.peek() != c {
		return false
	}
	s.at++
	return true
}

// space passes over blanks, the carriage return of a line end with them.
func (s *scanner) space() {
	for !s.done() && strings.IndexByte(" \t\r", s.peek()) >= 0 {
		s.at++
	}
}

// comment returns the rest of the line if it is a comment.
func (s *scanner) comment() string {
	if s.peek() != '#' {
		return ""
	}
	start := s.at
	for !s.done() && s.peek() != '\n' {
		s.at++
	}
	return strings.TrimRight(string(s.text[start:s.at]), " \t\r")
}

func (s *scanner) header() string {
	marks := 0
	for s.take('[') {
		marks++
		s.space()
	}
	key := s.key()
	s.space()
	for s.take(']') {
		s.space()
	}
	return strings.Repeat("[", marks) + key + strings.Repeat("]", marks)
}

// key returns a key, its pieces as written, the blanks between them left out.
func (s *scanner) key() string {
	var pieces []string
	s.pieces = nil
	for {
		s.space()
		start := s.at
		if c := s.peek(); c == '"' || c == '\'' {
			s.at += stringLength(s.text[s.at:], c)
		} else {
			for !s.done() && strings.IndexByte(" \t\r\n.=],{}[#", s.peek()) < 0 {
				s.at++
			}
		}
		pieces = append(pieces, string(s.text[start:s.at]))
		s.pieces = append(s.pieces, span{start, s.at})
		s.space()
		if !s.take('.') {
			return strings.Join(pieces, ".")
		}
	}
}

func (s *scanner) value() *form {
	start := s.at
	switch c := s.peek(); c {
	case '"', '\'':
		s.at += stringLength(s.text[s.at:], c)
		return &form{span: span{start, s.at}, text: string(s.text[start:s.at])}
	case '[':
		return s.brackets("[", "]")
	case '{':
		return s.brackets("{", "}")
	}
	for !s.done() && strings.IndexByte(",]}#\r\n", s.peek()) < 0 {
		s.at++
	}
	text := strings.TrimRight(string(s.text[start:s.at]), " \t")
	return &form{span: span{start, start + len(text)}, text: text}
}

// brackets reads an array or an inline table.
func (s *scanner) brackets(open, close string) *form {
	f := &form{span: span{at: s.at}, open: open, close: close}
	s.at++
	var row formRow
	blank, newline := false, false
	end := func() {
		if !newline && len(row.items) == 0 {
			f.comment, row.comment = row.comment, ""
		}
		if len(row.items) > 0 || row.comment != "" {
			row.blank = blank && len(f.rows) > 0
			f.rows = append(f.rows, row)
			blank = false
		} else if newline {
			blank = true
		}
		row = formRow{}
	}
	for !s.done() && !s.take(close[0]) {
		switch s.space(); s.peek() {
		case '\n':
			s.at++
			end()
			f.spread, newline = true, true
		case '#':
			row.comment = s.comment()
		case ',':
			s.at++
		case close[0]:
		default:
			before := s.at
			var item formItem
			if open == "{" {
				item.key = s.key()
				item.pieces = s.pieces
				s.space()
				s.take('=')
				s.space()
			}
			item.value = s.value()
			row.items = append(row.items, item)
			if s.at == before {
				s.at = len(s.text)
			}
		}
	}
	end()
	f.end = s.at
	return f
}
