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
// exist.
type UnknownNameError struct {
	What, Name string
	candidates func() []string
	meant      string // another word for this one, where there is one
}

// Nearest returns the closest existing name, or "" when none is close. It is
// worked out when asked for, since a file may hold thousands of such errors.
func (e *UnknownNameError) Nearest() string {
	if e.meant != "" || e.candidates == nil {
		return e.meant
	}
	return Nearest(e.Name, e.candidates())
}

func (e *UnknownNameError) Error() string {
	s := fmt.Sprintf("unknown %s %q", e.What, e.Name)
	if near := e.Nearest(); near != "" {
		s += fmt.Sprintf(": did you mean %q?", near)
	}
	return s
}

// FindPart, FindWire, FindMode, FindTerminal and FindBranch look a name up.
// Where it is unknown the error names the nearest one that exists.
func (c *Circuit) FindPart(name string) (PartID, error) {
	return find(c.partByName, "part", name)
}

func (c *Circuit) FindWire(name string) (WireID, error) {
	return find(c.wireByName, "wire", name)
}

func (c *Circuit) FindMode(name string) (ModeID, error) {
	return find(c.modeByName, "mode", name)
}

func (c *Circuit) FindTerminal(ref string) (TerminalID, error) {
	return find(c.terminalByRef, "terminal", ref)
}

func (c *Circuit) FindBranch(ref string) (BranchID, error) {
	id, err := find(c.branchByRef, "part or wire", ref)
	part, known := c.partByName[ref]
	if err == nil || !known || len(c.parts[part].Branches) == 0 {
		return id, err
	}
	var refs []string
	for _, id := range c.parts[part].Branches {
		refs = append(refs, c.branches[id].Ref)
	}
	return None, fmt.Errorf("%q has several: %s", ref, strings.Join(refs, ", "))
}

// FindLoad looks a load up: a part with a single load, or "part.branch".
func (c *Circuit) FindLoad(ref string) (BranchID, error) {
	return find(c.loadByRef, "load", ref)
}

func find[ID ~int](names map[string]ID, what, name string) (ID, error) {
	id, err := lookUp(names, what, name)
	if err != nil {
		return None, err
	}
	return id, nil
}

// lookUp finds a name, or returns an error that can name the nearest one.
func lookUp[ID any](names map[string]ID, what, name string) (ID, error) {
	if id, ok := names[name]; ok {
		return id, nil
	}
	var none ID
	return none, &UnknownNameError{What: what, Name: name, candidates: func() []string { return sortedKeys(names) }}
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

// NearestHint asks whether the nearest candidate is meant; "" when none is close.
func NearestHint(name string, candidates []string) string {
	if near := Nearest(name, candidates); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return ""
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
	return UpperFirst(strings.ReplaceAll(name, "_", " "))
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// article puts "a" or "an" before a noun.
func article(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}
