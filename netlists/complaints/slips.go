package complaints

import (
	"strings"

	"github.com/agnivade/levenshtein"
)

// near finds the word of the table that a slip of the pen stands for: one
// letter off in five, two in eight; of two as near the one in which more was left out,
// nothing where they are as long.
func (l *Language) near(w string) string {
	if len(w) < 5 {
		return ""
	}
	most := 1
	if len(w) >= 8 {
		most = 2
	}
	best, at, tie := most+1, "", false
	for _, have := range l.single {
		if have == at || have[0] != w[0] || len(have)-len(w) > most || len(w)-len(have) > most {
			continue
		}
		switch d := levenshtein.ComputeDistance(w, have); {
		case d < best, d == best && at != "" && len(have) > len(at) && len(have) > len(w):
			best, at, tie = d, have, false
		case d == best && (len(have) == len(at) || len(at) <= len(w)):
			tie = true
		}
	}
	if tie {
		return ""
	}
	return at
}

func singular(s string) string {
	switch {
	case strings.HasSuffix(s, "ss"), !strings.HasSuffix(s, "s"):
		return s
	}
	return strings.TrimSuffix(s, "s")
}
