package drill

import (
	"context"
	"errors"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// maxTests bounds the best plan's tests; no visit makes more.
const maxTests = 40

// mostAtOnce is the most faults that are weighed together; what a third does is
// seen once two are known, at a fraction of the work.
const mostAtOnce = 2

// Best plays the drill as the engine would: its complaint, then the test that
// tells most for its minutes and risk, until it is sure of a cause. The session
// pays and obeys as a learner's does.
func (d *Drill) Best(ctx context.Context) (*Session, error) {
	if d.best != nil {
		return d.best, nil
	}
	e, err := d.engine(ctx)
	if err != nil {
		return nil, err
	}
	unlimited := *d
	unlimited.opt.Budget, unlimited.opt.Foretell = 0, false
	p := player{s: unlimited.Start(), e: e, r: ruler{d: d, e: e, known: e.Suspects(math.MaxInt)}}
	defer func() { d.giveBack(d.opt.Faults, p.r.e) }()
	if err := p.find(ctx); err != nil {
		return nil, err
	}
	for left := d.opt.Faults + 1; p.s.end == Open && p.s.Left() < left; {
		// More is hidden than what was seen so far led to: look at every mode,
		// and go by what the faults that were found do not explain.
		left = p.s.Left()
		if err := p.tryAll(ctx); err != nil {
			return nil, err
		}
		if err := p.reconsider(ctx); err != nil {
			return nil, err
		}
		if err := p.find(ctx); err != nil {
			return nil, err
		}
	}
	if err := p.nameAll(ctx); err != nil {
		return nil, err
	}
	p.s.weighed = p.r.done()
	d.best = p.s
	return d.best, nil
}

// engine weighs what the customer said.
func (d *Drill) engine(ctx context.Context) (*suspect.Engine, error) {
	e, err := d.fresh(d.opt.Faults)
	if err != nil {
		return nil, err
	}
	return e, learn(ctx, e, d.complaint.Evidence)
}

// fresh is an engine to which nothing was told. One that was given back has
// worked out much of what it will be asked.
func (d *Drill) fresh(faults int) (*suspect.Engine, error) {
	order := min(faults, mostAtOnce)
	if e := d.idle[order]; e != nil {
		delete(d.idle, order)
		e.Forget()
		return e, nil
	}
	return suspect.New(d.c, suspect.Options{Order: order, Instrument: d.opt.Instrument, MeterOnly: true})
}

// giveBack keeps an engine for so many faults for the next who asks.
func (d *Drill) giveBack(faults int, e *suspect.Engine) { d.idle[min(faults, mostAtOnce)] = e }

// learn adds evidence; that nothing fits is no reason to stop.
func learn(ctx context.Context, e *suspect.Engine, list []suspect.Evidence) error {
	for _, ev := range list {
		if err := e.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return err
		}
	}
	return nil
}

// player makes the engine's tests by the drill's own moves.
type player struct {
	s *Session
	// e is what it goes by, r what its steps are measured by: the same engine,
	// until the first fault is found and there is more.
	e     *suspect.Engine
	r     ruler
	tests int
	said  []string // parts named, rightly or not
}

// find tests until the leading explanation may be acted on, and acts on it.
func (p *player) find(ctx context.Context) error {
	for p.tests < maxTests && !p.sure() {
		next, err := p.e.Next(ctx, p.s.progress, 1)
		if err != nil {
			return err
		}
		if len(next) == 0 {
			break
		}
		if err := p.test(ctx, &next[0]); err != nil {
			return err
		}
	}
	if top := p.e.Suspects(1); len(top) > 0 {
		return p.nameCauses(ctx, top[0])
	}
	return nil
}

// tryAll looks at every mode that was not looked at.
func (p *player) tryAll(ctx context.Context) error {
	d := p.s.d
	tried := map[circuit.ModeID]bool{}
	for i := range p.s.steps {
		if m := p.s.steps[i].Move; m.Verb == Try {
			tried[m.Mode] = true
		}
	}
	for i := range d.c.Modes() {
		mode := circuit.ModeID(i)
		if tried[mode] || d.c.Mode(mode).Brief {
			continue
		}
		if err := p.test(ctx, &suspect.Proposal{Test: suspect.Test{Trial: true, Mode: mode, Live: true, At: circuit.None}}); err != nil {
			return err
		}
	}
	return nil
}

// reconsider weighs anew what the faults found so far leave unexplained.
func (p *player) reconsider(ctx context.Context) error {
	d := p.s.d
	var found []Hidden
	for i, h := range d.hidden {
		if p.s.found[i] {
			found = append(found, h)
		}
	}
	seen := slices.Clone(d.complaint.Evidence)
	for i := range p.s.steps {
		seen = append(seen, p.s.steps[i].Evidence...)
	}
	seen = slices.DeleteFunc(seen, func(ev suspect.Evidence) bool { return d.touches(found, ev) })
	p.e = p.r.e.Beside(min(p.s.Left(), mostAtOnce))
	return learn(ctx, p.e, seen)
}

