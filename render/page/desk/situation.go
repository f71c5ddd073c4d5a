package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/render/report"
)

// situation is a state resolved on a machine.
type situation struct {
	State
	// Complaints tell what of the state the machine does not have.
	Complaints []string

	question   report.Question
	faults     []circuit.Fault
	red, black circuit.TerminalID
	clamp      circuit.BranchID
	function   meter.Function
	part       circuit.PartID
	wire       circuit.WireID
	// drill is the drill that is open, if any.
	drill *exercise
	// desk is where it was asked for, and file what the machine's netlist is
	// called.
	desk *Desk
	file string
}

// resolve finds what a state names. Whatever is not there is left out and
// said: the file may have changed since the address was made.
func (b *bench) resolve(s State, mode string) *situation {
	x := &situation{State: s, red: circuit.None, black: circuit.None, clamp: circuit.None, part: circuit.None, wire: circuit.None}
	x.Faults = nil
	for _, ref := range s.Faults {
		f, err := b.c.ParseFault(ref)
		if err == nil && f[0].Kind == circuit.Moved {
			err = circuit.ErrMoved
		}
		if err != nil {
			x.complain(err)
			continue
		}
		x.Faults, x.faults = append(x.Faults, ref), append(x.faults, f...)
	}
	x.red, x.Red = x.terminal(b.c, s.Red)
	x.black, x.Black = x.terminal(b.c, s.Black)
	if s.Clamp != "" {
		if id, err := b.c.FindWire(s.Clamp); err != nil {
			x.complain(err)
			x.Clamp = ""
		} else {
			x.clamp = b.c.Wire(id).Branch
		}
	}
	if s.Function != "" {
		f, err := meter.ParseFunction(s.Function)
		if err != nil {
			x.complain(err)
			x.Function = ""
		}
		x.function = f
	}
	x.picked(b.c)
	x.ask(b, mode)
	return x
}

// ask chooses the mode and load where the state names none.
func (x *situation) ask(b *bench, mode string) {
	load := x.Load
	q, err := b.Ask(mode, load, nil, report.Feeding)
	if err != nil && load != "" {
		if _, err := b.c.FindLoad(load); err != nil {
			x.complain(err)
			load = ""
		}
		q, err = b.Ask(mode, load, nil, report.Feeding)
	}
	if err != nil && mode != "" {
		if _, err := b.c.FindMode(mode); err != nil {
			x.complain(err)
			mode = ""
		}
		q, err = b.Ask(mode, load, nil, report.Feeding)
	}
	if err != nil { // no load works in the mode: any of them is looked at
		q.Load = circuit.None
		if loads := b.c.Loads(); len(loads) > 0 {
			q.Load = slices.MaxFunc(loads, func(i, j circuit.BranchID) int { return cmp.Compare(b.c.Branch(i).Watts, b.c.Branch(j).Watts) })
		}
		if id, err := b.c.FindMode(mode); err == nil {
			q.Mode = id
		}
	}
	q.Mode = max(q.Mode, 0)
	q.Faults, q.Notes = x.faults, nil
	x.question = q
}

func (x *situation) terminal(c *circuit.Circuit, ref string) (circuit.TerminalID, string) {
	if ref == "" {
		return circuit.None, ""
	}
	id, err := c.FindPlace(ref)
	if err != nil {
		x.complain(err)
		return circuit.None, ""
	}
	return id, c.Terminal(id).Ref
}

func (x *situation) picked(c *circuit.Circuit) {
	var err error
	kind, name := cut(x.Pick)
	switch kind {
	case "part":
		x.part, err = c.FindPart(name)
	case "wire":
		x.wire, err = c.FindWire(name)
	case "":
	default:
		err = fmt.Errorf("%q is neither part:NAME nor wire:NAME", x.Pick)
	}
	if err != nil {
		x.complain(err)
		x.Pick, x.part, x.wire = "", circuit.None, circuit.None
	}
}

func (x *situation) complain(err error) {
	if len(x.Complaints) < 8 {
		x.Complaints = append(x.Complaints, err.Error())
	}
}

// cutOff lists what is opened when the supply is turned off: the machine's
// breaker where it has one, else every conductor of the supply. A welded pole
// stays closed.
func (b *bench) cutOff(faults []circuit.Fault) []circuit.Fault {
	welded := func(id circuit.BranchID) bool {
		return slices.ContainsFunc(faults, func(f circuit.Fault) bool { return f.Branch == id && f.Kind == circuit.Welded })
	}
	opens := b.breakers()
	if len(opens) == 0 {
		opens = append(slices.Clone(b.c.Supply().Legs), b.c.Supply().Neutral)
	}
	var out []circuit.Fault
	for _, id := range opens {
		if !welded(id) {
			out = append(out, circuit.Fault{Kind: circuit.Open, Branch: id})
		}
	}
	return out
}

// breakers are the poles that a hand turns off: an RCD only guards.
func (b *bench) breakers() (out []circuit.BranchID) {
	for i := range b.c.Parts() {
		if p := b.c.Part(circuit.PartID(i)); p.Kind == circuit.KindBreaker {
			out = append(out, p.Branches...)
		}
	}
	return out
}

// settled is the machine as it stands: on, or with the supply off.
func (b *bench) settled(x *situation) (*settle.Outcome, error) {
	faults := x.faults
	if x.Off {
		faults = slices.Concat(b.cutOff(faults), faults)
	}
	return b.Run(x.question.Mode, faults)
}

// cut parts "kind:name".
func cut(s string) (kind, name string) {
	kind, name, _ = strings.Cut(s, ":")
	return kind, name
}
