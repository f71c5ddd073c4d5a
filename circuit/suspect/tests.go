package suspect

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Test is something the technician can do and see the outcome of.
type Test struct {
	// Trial is set for "turn this on and look", Ask for a move at Part; else the
	// probes say where.
	Trial  bool
	Ask    Ask
	Part   circuit.PartID
	Probes meter.Probes
	Mode   circuit.ModeID
	// Live says the machine is on during the test.
	Live bool
	// Lift lists wires to take off At first.
	Lift []circuit.WireID
	At   circuit.TerminalID
}

func (t Test) same(u Test) bool {
	return t.Trial == u.Trial && t.Ask == u.Ask && t.Part == u.Part && t.Probes == u.Probes && t.Mode == u.Mode && t.Live == u.Live && t.At == u.At && slices.Equal(t.Lift, u.Lift)
}

// likewise reports whether two tests put the probes to the same places and see
// the same there, whichever way round.
func (t Test) likewise(u Test) bool {
	if !t.Probing() || !u.Probing() {
		return t.Trial == u.Trial && t.Ask == u.Ask && t.Part == u.Part && t.Mode == u.Mode
	}
	p, q := t.Probes, u.Probes
	ends := p.P == q.P && p.Q == q.Q || p.P == q.Q && p.Q == q.P
	return ends && p.Function == q.Function && t.Live == u.Live && t.Mode == u.Mode && slices.Equal(t.Lift, u.Lift)
}

// places lists the places that have to be got at, as [circuit.Circuit.PlaceOf]
// names them.
func (t Test) places(c *circuit.Circuit) []string {
	switch {
	case t.Trial, t.Ask != "" && !moves[t.Ask].inside, t.Ask == Turn && c.Part(t.Part).Kind == circuit.KindMotor:
		return nil // a drum is turned by its door
	case t.Ask != "":
		return []string{c.Part(t.Part).Place}
	case t.Probes.Function == meter.Amps:
		return []string{c.PlaceOf(t.Probes.P)}
	}
	return []string{c.PlaceOf(t.Probes.P), c.PlaceOf(t.Probes.Q)}
}

// Awaited reports whether a test is a trial of what comes by waiting.
func (t Test) Awaited(c *circuit.Circuit) bool {
	return t.Trial && c.Mode(t.Mode).Reached == circuit.ByWaiting
}

// Probing reports whether a meter's probes are put down.
func (t Test) Probing() bool { return !t.Trial && t.Ask == "" }

// clamped reports whether a clamp goes around a wire.
func (t Test) clamped() bool { return t.Probing() && t.Probes.Function == meter.Amps }

// skipKey names a test by where the probes go: with the supply off the mode
// matters only to whoever reads the result.
func (t Test) skipKey(c *circuit.Circuit) string {
	if !t.Live && !t.Trial {
		t.Mode = 0
	}
	return t.key(c)
}

func (t Test) key(c *circuit.Circuit) string {
	s := c.Mode(t.Mode).Name
	switch {
	case t.Trial:
		return s
	case t.Ask != "":
		return s + " " + string(t.Ask) + " " + c.Part(t.Part).Name
	}
	s += " " + t.Probes.Function.String() + " " + c.Terminal(t.Probes.P).Ref + " " + c.Terminal(t.Probes.Q).Ref
	if len(t.Lift) > 0 {
		s += " lifted"
	}
	return s
}

