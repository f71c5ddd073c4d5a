package describe

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/netlists"
)

// maxLine is the longest line taken, in bytes.
const maxLine = 4096

// split parts a line into words. What is in quotes or in brackets is one word; an
// @ takes all that follows it.
func split(line string) ([]string, error) {
	if len(line) > maxLine {
		return nil, fmt.Errorf("a line has at most %d bytes", maxLine)
	}
	var out []string
	for rest := strings.TrimSpace(line); rest != ""; rest = strings.TrimSpace(rest) {
		end := 0
		switch {
		case rest[0] == '@':
			end = len(rest)
			if i := strings.IndexByte(rest, '"'); i == 1 {
				end = closing(rest, 1)
			}
		case rest[0] == '"':
			end = closing(rest, 0)
		default:
			depth := 0
			for end < len(rest) && (depth > 0 || rest[end] != ' ' && rest[end] != '\t') {
				switch rest[end] {
				case '(':
					depth++
				case ')':
					depth--
				case '"':
					end = closing(rest, end) - 1
				}
				end++
			}
			if depth > 0 {
				return nil, fmt.Errorf("a bracket ( is not closed in %q", rest)
			}
		}
		out = append(out, rest[:end])
		rest = rest[end:]
	}
	return out, nil
}

// closing is behind the quote that closes the one at an offset. A quote by
// itself, the ditto mark, closes nothing.
func closing(s string, at int) int {
	if at+1 >= len(s) || s[at+1] == ' ' {
		return at + 1
	}
	if i := strings.IndexByte(s[at+1:], '"'); i >= 0 {
		return at + 2 + i
	}
	return len(s)
}

// plain takes the quotes off.
func plain(word string) string {
	return strings.TrimSpace(strings.Trim(strings.TrimSpace(word), `"`))
}

func quoted(word string) bool { return len(word) > 2 && word[0] == '"' }

// pick finds the one name that a word stands for: the name itself, the only one
// that begins so, or else the only one whose words all begin so, in order.
func pick(what, word string, names []string) (string, error) {
	if slices.Contains(names, word) {
		return word, nil
	}
	var words, starts []string
	lower := strings.ToLower(word)
	for _, name := range names {
		switch n := strings.ToLower(name); {
		case n == lower:
			return name, nil
		case lower == "":
		case strings.HasPrefix(n, lower):
			starts = append(starts, name)
		case initials(lower, n):
			words = append(words, name)
		}
	}
	for _, list := range [][]string{starts, words} {
		if len(list) == 1 {
			return list[0], nil
		}
	}
	if either := append(starts, words...); len(either) > 0 {
		return "", fmt.Errorf("%s %q may be %s: one letter more", what, word, strings.Join(either, ", "))
	}
	return "", &notThere{what, word, circuit.Nearest(word, names), names}
}

// notThere is the error of a name that nothing goes by.
type notThere struct {
	what, word, near string
	have             []string
}

func (n *notThere) Error() string {
	switch {
	case n.near != "":
		return fmt.Sprintf("no %s %q: did you mean %q?", n.what, n.word, n.near)
	case len(n.have) > 0 && len(n.have) <= 12:
		return fmt.Sprintf("no %s %q: there are %s", n.what, n.word, strings.Join(n.have, ", "))
	}
	return fmt.Sprintf("no %s %q", n.what, n.word)
}

// initials reports whether a word is made of the beginnings of all the words of a
// name.
func initials(word, name string) bool {
	head, rest, more := strings.Cut(strings.ReplaceAll(name, "-", "_"), "_")
	if !more {
		return strings.HasPrefix(head, word)
	}
	for n := 1; n < len(word) && n <= len(head) && word[:n] == head[:n]; n++ {
		if initials(word[n:], rest) {
			return true
		}
	}
	return false
}

func checkName(name string) error {
	for _, r := range name {
		if (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '_' && r != '-' {
			return fmt.Errorf("%q cannot be a name: letters, digits, '_' and '-'", name)
		}
	}
	if name == "" || len(name) > circuit.MaxName {
		return fmt.Errorf("a name has 1 to %d letters", circuit.MaxName)
	}
	return nil
}

// joined puts a figure and its unit together where a blank stands between them.
func joined(words []string) []string {
	var out []string
	for _, w := range words {
		if len(out) > 0 {
			last := out[len(out)-1]
			if _, of, ok := netlists.Measure(last); ok && of == "" {
				if _, of, ok := netlists.Measure(last + w); ok && of != "" && (w[0] < '0' || w[0] > '9') {
					out[len(out)-1] = last + w
					continue
				}
			}
		}
		out = append(out, w)
	}
	return out
}

// List is the machine as lines: its parts, wires, modes and test points.
func List(spec circuit.Spec) []string {
	var out []string
	for _, p := range spec.Parts {
		out = append(out, p.Name+": "+tellPart(p))
	}
	for _, w := range (&draft{spec: spec}).wires() {
		out = append(out, tellWire(w))
	}
	for _, m := range spec.Modes {
		out = append(out, "mode "+m.Name+tellMode(m))
	}
	for _, p := range spec.Points {
		out = append(out, fmt.Sprintf("point %s at %s", p.Name, p.At))
	}
	return out
}

// pattern is compiled when it is first wanted: whoever writes no machine down starts
// without it.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}
