package trace

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// starver searches for what starves one load in one mode.
type starver struct {
	t     *Tracer
	ctx   context.Context
	mode  circuit.ModeID
	load  circuit.BranchID
	opt   Options
	full  float64 // watts of the sound machine
	base  *settle.Outcome
	model *model
	sweep *settle.Sweep
	memo  map[string]verdict
	found []found
}

// verdict is what the solver says of a set of opened chains.
type verdict struct {
	watts    float64
	starved  bool
	chatters bool
}

type found struct {
	set []int32
	verdict
	confirmed bool
}

func (t *Tracer) newStarver(ctx context.Context, mode circuit.ModeID, load circuit.BranchID, opt Options) (*starver, error) {
	base, err := t.engine.Run(mode, nil)
	if err != nil {
		return nil, err
	}
	rated := t.c.Branch(load).Watts
	if rated == 0 || !circuit.JudgeLoad(base, base, load).On() {
		return nil, ErrNotEnergised
	}
	return &starver{t: t, ctx: ctx, mode: mode, load: load, opt: opt, base: base,
		full: base.LeastShare(load) * rated, memo: map[string]verdict{}, model: t.newModel(mode, load, base)}, nil
}

// search goes by size. At each size it tries the graph's own minimal sets and
// every extension, by one more chain that could matter, of a smaller set that
// did not starve the load: with the graph model those are sets that cut the
// feed but leave the load enough through another load; without it, all.
//
// It is exact. A minimal starving set either cuts the feed of the model, so it
// contains one of the graph's minimal sets; or there is no model and it
// contains the empty set. From there on, a set that does not starve the load
// can only be made to by opening something that carries current on the way to
// its settled state ([starver.matters]): opening anything else changes nothing.
func (s *starver) search() ([]found, error) {
	byOrder := make([][][]int32, s.opt.Order+1)
	var more error
	if s.model != nil {
		byOrder, more = s.model.hittingSets(s.ctx, s.opt)
		if more != nil && !errors.Is(more, ErrTooMany) {
			return nil, more
		}
	}
	var open [][]int32
	if s.model == nil {
		open = [][]int32{{}}
	}
	for order := 1; order <= s.opt.Order; order++ {
		next := byOrder[order]
		every := 1
		if len(open) == 0 && len(next)<<order > mostAsked {
			every = (len(next) + sampled - 1) / sampled
		}
		tried := map[string]bool{}
		for _, set := range next {
			tried[key(set)] = true
		}
		for _, set := range open {
			more, err := s.extensions(set, tried)
			if err != nil {
				return s.found, err
			}
			next = append(next, more...)
		}
		before, err := len(s.found), error(nil)
		open, err = s.judgeAll(next, every)
		if every > 1 && len(open) > 0 { // what the graph says is not enough here
			s.found = s.found[:before]
			open, err = s.judgeAll(next, 1)
		}
		if err != nil {
			return s.found, err
		}
	}
	return s.found, more
}

// Of sets of one order, found on the graph, that have so many subsets together the
// solver is asked of all. Of more it is asked of a sample of sets, evenly spread, and
// of all where it disagrees once.
const mostAsked, sampled = 28000, 400

// judgeAll judges sets of one order, every so manieth, and takes the others as the
// graph has them. It gives those that may be extended.
func (s *starver) judgeAll(sets [][]int32, every int) (open [][]int32, err error) {
	for i, set := range sets {
		if err := s.ctx.Err(); err != nil {
			return open, err
		}
		circuit.Work(s.ctx, i, len(sets))
		kept := true
		if i%every != 0 {
			s.found = append(s.found, found{set: set})
		} else if kept, err = s.judge(set); err != nil {
			return open, err
		}
		if !kept {
			open = append(open, set)
		}
		if len(s.found) > s.opt.MaxSets {
			s.found = s.found[:s.opt.MaxSets]
			return open, ErrTooMany
		}
	}
	return open, nil
}

// judge asks the solver about a set and keeps it if it starves the load while
// no proper subset does. It reports false for a set that may be extended.
func (s *starver) judge(set []int32) (bool, error) {
	if s.opt.Unconfirmed && s.model != nil {
		s.found = append(s.found, found{set: set})
		return true, nil
	}
	v, err := s.ask(set)
	if err != nil || !v.starved {
		return false, err
	}
	minimal := true
	for mask := 1; mask < 1<<len(set)-1; mask++ {
		var part []int32
		for i, k := range set {
			if mask&(1<<i) != 0 {
				part = append(part, k)
			}
		}
		sub, err := s.ask(part)
		if err != nil {
			return false, err
		}
		minimal = minimal && !sub.starved
	}
	if minimal {
		s.found = append(s.found, found{set, v, true})
	}
	return true, nil
}

// nearLimit is how near the limit, as a share of full power, an update is too
// near to say on which side the engine would find it.
const nearLimit = 1e-8

