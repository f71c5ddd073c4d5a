package visits

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// byteOrderMark may stand at a file's head, as some editors put it.
const byteOrderMark = "\ufeff"

// carry writes a visit with what a person has put into the file by hand: comments,
// blank lines, the order and the writing of what has not changed, the mark at the
// file's head and the ends of its lines. Where that does not read back as the
// visit, plain is written as it is.
func carry(old, plain []byte) []byte {
	text := strings.ReplaceAll(strings.TrimPrefix(string(old), byteOrderMark), "\r\n", "\n")
	was, now := sections(unframed(text)), sections(unframed(string(plain)))
	var b strings.Builder
	b.WriteString(firstLine)
	lost := "" // comments above what is no more
	for _, s := range now {
		i := slices.IndexFunc(was, func(o *section) bool { return o.name == s.name })
		if i < 0 {
			s.write(&b)
			continue
		}
		for _, gone := range was[:i] {
			lost += gone.remarks()
		}
		s.like(was[i])
		s.lead = lost + s.lead
		was, lost = was[i+1:], ""
		s.write(&b)
	}
	for _, gone := range was {
		lost += gone.remarks()
	}
	b.WriteString(lost + lastLine)
	out := []byte(b.String())
	if back, _, err := Decode("", out); err != nil {
		out = plain
	} else if again, err := Encode(*back); err != nil || !bytes.Equal(again, plain) {
		out = plain
	}
	if n := bytes.Count(old, []byte("\r\n")); n > 0 && 2*n >= bytes.Count(old, []byte("\n")) {
		out = bytes.ReplaceAll(out, []byte("\n"), []byte("\r\n"))
	}
	if bytes.HasPrefix(old, []byte(byteOrderMark)) {
		out = append([]byte(byteOrderMark), out...)
	}
	return out
}

// unframed leaves out the first and last line of a file of ours.
func unframed(text string) string {
	text, _ = strings.CutPrefix(text, firstLine)
	text = strings.TrimRight(text, "\n") + "\n"
	text, _ = strings.CutSuffix(text, lastLine)
	return text
}

// section is a table of a file: what stands above its header, the header, and its
// entries.
type section struct {
	name    string // the header and how many have stood before
	lead    string
	header  string // its line; empty for what stands before any
	entries []entry
}

// entry is a value, its line or lines with what stands above them; one of no key
// is what stands below the last.
type entry struct {
	key, lead, lines string
	value            any
}

// sections reads a file's text, which may not be sound.
func sections(text string) []*section {
	at := &section{}
	list := []*section{at}
	times := map[string]int{}
	lead := ""
	lines := strings.SplitAfter(text, "\n")
	for i := 0; i < len(lines); i++ {
		line := lines[i]
		trimmed := strings.TrimSpace(line)
		switch {
		case trimmed == "" || trimmed[0] == '#':
			lead += line
		case trimmed[0] == '[':
			header, _, _ := strings.Cut(trimmed, "#")
			header = strings.TrimSpace(header)
			times[header]++
			at = &section{name: fmt.Sprint(header, times[header]), lead: lead, header: line}
			list = append(list, at)
			lead = ""
		default:
			whole := line
			values := map[string]any{}
			for {
				values = map[string]any{}
				if _, err := toml.Decode(whole, &values); err == nil || i+1 >= len(lines) {
					break
				}
				i++
				whole += lines[i]
			}
			key, _, _ := strings.Cut(trimmed, "=")
			key = strings.Trim(strings.TrimSpace(key), `"'`)
			at.entries = append(at.entries, entry{key: key, lead: lead, lines: whole, value: values[key]})
			lead = ""
		}
	}
	if lead != "" {
		at.entries = append(at.entries, entry{lead: lead})
	}
	return list
}

// like writes a section as it was where it says the same.
func (s *section) like(was *section) {
	s.lead, s.header = was.lead, was.header
	fresh := s.entries
	s.entries = nil
	for _, o := range was.entries {
		i := slices.IndexFunc(fresh, func(e entry) bool { return e.key == o.key && e.key != "" })
		switch {
		case i < 0:
			if kept := comments(o.lead); kept != "" {
				s.entries = append(s.entries, entry{lead: kept})
			}
		case reflect.DeepEqual(fresh[i].value, o.value):
			s.entries = append(s.entries, o)
		default:
			s.entries = append(s.entries, entry{key: o.key, lead: o.lead, lines: fresh[i].lines, value: fresh[i].value})
		}
		if i >= 0 {
			fresh = slices.Delete(slices.Clone(fresh), i, i+1)
		}
	}
	for _, e := range fresh {
		if e.key != "" {
			s.entries = append(s.entries, e)
		}
	}
}

func (s *section) write(b *strings.Builder) {
	b.WriteString(s.lead + s.header)
	for _, e := range s.entries {
		b.WriteString(e.lead + e.lines)
	}
}

// remarks are the comments of a section that stand on lines of their own.
func (s *section) remarks() string {
	kept := comments(s.lead)
	for _, e := range s.entries {
		kept += comments(e.lead)
	}
	return kept
}

// comments leaves the comments of lines.
func comments(lines string) string {
	kept := ""
	for line := range strings.Lines(lines) {
		if strings.TrimSpace(line) != "" {
			kept += line
		}
	}
	return kept
}
