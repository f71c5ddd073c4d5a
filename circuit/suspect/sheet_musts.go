package suspect

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// must is a test that a sheet has whatever it is worth (common practice, no
// source): the heater to itself and to metal, the supply where it comes in.
type must struct {
	Test
	// supply says that it belongs before other live tests, first that it comes
	// before all that is opened up.
	supply, first bool
	// spare says that it is left out where what is known has shown it good.
	spare bool
	// about are the faults that it is there to find.
	about []circuit.Fault
}

// mostHeaters is how many heaters a sheet tests one by one.
const mostHeaters = 2

func (e *Engine) musts() []must {
	var out []must
	for _, id := range e.heaters() {
		out = append(out, e.ofHeater(id)...)
	}
	if e.trips() {
		out = append(out, e.ofShort()...)
	}
	if e.runsAway() {
		return out // it is not switched on again
	}
	return append(out, e.ofSupply()...)
}

// heaters lists what the complaint is about that heats; a machine on which
// nothing comes on is complained of as a whole.
func (e *Engine) heaters() []circuit.BranchID {
	var out []circuit.BranchID
	add := func(id circuit.BranchID) {
		if b := e.c.Branch(id); e.c.Part(b.Part).Kind.Heats() && probeable(e.c, b) && !slices.Contains(out, id) && len(out) < mostHeaters {
			out = append(out, id)
		}
	}
	for i, ev := range e.evidence {
		s := ev.Symptom
		switch {
		case s == nil || !e.singles[i].bad() && s.Whole != Slow:
		case s.Load != circuit.None:
			add(s.Load)
		case s.Mode != circuit.None && s.Whole != AllDead:
			for _, x := range e.c.Mode(s.Mode).Expect {
				if x.Share > 0 {
					add(x.Load)
				}
			}
		}
	}
	return out
}

// ofHeater tests a heater by itself and to metal.
func (e *Engine) ofHeater(id circuit.BranchID) []must {
	var out []must
	bench, mode := e.Bench(), e.modes()[0]
	m, err := bench.Mask(mode, id)
	if err != nil {
		return nil
	}
	own := Test{Probes: meter.Probes{Function: meter.Ohms, P: m.P, Q: m.Q}, Mode: mode, At: circuit.None}
	if m.Masked {
		own.Lift, own.At = m.Lift, m.At
	}
	if !m.Hopeless {
		out = append(out, must{Test: own, about: []circuit.Fault{{Kind: circuit.Open, Branch: id}}})
	}
	metal := e.c.ChassisTerminal()
	if metal == circuit.None {
		return out
	}
	// To metal as it stands where that is open on a sound machine, else with the
	// wires of one end off, or of both.
	to := Test{Probes: meter.Probes{Function: meter.Ohms, P: m.P, Q: metal}, Mode: mode, At: circuit.None}
	for _, off := range [][]circuit.TerminalID{nil, {m.P}, {m.Q}, {m.P, m.Q}} {
		to.Lift, to.At = nil, circuit.None
		for _, t := range off {
			to.Lift, to.At = append(to.Lift, e.c.Terminal(t).Wires...), t
		}
		if r, _, err := e.workers[0].reading(to.Probes, mode, to.Lift, nil); err == nil && r.OL {
			return append(out, must{Test: to, about: []circuit.Fault{{Kind: circuit.Grounded, Branch: id}}})
		}
	}
	return out
}

// ofSupply reads the supply where it comes into the machine: each leg to neutral
// with nothing on, leg to leg in the mode complained of, and on a dead machine, with
// nothing selected, each to metal besides.
func (e *Engine) ofSupply() []must {
	supply := e.c.Supply()
	dead := slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Symptom != nil && ev.Symptom.Whole == AllDead })
	first := func(id circuit.BranchID) circuit.TerminalID {
		if id == circuit.None {
			return circuit.None
		}
		return e.comesIn(id)
	}
	neutral, metal := first(supply.Neutral), e.c.ChassisTerminal()
	off := e.c.OffMode()
	on := off
	if m := e.modes()[0]; !dead && !e.shorts(m) {
		on = m // of a machine on which nothing comes on nothing is selected
	}
	var out []must
	add := func(p, q circuit.TerminalID, mode circuit.ModeID, about ...circuit.BranchID) {
		if p == circuit.None || q == circuit.None || p == q {
			return
		}
		m := must{Test: Test{Probes: meter.Probes{Function: meter.Volts, P: p, Q: q}, Mode: mode, Live: true, At: circuit.None}, supply: true, first: dead}
		for _, id := range about {
			if id != circuit.None {
				m.about = append(m.about, circuit.Fault{Kind: circuit.Open, Branch: id})
			}
		}
		out = append(out, m)
	}
	for i, leg := range supply.Legs {
		for _, other := range supply.Legs[i+1:] {
			add(first(leg), first(other), on, leg, other)
		}
	}
	if !dead {
		out = append(out, e.ofLegs(on)...)
	}
	for _, leg := range supply.Legs {
		n := len(out)
		if add(first(leg), neutral, off, leg, supply.Neutral); len(out) > n {
			out[n].spare = !dead
		}
	}
	if !dead && neutral != circuit.None {
		return out
	}
	for _, leg := range supply.Legs {
		add(first(leg), metal, off, leg, supply.Earth)
	}
	add(neutral, metal, off, supply.Neutral)
	return out
}