// ask settles the machine with the chains opened, once per set.
func (s *starver) ask(set []int32) (verdict, error) {
	k := key(set)
	if v, ok := s.memo[k]; ok {
		return v, nil
	}
	if s.opt.Order == 1 { // few: a sweep is not worth its making
		out, err := s.t.run(s.mode, set)
		if err != nil {
			return verdict{}, err
		}
		return s.keep(k, out.LeastShare(s.load), out.Chatter != nil), nil
	}
	if s.sweep == nil {
		var err error
		if s.sweep, err = settle.NewSweep(s.t.engine, s.mode); err != nil {
			return verdict{}, err
		}
	}
	out, err := s.sweep.Run(s.t.opens(set))
	if err != nil {
		return verdict{}, err
	}
	share := out.LeastShare(s.load)
	if watts := share * s.t.c.Branch(s.load).Watts; math.Abs(watts-s.opt.Share*s.full) <= nearLimit*s.full {
		exact, err := out.Full()
		if err != nil {
			return verdict{}, err
		}
		share = exact.LeastShare(s.load)
	}
	return s.keep(k, share, out.Chatter() != nil), nil
}

func (s *starver) keep(key string, share float64, chatters bool) verdict {
	watts := share * s.t.c.Branch(s.load).Watts
	v := verdict{watts: watts, starved: watts < s.opt.Share*s.full, chatters: chatters}
	s.memo[key] = v
	return v
}

// extensions lists the untried sets of one chain more than set that could
// starve the load and contain no set already found.
func (s *starver) extensions(set []int32, tried map[string]bool) ([][]int32, error) {
	matters, err := s.matters(set)
	if err != nil {
		return nil, err
	}
	var out [][]int32
	for _, k := range matters {
		if slices.Contains(set, k) {
			continue
		}
		more := append(append(make([]int32, 0, len(set)+1), set...), k)
		slices.Sort(more)
		if id := key(more); !tried[id] {
			tried[id] = true
			if !s.containsFound(more) {
				out = append(out, more)
			}
		}
	}
	return out, nil
}

func (s *starver) containsFound(set []int32) bool {
	for _, f := range s.found {
		if subset(f.set, set) {
			return true
		}
	}
	return false
}

// currentFloor is the current, as a share of the largest, below which a branch
// counts as carrying none: rounding, not physics.
const currentFloor = 1e-10

// matters lists the chains that carry current at any point while the machine
// settles with the set opened, that a control sees through, or that drive a
// contact. If none of them is opened besides, every solve on the way stays as
// it is, and so does the outcome.
func (s *starver) matters(set []int32) ([]int32, error) {
	t := s.t
	marked := make([]bool, len(t.chains.list))
	_, err := t.observe(s.mode, t.opens(set), func(conducts, acting []bool, sol *phasor.Solution) {
		var largest float64
		for _, a := range sol.Amps {
			largest = max(largest, cmplx.Abs(a))
		}
		for i, a := range sol.Amps {
			role := t.c.Branch(circuit.BranchID(i)).Role
			if cmplx.Abs(a) > currentFloor*largest || role == circuit.Drive && acting[i] {
				marked[t.chains.of[i]] = true
			}
		}
		for i := range t.c.Controls() {
			for _, sense := range t.c.Controls()[i].Senses {
				for _, k := range t.senseChains(sense, conducts) {
					marked[k] = true
				}
			}
		}
	})
	var out []int32
	for k, m := range marked {
		if m {
			out = append(out, int32(k))
		}
	}
	return out, err
}

func subset(a, b []int32) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return true
}

func key(set []int32) string {
	b := make([]byte, 0, 4*len(set))
	for _, k := range set {
		b = append(b, byte(k), byte(k>>8), byte(k>>16), byte(k>>24))
	}
	return string(b)
}

// report turns the sets found into cut sets, by order, then by where they lie
// on the feed.
func (s *starver) report(all []found) []CutSet {
	via, rank := s.t.vias(s.load, s.base)
	out := make([]CutSet, 0, len(all))
	for _, f := range all {
		set := slices.Clone(f.set)
		sort.Slice(set, func(i, j int) bool { return rank(set[i]) < rank(set[j]) })
		cs := CutSet{Watts: f.watts, Chatters: f.chatters, Dead: true, Confirmed: f.confirmed}
		if f.confirmed {
			cs.Share = f.watts / s.full
			rated := s.t.c.Branch(s.load).Watts
			cs.Dead = circuit.Judge(f.watts/rated, s.full/rated) == circuit.Dead
		}
		for _, k := range set {
			cs.Members = append(cs.Members, Member{Branches: s.t.chains.list[k].branches, Via: via[k]})
		}
		out = append(out, cs)
	}
	place := func(cs CutSet) []int32 {
		var at []int32
		for _, m := range cs.Members {
			at = append(at, rank(s.t.chains.of[m.Branches[0]]))
		}
		return at
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Order() != out[j].Order() {
			return out[i].Order() < out[j].Order()
		}
		return slices.Compare(place(out[i]), place(out[j])) < 0
	})
	return out
}
