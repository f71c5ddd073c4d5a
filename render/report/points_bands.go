package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// row is what a step may read for one meaning: bad outcomes by number, the likeliest
// first.
type row struct {
	words string
	then  int // step to go on with, or None
	of    []int
}

// rows joins a step's bad outcomes. Steady readings beside each other that mean the same
// are one row, and rows meet half way between, or at the end of what is good, so that
// there is none for no reading. To where a sound machine reads open any other reading
// is one row: what touches may do so anywhere.
func (x *listing) rows(s *suspect.Step) []row {
	steady := func(k int) bool {
		r := s.Bad[k].Reading
		return s.Probing() && !r.OL && !r.Unsteady && !r.Jumps && !x.b.NearZero(r) && !noAmps(r) && !s.Bad[k].Dead
	}
	var out, bands []row
	for k, o := range s.Bad {
		r := row{x.words(s, o), o.Then, []int{k}}
		at := slices.IndexFunc(out, func(y row) bool { return y.words == r.words && y.then == r.then })
		switch {
		case steady(k):
			bands = append(bands, r)
		case at >= 0:
			out[at].of = append(out[at].of, k)
		default:
			out = append(out, r)
		}
	}
	low := func(r row) float64 { return s.Bad[r.of[0]].Reading.Low }
	high := func(r row) float64 { return s.Bad[r.of[len(r.of)-1]].Reading.High }
	slices.SortStableFunc(bands, func(a, b row) int { return cmp.Compare(low(a), low(b)) })
	good, open := s.Good.Reading, s.Good.Reading.OL
	none := math.Inf(-1) // where bands begin: above what is no volts, where that is a row or good
	if x.b.NearZero(good) {
		good.High = x.b.Nothing()
	} else if slices.ContainsFunc(s.Bad, func(o suspect.Shown) bool { return s.Probing() && x.b.NearZero(o.Reading) }) {
		none = x.b.Nothing()
	} else if slices.ContainsFunc(s.Bad, func(o suspect.Shown) bool { return s.Probing() && noAmps(o.Reading) }) {
		none = fewAmps
	}
	above := func(r row) bool { return !open && s.Bad[r.of[0]].Reading.Value > good.Value }
	var joined []row
	for _, b := range bands {
		if n := len(joined) - 1; n >= 0 && joined[n].then == b.then && above(joined[n]) == above(b) &&
			(open || x.anyOf(s.Bad[joined[n].of[0]].Any) == x.anyOf(s.Bad[b.of[0]].Any)) {
			joined[n].of = append(joined[n].of, b.of...)
			continue
		}
		joined = append(joined, b)
	}
	var ends []band
	for _, b := range joined {
		ends = append(ends, band{low(b), high(b), above(b)})
	}
	for i, words := range bandWords(ends, good, none) {
		joined[i].words = words
		slices.Sort(joined[i].of)
	}
	out = append(out, joined...)
	slices.SortStableFunc(out, func(a, b row) int { return cmp.Compare(slices.Min(a.of), slices.Min(b.of)) })
	return out
}

// band is a run of steady readings that mean one thing, above what is good or below.
type band struct {
	low, high float64
	above     bool
}

// fewAmps is what a clamp may show of nothing at all (common practice, no source).
const fewAmps = 0.2

// noAmps reports whether a clamp shows that nothing flows.
func noAmps(r meter.Reading) bool {
	return r.Function == meter.Amps && !r.Unsteady && !r.Jumps && r.High < fewAmps
}

// bandWords name bands, the lowest first, so that there is none for no reading: they
// meet half way between, or at the end of what is good, and begin at none.
func bandWords(bands []band, good meter.Reading, none float64) (out []string) {
	unit := " " + good.Function.Unit()
	for i, b := range bands {
		from, to := none, math.Inf(1)
		if i > 0 {
			from = (bands[i-1].high + b.low) / 2
		}
		if i < len(bands)-1 {
			to = (b.high + bands[i+1].low) / 2
		}
		if b.above && (i == 0 || !bands[i-1].above) {
			from = good.High
		} else if !good.OL && !b.above && (i == len(bands)-1 || bands[i+1].above) {
			to = good.Low
		}
		words := fmt.Sprintf("%s to %s%s", bandEnd(from), bandEnd(to), unit)
		switch {
		case good.OL && len(bands) == 1:
			words = "anything but OL"
		case math.IsInf(from, -1):
			words = fmt.Sprintf("below %s%s", bandEnd(to), unit)
		case math.IsInf(to, 1):
			words = fmt.Sprintf("above %s%s", bandEnd(from), unit)
			if good.Function == meter.Ohms {
				words += ", not OL"
			}
		}
		out = append(out, words)
	}
	return out
}

// bandEnd writes an end of a band; a fraction of an ohm to no more than a meter tells.
func bandEnd(v float64) string {
	if v < 1 {
		return fmt.Sprintf("%.1f", v)
	}
	return meter.Figure(v)
}