// touches reports whether faults change what a piece of evidence is about: then
// it tells nothing of what else is wrong.
func (d *Drill) touches(found []Hidden, ev suspect.Evidence) bool {
	if sy := ev.Symptom; sy != nil {
		is, sound := d.look(sy.Mode, found), d.sound[sy.Mode]
		at := slices.Index(suspect.SeenLoads(d.c), sy.Load)
		return is.trips != sound.trips || is.chatters != sound.chatters || at >= 0 && is.states[at] != sound.states[at]
	}
	o := ev.Reading
	with, err := d.bench.Take(o.Probes, o.Mode, o.Lift, d.faults(found))
	if err != nil {
		return true
	}
	without, err := d.bench.Take(o.Probes, o.Mode, o.Lift, d.faults(nil))
	return err != nil || with.Differs(without)
}

// sure reports whether the leading explanation may be acted on: it holds
// something that was not named yet.
func (p *player) sure() bool {
	top := p.e.Suspects(1)
	return len(top) > 0 && top[0].P > suspect.Sure && slices.ContainsFunc(top[0].Causes, func(cl suspect.Class) bool {
		return !slices.Contains(p.said, p.s.d.partsOf(cl.Members[0])[0])
	})
}

func (p *player) play(ctx context.Context, m Move) error {
	step, err := p.s.Play(m)
	if err == nil && step.Unsafe != nil {
		err = errors.New("the best plan was stopped: " + string(step.Unsafe.Rule))
	}
	if err != nil {
		return err
	}
	if err := p.r.measure(ctx, step); err != nil || p.e == p.r.e {
		return err
	}
	return learn(ctx, p.e, step.Evidence)
}

// test makes one, turning the supply, proving the meter and lifting leads as it
// needs.
func (p *player) test(ctx context.Context, next *suspect.Proposal) error {
	p.tests++
	var moves []Move
	t := next.Test
	// Asked again, the same test shows the same.
	p.s.progress.Skip(p.s.d.c, t)
	switch {
	case !t.Live:
		moves = p.toDead()
	case !p.s.On():
		moves = append(moves, Move{Verb: On})
	}
	if t.Live && !t.Trial && (!p.s.On() || !p.s.proved) {
		moves = append(moves, Move{Verb: Prove})
	}
	do := Move{Verb: Read, Mode: t.Mode, Function: t.Probes.Function, P: t.Probes.P, Q: t.Probes.Q}
	if t.Trial {
		do = Move{Verb: Try, Mode: t.Mode}
	} else if t.Probes.Function == meter.Amps {
		wire, err := p.s.d.c.WireBetween(t.Probes.P, t.Probes.Q)
		if err != nil {
			return err
		}
		do.Wires = []circuit.WireID{p.s.d.c.Branch(wire).Wire}
	}
	at := t.At
	if at == circuit.None {
		at = t.Probes.P
	}
	if len(t.Lift) > 0 {
		moves = append(moves, Move{Verb: Lift, Wires: t.Lift, At: at})
	}
	for _, m := range moves {
		if err := p.play(ctx, m); err != nil {
			return err
		}
	}
	if err := p.play(ctx, do); err != nil {
		return err
	}
	if len(t.Lift) > 0 {
		return p.play(ctx, Move{Verb: Refit, Wires: t.Lift, At: at})
	}
	return nil
}

// toDead are the moves, as far as they are still to be made, before a hand goes in.
func (p *player) toDead() (out []Move) {
	if p.s.On() {
		out = append(out, Move{Verb: Off})
	}
	if p.s.On() || !p.s.proved {
		out = append(out, Move{Verb: Prove})
	}
	if p.s.On() || !p.s.dead {
		out = append(out, Move{Verb: TestDead})
	}
	return out
}

// nameCauses names an explanation's parts.
func (p *player) nameCauses(ctx context.Context, s suspect.Suspect) error {
	for _, cl := range s.Causes {
		if err := p.name(ctx, p.s.d.partsOf(cl.Members[0])[0]); err != nil {
			return err
		}
	}
	return nil
}

func (p *player) name(ctx context.Context, part string) error {
	if p.s.end != Open || slices.Contains(p.said, part) {
		return nil
	}
	p.said = append(p.said, part)
	for _, m := range append(p.toDead(), Move{Verb: Name, Named: part}) {
		if err := p.play(ctx, m); err != nil {
			return err
		}
	}
	return nil
}

// nameAll names what is suspected, most probable first, until all is found.
func (p *player) nameAll(ctx context.Context) error {
	for _, s := range p.e.Suspects(math.MaxInt) {
		if p.s.end != Open {
			return nil
		}
		if err := p.nameCauses(ctx, s); err != nil {
			return err
		}
	}
	for i, h := range p.s.d.hidden { // what the engine let go of
		if !p.s.found[i] {
			if err := p.name(ctx, p.s.d.partsOf(h.Cause)[0]); err != nil {
				return err
			}
		}
	}
	return nil
}