// tests lists what could be done: a trial of every mode, the listed probes in
// the modes that matter, and each suspected part's own resistance, lifted where
// the bench says it must be.
func (e *Engine) tests() []Test {
	var out []Test
	for i := range e.c.Modes() {
		if m := e.c.Mode(circuit.ModeID(i)); (m.After == circuit.None || m.Reached == circuit.ByWaiting || e.atAGlance(m)) && e.canTry(m) && !e.tried(circuit.ModeID(i)) && !e.shorts(circuit.ModeID(i)) {
			out = append(out, Test{Trial: true, Mode: circuit.ModeID(i), Live: true, At: circuit.None})
		}
	}
	bench := e.Bench()
	modes := e.modes()
	seen := map[meter.Probes]bool{} // whichever way round
	see := func(p meter.Probes) bool {
		p.Name = ""
		if p.P > p.Q {
			p.P, p.Q = p.Q, p.P
		}
		before := seen[p]
		seen[p] = true
		return before
	}
	for _, p := range bench.ListedProbes() {
		if see(p) {
			continue
		}
		if !p.Function.Live() {
			// With the supply off only switch positions differ between modes.
			out = append(out, Test{Probes: p, Mode: modes[0], At: circuit.None})
			continue
		}
		for _, m := range modes {
			if !e.shorts(m) {
				out = append(out, Test{Probes: p, Mode: m, Live: true, At: circuit.None})
			}
		}
	}
	suspected, welded := e.suspectedParts(), e.blamed(circuit.Welded)
	for _, id := range suspected {
		b := e.c.Branch(id)
		m, err := bench.Mask(modes[0], id)
		if err != nil || m.Hopeless && b.Role != circuit.Contact {
			continue
		}
		p := e.ohms(m.P, m.Q)
		lifted := m.Masked && !m.Hopeless // of a contact at rest open only a weld shows
		before := see(p)
		// A store that is too hot is met with as it stands once its thermostats should be open.
		if off := e.c.OffMode(); welded[id] >= leads && (e.c.Mode(off).Reached == circuit.ByHand || e.tooHot() && e.c.StoresHeat()) && e.c.Mode(modes[0]).Position[b.Part] != e.c.Mode(off).Position[b.Part] { // it may stay where it was
			out = append(out, Test{Probes: p, Mode: off, At: circuit.None})
		}
		if before && !lifted {
			continue
		}
		t := Test{Probes: p, Mode: modes[0], At: circuit.None}
		if lifted {
			t.Lift, t.At = m.Lift, m.At
		}
		out = append(out, t)
	}
	for _, p := range slices.Concat(e.toMetal(suspected), e.fromAfar(suspected, modes[0]), e.endToEnd(modes[0]), e.along(modes[0])) {
		if !see(p) {
			out = append(out, Test{Probes: p, Mode: modes[0], At: circuit.None})
		}
	}
	out = append(out, e.clamps(suspected, modes)...)
	if !e.opt.MeterOnly {
		out = append(out, e.asks(modes[0])...)
	}
	odd := -1 // the reading that fits nothing together with the rest
	if len(e.evidence) > 1 {
		if m := e.Misfit(); m != nil {
			odd = m.Pieces[0]
		}
	}
	return slices.DeleteFunc(out, func(t Test) bool { return e.measured(t, odd) })
}

// plain tells how plain a test is to whoever makes it, '0' the plainest: at the
// terminal block, or across a part that is suspected; then at one; then elsewhere.
func (e *Engine) plain() func(Test) byte {
	joints, own := e.suspicion()
	return func(t Test) byte {
		if !t.Probing() {
			return '0'
		}
		p, q := e.c.Terminal(t.Probes.P).Part, e.c.Terminal(t.Probes.Q).Part
		suspected := func(p circuit.PartID) bool { return joints[p]+own[p] >= worthAsking }
		switch {
		case e.c.Part(p).Kind == circuit.KindTerminalBlock, p == q && suspected(p):
			return '0'
		case suspected(p), suspected(q):
			return '1'
		}
		return '2'
	}
}

