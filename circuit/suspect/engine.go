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
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"sort"
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
	// MeterOnly leaves moves out: only trials and readings are proposed.
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
	workers  []*worker
	tracer   *trace.Tracer
	made     []Cause          // faults that made another
	worked   []circuit.PartID // parts whose wires somebody had off
	mends    []Mend           // repairs made so far
	// points are the places a probe was put to besides those listed, lifted the
	// wires that were off for a reading: classes are told apart there.
	points  []circuit.TerminalID
	lifted  map[circuit.WireID]bool
	idle    map[circuit.ModeID][][]bool // by mode, see [Engine.idleIn]
	leftOut float64                     // share of weight let go or never considered
	last    *table                      // of what is known now, if it was made
	sound   func(circuit.ModeID) (circuit.Powered, error)
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
	if err := checkTales(c); err != nil {
		return nil, err
	}
	e := &Engine{c: c, opt: opt, sound: soundMachine(c), tracer: trace.New(c)}
	net := phasor.NewNetwork(c)
	for range runtime.GOMAXPROCS(0) {
		b := meter.New(c, opt.Instrument)
		if opt.Ambient != 0 {
			b.Ambient = opt.Ambient
		}
		e.workers = append(e.workers, newWorker(b, net, e.sound))
	}
	var err error
	if e.made, err = e.workers[0].blown(); err != nil {
		return nil, err
	}
	e.classify(opt.Points, nil)
	e.reset()
	return e, nil
}

// classify groups faults by what probes at points, and lifted wires, can tell
// apart.
func (e *Engine) classify(points []circuit.TerminalID, lifted map[circuit.WireID]bool) {
	before := len(e.classes)
	e.points, e.lifted = points, lifted
	more := slices.Clone(e.made)
	for _, p := range e.worked {
		more = append(more, miswired(e.c, e.c.Part(p))...)
	}
	e.classes = classes(e.c, e.tracer, points, lifted, more)
	// More points, or fewer, part classes or join them; as many are the same.
	if len(e.classes) != before {
		e.idle = map[circuit.ModeID][][]bool{}
	}
}

