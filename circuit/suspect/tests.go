package suspect

import (
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
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
	case t.Trial, t.Ask != "" && !moves[t.Ask].inside:
		return nil
	case t.Ask != "":
		return []string{c.Part(t.Part).Place}
	case t.Probes.Function == meter.Amps:
		return []string{c.PlaceOf(t.Probes.P)}
	}
	return []string{c.PlaceOf(t.Probes.P), c.PlaceOf(t.Probes.Q)}
}

// Probing reports whether a meter's probes are put down.
func (t Test) Probing() bool { return !t.Trial && t.Ask == "" }

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
		if m := e.c.Mode(circuit.ModeID(i)); (m.After == circuit.None || m.Reached == circuit.ByWaiting) && e.canTry(m) && !e.tried(circuit.ModeID(i)) && !e.shorts(circuit.ModeID(i)) {
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
	suspected := e.suspectedParts()
	for _, id := range suspected {
		b := e.c.Branch(id)
		m, err := bench.Mask(modes[0], id)
		if err != nil || m.Hopeless && b.Role != circuit.Contact {
			continue
		}
		p := meter.Probes{Function: meter.Ohms, P: m.P, Q: m.Q}
		lifted := m.Masked && !m.Hopeless // of a contact at rest open only a weld shows
		if see(p) && !lifted {
			continue
		}
		p.Name = e.c.PlaceName(m.P) + " to " + e.c.PlaceName(m.Q)
		t := Test{Probes: p, Mode: modes[0], At: circuit.None}
		if lifted {
			t.Lift, t.At = m.Lift, m.At
		}
		out = append(out, t)
	}
	for _, p := range e.toMetal(suspected) {
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

// direct tells whether what a test reads is what lies between its probes: volts;
// ohms to metal; or ohms of a part that conducts there, or may where it should not.
func (e *Engine) direct() func(Test) bool {
	between := map[[2]circuit.TerminalID][]circuit.BranchID{}
	for i := range e.c.Branches() {
		b := e.c.Branch(circuit.BranchID(i))
		for _, ends := range [2][2]circuit.TerminalID{{b.A, b.B}, {b.B, b.A}} {
			between[ends] = append(between[ends], b.ID)
		}
	}
	const leads = 0.1
	welded := map[circuit.BranchID]float64{}
	for i, p := range e.posterior() {
		for _, f := range e.faults(&e.hyps[i]) {
			if f.Kind == circuit.Welded {
				welded[f.Branch] += p
			}
		}
	}
	metal, conducts := e.c.ChassisTerminal(), map[circuit.ModeID]func(circuit.BranchID) bool{}
	return func(t Test) bool {
		if !t.Probing() || t.Probes.Function.Live() || t.Probes.P == metal || t.Probes.Q == metal {
			return true
		}
		if conducts[t.Mode] == nil {
			o, err := e.Bench().Dead(t.Mode, nil)
			if err != nil {
				return true
			}
			conducts[t.Mode] = func(id circuit.BranchID) bool { return o.Conducts[id] }
		}
		return slices.ContainsFunc(between[[2]circuit.TerminalID{t.Probes.P, t.Probes.Q}], func(id circuit.BranchID) bool {
			return conducts[t.Mode](id) || welded[id] >= leads
		})
	}
}

// toMetal lists ohms from the windings among what is suspected to the metal around
// them.
func (e *Engine) toMetal(suspected []circuit.BranchID) []meter.Probes {
	metal := e.c.ChassisTerminal()
	var out []meter.Probes
	for _, id := range suspected {
		b := e.c.Branch(id)
		if b.Role == circuit.Load && winds(e.c.Part(b.Part).Kind) {
			out = append(out, meter.Probes{Function: meter.Ohms, P: b.A, Q: metal, Name: e.c.PlaceName(b.A) + " to " + e.c.PlaceName(metal)})
		}
	}
	return out
}

// Where readings slip so often, each may be taken so many times again. With one in ten
// wrong 91 of 95 hidden faults were named so; by whoever believes each, 26 of 34
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

// canTry reports whether a mode is one to try out: it can be brought about, and
// some load that is noticed is used in it with the fewest others. Who says that heat
// is full whatever its knob says has turned it through all its positions.
func (e *Engine) canTry(m *circuit.Mode) bool {
	if m.Reached == circuit.NotAtWill || e.runsAway() || e.heard("full") {
		return false
	}
	if m.ID == e.c.OffMode() {
		return true
	}
	on := func(m *circuit.Mode) (n int) {
		for _, x := range m.Expect {
			if x.Share > 0 {
				n++
			}
		}
		return n
	}
	for _, x := range m.Expect {
		if x.Share <= 0 || !noticed(e.c, x.Load) {
			continue
		}
		best := true
		for i := range e.c.Modes() {
			other := e.c.Mode(circuit.ModeID(i))
			used := slices.ContainsFunc(other.Expect, func(y circuit.Expectation) bool { return y.Load == x.Load && y.Share > 0 })
			better := on(other) < on(m) || on(other) == on(m) && other.Name < m.Name
			best = best && !(used && other.ID != m.ID && better && other.Reached <= m.Reached)
		}
		if best {
			return true
		}
	}
	return len(m.Expect) == 0
}

// runsAway reports whether something was told of that is not to be switched on
// again to see: heat that was not asked for, a trip, a shock, gas, a neutral that is
// lost and lets what is made for 120 V have more.
func (e *Engine) runsAway() bool {
	return e.heard("shock", "sparks", "lights_bright", "gas") || slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && (s.Trips || s.Whole == SomeOn || s.State == circuit.StaysOn)
	})
}