// proves tells the part that a test is made at and at no other, and how far it is
// suspected: across it, from it to metal, around the wire of a load, or by a look at it.
func (e *Engine) proves() func(Test) (circuit.PartID, float64) {
	joints, own := e.suspicion()
	unset, blocked := e.innocent()
	metal := e.c.Terminal(e.c.ChassisTerminal()).Part
	grounded, seized := e.blamedParts(circuit.Grounded), e.blamedParts(circuit.Seized)
	return func(t Test) (circuit.PartID, float64) {
		switch {
		case t.Trial || t.Ask == Listen || t.Ask == Thermometer || t.Live && t.Ask != Set && t.Ask != Air && t.Probes.Function != meter.Amps:
			return circuit.None, 0
		case t.Ask == Set:
			return t.Part, unset[t.Part]
		case t.Ask == Air:
			return t.Part, blocked[t.Part]
		case t.Ask == Turn:
			return t.Part, seized[t.Part]
		case t.Ask != "":
			return t.Part, joints[t.Part] + own[t.Part]
		}
		p, q := e.c.Terminal(t.Probes.P).Part, e.c.Terminal(t.Probes.Q).Part
		switch k := e.c.Part(p).Kind; {
		case k == circuit.KindConnector || k == circuit.KindTerminalBlock:
			return circuit.None, 0 // of many joints
		case p == q:
			return p, own[p]
		case q == metal:
			return p, grounded[p]
		case p == metal:
			return q, grounded[q]
		case t.Probes.Function == meter.Amps && e.c.Part(q).Kind.Heats():
			return q, own[q]
		case t.Probes.Function == meter.Amps && e.c.Part(p).Kind.Heats():
			return p, own[p]
		}
		return circuit.None, 0
	}
}

// roundabout tells what a test is worth over what reads what lies between its probes,
// which has nothing to it: volts; ohms to metal where there are none in a sound
// machine, of a winding or from where of what may touch it there is most; or ohms of a
// part that conducts there, or may where it should not. What a good control reads
// nobody knows; a sensor's ohms stand on the sheet, at its control as well.
func (e *Engine) roundabout() func(Test) float64 {
	between, runs := map[[2]circuit.TerminalID][]circuit.BranchID{}, e.c.Runs()
	sensing, afar := map[[2]int32]bool{}, e.fromAfar(e.suspectedParts(), e.modes()[0])
	for i := range e.c.Branches() {
		b := e.c.Branch(circuit.BranchID(i))
		for _, ends := range [2][2]circuit.TerminalID{{b.A, b.B}, {b.B, b.A}} {
			between[ends] = append(between[ends], b.ID)
			if b.Sensor != nil {
				sensing[[2]int32{runs[ends[0]], runs[ends[1]]}] = true
			}
		}
	}
	const most = 0.5
	welded := e.blamed(circuit.Welded)
	_, own := e.suspicion()
	metal, conducts := e.c.ChassisTerminal(), map[circuit.ModeID]func(circuit.BranchID) bool{}
	touches, top := map[circuit.TerminalID]float64{}, 0.0
	for id, p := range e.blamed(circuit.Grounded) {
		for _, at := range [2]circuit.TerminalID{e.c.Branch(id).A, e.c.Branch(id).B} {
			touches[at] += p
		}
	}
	for _, p := range touches {
		top = max(top, p)
	}
	stuck := leads // most of the welds that are suspected
	for _, p := range welded {
		stuck = max(stuck, most*p)
	}
	price := func(direct bool) float64 {
		if direct {
			return 0
		}
		return roundabout
	}
	return func(t Test) float64 {
		if !t.Probing() || t.Probes.Function.Live() {
			return 0
		}
		if t.Probes.P == metal || t.Probes.Q == metal {
			at := t.Probes.P
			if at == metal {
				at = t.Probes.Q
			}
			if !winds(e.c.Part(e.c.Terminal(at).Part).Kind) && touches[at] < most*top {
				return roundabout
			}
			r, _, err := e.workers[0].reading(t.Probes, t.Mode, t.Lift, nil)
			return price(err != nil || r.OL || e.Bench().NearZero(r))
		}
		if runs[t.Probes.P] == runs[t.Probes.Q] {
			return 0 // nothing but wires and joints in between
		}
		if conducts[t.Mode] == nil {
			o, err := e.Bench().Dead(t.Mode, nil)
			if err != nil {
				return 0
			}
			conducts[t.Mode] = func(id circuit.BranchID) bool { return o.Conducts[id] }
		}
		direct := slices.ContainsFunc(between[[2]circuit.TerminalID{t.Probes.P, t.Probes.Q}], func(id circuit.BranchID) bool {
			b := e.c.Branch(id)
			other := b.Role == circuit.Load && own[b.Part] < worthAsking // nobody asks it, nor thinks of what lies beside it
			return kindOf(e.c, id) != circuit.KindControl && conducts[t.Mode](id) && !other || welded[id] >= stuck
		})
		if !direct && (sensing[[2]int32{runs[t.Probes.P], runs[t.Probes.Q]}] || slices.Contains(afar, t.Probes)) {
			return atControl
		}
		return price(direct)
	}
}

