package meter

import (
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// OhmsReading is a resistance taken both ways.
type OhmsReading struct {
	// InCircuit is the reading with everything connected.
	InCircuit Reading
	// Lifted is the reading with Lift taken off At.
	Lifted Reading
	Lift   []circuit.WireID
	At     circuit.TerminalID
	// Parallel is the way around, through other parts, that the in-circuit
	// reading includes; empty when there is none.
	Parallel []circuit.BranchID
}

// Ohms reads the resistance between two terminals with the supply removed, in
// circuit and with the wires on the first terminal lifted. On a machine that
// is on, both readings are refused.
func (b *Bench) Ohms(o *settle.Outcome, p, q circuit.TerminalID) (OhmsReading, error) {
	if p == q {
		return OhmsReading{}, fmt.Errorf("%w: %s", ErrSameProbe, b.c.Terminal(p).Ref)
	}
	if b.energised(o) {
		r := Reading{Function: Ohms, Refused: "the machine is on: ohms on a live circuit harms the meter and you; lock out and test dead first"}
		return OhmsReading{InCircuit: r, Lifted: r, At: circuit.None}, nil
	}
	out := OhmsReading{InCircuit: b.ohms(o, p, q)}
	out.At, out.Lift = b.lift(p, q)
	lifted := *o
	lifted.Conducts = slices.Clone(o.Conducts)
	for _, w := range out.Lift {
		lifted.Conducts[b.c.Wire(w).Branch] = false
	}
	out.Lifted = b.ohms(&lifted, p, q)
	out.Parallel = b.around(o, p, q)
	return out, nil
}

// lift chooses the probe whose part is left by lifting fewer wires.
func (b *Bench) lift(p, q circuit.TerminalID) (circuit.TerminalID, []circuit.WireID) {
	at, wires := p, b.c.Terminal(p).Wires
	if other := b.c.Terminal(q).Wires; len(wires) == 0 || len(other) > 0 && len(other) < len(wires) {
		at, wires = q, other
	}
	return at, wires
}

// ohms reads one resistance. Effective resistance rises with every resistance
// in the network (Rayleigh's monotonicity law), so all parts at their lowest
// and all at their highest bound it.
func (b *Bench) ohms(o *settle.Outcome, p, q circuit.TerminalID) Reading {
	var ohms [3]float64
	var joined [3]bool
	for i, values := range b.coldValues() {
		in := b.engine.Input(o)
		in.DeadOhms = values
		ohms[i], joined[i] = o.Solver().Resistance(in, p, q)
	}
	r := b.resistance(ohms, joined)
	if r.OL {
		return r
	}
	if b.Tolerances {
		r.Why = b.reasons(o, p, q)
		if r.Value < WornContactOhms {
			r.Why = append(r.Why, fmt.Sprintf("clean contacts, up to %.1f ohm each", GoodContactOhms))
		}
	}
	r.Why = append(r.Why, b.accuracyWhy(Ohms))
	return r
}

// coldValues gives every load its nominal, lowest and highest cold ohms.
func (b *Bench) coldValues() [3]map[circuit.BranchID]float64 {
	out := [3]map[circuit.BranchID]float64{{}, {}, {}}
	for i := range b.c.Branches() {
		br := b.c.Branch(circuit.BranchID(i))
		if br.Role != circuit.Load {
			continue
		}
		v := Cold(b.c, br.ID, b.celsius(br.ID))
		out[0][br.ID], out[1][br.ID], out[2][br.ID] = v.Ohms, v.Low, v.High
	}
	return out
}

// resistance makes a reading of nominal, lowest and highest ohms, without the reasons
// for its width: most that are taken are never told of.
func (b *Bench) resistance(ohms [3]float64, joined [3]bool) Reading {
	r := Reading{Function: Ohms}
	inRange := func(i int) bool { return joined[i] && ohms[i] <= b.Instrument.MaxOhms }
	if !inRange(0) {
		r.OL = true
		return r
	}
	r.Value = ohms[0]
	lowest, highest := r.Value, r.Value
	if b.Tolerances {
		lowest, highest = ohms[1], ohms[2]
		if !inRange(2) {
			r.MaybeOL, highest = true, b.Instrument.MaxOhms
		}
		if r.Value < WornContactOhms {
			// Leads and a clean contact or two, which no rating covers.
			highest += 2 * GoodContactOhms
		}
	}
	r.Low, _ = b.Instrument.Spread(Ohms, lowest)
	_, r.High = b.Instrument.Spread(Ohms, highest)
	return r
}

// celsius is the temperature of a sensor when it is measured dead: where the
// cold machine stands, as far as the sensor's curve goes.
func (b *Bench) celsius(sensor circuit.BranchID) float64 {
	if curve := b.c.Branch(sensor).Sensor; curve != nil {
		low, high := curve.Limits()
		return min(max(b.Ambient, low), high)
	}
	return b.Ambient
}

// reasons names the tolerances of what the probes are put across: a load of
// their own, or the sensor a control sees between these pins.
func (b *Bench) reasons(o *settle.Outcome, p, q circuit.TerminalID) []string {
	seen := map[string]bool{}
	var out []string
	add := func(id circuit.BranchID) {
		if why := Cold(b.c, id, b.celsius(id)).Why; !seen[why] {
			seen[why] = true
			out = append(out, why)
		}
	}
	across := func(x, y circuit.TerminalID) bool { return x == p && y == q || x == q && y == p }
	pins := false
	for i := range b.c.Controls() {
		for _, s := range b.c.Controls()[i].Senses {
			pins = pins || across(s.Pin1, s.Pin2)
		}
	}
	for i := range b.c.Branches() {
		br := b.c.Branch(circuit.BranchID(i))
		switch {
		case br.Role != circuit.Load:
		case across(br.A, br.B):
			add(br.ID)
		case pins && br.Sensor != nil && b.reaches(o, p, br.A):
			add(br.ID)
		}
	}
	slices.Sort(out)
	return out
}

// reaches reports whether joins and closed contacts tie two terminals.
func (b *Bench) reaches(o *settle.Outcome, p, q circuit.TerminalID) bool {
	seen := map[circuit.TerminalID]bool{p: true}
	queue := []circuit.TerminalID{p}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, id := range b.at(at) {
			br := b.c.Branch(id)
			if !o.Conducts[id] || br.Role == circuit.Load && br.Sensor == nil || br.Role == circuit.Source {
				continue
			}
			for _, far := range [2]circuit.TerminalID{br.A, br.B} {
				if !seen[far] {
					seen[far] = true
					queue = append(queue, far)
				}
			}
		}
	}
	return seen[q]
}