// parts groups faults anew where a reading is taken at a place, or with a wire
// off, that tells apart what was one class until now, or where somebody worked on
// a part. It reports whether it did.
func (e *Engine) parts(ev Evidence) bool {
	points, lifted, worked := slices.Clone(e.points), maps.Clone(e.lifted), len(e.worked)
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
	if len(points) == len(e.points) && len(lifted) == len(e.lifted) && len(e.worked) == worked {
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
	e.hyps, e.last = e.hypotheses(min(e.opt.Order, 2)), nil
	e.leftOut = priorTriple
	e.evidence, e.singles, e.mends = nil, nil, nil
	slices.SortStableFunc(e.hyps, func(a, b hypothesis) int { return cmp.Compare(b.logp, a.logp) })
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
	if e.Misfit() >= 0 {
		return ErrNothingFits
	}
	return nil
}

func (e *Engine) add(ctx context.Context, ev Evidence) error {
	e.last = nil
	ev, err := e.meant(ev)
	if err != nil {
		return err
	}
	for _, m := range ev.Mended[min(len(e.mends), len(ev.Mended)):] {
		e.mends = append(e.mends, m)
		e.hyps = e.mend(e.hyps, m, len(e.mends))
	}
	single, err := e.weighSingles(ctx, ev)
	if err != nil {
		return err
	}
	if err := e.weigh(ctx, single, e.hyps); err != nil {
		return err
	}
	e.evidence = append(e.evidence, ev)
	e.singles = append(e.singles, single)
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

// How many pairs are given other sizes, and the share of weight from which.
const resized, worthResizing = 4, 0.005

// resize gives the pairs that lead, each class in turn, every other size that it
// may have: a pair is weighed at usual sizes until then.
func (e *Engine) resize(ctx context.Context) error {
	have := map[string]bool{}
	for i := range e.hyps {
		have[fmt.Sprint(e.hyps[i].classes, e.hyps[i].cells)] = true
	}
	var more []hypothesis
	seeds := 0
	for i, p := range e.posterior() {
		h := &e.hyps[i]
		if p < worthResizing || seeds == resized {
			break // they are sorted
		}
		if len(h.classes) != 2 || h.gone != nil || h.cells[0] != usual || h.cells[1] != usual || len(e.needed(h)) != 2 {
			continue
		}
		seeds++
		for at, k := range h.classes {
			z := e.classes[k].sizes
			for c := range z.cells {
				cells := slices.Clone(h.cells)
				cells[at] = int32(c)
				if len(z.cells[c].corners) == 1 || z.cells[c].holds(z.corners[z.usual][0]) || have[fmt.Sprint(h.classes, cells)] {
					continue
				}
				other := h.classes[1-at]
				more = append(more, hypothesis{classes: h.classes, cells: cells, logp: math.Log(2 * priorPair * e.classes[k].Prior * z.cells[c].share * e.usually(other))})
			}
		}
	}
	if len(more) == 0 {
		return nil
	}
	return e.join(ctx, more)
}

// join weighs further hypotheses by all that is known and takes them in.
func (e *Engine) join(ctx context.Context, more []hypothesis) error {
	for i, m := range e.mends {
		more = e.mend(more, m, i+1)
	}
	for _, single := range e.singles {
		if err := e.weigh(ctx, single, more); err != nil {
			return err
		}
	}
	e.hyps = append(e.hyps, more...)
	e.prune()
	return nil
}

// Undo takes the last piece of evidence back.
func (e *Engine) Undo(ctx context.Context) error {
	if len(e.evidence) == 0 {
		return errors.New("there is nothing to take back")
	}
	keep := append([]Evidence(nil), e.evidence[:len(e.evidence)-1]...)
	e.worked = nil
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
	e.worked = nil
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

// prune lets hypotheses go whose weight no longer matters.
func (e *Engine) prune() {
	best := math.Inf(-1)
	for _, h := range e.hyps {
		best = max(best, h.logp)
	}
	slices.SortStableFunc(e.hyps, func(a, b hypothesis) int { return cmp.Compare(b.logp, a.logp) })
	total, kept := 0.0, 0.0
	n := 0
	for i, h := range e.hyps {
		w := math.Exp(h.logp - best)
		total += w
		if w >= keepShare && i < maxKept {
			kept += w
			n = i + 1
		}
	}
	e.hyps = e.hyps[:n]
	if total > 0 {
		e.leftOut = 1 - (1-e.leftOut)*kept/total
	}
}

// How many hypotheses larger ones are made of.
const pairSeeds, tripleSeeds = 12, 40

// extend adds hypotheses of one class more, at usual sizes: those of so many
// classes that fit best, each with every other class, at a prior of the set
// before its classes' own.
func (e *Engine) extend(ctx context.Context, from int, prior float64, seeds int) error {
	have := map[string]bool{}
	for i := range e.hyps {
		if len(e.hyps[i].classes) > from {
			have[fmt.Sprint(e.hyps[i].classes)] = true
		}
	}
	asUsual := slices.Repeat([]int32{usual}, from+1)
	var more []hypothesis
	used := map[string]bool{}
	for i := 0; i < len(e.hyps) && len(used) < seeds; i++ {
		h := &e.hyps[i]
		id := fmt.Sprint(h.classes)
		if len(h.classes) != from || used[id] || from == 1 && !e.partial(h) || slices.ContainsFunc(h.classes, func(k int32) bool { return e.classes[k].common }) {
			continue
		}
		used[id] = true
		for k := int32(0); k < int32(len(e.classes)); k++ {
			if e.classes[k].common || slices.ContainsFunc(h.classes, func(m int32) bool { return m == k || e.exclusive(k, m) }) {
				continue
			}
			set := append(slices.Clone(h.classes), k)
			slices.Sort(set)
			id := fmt.Sprint(set)
			if have[id] {
				continue
			}
			have[id] = true
			p := prior
			for _, c := range set {
				p *= e.usually(c)
			}
			more = append(more, hypothesis{classes: set, cells: asUsual, logp: math.Log(p)})
		}
	}
	return e.join(ctx, more)
}

// partial reports whether a class by itself explains some of what was seen and
// leaves some to another: any other class beside one that explains it all, or
// none, is irrelevant.
func (e *Engine) partial(h *hypothesis) bool {
	return len(e.needed(h)) > 0 && slices.ContainsFunc(e.singles, func(s *singles) bool {
		return h.isGone(0, len(s.ev.Mended)) && s.none < misfits || !h.isGone(0, len(s.ev.Mended)) && s.single(h, 0) < misfits
	})
}

// relative compares the likelihood of an answer with the best that any
// prediction could have given it, so that a wide interval is no misfit.
func relative(ev Evidence, ps []predicted) float64 {
	got := logLikelihood(ev, ps...)
	if ev.Told != nil {
		return got - math.Log(ev.Told.most())
	}
	if ev.Reading == nil || ev.Reading.OL || ev.Reading.Unsteady {
		return got
	}
	best := *ev.Reading
	low, high, ok := ends(ps)
	if !ok || low.OL {
		return got
	}
	f := best.Probes.Function
	best.Value = math.Expm1((scaled(f, low.Value)+scaled(f, high.Value))/2) * knee(f)
	return got - logLikelihood(Evidence{Reading: &best}, ps...)
}

// misfits is the log likelihood, beside the best that an answer could have, of
// one that is a slip or a misjudgement.
var misfits = math.Log(2 * misjudge)

// Misfit names the piece of evidence that the best explanation takes for a slip
// or a misjudgement, the worst where it does so for several. It returns -1 when
// all fits.
func (e *Engine) Misfit() int {
	h := e.best()
	if h == nil {
		return len(e.evidence) - 1
	}
	worst, at := misfits, -1
	for i, ev := range e.evidence {
		ps, err := e.predicted(e.workers[0], ev, h)
		if err != nil {
			return i
		}
		r := relative(ev, ps)
		if h := h.at(len(ev.Mended)); len(h.cells) == 1 && h.cells[0] != usual {
			r = e.classes[h.classes[0]].sizes.cells[h.cells[0]].occasion.weigh(ev, r, e.singles[i].none)
		}
		if r < worst {
			worst, at = r, i
		}
	}
	return at
}

// best is the likeliest size of the likeliest classes.
func (e *Engine) best() *hypothesis {
	weights := map[string]float64{}
	leading := map[string]int{}
	var most *hypothesis
	for i, p := range e.posterior() {
		id := e.hyps[i].id()
		if _, ok := leading[id]; !ok {
			leading[id] = i // sorted by weight
		}
		if weights[id] += p; most == nil || weights[id] > weights[most.id()] {
			most = &e.hyps[leading[id]]
		}
	}
	return most
}

// Suspect is an explanation with its probability among those considered.
type Suspect struct {
	// Causes are the classes of faults taken together; none means nothing
	// wrong. Within each, members cannot be told apart at the listed points.
	Causes []Class
	// P is the probability, normalised over what was considered.
	P float64

	// Mistaken is set where what was seen is explained by nothing: it was told
	// or read wrong, whatever else may be the matter.
	Mistaken bool
	// Alike is the number of like parts, any one of which it may be, where what
	// was seen parts none of them; 0 for others. Its one cause then has them all
	// as members.
	Alike int

	core []int32
}

// Suspects ranks the explanations, most probable first, up to a number. Faults
// that have nothing to do with what was seen are left out of an explanation.
func (e *Engine) Suspects(most int) []Suspect {
	ps := e.posterior()
	index := map[string]int{}
	var out []Suspect
	for i := range e.hyps {
		core := e.core(&e.hyps[i])
		id := fmt.Sprint(core)
		at, ok := index[id]
		if !ok {
			at = len(out)
			index[id] = at
			s := Suspect{core: core, Mistaken: len(core) == 0 && e.speaks()}
			for _, k := range core {
				s.Causes = append(s.Causes, e.classes[k])
			}
			out = append(out, s)
		}
		out[at].P += ps[i]
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(most, len(out))]
}

// fewAlike is the number of like suspects from which they are listed as one.
const fewAlike = 4

// Listed is [Engine.Suspects] with parts of one kind and rating that fail alike
// and are equally likely taken as one, with their count.
func (e *Engine) Listed(most int) []Suspect {
	type kin struct {
		fault   circuit.FaultKind
		part    circuit.Kind
		z       complex128
		members int
		p       int64 // of the chance, to nine places
	}
	of := map[kin][]int{}
	all := e.Suspects(math.MaxInt)
	kinOf := func(s *Suspect) (kin, bool) {
		if len(s.Causes) != 1 || len(s.Causes[0].Members[0].Faults) != 1 {
			return kin{}, false
		}
		f := s.Causes[0].Members[0].Faults[0]
		b := e.c.Branch(f.Branch)
		k := kin{fault: f.Kind, z: b.Z, members: len(s.Causes[0].Members), p: int64(math.Round(s.P * 1e9))}
		if b.Part != circuit.None {
			k.part = e.c.Part(b.Part).Kind
		}
		return k, true
	}
	for i := range all {
		if k, ok := kinOf(&all[i]); ok {
			of[k] = append(of[k], i)
		}
	}
	var out []Suspect
	for i := range all {
		k, ok := kinOf(&all[i])
		switch group := of[k]; {
		case !ok || len(group) < fewAlike:
			out = append(out, all[i])
		case group[0] == i:
			one := Suspect{Alike: len(group), Causes: []Class{{}}}
			for _, at := range group {
				one.P += all[at].P
				one.Causes[0].Members = append(one.Causes[0].Members, all[at].Causes[0].Members...)
				one.Causes[0].Prior += all[at].Causes[0].Prior
			}
			out = append(out, one)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(most, len(out))]
}

// speaks reports whether anything was seen, since the last repair, that a sound
// machine does not show.
func (e *Engine) speaks() bool {
	return slices.ContainsFunc(e.singles, func(s *singles) bool { return s.bad() && e.since(s.ev) })
}

// PartChance sums the probability that a part or wire, by the branch's part
// name or wire name, is at fault in some explanation, most probable first.
func (e *Engine) PartChance() []Chance {
	sum := map[string]float64{}
	ps := e.posterior()
	for i := range e.hyps {
		for _, k := range e.core(&e.hyps[i]) {
			for _, m := range e.classes[k].Members {
				sum[m.blames(e.c)] += ps[i] * m.Prior / e.classes[k].Prior
			}
		}
	}
	var out []Chance
	for name, p := range sum {
		out = append(out, Chance{name, p})
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].P != out[j].P {
			return out[i].P > out[j].P
		}
		return out[i].Name < out[j].Name
	})
	return out
}

// Blamed is the branch that a cause is laid to: that of its first fault, or of
// the part that did it.
func (m *Cause) Blamed(c *circuit.Circuit) circuit.BranchID {
	if id, err := c.FindPart(m.Part); err == nil && len(c.Part(id).Branches) > 0 {
		return c.Part(id).Branches[0]
	}
	return m.Faults[0].Branch
}

// blames names the part or wire that a cause is laid to.
func (m *Cause) blames(c *circuit.Circuit) string {
	b := c.Branch(m.Blamed(c))
	if b.Part != circuit.None {
		return c.Part(b.Part).Name
	}
	return b.Ref
}

// Chance is the probability that a part or wire is at fault.
type Chance struct {
	Name string
	P    float64
}

// posterior normalises the weights; hypotheses are sorted already.
func (e *Engine) posterior() []float64 {
	out := make([]float64, len(e.hyps))
	if len(e.hyps) == 0 {
		return out
	}
	best, total := math.Inf(-1), 0.0
	for _, h := range e.hyps {
		best = max(best, h.logp)
	}
	for i, h := range e.hyps {
		out[i] = math.Exp(h.logp - best)
		total += out[i]
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// Entropy is the uncertainty left, in bits.
func (e *Engine) Entropy() float64 {
	h := 0.0
	for _, p := range e.posterior() {
		if p > 0 {
			h -= p * math.Log2(p)
		}
	}
	return h
}
