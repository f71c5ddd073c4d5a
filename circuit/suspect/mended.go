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

// stay tells which repair brought a fault, and which took it away, from 1; 0: none.
type stay struct{ came, gone int }

// at is a hypothesis as it stood after a number of repairs: what they took away
// is no longer there.
func (h *hypothesis) at(repairs int) *hypothesis {
	if h.stays == nil {
		return h
	}
	now := &hypothesis{logp: h.logp, bad: h.bad}
	for i, k := range h.classes {
		if !h.isGone(i, repairs) {
			now.classes, now.cells = append(now.classes, k), append(now.cells, h.cells[i])
		}
	}
	return now
}

// id names what a hypothesis puts wrong, and until when, whatever its size.
func (h *hypothesis) id() string { return string(h.key(nil)) }

// key appends that to what there is.
func (h *hypothesis) key(to []byte) []byte {
	if to = appendNumbers(to, h.classes); h.stays != nil {
		to = fmt.Append(to, h.stays)
	}
	return to
}

// isGone reports whether a class of a hypothesis is no longer there, or not yet,
// after a number of repairs.
func (h *hypothesis) isGone(at, repairs int) bool {
	if h.stays == nil {
		return false
	}
	s := h.stays[at]
	return s.came > repairs || s.gone > 0 && s.gone <= repairs
}

// mend parts hypotheses by whether a repair took its part of them away. What was
// seen before it has been weighed with that part in place.
func (e *Engine) mend(hyps []hypothesis, m Mend, repair int) []hypothesis {
	out := make([]hypothesis, 0, len(hyps))
	for _, h := range hyps {
		as := []hypothesis{h}
		for i, k := range h.classes {
			if !e.touches(k, m) || h.stays != nil && h.stays[i].gone > 0 {
				continue
			}
			for n := range as {
				away := as[n]
				if away.stays = slices.Clone(away.stays); away.stays == nil {
					away.stays = make([]stay, len(away.classes))
				}
				away.stays[i].gone = repair
				away.logp += math.Log(1 - stillBad)
				as[n].logp += math.Log(stillBad)
				as = append(as, away)
			}
		}
		out = append(out, as...)
	}
	return out
}

// rewired are the parts whose wires a repair had off; of a wire that was replaced
// only its own ends were.
func (m Mend) rewired(c *circuit.Circuit) []circuit.PartID {
	var out []circuit.PartID
	for _, id := range m {
		if b := c.Branch(id); b.Wire == circuit.None && b.Part != circuit.None && b.Role != circuit.Source && !slices.Contains(out, b.Part) {
			out = append(out, b.Part)
		}
	}
	return out
}

// Chances of what a repair does to the wires that it had off (common practice, no
// source); rewiredFrom is the weight beside the likeliest hypothesis's from which
// it is thought of.
const (
	leftOff     = 0.02 // an end left off, or not pushed home
	wiredWrong  = 0.01 // two crossed, one on another terminal, a strap
	broughtElse = 0.02 // anything else: a wire pulled on the way, another part that gives up
	rewiredFrom = 1e-3
)

// rewire adds, to hypotheses whose fault the last repair took away, what it may
// have brought: wires of the part crossed, on another terminal or left off, a strap
// on or off.
func (e *Engine) rewire() {
	repair := len(e.mends)
	brought := e.brought(e.mends[repair-1])
	best := math.Inf(-1)
	for _, h := range e.hyps {
		best = max(best, h.logp)
	}
	for i := range e.hyps[:len(e.hyps):len(e.hyps)] {
		h := &e.hyps[i]
		if h.logp < best+math.Log(rewiredFrom) || !slices.ContainsFunc(h.stays, func(s stay) bool { return s.gone == repair }) {
			continue
		}
		all := 0.0
		for _, b := range brought {
			if at, had := slices.BinarySearch(h.classes, b.class); !had {
				more := hypothesis{classes: slices.Insert(slices.Clone(h.classes), at, b.class), cells: slices.Insert(slices.Clone(h.cells), at, usual),
					stays: slices.Insert(slices.Clone(h.stays), at, stay{came: repair}), logp: h.logp + math.Log(b.chance), bad: h.bad}
				e.hyps, all = append(e.hyps, more), all+b.chance
				h = &e.hyps[i]
			}
		}
		h.logp += math.Log1p(-all)
	}
}

// harm is what a repair may do, with its chance.
type harm struct {
	class  int32
	chance float64
}

// brought lists what a repair may have done to the wires that it had off, and what may
// have come beside it.
func (e *Engine) brought(m Mend) []harm {
	var off, wrong, other []harm
	for k := range e.classes {
		if !e.classes[k].common {
			other = append(other, harm{int32(k), e.classes[k].Prior})
		}
	}
	for _, id := range m.rewired(e.c) {
		var ends []circuit.BranchID
		for _, t := range e.c.Part(id).Terminals {
			for _, w := range e.c.Terminal(t).Wires {
				ends = append(ends, e.c.Wire(w).Branch)
			}
		}
		for k := range e.classes {
			one := e.classes[k].Members[0]
			switch {
			case one.wiring && one.Part == e.c.Part(id).Name:
				wrong = append(wrong, harm{int32(k), one.Prior})
			case one.Faults[0].Kind == circuit.Open && !e.classes[k].common && slices.ContainsFunc(e.classes[k].Members, func(m Cause) bool { return slices.Contains(ends, m.Faults[0].Branch) }):
				off = append(off, harm{int32(k), 1})
			}
		}
	}
	return slices.Concat(shared(off, leftOff), shared(wrong, wiredWrong), shared(other, broughtElse))
}

// shared makes chances come to so much together.
func shared(all []harm, chance float64) []harm {
	total := 0.0
	for _, h := range all {
		total += h.chance
	}
	for i := range all {
		all[i].chance *= chance / total
	}
	return all
}

func (e *Engine) touches(k int32, m Mend) bool {
	return slices.ContainsFunc(e.classes[k].Members[0].Faults, func(f circuit.Fault) bool { return slices.Contains(m, f.Branch) })
}

// since reports whether a piece of evidence was seen after the last repair.
func (e *Engine) since(ev Evidence) bool { return len(ev.Mended) == len(e.mends) }