// around finds a way between two terminals of one part that does not pass
// through the part, or nil.
func (b *Bench) around(o *settle.Outcome, p, q circuit.TerminalID) []circuit.BranchID {
	part := b.c.Terminal(p).Part
	if b.c.Terminal(q).Part != part {
		part = circuit.None
	}
	type step struct {
		branch circuit.BranchID
		from   circuit.TerminalID
	}
	reached := map[circuit.TerminalID]step{p: {circuit.None, circuit.None}}
	queue := []circuit.TerminalID{p}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, id := range b.at(at) {
			br := b.c.Branch(id)
			if !o.Conducts[id] || br.Part == part && part != circuit.None {
				continue
			}
			far := br.Other(at)
			if _, seen := reached[far]; seen || far == circuit.None {
				continue
			}
			reached[far] = step{id, at}
			if far == q {
				var way []circuit.BranchID
				for n := q; n != p; n = reached[n].from {
					way = append([]circuit.BranchID{reached[n].branch}, way...)
				}
				return way
			}
			queue = append(queue, far)
		}
	}
	return nil
}

// at lists the branches at a terminal.
func (b *Bench) at(t circuit.TerminalID) []circuit.BranchID {
	term := b.c.Terminal(t)
	var out []circuit.BranchID
	for _, w := range term.Wires {
		out = append(out, b.c.Wire(w).Branch)
	}
	for _, id := range b.c.Part(term.Part).Branches {
		br := b.c.Branch(id)
		if br.Role != circuit.Drive && (br.A == t || br.B == t) {
			out = append(out, id)
		}
	}
	return out
}

