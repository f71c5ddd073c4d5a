package meter

import (
	"context"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Suspect is one open that would starve the load, with its weight among the
// others.
type Suspect struct {
	Fault circuit.Fault
	// Weight is its share of all the suspects' priors.
	Weight float64
}

// Seen is what a suspect makes a test read.
type Seen struct {
	// Suspects are indexes into TestList.Suspects that read alike.
	Suspects []int
	Reading  Reading
	// Differs is set when the reading cannot be taken for a good one.
	Differs bool
}

// Step is one test of a list.
type Step struct {
	Probes
	// Live says the machine is on, in Mode; Off that it is on but switched off;
	// with neither, the supply is removed and locked out.
	Live bool
	Mode circuit.ModeID
	// UnderLoad is set when the reading means something only while the load
	// draws current: unloaded, a burnt contact reads like a good one.
	UnderLoad bool
	// Lift lists the wires to take off At first.
	Lift []circuit.WireID
	At   circuit.TerminalID
	Good Reading
	// Others lists what suspects make of it, those that read good first.
	Others []Seen
	// Clears is the weight of the suspects that a good reading rules out.
	Clears float64
	// OnlyIf is the earlier step that must have read bad for this one to tell
	// anything more, or None: a good reading there has ruled out all that this
	// one could find.
	OnlyIf int
	// Minutes is the effort in the order given, places opened once.
	Minutes float64
	opening bool // of the supply, before any other live test
}

// TestList is a list of tests for a load that is dead or weak in a mode, in the
// order that rules out most for least effort, tests with the supply removed
// first.
type TestList struct {
	Mode     circuit.ModeID
	Load     circuit.BranchID
	Suspects []Suspect
	Steps    []Step
	// Alike groups the suspects that no test of the list tells apart.
	Alike [][]int
	// LiveOff is what stays live in Off: see before touching.
	LiveOff *LiveParts
}

// Costs of a test in minutes (common practice, no source).
const (
	againMinutes = 1  // at a place already opened
	liveMinutes  = 15 // what a live test's risk is worth avoiding
	liftMinutes  = 3  // to take a wire off and put it back
)

// maxSteps caps a list: it must fit two sheets of paper.
const maxSteps = 16

// TestList makes the list of tests for a load in a mode.
func (b *Bench) TestList(ctx context.Context, mode circuit.ModeID, load circuit.BranchID) (*TestList, error) {
	tracer := trace.New(b.c)
	sets, err := tracer.Starve(ctx, mode, load, trace.Options{Order: 1})
	if err != nil {
		return nil, err
	}
	list := &TestList{Mode: mode, Load: load, Suspects: b.suspects(sets)}
	if list.LiveOff, err = b.LiveParts(b.c.OffMode(), nil); err != nil {
		return nil, err
	}
	live, err := b.Live(mode, nil)
	if err != nil {
		return nil, err
	}
	candidates, err := b.candidates(mode, tracer.Feed(live, load))
	if err != nil {
		return nil, err
	}
	for i := range candidates {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := b.predict(&candidates[i], list.Suspects); err != nil {
			return nil, err
		}
	}
	opening, err := b.supplySteps(mode, b.c.OffMode(), tracer.Feed(live, load), list.Suspects)
	if err != nil {
		return nil, err
	}
	list.choose(b, candidates, opening)
	return list, nil
}

// suspects weighs the single opens by the priors of their kinds; a wire counts
// as much as the netlist's priors say a wire does.
func (b *Bench) suspects(sets []trace.CutSet) []Suspect {
	var out []Suspect
	total := 0.0
	for _, s := range sets {
		if s.Order() != 1 {
			continue
		}
		for _, id := range s.Members[0].Branches {
			w := b.c.BranchPrior(id)
			total += w
			out = append(out, Suspect{circuit.Fault{Kind: circuit.Open, Branch: id}, w})
		}
	}
	for i := range out {
		out[i].Weight /= total
	}
	return out
}

// candidates lists the tests worth trying: each part on the feed by itself with
// the supply off, and the voltages along the feed. Pins and studs are tested
// with the run of wire they are in, and a control's input reads anything, so
// neither is measured by itself.
func (b *Bench) candidates(mode circuit.ModeID, f *trace.Feed) ([]Step, error) {
	var out []Step
	tried := map[circuit.BranchID]bool{}
	var order []circuit.BranchID
	add := func(id circuit.BranchID) {
		if !tried[id] {
			tried[id] = true
			order = append(order, id)
		}
	}
	add(f.Load)
	var spans [][]circuit.TerminalID
	collect := func(g *trace.Feed) {
		for i := range g.Ends {
			var span []circuit.TerminalID
			for _, hop := range g.Ends[i].Hops {
				add(hop.Branch)
				span = append(span, hop.To)
			}
			spans = append(spans, span)
		}
	}
	collect(f)
	for _, h := range f.Holds {
		collect(h.Feed)
		add(h.Feed.Load)
		for _, s := range h.Senses {
			for _, id := range s.Branches {
				add(id)
			}
			spans = append(spans, []circuit.TerminalID{s.Sense.Pin1, s.Sense.Pin2})
		}
	}
	upstream := b.Upstream()
	for _, id := range order {
		br := b.c.Branch(id)
		if br.Role != circuit.Load && br.Role != circuit.Contact || b.c.Part(br.Part).Kind == circuit.KindControl || upstream[br.A] || upstream[br.B] {
			continue
		}
		m, err := b.Mask(mode, id)
		if err != nil {
			return nil, err
		}
		if m.Hopeless {
			continue
		}
		s := Step{Probes: Probes{Function: Ohms, P: m.P, Q: m.Q}, Mode: mode, Good: m.Good, At: circuit.None}
		if m.Masked {
			s.Good, s.Lift, s.At = m.GoodLifted, m.Lift, m.At
		}
		out = append(out, s)
	}
	dead, err := b.Dead(mode, nil)
	if err != nil {
		return nil, err
	}
	for _, span := range spans {
		out = append(out, b.spanSteps(dead, mode, upstream, span)...)
	}
	return append(out, b.liveSteps(mode, f, upstream, spans)...), nil
}

// Upstream marks the terminals that stay live with the machine's breaker off:
// everything joined to a supply conductor without passing the breaker, and the
// breaker itself. No resistance is ever measured there.
func (b *Bench) Upstream() map[circuit.TerminalID]bool {
	out := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	for _, id := range b.c.Supply().Legs {
		queue = append(queue, b.c.Branch(id).B)
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if out[t] {
			continue
		}
		out[t] = true
		if b.c.Part(b.c.Terminal(t).Part).Kind.Guards() {
			continue
		}
		for _, w := range b.c.Terminal(t).Wires {
			wire := b.c.Wire(w)
			for _, far := range [2]circuit.TerminalID{wire.From, wire.To} {
				p := b.c.Part(b.c.Terminal(far).Part).Kind
				if p == circuit.KindSupply || p.Guards() {
					queue = append(queue, far)
				}
			}
		}
	}
	return out
}

// spanSteps are continuity tests between places along a way that conduct with
// the supply off.
func (b *Bench) spanSteps(dead *settle.Outcome, mode circuit.ModeID, upstream map[circuit.TerminalID]bool, span []circuit.TerminalID) []Step {
	var out []Step
	listed := b.listed(span)
	for i, p := range listed {
		for _, q := range listed[i+1:] {
			if upstream[p] || upstream[q] {
				continue
			}
			r := b.ohms(dead, p, q)
			if r.OL || r.MaybeOL {
				continue
			}
			out = append(out, Step{Probes: Probes{Function: Ohms, P: p, Q: q}, Mode: mode, Good: r, At: circuit.None})
		}
	}
	return out
}

// listed keeps the terminals that have a test point, with the first and last.
func (b *Bench) listed(span []circuit.TerminalID) []circuit.TerminalID {
	point := map[circuit.TerminalID]bool{}
	for _, p := range b.c.Points() {
		point[p.Terminal] = true
	}
	var out []circuit.TerminalID
	for i, t := range span {
		if point[t] || len(span) == 2 || i == len(span)-1 {
			out = append(out, t)
		}
	}
	return out
}

// liveSteps are voltages: the legs where the machine takes them, with nothing
// on and under load, and each listed place along the feed to neutral and to
// the other end of its part. Nothing is probed live in the house's panel.
func (b *Bench) liveSteps(mode circuit.ModeID, f *trace.Feed, upstream map[circuit.TerminalID]bool, spans [][]circuit.TerminalID) []Step {
	reference := b.black()
	seen := map[Probes]bool{}
	var out []Step
	add := func(p, q circuit.TerminalID, mode circuit.ModeID) {
		pr := Probes{Function: Volts, P: p, Q: q}
		key := pr
		key.Name = b.c.Mode(mode).Name
		if p == q || p == circuit.None || q == circuit.None || upstream[p] || upstream[q] || seen[key] {
			return
		}
		seen[key] = true
		out = append(out, Step{Probes: pr, Live: true, Mode: mode, At: circuit.None})
	}
	load := b.c.Branch(f.Load)
	add(load.A, load.B, mode)
	for _, span := range spans {
		for _, t := range b.listed(span) {
			add(t, reference, mode)
		}
	}
	// Across each contact that heat depends on, and between the two ways.
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			br := b.c.Branch(hop.Branch)
			if br.Role == circuit.Contact {
				add(br.A, br.B, mode)
			}
		}
	}
	one, two := b.listed(spans[0]), b.listed(spans[1])
	for i := 0; i < len(one) && i < len(two); i++ {
		if b.c.PlaceOf(one[i]) == b.c.PlaceOf(two[i]) { // nobody holds live probes two places apart
			add(one[i], two[i], mode)
		}
	}
	for _, h := range f.Holds {
		c := b.c.Branch(h.Feed.Load)
		add(c.A, c.B, mode)
	}
	return out
}

