// Package suspect finds which faults explain what was seen, and which test to
// make next.
//
// [New] makes an [Engine] for a circuit with every single fault and, on
// request, every pair as hypotheses, weighed by the priors of their part kinds.
// [Engine.Add] takes a symptom or a reading and reweighs them by Bayes' rule;
// [Engine.Suspects] ranks what is left; [Engine.Next] proposes tests by the
// information they would give for their minutes and risk (minimum entropy:
// J. de Kleer and B. C. Williams, "Diagnosing multiple faults", Artificial
// Intelligence 32, 1987); [Engine.Plan] makes the whole decision tree.
package suspect

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/trace"
)

// Options sets up an [Engine]. The zero value means the defaults.
type Options struct {
	// Order is the most faults at once that are considered: 1, 2 (default) or
	// 3. Triples are made from the pairs and singles that fit best.
	Order int
	// Instrument is the meter in hand; the zero value means the default one.
	Instrument meter.Instrument
	// Points are terminals the technician can reach besides those listed.
	Points []circuit.TerminalID
	// MeterOnly leaves moves out: only trials and readings are proposed, and nothing
	// else than what is listed is reckoned with.
	MeterOnly bool
	// Ambient is the temperature of the cold machine; 0 means room.
	Ambient float64
}

// Bounds of what an engine keeps.
const (
	// keepShare is the share of the best hypothesis's weight below which one is
	// let go; the weight let go is told by [Engine.LeftOut].
	keepShare = 1e-6
	maxKept   = 60000
)

// Engine weighs hypotheses against evidence. It must not be used by two
// goroutines at once; it uses all processors itself.
type Engine struct {
	c        *circuit.Circuit
	opt      Options
	classes  []Class
	hyps     []hypothesis
	evidence []Evidence
	singles  []*singles // by evidence
	// corners are what all evidence says of each corner of each cell, by class,
	// readings that go evenly from corner to corner left out.
	corners  [][][4]float64
	workers  []*worker
	tracer   *trace.Tracer
	made     []Cause          // faults that made another
	worked   []circuit.PartID // parts whose wires somebody had off before
	rewired  []circuit.PartID // parts whose wires a repair of this visit had off
	opened   []circuit.PartID // guards against heat of which it is asked what opened them
	tripping []Cause          // and that
	mends    []Mend           // repairs made so far
	// points are the places a probe was put to besides those listed, lifted the
	// wires that were off for a reading: classes are told apart there.
	points   []circuit.TerminalID
	lifted   map[circuit.WireID]bool
	ofLoads  *corners                    // see [Engine.distinct]
	hopeless map[setOf]letGo             // hypotheses that were let go
	idle     map[circuit.ModeID][][]bool // by mode, see [Engine.idleIn]
	fine     map[[2]int32]*fineCell      // by class and cell, see [Engine.fineIn]
	leftOut  float64                     // share of weight let go or never considered
	errs     *errs
	last     *table // of what is known now, if it was made
	// chances are what [Engine.posterior] made of some weights; needs are what
	// [Engine.cores] found, until more is seen.
	weights, chances []float64
	needs            [][]int32
	sound            func(circuit.ModeID) (circuit.Powered, error)
	atFirst          float64 // log weight of all hypotheses, nothing seen
}

// ErrNothingFits is returned by [Engine.Add] when no hypothesis explains all
// that was seen; the evidence is kept, so that [Engine.Misfit] can say which.
var ErrNothingFits = errors.New("nothing considered explains all that was seen")

// New makes an engine.
func New(c *circuit.Circuit, opt Options) (*Engine, error) {
	if opt.Order == 0 {
		opt.Order = 2
	}
	if opt.Order < 1 || opt.Order > 3 {
		return nil, fmt.Errorf("order %d: it goes from 1 to 3", opt.Order)
	}
	if opt.Instrument == (meter.Instrument{}) {
		opt.Instrument = meter.DefaultInstrument()
	}
	if err := opt.Instrument.Check(); err != nil {
		return nil, err
	}
	for _, p := range CheckTales(c.Tales()) {
		return nil, errors.New(p.String())
	}
	e := &Engine{c: c, opt: opt, errs: errsOf(c), sound: soundMachine(c), tracer: trace.New(c)}
	net, collapse := phasor.NewNetwork(c), newCollapse(c, e.tracer)
	for range runtime.GOMAXPROCS(0) {
		b := meter.New(c, opt.Instrument)
		if opt.Ambient != 0 {
			b.Ambient = opt.Ambient
		}
		w := newWorker(b, net, e.sound)
		w.collapse = collapse
		e.workers = append(e.workers, w)
	}
	var err error
	if e.made, err = e.workers[0].blown(); err != nil {
		return nil, err
	}
	welded, err := e.together()
	if err != nil {
		return nil, err
	}
	e.made = append(e.made, welded...)
	e.classify(opt.Points, nil)
	e.reset()
	return e, nil
}

