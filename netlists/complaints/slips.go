package complaints

import (
	"cmp"
	"legtrace/circuit/visit"
	"maps"
	"regexp"
	"slices"
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

// perhaps puts words that were not understood right where they are slips too small or
// too far off to be read so unasked, "heet" for "heat": by that with which most is
// understood, the nearest of those.
func (in *Listener) perhaps(h *Heard, sentence string, before []visit.Note) {
	const most, tries = 4, 6 // words, and what may be meant by each
	least, told := len(h.Unknown), len(h.Statements)
	for _, w := range h.Unknown[:min(most, len(h.Unknown))] {
		near := in.l.nearest(fold(w), in.machine)
		better, as := sentence, ""
		there := regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(w) + `\b`)
		for _, meant := range near[:min(tries, len(near))] {
			said := there.ReplaceAllLiteralString(sentence, meant)
			_, anew, _ := in.Complaint(said, before...)
			if left, n := len(anew.Unknown), len(anew.Statements); left < least || left == least && as != "" && n > told {
				better, as, least, told = said, meant, left, n
			}
		}
		if as != "" {
			sentence = better
			h.Perhaps, h.Slips = better, append(h.Slips, [2]string{w, as})
		}
	}
}

// nearest lists words of the table and the machine that one may stand for, the
// nearest first, of those as near the ones that begin as it does: one letter off in
// three, or all of its letters in another order.
func (l *Language) nearest(w string, own *vocabulary) []string {
	if len(w) < 4 || l.vocabulary[w] || l.ordinary[w] || own.words[w] {
		return nil
	}
	letters := func(s string) string { r := []rune(s); slices.Sort(r); return string(r) }
	off := map[string]int{}
	for _, words := range []map[string]bool{l.vocabulary, own.words} {
		for have := range words {
			if l.ordinary[have] {
				continue
			}
			d := levenshtein.ComputeDistance(w, have)
			if letters(w) == letters(have) {
				d = 1
			}
			if d <= len(w)/3 && len(have) >= 3 {
				off[have] = d
			}
		}
	}
	begins := func(s string) int {
		if s[0] == w[0] {
			return 0
		}
		return 1
	}
	return slices.SortedFunc(maps.Keys(off), func(a, b string) int {
		return cmp.Or(cmp.Compare(off[a], off[b]), cmp.Compare(begins(a), begins(b)), strings.Compare(a, b))
	})
}

func singular(s string) string {
	switch {
	case strings.HasSuffix(s, "ss"), !strings.HasSuffix(s, "s"):
		return s
	case strings.HasSuffix(s, "tches"), strings.HasSuffix(s, "xes"): // "switches"
		return strings.TrimSuffix(s, "es")
	}
	return strings.TrimSuffix(s, "s")
}
