package suspect

import (
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
)

// Mend is one repair that did not end the trouble: the branches that were
// replaced by it.
type Mend []circuit.BranchID

// stillBad is the chance that a fault outlives its repair: one new part in fifty
// is bad, or its joints are, and one in ten of those just as the old one was
// (common practice, no source).
const stillBad = 0.02 * 0.1

// at is a hypothesis as it stood after a number of repairs: what they took away
// is no longer there.
func (h *hypothesis) at(repairs int) *hypothesis {
	if h.gone == nil {
		return h
	}
	now := &hypothesis{logp: h.logp, bad: h.bad}
	for i, k := range h.classes {
		if h.gone[i] == 0 || int(h.gone[i]) > repairs {
			now.classes, now.cells = append(now.classes, k), append(now.cells, h.cells[i])
		}
	}
	return now
}

// id names what a hypothesis puts wrong, and until when, whatever its size.
func (h *hypothesis) id() string { return fmt.Sprint(h.classes, h.gone) }

// isGone reports whether a class of a hypothesis is no longer there after a
// number of repairs.
func (h *hypothesis) isGone(at, repairs int) bool {
	return h.gone != nil && h.gone[at] != 0 && int(h.gone[at]) <= repairs
}

// mend parts hypotheses by whether a repair took its part of them away. What was
// seen before it has been weighed with that part in place.
func (e *Engine) mend(hyps []hypothesis, m Mend, repair int) []hypothesis {
	out := make([]hypothesis, 0, len(hyps))
	for _, h := range hyps {
		as := []hypothesis{h}
		for i, k := range h.classes {
			if !e.touches(k, m) || h.gone != nil && h.gone[i] != 0 {
				continue
			}
			for n := range as {
				away := as[n]
				if away.gone = slices.Clone(away.gone); away.gone == nil {
					away.gone = make([]int32, len(away.classes))
				}
				away.gone[i] = int32(repair)
				away.logp += math.Log(1 - stillBad)
				as[n].logp += math.Log(stillBad)
				as = append(as, away)
			}
		}
		out = append(out, as...)
	}
	return out
}

func (e *Engine) touches(k int32, m Mend) bool {
	return slices.ContainsFunc(e.classes[k].Members[0].Faults, func(f circuit.Fault) bool { return slices.Contains(m, f.Branch) })
}

// since reports whether a piece of evidence was seen after the last repair.
func (e *Engine) since(ev Evidence) bool { return len(ev.Mended) == len(e.mends) }
