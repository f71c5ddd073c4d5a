package desk

import (
	"context"
	"html/template"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/circuit/settle"
	"legtrace/render/report"
)

// drillLevel is a level as the page offers it.
type drillLevel struct {
	Level int
	Words string
}

var drillLevels = []drillLevel{
	{int(drill.Apprentice), "1: a part is open, the customer tells all"},
	{int(drill.Journeyman), "2: also wires, joints and welded contacts; little is told"},
	{int(drill.Master), "3: anything that can fail, one complaint"},
}

// showDrill is what a page shows while a drill is open. The machine in front of
// the learner has the fault; nothing of it is shown but what moves have shown.
// Loads, what stops them, what stays live and the visit would do the learner's
// thinking, so they wait until the drill is left.
func (b *bench) showDrill(x *situation, out *settle.Outcome, v *view) {
	v.Meter = reading{Function: x.function.String()}
	if x.drill.Runs() {
		v.Take = b.readingMove(x)
	}
	v.Look = b.look(x, out)
	if v.Look == nil {
		return
	}
	v.Look.Ways, v.Look.Control = nil, nil
	for i := range v.Look.Terminals {
		v.Look.Terminals[i].Volts = ""
		b.offerLift(x, &v.Look.Terminals[i])
	}
}

// offerLift gives a terminal the move that takes its leads off, or the one lead
// that is looked at, or that puts them back.
func (b *bench) offerLift(x *situation, t *terminalView) {
	id, err := b.c.FindTerminal(t.Ref)
	if err != nil {
		return
	}
	wires := b.c.Terminal(id).Wires
	place := b.c.PlaceName(id)
	if x.wire != circuit.None {
		wires = []circuit.WireID{x.wire}
		place = b.c.Wire(x.wire).Name + " " + place
	}
	for _, w := range wires {
		t.Lifted = t.Lifted || x.drill.Off(b.c.Wire(w).Name)
	}
	switch {
	case len(wires) == 0:
	case t.Lifted:
		t.Lift = "refit " + place
	default:
		t.Lift = "lift " + place
	}
}

// WrongMinutes is what naming a part costs that is not at fault.
func (v *view) WrongMinutes() float64 { return drill.WrongPartMinutes }

// Foretells reports whether what a good machine reads is to be said next.
func (v *view) Foretells() bool { return v.Drill.Runs() && v.Drill.ID.Foretell && !v.Drill.Expected }

// Kinds are those of fault, and Reasons why a good machine reads what it does.
func (v *view) Kinds() []string      { return drill.Kinds() }
func (v *view) Reasons() [][2]string { return drill.Reasons() }

// Seals reports whether sealed drills can be opened.
func (v *view) Seals() bool { return v.situation.desk != nil && v.situation.desk.lib.Seal != nil }

// Rules are what stops a move, and MaxFaults how many faults may be hidden.
func (v *view) Rules() any     { return drill.Rules() }
func (v *view) MaxFaults() int { return drill.MaxFaults }

// Selected says what is turned on in a drill.
func (v *view) Selected() string {
	if !v.Drill.selected {
		return "nothing selected yet"
	}
	return v.C.Mode(v.Drill.mode).Label + " selected"
}

// debrief is a drill summed up.
type debrief struct {
	*report.DrillSummary
	// Refs are the hidden faults as an address has them.
	Refs []string
}

// debrief sums a drill up that is over. Each of its moves is made once more, on
// a copy of the drill of its own: it takes too long for others to wait.
func (d *Desk) debrief(ctx context.Context, b *bench, x *situation) (*debrief, error) {
	var out *debrief
	id, err := readDrillID(x.Drill)
	if err != nil {
		return nil, err
	}
	ctx, stop := circuit.Within(ctx, 1000*drill.Patience)
	defer stop()
	err = d.lend(ctx, d.drills.of(id).sums, id, func(dr *drill.Drill) error {
		_, session := play(dr, id, x.Moves)
		sum, err := b.Reporter.Drill(ctx, session)
		if err != nil {
			return err
		}
		out = &debrief{DrillSummary: sum}
		if !sum.Unweighed {
			d.drills.scored(sumKey(x.State), sum.Points)
		}
		for _, f := range x.drill.hidden {
			out.Refs = append(out.Refs, b.c.FaultRef(f))
		}
		return nil
	})
	return out, err
}

// Move is an address that makes one more move of a drill.
func (s State) Move(line string) template.URL { return s.With("do", line) }

// Told shows the mode and load that a story is about.
func (s State) Told(mode, load string) State {
	if mode != "" {
		s.Mode = mode
	}
	if load != "" {
		s.Load = load
	}
	return s
}

// LookAround leaves a drill with its faults in the page's own machine.
func (s State) LookAround(faults []string) State {
	s.Drill, s.Moves = "", nil
	s.Faults = faults
	return s
}

// Because is what is said of a drill that took too much work to score.
func (d *debrief) Because() string { return report.Unweighed }

// Words puts a step's words together.
func (s *exerciseStep) Words() string {
	if s.Error != "" {
		return "Not done, and no time spent: " + s.Error
	}
	return strings.Join(s.Said, " ")
}