// tried reports whether a mode was looked at: every visible load's behaviour in
// it is known, or something wrong was told of it, which is not asked again. So
// was every mode of a machine of which nothing comes on, and one whose heat is
// known from another: nobody turns on a burner to hear again that it is weak.
func (e *Engine) tried(mode circuit.ModeID) bool {
	for i, ev := range e.evidence {
		s := ev.Symptom
		if s != nil && s.Mode == mode && (e.singles[i].bad() || s.Whole != 0 && s.Whole != Quiet) {
			return true
		}
	}
	if e.dark() || e.heatKnown(mode) {
		return true
	}
	known := e.knownStates(mode)
	for _, load := range seenLoads(e.c) {
		if known[load] == 0 {
			return false
		}
	}
	return true
}

// heatKnown reports whether it is known of all that heats in a mode, from this
// mode or others where it should, how it behaves.
func (e *Engine) heatKnown(mode circuit.ModeID) bool {
	sound, err := e.sound(mode)
	if err != nil {
		return false
	}
	told := map[circuit.BranchID]bool{}
	for _, ev := range e.evidence {
		if s := ev.Symptom; s != nil && s.Load != circuit.None && s.State != circuit.Off && s.State != circuit.StaysOn && e.since(ev) {
			// Where it should do less, or nothing, it did not show what it does here.
			there, err := e.sound(e.at(s.Mode))
			told[s.Load] = told[s.Load] || err == nil && (s.Mode == circuit.None || there.LeastShare(s.Load) >= 0.9*sound.LeastShare(s.Load))
		}
	}
	any := false
	for _, load := range e.c.Loads() {
		if e.c.Part(e.c.Branch(load).Part).Kind.Heats() && sound.LeastShare(load) >= circuit.OnShare {
			if !told[load] {
				return false
			}
			any = true
		}
	}
	return any
}

// knownStates gathers how loads were seen to behave in a mode.
func (e *Engine) knownStates(mode circuit.ModeID) map[circuit.BranchID]circuit.LoadState {
	known := map[circuit.BranchID]circuit.LoadState{}
	for _, ev := range e.evidence {
		if s := ev.Symptom; s != nil && s.Mode == mode && s.Load != circuit.None && e.since(ev) {
			known[s.Load] = s.State
		}
	}
	return known
}