// black is where the black probe rests in a list: the reference, or the
// machine's metal where no neutral comes into the machine.
func (b *Bench) black() circuit.TerminalID {
	reference := b.Reference()
	if b.c.Part(b.c.Terminal(reference).Part).Kind == circuit.KindSupply {
		return b.c.ChassisTerminal()
	}
	return reference
}

// supplySteps are where every live round begins, at the listed places nearest
// the supply: each leg to neutral with the machine off, so that no load brings
// one leg to the other's place, then leg to leg under load.
func (b *Bench) supplySteps(mode, off circuit.ModeID, f *trace.Feed, suspects []Suspect) ([]Step, error) {
	var first []circuit.TerminalID
	for i := range f.Ends {
		var span []circuit.TerminalID
		for _, hop := range f.Ends[i].Hops {
			span = append(span, hop.To)
		}
		if listed := b.listed(span); len(listed) > 0 {
			first = append(first, listed[0])
		}
	}
	reference := b.black()
	var out []Step
	add := func(p, q circuit.TerminalID, mode circuit.ModeID) error {
		if p == q {
			return nil
		}
		s := Step{Probes: Probes{Function: Volts, P: p, Q: q}, Live: true, Mode: mode, At: circuit.None}
		err := b.predict(&s, suspects)
		out = append(out, s)
		return err
	}
	for _, p := range first {
		if err := add(p, reference, off); err != nil {
			return nil, err
		}
	}
	for i, p := range first {
		for _, q := range first[i+1:] {
			if err := add(p, q, mode); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// predict fills in a test's good reading and what every suspect makes of it.
func (b *Bench) predict(s *Step, suspects []Suspect) error {
	read := func(faults []circuit.Fault) (Reading, error) {
		if s.Live {
			o, err := b.Live(s.Mode, faults)
			if err != nil {
				return Reading{}, err
			}
			return b.Volts(o, s.Function, s.P, s.Q)
		}
		o, err := b.Dead(s.Mode, faults)
		if err != nil {
			return Reading{}, err
		}
		for _, w := range s.Lift {
			o.Conducts[b.c.Wire(w).Branch] = false
		}
		return b.ohms(o, s.P, s.Q), nil
	}
	if s.Live {
		var err error
		if s.Good, err = read(nil); err != nil {
			return err
		}
	}
	groups := map[string]int{}
	for i, suspect := range suspects {
		if b.lifted(s, suspect.Fault.Branch) {
			continue // the wire is off: the test says nothing of it
		}
		r, err := read([]circuit.Fault{suspect.Fault})
		if err != nil {
			return err
		}
		if s.Good.Unsteady && r.Unsteady {
			r = s.Good
		}
		differs := r.Differs(s.Good)
		id := r.Range()
		if !differs {
			id = "good"
		}
		at, ok := groups[id]
		if !ok {
			at = len(s.Others)
			groups[id] = at
			s.Others = append(s.Others, Seen{Reading: r, Differs: differs})
		}
		s.Others[at].Suspects = append(s.Others[at].Suspects, i)
	}
	sort.SliceStable(s.Others, func(i, j int) bool { return !s.Others[i].Differs && s.Others[j].Differs })
	return nil
}

func (b *Bench) lifted(s *Step, id circuit.BranchID) bool {
	for _, w := range s.Lift {
		if b.c.Wire(w).Branch == id {
			return true
		}
	}
	return false
}
