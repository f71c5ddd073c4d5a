package report

import (
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// reach emphasises the feed that a starved load would have had, from each
// conductor of the supply as far as that still gets, by the voltages, and says
// where it ends. A load that a sound machine does not feed either has none.
func (r namer) reach(d *schematic.Drawing, f *trace.Feed, sound, out *settle.Outcome) {
	if !f.Fed() {
		return
	}
	d.Live = make([]schematic.Feed, len(r.c.Branches()))
	d.Lost = make([]schematic.Feed, len(r.c.Branches()))
	for i := range f.Ends {
		e := &f.Ends[i]
		on := r.feedOf(e.Source)
		reached := true
		for _, h := range e.Hops {
			if reached && !r.reaches(e.Source, h.To, sound, out) {
				reached = false
				d.Breaks = append(d.Breaks, schematic.Break{Branch: h.Branch, Feed: on})
				d.Lost[h.Branch] = on
				continue
			}
			if reached {
				d.Live[h.Branch] = on
			} else {
				d.Lost[h.Branch] = on
			}
		}
	}
	if len(d.Breaks) == 0 {
		d.Live, d.Lost = nil, nil
	}
}

// reachedShare is the share of a leg's sound voltage that must be left at a
// terminal for the leg to count as getting there.
const reachedShare = 0.5

// reaches reports whether a conductor of the supply gets to a terminal: a leg
// is in step there, neutral holds it near no volts.
func (r namer) reaches(source circuit.BranchID, at circuit.TerminalID, sound, out *settle.Outcome) bool {
	good, _ := sound.AnyState.ToEarth(at)
	v, known := out.AnyState.ToEarth(at)
	if source == r.c.Supply().Neutral {
		return known && cmplx.Abs(v-good) < (1-reachedShare)*cmplx.Abs(r.c.Branch(r.c.Supply().Legs[0]).EMF)
	}
	return known && r.legOf(v) == r.c.Branch(source).Name && cmplx.Abs(v) >= reachedShare*cmplx.Abs(good)
}