// Beside is an engine to which nothing was told, for sets of so many faults. It
// shares what this one has worked out of the machine: neither may be used while the
// other works.
func (e *Engine) Beside(order int) *Engine {
	b := *e
	b.opt.Order = order
	b.Forget()
	return &b
}

// readyModes is how many modes are made ready: each takes a megabyte or two.
const readyModes = 3

// Ready works out of the machine what most complaints ask, whatever they are: what each
// single fault does, and what is idle beside it, in the first modes of those that show
// every load. What was worked out when the context ends is kept.
func (e *Engine) Ready(ctx context.Context) error {
	modes := e.workers[0].coverage()
	for _, mode := range modes[:min(readyModes, len(modes))] {
		ev := Evidence{Symptom: &Symptom{Mode: mode, Load: circuit.None}}
		if _, err := e.looksAt(ctx, e.distinct(ev), ev); err != nil {
			return err
		}
		for _, w := range e.workers {
			clear(w.lines) // what they show is kept, and they are large
		}
		if e.opt.Order < 2 || len(e.classes) > mostPaired {
			continue
		}
		if _, err := e.idleIn(ctx, mode, func(int32) bool { return true }); err != nil {
			return err
		}
	}
	return nil
}

// classify groups faults by what probes at points, and lifted wires, can tell
// apart.
func (e *Engine) classify(points []circuit.TerminalID, lifted map[circuit.WireID]bool) {
	before := len(e.classes)
	e.points, e.lifted = points, lifted
	more := slices.Concat(e.made, e.tripping)
	for _, p := range e.worked {
		more = append(more, miswired(e.c, e.c.Part(p))...)
	}
	for _, p := range e.rewired {
		for _, cause := range miswired(e.c, e.c.Part(p)) {
			if cause.later = true; !slices.Contains(e.worked, p) {
				more = append(more, cause)
			}
		}
	}
	e.classes, e.ofLoads = classes(e.c, e.tracer, points, lifted, more), nil
	// More points, or fewer, part classes or join them; as many are the same.
	if len(e.classes) != before {
		e.idle = map[circuit.ModeID][][]bool{}
	}
}

// parts groups faults anew where a reading is taken at a place, or with a wire
// off, that tells apart what was one class until now, or where somebody worked on
// a part. It reports whether it did.
func (e *Engine) parts(ev Evidence) bool {
	points, lifted, worked := slices.Clone(e.points), maps.Clone(e.lifted), len(e.worked)+len(e.rewired)+len(e.tripping)
	for _, m := range ev.Mended {
		for _, p := range m.rewired(e.c) {
			if !slices.Contains(e.rewired, p) {
				e.rewired = append(e.rewired, p)
			}
		}
	}
	for _, id := range e.openedBy(ev) {
		if !slices.Contains(e.opened, id) {
			e.opened, e.tripping = append(e.opened, id), append(e.tripping, e.openers(e.c.Part(id))...)
		}
	}
	switch {
	case ev.Told != nil && ev.Told.Part != circuit.None && slices.Contains(workedOn, ev.Told.What) && !slices.Contains(e.worked, ev.Told.Part):
		e.worked = append(e.worked, ev.Told.Part)
	case ev.Reading != nil:
		for _, t := range [2]circuit.TerminalID{ev.Reading.Probes.P, ev.Reading.Probes.Q} {
			if e.c.PointAt(t) == nil && !slices.Contains(points, t) {
				points = append(points, t)
			}
		}
		for _, w := range ev.Reading.Lift {
			if lifted == nil {
				lifted = map[circuit.WireID]bool{}
			}
			lifted[w] = true
		}
	}
	if len(points) == len(e.points) && len(lifted) == len(e.lifted) && len(e.worked)+len(e.rewired)+len(e.tripping) == worked {
		return false
	}
	before := e.classes
	e.classify(points, lifted)
	if len(e.classes) == len(before) {
		e.classes = before // with what was told of their members
		return false
	}
	return true
}