// modes lists the modes in which something was seen that a sound machine does
// not do, oldest first, else the first that does anything; then Off.
func (e *Engine) modes() []circuit.ModeID {
	var out []circuit.ModeID
	have := map[circuit.ModeID]bool{}
	add := func(m circuit.ModeID) {
		if m != circuit.None && !have[m] && len(out) < 2 {
			have[m] = true
			out = append(out, m)
		}
	}
	for i := range e.evidence {
		if s := e.evidence[i].Symptom; s != nil && e.singles[i].bad() {
			add(e.at(s.Mode))
		}
	}
	for i := range e.c.Modes() {
		if len(out) == 0 && i == len(e.c.Modes())-1 || len(e.c.Mode(circuit.ModeID(i)).Expect) > 0 && len(out) == 0 && i > 0 {
			add(circuit.ModeID(i))
		}
	}
	if e.c.Mode(0).Reached == circuit.ByHand || e.tooHot() {
		add(0)
	}
	return out
}

// tooHot reports whether it was said that the machine gets too hot: it stands then
// as when all is warm.
func (e *Engine) tooHot() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Symptom != nil && (ev.Symptom.Whole == RunsHot || ev.Symptom.State == circuit.StaysOn) && e.since(ev)
	})
}

// suspectedParts lists the branches of parts that are suspected to some extent
// and that a probe can be put across with the supply off.
func (e *Engine) suspectedParts() []circuit.BranchID {
	upstream := e.Bench().Upstream()
	sum := map[circuit.BranchID]float64{}
	ps := e.posterior()
	for i := range e.hyps {
		for _, k := range e.hyps[i].classes {
			for _, m := range e.classes[k].Members {
				sum[m.Faults[0].Branch] += ps[i]
			}
		}
	}
	var out []circuit.BranchID
	for id, p := range sum {
		b := e.c.Branch(id)
		if p < 0.003 || !probeable(e.c, b) || upstream[b.A] || upstream[b.B] {
			continue
		}
		out = append(out, id)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// seenLoads lists the loads a person sees working, for trials.
func seenLoads(c *circuit.Circuit) []circuit.BranchID {
	var out []circuit.BranchID
	for _, id := range c.Loads() {
		switch c.Part(c.Branch(id).Part).Kind {
		case circuit.KindRelay, circuit.KindTransformer, circuit.KindResistor, circuit.KindSolenoid:
		default:
			out = append(out, id)
		}
	}
	return out
}

// Behaviour is what a trial shows: how each of some loads behaves, and what the
// machine as a whole does.
type Behaviour struct {
	States          []circuit.LoadState
	Trips, Chatters bool
}

// dim is the share of what a load should get below which it is plain to see that it
// is weak, and faint that below which nobody sees that it is on (common practice,
// no source).
const dim, faintlyOn = 0.6, 0.1

// seen is what a person sees of a behaviour at a glance: that something is on or
// dead, not that it gets somewhat less or more; of a display or a clock, no more
// than that.
func (b Behaviour) seen(c *circuit.Circuit, loads []circuit.BranchID, is, sound circuit.Powered) Behaviour {
	for i, id := range loads {
		k, s, share := c.Part(c.Branch(id).Part).Kind, b.States[i], is.LeastShare(id)
		switch {
		case s == circuit.TooMuch, s == circuit.Weak && (k == circuit.KindControl || k == circuit.KindMotor || share >= dim*sound.LeastShare(id)):
			b.States[i] = circuit.Normal
		case s == circuit.StaysOn && is.MostShare(id) < faintlyOn:
			b.States[i] = circuit.Off
		}
	}
	return b
}

// Equal reports whether two trials of the same loads showed the same.
func (b Behaviour) Equal(o Behaviour) bool {
	return b.Trips == o.Trips && b.Chatters == o.Chatters && slices.Equal(b.States, o.States)
}

// behaviour tells what a trial would show. What is known already is taken as it
// was seen: it is not looked at again.
func behaviour(is *settle.SweepOutcome, sound circuit.Powered, loads []circuit.BranchID, known map[circuit.BranchID]circuit.LoadState) Behaviour {
	b := Behaviour{Trips: len(is.Tripped) > 0, Chatters: is.Chatter() != nil}
	for _, id := range loads {
		state, ok := known[id]
		if !ok {
			state = circuit.JudgeLoad(is, sound, id)
		}
		b.States = append(b.States, state)
	}
	return b
}
