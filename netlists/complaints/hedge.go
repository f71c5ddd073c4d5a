package complaints

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// hedge is how a reading was told that is not plainly so much: "about 22 ohms", "OL, not
// sure", "jumps between 10 and OL", "measured again 22".
type hedge struct {
	unsure bool
	// ranges says that it lies between what is told and to, jumps that it does not stand
	// still there.
	ranges, jumps bool
	to            float64
	again         bool // it was read a second time
	repeated      bool // twice, as it is told
}

// answer writes a figure as it was told, for [visit.Note].
func (h hedge) answer(x float64) string {
	switch {
	case h.jumps:
		return fmt.Sprintf("jumps between %s and %s", amount(x), amount(h.to))
	case h.ranges:
		return fmt.Sprintf("%s to %s", amount(x), amount(h.to))
	case h.unsure && math.IsInf(x, 1):
		return amount(x) + ", not sure"
	case h.unsure:
		return "about " + amount(x)
	}
	return amount(x)
}

// hedged takes out of a clause that holds a reading what tells how sure it is.
func (l *Language) hedged(clause []raw) ([]raw, hedge) {
	m, h := &l.Meter, hedge{}
	end := func(i int) (x float64, ok bool) {
		switch {
		case i >= len(clause):
			return 0, false
		case isFigure(clause[i].word):
			x, _ = strconv.ParseFloat(clause[i].word, 64)
			return x, true
		case slices.Contains(m.Open, clause[i].word):
			return math.Inf(1), true
		}
		return 0, slices.Contains(m.Nought, clause[i].word)
	}
	at := slices.IndexFunc(clause, func(w raw) bool {
		return isFigure(w.word) || slices.Contains(m.Open, w.word) || slices.Contains(m.Nought, w.word)
	})
	if at < 0 {
		return clause, h
	}
	jumps := func(w raw) bool { return l.formOf(w.word, m.Jumps) }
	ranges := func(w raw) bool { return slices.Contains(m.Ranges, w.word) }
	low, _ := end(at)
	if high, two := end(at + 2); two && (clause[at+1].word == l.And || slices.Contains(m.Through, clause[at+1].word)) && slices.ContainsFunc(clause[:at], func(w raw) bool { return jumps(w) || ranges(w) }) {
		h.ranges, h.jumps, h.to = true, slices.ContainsFunc(clause, jumps), max(low, high)
		kept := slices.DeleteFunc(slices.Clone(clause[:at]), func(w raw) bool { return jumps(w) || ranges(w) })
		clause = slices.Concat(kept, []raw{{word: amount(min(low, high))}}, clause[at+3:])
	}
	for _, one := range []struct {
		says []string
		told *bool
	}{{m.Unsure, &h.unsure}, {m.Repeated, &h.again}} {
		for i := 0; i < len(clause); i++ {
			for n := l.says(clause[i:], one.says); n > 0 && n < len(clause); n = l.says(clause[i:], one.says) {
				clause, *one.told = slices.Delete(slices.Clone(clause), i, i+n), true
			}
		}
	}
	return clause, h
}

// says is how many words at the beginning are one of some phrases, the longest.
func (l *Language) says(words []raw, phrases []string) (most int) {
	for _, say := range phrases {
		if of := strings.Fields(say); len(of) > most && len(of) <= len(words) && startsWith(words, of) {
			most = len(of)
		}
	}
	return most
}

// doubts reports whether a clause says no more than that somebody is not sure of what was read,
// repeats that it was read a second time: "measured it twice".
func (l *Language) doubts(clause []raw) (doubts, repeats bool) {
	for len(clause) > 0 {
		n, more := l.says(clause, l.Meter.Unsure), l.says(clause, l.Meter.Repeated)
		doubts, repeats = doubts || n > 0, repeats || more > 0
		if t := l.alone(clause[0].word); max(n, more) == 0 && !t.has(pronoun) && !t.has(filler) && !slices.Contains(l.Meter.Measuring, clause[0].word) {
			return false, false
		}
		clause = clause[max(n, more, 1):]
	}
	return doubts, repeats
}
