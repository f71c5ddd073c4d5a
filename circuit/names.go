package circuit

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
)

// MaxName is the longest name, in bytes, of a part, terminal, wire or mode.
const MaxName = 64

// UnknownNameError is returned by the Find methods for a name that does not
// exist. Nearest is the closest existing one, empty when none is close.
type UnknownNameError struct {
	What, Name, Nearest string
}

func (e *UnknownNameError) Error() string {
	s := fmt.Sprintf("unknown %s %q", e.What, e.Name)
	if e.Nearest != "" {
		s += fmt.Sprintf(": did you mean %q?", e.Nearest)
	}
	return s
}

// Nearest returns the candidate closest to name by edit distance, or "" when
// more than a third of it would have to change.
func Nearest(name string, candidates []string) string {
	if len(name) > MaxName*3 {
		return ""
	}
	best, bestDistance := "", len(name)/3+2
	lower := strings.ToLower(name)
	for _, c := range candidates {
		if abs(len(c)-len(name)) >= bestDistance {
			continue
		}
		if d := levenshtein.ComputeDistance(lower, strings.ToLower(c)); d < bestDistance {
			best, bestDistance = c, d
		}
	}
	return best
}

// validName reports whether s may name a part, terminal, wire or mode.
func validName(s string) bool {
	if s == "" || len(s) > MaxName {
		return false
	}
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_', r == '-':
		default:
			return false
		}
	}
	return true
}

// printable reports whether free text is safe to show: no control characters
// but newline and tab, no bidirectional overrides.
func printable(s string) bool {
	for _, r := range s {
		if r == '\n' || r == '\t' {
			continue
		}
		if unicode.IsControl(r) || r == unicode.ReplacementChar ||
			unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029' {
			return false
		}
	}
	return true
}

// humanise makes a label from a name: "broil_relay" becomes "Broil relay".
func humanise(name string) string {
	s := strings.ReplaceAll(name, "_", " ")
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
