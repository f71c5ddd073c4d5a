package complaints

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// expected is how a language tells what a meter should show, beside what it does.
type expected struct {
	// Be begin it: "should be", "spec"; Draw do where amps are told: "needs 3.2 to open the
	// valve"; Than do behind another figure: "120, not 240".
	Be, Draw, Than []string
	// About may stand before the figure and Tail behind it.
	About, Tail []string
	// Open and Closed are a contact as it should be, Stuck how one is called that is closed
	// and should not be.
	Open, Closed []string
	Stuck        string
}

// should leaves out what a meter should show: "1650 ohms, supposed to be about 1080". Of a
// contact it tells whether what was found is as it should be.
func (r *reader) should(words []raw) []raw {
	x := &r.l.Expected
	words = r.asCold(words)
	electric := slices.ContainsFunc(words, r.isElectric) || slices.ContainsFunc(words, func(w raw) bool {
		return slices.Contains(r.l.Meter.Measuring, w.word) || r.namesSensor(w.word)
	})
	for i := 0; i < len(words); i++ {
		from, to := i, 0
		for _, say := range []struct {
			phrases []string
			if_     func(int) bool
		}{
			{x.Be, func(at int) bool { return electric || r.isVolts(words, at) }},
			{x.Draw, func(at int) bool { return at < len(words) && tenths.MatchString(words[at].word) }},
			{x.Than, func(int) bool { return r.figured(words[:i]) }},
		} {
			for _, p := range say.phrases {
				f := strings.Fields(p)
				if end := i + len(f); len(f) < len(words)-i && end > to && startsWith(words[i:], f) && say.if_(r.skipAbout(words, end)) {
					to = end
				}
			}
		}
		if to == 0 {
			continue
		}
		at := r.skipAbout(words, to)
		end := at
		for end < len(words) && (isFigure(words[end].word) || r.isUnit(words[end].word) || end > at && slices.Contains(r.l.Meter.Through, words[end].word)) {
			end++
		}
		for end > at && !isFigure(words[end-1].word) && !r.isUnit(words[end-1].word) {
			end--
		}
		contact := end == at && at < len(words) && (slices.Contains(x.Open, words[at].word) || slices.Contains(x.Closed, words[at].word))
		if contact {
			end++
		}
		if end == at || end-at == 1 && !contact && !isFigure(words[at].word) {
			continue
		}
		if moved := r.insteadOf(words, from, at, end); moved != nil {
			words = moved
			continue
		}
		for end < len(words) && slices.Contains(x.Tail, words[end].word) {
			end++
		}
		if contact && slices.Contains(x.Open, words[at].word) {
			words = r.stuckInstead(words, from, end)
		} else {
			words = slices.Delete(words, from, end)
		}
		i = max(from-1, -1)
	}
	return words
}

// isUnit reports whether a word is a unit of anything.
func (r *reader) isUnit(w string) bool {
	return r.l.unitOf(w) != "" || slices.Contains(r.l.Clamp.Units, w)
}

// asCold leaves out, where a sensor was read, that it was cold as it was read: "ohms too high,
// cold oven".
func (r *reader) asCold(words []raw) []raw {
	if !slices.ContainsFunc(words, func(w raw) bool { return r.namesSensor(w.word) }) {
		return words
	}
	for from := 0; from < len(words); {
		to := r.l.clauseEnd(words, from)
		cold, other := false, false
		for _, w := range words[from:to] {
			noun := r.l.nounOf(r.l.alone(w.word))
			switch {
			case slices.Contains(r.l.Meter.Cold, w.word):
				cold = true
			case !r.l.skip[w.word] && !noun.Region && !r.l.alone(w.word).has(with):
				other = true
			}
		}
		if cold && !other && to-from > 1 && (from > 0 && words[from-1].mark == ',' || slices.Contains(r.l.Meter.Cold, words[from].word)) {
			words = slices.Delete(words, from, min(to+1, len(words)))
			continue
		}
		from = to + 1
	}
	return words
}

// skipAbout is where a figure stands behind the words that tell that it is about so much.
func (r *reader) skipAbout(words []raw, at int) int {
	for at < len(words) && slices.Contains(r.l.Expected.About, words[at].word) {
		at++
	}
	return at
}

// isVolts reports whether words begin with as many volts as the supply has, at some place.
func (r *reader) isVolts(words []raw, at int) bool {
	if at+1 >= len(words) || !slices.Contains(r.l.Meter.At, words[at+1].word) {
		return false
	}
	x, err := strconv.ParseFloat(words[at].word, 64)
	full := r.c.Supply().Volts
	return err == nil && (math.Abs(x-full) < full/8 || math.Abs(x-r.legVolts()) < full/8)
}

// figured reports whether the clause that words end in holds a figure.
func (r *reader) figured(words []raw) bool {
	for _, w := range slices.Backward(words) {
		if w.mark != 0 {
			return false
		}
		if isFigure(w.word) {
			return true
		}
	}
	return false
}

// namesSensor reports whether a word names what is read to tell heat.
func (r *reader) namesSensor(w string) bool {
	return slices.Contains(r.l.nounOf(r.l.alone(w)).Is, "kind:sensor")
}

// insteadOf puts where volts should be those that are there: "should have 240 at the element,
// got 0" is 0 volts at the element. It is nil where none are told.
func (r *reader) insteadOf(words []raw, from, at, end int) []raw {
	x, err := strconv.ParseFloat(words[at].word, 64)
	stop := r.l.clauseEnd(words, end)
	if err != nil || x < r.legVolts()*3/4 || x > r.c.Supply().Volts*1.2 || len(r.l.Meter.Volts) < 2 || stop >= len(words) || words[stop].mark == '.' || r.figured(words[:from]) ||
		stop-end < 2 || !slices.Contains(r.l.Meter.At, words[end].word) && r.l.unitOf(words[end].word) != "volts" {
		return nil
	}
	next := r.l.clauseEnd(words, stop+1)
	shown := slices.IndexFunc(words[stop+1:next], func(w raw) bool { return isFigure(w.word) || slices.Contains(r.l.Meter.Zero, w.word) })
	if shown < 0 {
		return nil
	}
	out := append(slices.Clone(words[:from]), words[stop+1+shown], raw{word: r.l.Meter.Volts[1]})
	return slices.Concat(out, words[end:stop], words[next:])
}

// stuckInstead takes out that a contact should be open, and makes of one that was found closed
// one that is stuck.
func (r *reader) stuckInstead(words []raw, from, end int) []raw {
	x := &r.l.Expected
	words = slices.Delete(words, from, end)
	stop := func(w raw) bool { return w.mark != 0 && w.mark != ',' }
	lo, hi := from, from
	for lo > 0 && !stop(words[lo-1]) {
		lo--
	}
	for hi < len(words) && !stop(words[hi]) {
		hi++
	}
	for i := hi - 1; i >= lo; i-- {
		if !slices.Contains(x.Closed, words[i].word) {
			continue
		}
		first := i
		for first > lo && slices.Contains(r.l.Meter.Measuring, words[first-1].word) {
			first--
		}
		return slices.Replace(words, first, i+1, split(x.Stuck)...)
	}
	return words
}