func (e *Engine) reset() {
	e.hyps, e.last, e.needs = e.hypotheses(min(e.opt.Order, 2)), nil, nil
	e.leftOut, e.hopeless, e.fine = priorTriple, map[setOf]letGo{}, map[[2]int32]*fineCell{}
	e.evidence, e.singles, e.corners, e.mends, e.atFirst = nil, nil, nil, nil, e.mass()
	e.hyps = likeliestFirst(e.hyps)
}

// Circuit returns the circuit under suspicion.
func (e *Engine) Circuit() *circuit.Circuit { return e.c }

// Bench returns a bench with the engine's instrument.
func (e *Engine) Bench() *meter.Bench { return e.workers[0].bench }

// Evidence returns what was added, in order.
func (e *Engine) Evidence() []Evidence { return e.evidence }

// LeftOut bounds the share of prior weight that was never considered or was
// let go as hopeless.
func (e *Engine) LeftOut() float64 { return e.leftOut }

// Add reweighs every hypothesis by one piece of evidence. [ErrNothingFits]
// says that the evidence, all together, is explained by nothing considered.
func (e *Engine) Add(ctx context.Context, ev Evidence) error {
	if !ev.valid() {
		return errors.New("evidence is a symptom, a reading or something told")
	}
	if known := e.evidence; e.parts(ev) {
		e.reset()
		for _, ev := range known {
			if err := e.add(ctx, ev); err != nil {
				return err
			}
		}
	}
	if err := e.add(ctx, ev); err != nil {
		return err
	}
	if !e.Fits() {
		return ErrNothingFits
	}
	return nil
}

func (e *Engine) add(ctx context.Context, ev Evidence) error {
	e.last = nil
	defer func() { e.needs = nil }()
	ev, err := e.meant(ev)
	if err != nil {
		return err
	}
	for _, m := range ev.Mended[min(len(e.mends), len(ev.Mended)):] {
		e.mends = append(e.mends, m)
		clear(e.fine) // they are weighed since the last repair
		e.hyps = e.mend(e.hyps, m, len(e.mends))
		e.rewire()
	}
	single, err := e.weighSingles(ctx, ev)
	if err != nil {
		return err
	}
	if err := e.weigh(ctx, single, e.hyps); err != nil {
		return err
	}
	e.know(ev, single)
	e.prune()
	if e.opt.Order >= 2 && len(e.classes) > mostPaired {
		if err := e.extend(ctx, 1, 2*priorPair, pairSeeds); err != nil {
			return err
		}
	}
	if e.opt.Order >= 2 {
		if err := e.resize(ctx); err != nil {
			return err
		}
	}
	if e.opt.Order >= 3 {
		return e.extend(ctx, 2, 6*priorTriple, tripleSeeds)
	}
	return nil
}

// Undo takes the last piece of evidence back.
func (e *Engine) Undo(ctx context.Context) error {
	if len(e.evidence) == 0 {
		return errors.New("there is nothing to take back")
	}
	keep := append([]Evidence(nil), e.evidence[:len(e.evidence)-1]...)
	e.worked, e.rewired, e.opened, e.tripping = nil, nil, nil, nil
	e.classify(e.opt.Points, nil)
	e.reset()
	for _, ev := range keep {
		if err := e.Add(ctx, ev); err != nil && !errors.Is(err, ErrNothingFits) {
			return err
		}
	}
	return nil
}

// Forget goes back to a visit where nothing was seen yet.
func (e *Engine) Forget() {
	e.worked, e.rewired, e.opened, e.tripping = nil, nil, nil, nil
	e.classify(e.opt.Points, nil)
	e.reset()
}

// each runs do for 0..n-1, split among the workers.
func (e *Engine) each(ctx context.Context, n int, do func(w *worker, i int) error) error {
	circuit.Work(ctx, 0, n)
	var wait sync.WaitGroup
	errs := make([]error, len(e.workers))
	for k, w := range e.workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := k; i < n; i += len(e.workers) {
				if i/len(e.workers)%16 == 0 && ctx.Err() != nil {
					errs[k] = ctx.Err()
					return
				}
				if k == 0 && i > 0 && i/len(e.workers)%16 == 0 {
					circuit.Work(ctx, i, n)
				}
				if err := do(w, i); err != nil {
					errs[k] = err
					return
				}
			}
		}()
	}
	wait.Wait()
	return errors.Join(errs...)
}