// leads is how far a part is suspected that ohms where it should not conduct are
// worth thinking of.
const leads = 0.1

// blamed sums up by branch how far a kind of fault is suspected of it.
func (e *Engine) blamed(kind circuit.FaultKind) map[circuit.BranchID]float64 {
	out, ps := map[circuit.BranchID]float64{}, e.posterior()
	for i, core := range e.cores() {
		if ps[i] < 1e-6 {
			continue
		}
		for _, k := range core {
			for _, m := range e.classes[k].Members {
				for _, f := range m.Faults {
					if f.Kind == kind {
						out[f.Branch] += ps[i] * m.Prior / e.classes[k].Prior
					}
				}
			}
		}
	}
	return out
}

// blamedParts sums up the same by part, of what is no wire.
func (e *Engine) blamedParts(kind circuit.FaultKind) map[circuit.PartID]float64 {
	out := map[circuit.PartID]float64{}
	for id, p := range e.blamed(kind) {
		if b := e.c.Branch(id); b.Wire == circuit.None {
			out[b.Part] += p
		}
	}
	return out
}

// Where readings slip so often, each may be taken so many times again. With one in ten
// wrong 381 of 398 hidden faults were named so; by whoever believes each, 26 of 34
// (BenchmarkAdviceBesideOthers).
const slipsOften, timesAgain = 0.03, 2

// measured reports whether a reading has been taken just so: to take it again
// tells nothing but that it was misread, which is worth knowing, once, of one that
// is at odds with all the rest, and of any where readings slip often.
func (e *Engine) measured(t Test, odd int) bool {
	times := 0
	if e.errs.slip >= slipsOften {
		times = -timesAgain
	}
	if e.comesAndGoes() && e.meets(t) == anew {
		return false // it may be there now
	}
	for i, ev := range e.evidence {
		if i == odd {
			continue
		}
		o := ev.Reading
		if o == nil || !e.since(ev) || !t.Probing() || o.Mode != t.Mode || o.Probes.Function != t.Probes.Function || len(o.Lift) != len(t.Lift) {
			continue
		}
		p, q := o.Probes.P, o.Probes.Q
		if p == t.Probes.P && q == t.Probes.Q || p == t.Probes.Q && q == t.Probes.P {
			times++
		}
	}
	return times > 0
}

// suspectedParts lists the branches of parts that are suspected to some extent
// and that a probe can be put across with the supply off.
func (e *Engine) suspectedParts() []circuit.BranchID {
	upstream := e.Bench().Upstream()
	sum := make([]float64, len(e.c.Branches()))
	ps := e.posterior()
	for i := range e.hyps {
		for _, k := range e.hyps[i].classes {
			for _, m := range e.classes[k].Members {
				for _, f := range m.Faults {
					sum[f.Branch] += ps[i]
				}
			}
		}
	}
	var out []circuit.BranchID
	for i, p := range sum {
		id := circuit.BranchID(i)
		b := e.c.Branch(id)
		if p < 0.003 || !probeable(e.c, b) || upstream[b.A] || upstream[b.B] {
			continue
		}
		out = append(out, id)
	}
	return out
}
