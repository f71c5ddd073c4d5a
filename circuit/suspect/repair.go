package suspect

import (
	"cmp"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// PartNotes are what a netlist says of some parts, each note once.
func PartNotes(c *circuit.Circuit, ids ...circuit.PartID) []string {
	var out []string
	for _, id := range ids {
		if id == circuit.None {
			continue
		}
		if note := c.Part(id).Spec.Note; note != "" && !slices.Contains(out, note) {
			out = append(out, note)
		}
	}
	return out
}

// notesOf are what it says of the parts of some causes.
func notesOf(c *circuit.Circuit, causes []Class) []string {
	var ids []circuit.PartID
	for _, k := range causes {
		for _, f := range k.Members[0].Faults {
			ids = append(ids, c.Branch(f.Branch).Part)
		}
	}
	return PartNotes(c, ids...)
}

// repair is what a proof is of.
type repair struct {
	// failed are the modes in which something was wrong, idle of them those in which
	// the fault mended would not show, others those besides in which it would, the
	// easiest brought about first.
	failed, idle, others []circuit.ModeID
	// bad are the loads that misbehaved, or do by the fault.
	bad map[circuit.BranchID]bool
}

// repairOf tells what the mending of some classes should have changed.
func (e *Engine) repairOf(mended []Class) repair {
	r := repair{bad: e.badLoads()}
	var faults []circuit.Fault
	for _, k := range mended {
		faults = append(faults, k.Members[0].Faults...)
	}
	bad := e.badModes()
	most := map[circuit.ModeID]int{}
	for i := range e.c.Modes() {
		mode := circuit.ModeID(i)
		loads := e.shows(mode, faults)
		most[mode] = len(loads)
		for _, id := range loads {
			r.bad[id] = true
		}
		if len(loads) > 0 && !slices.Contains(bad, mode) && e.c.Mode(mode).Reached != circuit.NotAtWill {
			r.others = append(r.others, mode)
		}
	}
	for _, mode := range bad {
		if most[mode] > 0 {
			r.failed = append(r.failed, mode)
		} else {
			r.idle = append(r.idle, mode)
		}
	}
	slices.SortStableFunc(r.others, func(x, y circuit.ModeID) int {
		return cmp.Or(cmp.Compare(e.c.Mode(x).Reached, e.c.Mode(y).Reached), cmp.Compare(most[y], most[x]))
	})
	return r
}

// shows lists the loads that are noticed and that faults let behave otherwise in a mode.
func (e *Engine) shows(mode circuit.ModeID, faults []circuit.Fault) (out []circuit.BranchID) {
	sound, err := e.sound(mode)
	if err != nil {
		return nil
	}
	with, err := e.workers[0].live(mode, faults)
	if err != nil {
		return nil
	}
	for _, load := range seenLoads(e.c) {
		if noticed(e.c, load) && circuit.JudgeLoad(with, sound, load) != circuit.JudgeLoad(sound, sound, load) {
			out = append(out, load)
		}
	}
	return out
}

// beforePower are the readings to take before power is put on: of the loads whose short
// may have made the fault, each to itself and to metal, but for what was read so.
func (e *Engine) beforePower(makers []Maker) (out []Test) {
	for _, m := range makers {
		if m.Load == circuit.None || !e.c.Part(e.c.Branch(m.Load).Part).Kind.Heats() || !probeable(e.c, e.c.Branch(m.Load)) {
			continue
		}
		for _, must := range e.ofHeater(m.Load) {
			if !slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return e.since(ev) && sameReading(ev.Reading, must.Test) }) {
				out = append(out, must.Test)
			}
		}
	}
	return out
}

// sameReading reports whether a reading is of a test with the supply removed, whichever
// way round its probes were.
func sameReading(o *Observation, t Test) bool {
	if o == nil || o.Probes.Function != t.Probes.Function || !slices.Equal(o.Lift, t.Lift) {
		return false
	}
	return o.Probes.P == t.Probes.P && o.Probes.Q == t.Probes.Q || o.Probes.P == t.Probes.Q && o.Probes.Q == t.Probes.P
}

// Clamp is what a load draws, read around its own wire.
type Clamp struct {
	Load    circuit.BranchID
	Probes  meter.Probes
	Reading meter.Reading
}

// Hidden are the clamp readings of the heaters that work in a mode and lie behind
// what is screwed on: nobody sees them glow, and what is felt may be one beside them.
func (e *Engine) Hidden(mode circuit.ModeID, loads []circuit.BranchID) (out []Clamp) {
	sound, err := e.sound(mode)
	if err != nil {
		return nil
	}
	for _, id := range loads {
		b := e.c.Branch(id)
		if p := e.c.Part(b.Part); !p.Kind.Heats() || b.Watts < clampAmps*b.Volts || !e.screwedOn(p.Place) || sound.LeastShare(id) < circuit.OnShare {
			continue
		}
		if p, ok := e.clampAt(b); ok {
			if r, _, err := e.workers[0].reading(p, mode, nil, nil); err == nil {
				out = append(out, Clamp{id, p, r})
			}
		}
	}
	return out
}

// byHand is the most minutes that what is lifted without a tool takes: a lid, a drawer
// (common practice, no source).
const byHand = 1

// screwedOn reports whether what stands before a place takes a tool.
func (e *Engine) screwedOn(place string) bool {
	return slices.ContainsFunc(e.c.PanelsTo(place), func(id circuit.PanelID) bool { return e.c.Panels()[id].Minutes > byHand })
}

// Notes are what a netlist says of the parts that a test is made at.
func (t Test) Notes(c *circuit.Circuit) []string {
	switch {
	case t.Ask != "":
		return PartNotes(c, t.Part)
	case t.Trial:
		return nil
	}
	return PartNotes(c, c.Terminal(t.Probes.P).Part, c.Terminal(t.Probes.Q).Part)
}
