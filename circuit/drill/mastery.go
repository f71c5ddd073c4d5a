package drill

import (
	"slices"

	"legtrace/circuit"
)

// Mastery: so many drills in a row, each found within so many times the best
// plan's minutes, those charged for naming on a chance included, with nothing
// unsafe.
const (
	MasteryRow   = 3
	MasteryShare = 1.25
)

// Novelty is how new a hidden fault was to a learner.
type Novelty string

// From what was met before to what was not.
const (
	OldFault   Novelty = "met before"
	SameKind   Novelty = "same kind"
	NewKind    Novelty = "new kind"
	NewMachine Novelty = "new machine"
)

// Novelties lists them in order.
func Novelties() []Novelty { return []Novelty{OldFault, SameKind, NewKind, NewMachine} }

// Met is what a learner met before, in the order it came.
type Met struct {
	machines []string
	faults   []string // machine and fault
	kinds    []string // machine and kind
}

// Add tells how new a drill's faults are, the newest of them, and remembers them.
func (m *Met) Add(d *Drill) Novelty {
	name := d.c.Name()
	out := NewMachine
	if slices.Contains(m.machines, name) {
		out = OldFault
		for _, h := range d.hidden {
			switch {
			case slices.Contains(m.faults, name+" "+d.ref(h)):
			case slices.Contains(m.kinds, name+" "+d.kind(h)):
				out = newer(out, SameKind)
			default:
				out = NewKind
			}
		}
	}
	m.machines = append(m.machines, name)
	for _, h := range d.hidden {
		m.faults, m.kinds = append(m.faults, name+" "+d.ref(h)), append(m.kinds, name+" "+d.kind(h))
	}
	return out
}

func newer(a, b Novelty) Novelty {
	all := Novelties()
	if slices.Index(all, a) > slices.Index(all, b) {
		return a
	}
	return b
}

func (d *Drill) ref(h Hidden) string  { return d.c.FaultRef(h.Cause.Faults[0]) }
func (d *Drill) kind(h Hidden) string { return kindOf(d.c, h.Cause.Faults[0].Branch) }

// Mastered reports whether a score counts toward mastery.
func (s Score) Mastered() bool {
	return s.End == Found && s.Yours.Unsafe == 0 && s.Yours.Minutes+s.Yours.Chance <= MasteryShare*max(1, s.Best.Minutes+s.Best.Chance)
}

// Mastered reports whether some of the scores, in the order made, were enough of
// them in a row.
func Mastered(scores []Score) bool {
	row := 0
	for _, s := range scores {
		if !s.Mastered() {
			row = 0
			continue
		}
		if row++; row == MasteryRow {
			return true
		}
	}
	return false
}

// Refs are the hidden faults as they are written.
func (d *Drill) Refs() []string {
	var out []string
	for _, h := range d.hidden {
		for _, f := range h.Cause.Faults {
			out = append(out, d.c.FaultRef(f))
		}
	}
	return out
}

// Places are where the hidden faults are, as a teacher would want to know.
func (d *Drill) Places() []string {
	var out []string
	for _, h := range d.hidden {
		b := d.c.Branch(h.Cause.Faults[0].Branch)
		if b.Part != circuit.None {
			out = append(out, d.c.Part(b.Part).Place)
		} else {
			out = append(out, d.c.DescribeWire(b.Wire))
		}
	}
	return out
}