// Masking says whether a test of one branch with the supply off can see it
// open without lifting a lead.
type Masking struct {
	Branch circuit.BranchID
	P, Q   circuit.TerminalID
	// Good and Open are the in-circuit readings with the branch sound and open;
	// GoodLifted and OpenLifted those with Lift off At.
	Good, Open, GoodLifted, OpenLifted Reading
	// Masked is set when the two in-circuit readings could be taken for one
	// another: lift the lead. Through is what hides the open.
	Masked  bool
	Through []circuit.BranchID
	Lift    []circuit.WireID
	At      circuit.TerminalID
	// Hopeless is set when lifting that lead would not tell them apart either.
	Hopeless bool
}

// maskOf tells what a masking is of, with what the bench was set to.
type maskOf struct {
	mode       circuit.ModeID
	branch     circuit.BranchID
	instrument Instrument
	tolerances bool
	ambient    float64
}

// Mask tries a branch's own resistance test in a mode, sound and open. It is worked out
// once: of a search every list of tests asks it again.
func (b *Bench) Mask(mode circuit.ModeID, branch circuit.BranchID) (Masking, error) {
	of := maskOf{mode, branch, b.Instrument, b.Tolerances, b.Ambient}
	m, known := b.masks[of]
	if !known {
		var err error
		if m, err = b.mask(mode, branch); err != nil {
			return m, err
		}
		b.masks[of] = m
	}
	return m, nil
}

func (b *Bench) mask(mode circuit.ModeID, branch circuit.BranchID) (Masking, error) {
	br := b.c.Branch(branch)
	m := Masking{Branch: branch, P: br.A, Q: br.B}
	if br.A == circuit.None || br.B == circuit.None {
		return m, fmt.Errorf("%s has no two terminals to probe", br.Ref)
	}
	good, err := b.Dead(mode, nil)
	if err != nil {
		return m, err
	}
	bad, err := b.Dead(mode, []circuit.Fault{{Kind: circuit.Open, Branch: branch}})
	if err != nil {
		return m, err
	}
	g, err := b.Ohms(good, m.P, m.Q)
	if err != nil {
		return m, err
	}
	o, err := b.Ohms(bad, m.P, m.Q)
	if err != nil {
		return m, err
	}
	m.Good, m.Open, m.GoodLifted, m.OpenLifted = g.InCircuit, o.InCircuit, g.Lifted, o.Lifted
	m.Lift, m.At = g.Lift, g.At
	if br.Wire != circuit.None {
		// A wire is lifted by itself and probed on its own end.
		m.Lift, m.At = []circuit.WireID{br.Wire}, br.A
		m.GoodLifted, m.OpenLifted = b.wireAlone(br), Reading{Function: Ohms, OL: true}
	}
	m.Masked = !m.Good.Differs(m.Open)
	m.Hopeless = m.Masked && !m.GoodLifted.Differs(m.OpenLifted)
	if m.Masked || !o.InCircuit.OL {
		m.Through = o.Parallel
		if br.Wire != circuit.None || len(m.Through) == 0 {
			m.Through = b.around(bad, m.P, m.Q)
		}
	}
	return m, nil
}

// wireAlone reads a sound wire from end to end.
func (b *Bench) wireAlone(br *circuit.Branch) Reading {
	r := Reading{Function: Ohms, Value: br.Ohms}
	r.Low, _ = b.Instrument.Spread(Ohms, br.Ohms)
	_, r.High = b.Instrument.Spread(Ohms, br.Ohms+2*GoodContactOhms)
	r.Why = []string{"the wire and its two ends", b.accuracyWhy(Ohms)}
	return r
}