// ofLegs puts a clamp around each leg where it comes in, where the machine draws in a mode.
func (e *Engine) ofLegs(mode circuit.ModeID) (out []must) {
	for _, leg := range e.c.Supply().Legs {
		at := e.comesIn(leg)
		k := slices.IndexFunc(e.c.Branches(), func(b circuit.Branch) bool { return b.Role == circuit.Join && b.Wire == circuit.None && b.B == at })
		if at == circuit.None || k < 0 {
			continue
		}
		from := e.c.Branches()[k].A
		if wires := e.c.Terminal(from).Wires; len(wires) == 1 {
			far := e.c.Wire(wires[0]).Other(from)
			t := Test{Probes: meter.Probes{Function: meter.Amps, P: from, Q: far, Name: e.c.PlaceName(from) + " to " + e.c.PlaceName(far)}, Mode: mode, Live: true, At: circuit.None}
			if r, _, err := e.workers[0].reading(t.Probes, mode, nil, nil); err == nil && r.Low >= clampAmps {
				out = append(out, must{Test: t, supply: true, spare: true})
			}
		}
	}
	return out
}

// ofShort reads ohms where the supply comes in of what trips: each conductor to the others,
// each hot to metal, the machine set as it was when it tripped.
func (e *Engine) ofShort() (out []must) {
	in, metal := e.conductors(), e.c.ChassisTerminal()
	add := func(p, q circuit.TerminalID) {
		if p != q && q != circuit.None {
			out = append(out, must{Test: Test{Probes: e.ohms(p, q), Mode: e.modes()[0], At: circuit.None}, first: true})
		}
	}
	for i, a := range in {
		for _, b := range in[i+1:] {
			add(a.At, b.At)
		}
	}
	for _, a := range in {
		if a.Branch != e.c.Supply().Neutral {
			add(a.At, metal)
		}
	}
	return out
}

// conductors lists where the supply comes in, what is not brought to the machine left out.
func (e *Engine) conductors() (out []Conductor) {
	for _, id := range append(slices.Clone(e.c.Supply().Legs), e.c.Supply().Neutral) {
		if id == circuit.None {
			continue
		}
		if at := e.comesIn(id); at != circuit.None {
			out = append(out, Conductor{id, at})
		}
	}
	return out
}

// comesIn is the first listed place behind the house's breaker that a conductor
// of the supply leads to, or None.
func (e *Engine) comesIn(id circuit.BranchID) circuit.TerminalID {
	upstream := e.Bench().Upstream()
	seen := map[circuit.TerminalID]bool{}
	queue := []circuit.TerminalID{e.c.Branch(id).B}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if t == circuit.None || seen[t] {
			continue
		}
		seen[t] = true
		if e.c.PointAt(t) != nil && !upstream[t] {
			return t
		}
		for i := range e.c.Branches() {
			b := e.c.Branch(circuit.BranchID(i))
			if b.Role != circuit.Join && (b.Part == circuit.None || !e.c.Part(b.Part).Kind.Guards()) {
				continue
			}
			if b.A == t {
				queue = append(queue, b.B)
			} else if b.B == t {
				queue = append(queue, b.A)
			}
		}
	}
	return circuit.None
}

// fill says of a step that the sheet has whatever is suspected what it is there
// to find, where that is not among what it finds of what is left.
func (s *sheeting) fill(out *Sheet) error {
	e := s.tab.e
	for i := range out.Steps {
		step := &out.Steps[i]
		m := s.mustOfTest(step.Test)
		if m == nil {
			continue
		}
		for _, f := range m.about {
			of := func(c Class) bool {
				return slices.ContainsFunc(c.Members, func(m Cause) bool {
					return len(m.Faults) == 1 && m.Faults[0].Branch == f.Branch && m.Faults[0].Kind == f.Kind
				})
			}
			finds := func(s Suspect) bool { return slices.ContainsFunc(s.Causes, of) }
			k := slices.IndexFunc(e.classes, of)
			if k < 0 || slices.ContainsFunc(step.Bad, func(o Shown) bool { return slices.ContainsFunc(o.Any, finds) }) {
				continue
			}
			r, _, err := e.workers[0].reading(step.Probes, step.Mode, step.Lift, e.classes[k].Members[0].Faults)
			if err != nil {
				return err
			}
			if r.Differs(step.Good.Reading) {
				step.Bad = append(step.Bad, Shown{Expected: Expected{Reading: r}, Any: []Suspect{{Causes: []Class{e.classes[k]}, core: []int32{int32(k)}}}, Then: circuit.None})
			}
		}
	}
	return nil
}
