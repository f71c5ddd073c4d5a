package trace

import (
	"context"
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// OnSet is a minimal set of faults that leaves a load energised.
type OnSet struct {
	Faults []circuit.Fault
	// Watts is what the load takes, Share that as a share of its rating.
	Watts, Share float64
	// Chatters is set when the machine does not settle; Watts is then the most
	// it swings to.
	Chatters bool
	// Confirmed is set when the solver agreed, also that no proper subset does.
	Confirmed bool
}

// Order is the number of faults in the set.
func (s OnSet) Order() int { return len(s.Faults) }

// KeepOn finds every minimal set of welded contacts, shorted loads and grounds
// to chassis, up to the order of the options, that leaves the load energised in
// a mode in which a sound machine does not. It returns [ErrEnergised] where
// the load is on by right.
//
// The search branches, as [Tracer.Starve] does, on what could matter next: a
// load with an end tied to no supply conductor stays off as long as that end's
// island gets no new tie, so only welds across the island's edge, grounds
// inside it, and what would move a contact at its edge can matter.
func (t *Tracer) KeepOn(ctx context.Context, mode circuit.ModeID, load circuit.BranchID, opt Options) ([]OnSet, error) {
	opt, err := opt.withDefaults(DefaultOnShare)
	if err != nil {
		return nil, err
	}
	base, err := t.engine.Run(mode, nil)
	if err != nil {
		return nil, err
	}
	if base.MostShare(load) >= opt.Share {
		return nil, ErrEnergised
	}
	k := &keeper{t: t, ctx: ctx, mode: mode, load: load, opt: opt, faults: t.makes(), memo: map[string]keptOn{}}
	err = k.search()
	return k.report(), err
}

// makes lists every fault that makes a connection: each contact welded, each
// load shorted, each load grounded in its middle.
func (t *Tracer) makes() []circuit.Fault {
	var out []circuit.Fault
	for i := range t.c.Branches() {
		id := circuit.BranchID(i)
		for _, f := range []circuit.Fault{
			{Kind: circuit.Welded, Branch: id},
			{Kind: circuit.Short, Branch: id},
			{Kind: circuit.Grounded, Branch: id, At: 0.5},
		} {
			b := t.c.Branch(id)
			if f.Kind != circuit.Welded && (b.Role != circuit.Load || b.Sensor != nil) {
				continue
			}
			if t.c.CanFail(f) {
				out = append(out, f)
			}
		}
	}
	return out
}

type keeper struct {
	t      *Tracer
	ctx    context.Context
	mode   circuit.ModeID
	load   circuit.BranchID
	opt    Options
	faults []circuit.Fault
	memo   map[string]keptOn
	found  []foundOn
}

type keptOn struct {
	watts    float64
	on       bool
	chatters bool
}

type foundOn struct {
	set []int32
	keptOn
}

func (k *keeper) search() error {
	open := [][]int32{{}}
	for order := 1; order <= k.opt.Order; order++ {
		tried := map[string]bool{}
		var next [][]int32
		for _, set := range open {
			if err := k.ctx.Err(); err != nil {
				return err
			}
			matters, err := k.matters(set)
			if err != nil {
				return err
			}
			for _, f := range matters {
				if slices.Contains(set, f) || k.sameBranch(set, f) {
					continue
				}
				more := append(append(make([]int32, 0, order), set...), f)
				slices.Sort(more)
				if id := key(more); !tried[id] && !k.containsFound(more) {
					tried[id] = true
					next = append(next, more)
				}
			}
		}
		open = open[:0:0]
		for i, set := range next {
			if err := k.ctx.Err(); err != nil {
				return err
			}
			circuit.Work(k.ctx, i, len(next))
			v, err := k.ask(set)
			if err != nil {
				return err
			}
			if !v.on {
				open = append(open, set)
				continue
			}
			minimal, err := k.minimal(set)
			if err != nil {
				return err
			}
			if minimal {
				k.found = append(k.found, foundOn{set, v})
				if len(k.found) >= k.opt.MaxSets {
					return ErrTooMany
				}
			}
		}
	}
	return nil
}

// sameBranch keeps two faults of one branch out of one set: a shorted load
// that is also grounded is no longer two independent faults.
func (k *keeper) sameBranch(set []int32, f int32) bool {
	for _, g := range set {
		if k.faults[g].Branch == k.faults[f].Branch {
			return true
		}
	}
	return false
}

func (k *keeper) containsFound(set []int32) bool {
	for _, f := range k.found {
		if subset(f.set, set) {
			return true
		}
	}
	return false
}

// minimal reports whether no proper subset keeps the load on.
func (k *keeper) minimal(set []int32) (bool, error) {
	for mask := 1; mask < 1<<len(set)-1; mask++ {
		var part []int32
		for i, f := range set {
			if mask&(1<<i) != 0 {
				part = append(part, f)
			}
		}
		v, err := k.ask(part)
		if err != nil || v.on {
			return false, err
		}
	}
	return true, nil
}

func (k *keeper) run(set []int32) (*settle.Outcome, error) {
	faults := make([]circuit.Fault, len(set))
	for i, f := range set {
		faults[i] = k.faults[f]
	}
	return k.t.engine.Run(k.mode, faults)
}

func (k *keeper) ask(set []int32) (keptOn, error) {
	id := key(set)
	if v, ok := k.memo[id]; ok {
		return v, nil
	}
	out, err := k.run(set)
	if err != nil {
		return keptOn{}, err
	}
	share := out.MostShare(k.load)
	v := keptOn{watts: share * k.t.c.Branch(k.load).Watts, on: share >= k.opt.Share, chatters: out.Chatter != nil}
	k.memo[id] = v
	return v, nil
}

// matters lists the faults, one of which any set that energises the load must
// add.
func (k *keeper) matters(set []int32) ([]int32, error) {
	out, err := k.run(set)
	if err != nil {
		return nil, err
	}
	w := &offWitness{k: k, out: out, seen: map[circuit.BranchID]bool{}, want: map[int32]bool{}}
	if k.t.c.Mode(k.mode).After != circuit.None || out.Chatter != nil || !w.stayOff(k.load) {
		all := make([]int32, len(k.faults))
		for i := range all {
			all[i] = int32(i)
		}
		return all, nil
	}
	list := make([]int32, 0, len(w.want))
	for f := range w.want {
		list = append(list, f)
	}
	slices.Sort(list)
	return list, nil
}

// offWitness collects the faults without which a load is bound to stay off.
type offWitness struct {
	k    *keeper
	out  *settle.Outcome
	seen map[circuit.BranchID]bool // loads already looked at
	want map[int32]bool
}

// stayOff adds what could energise a load. It reports false where no island
// argument applies, so that every fault could matter.
func (w *offWitness) stayOff(load circuit.BranchID) bool {
	if w.seen[load] {
		return true
	}
	w.seen[load] = true
	b := w.k.t.c.Branch(load)
	islandA, suppliedA := w.k.t.island(w.out, b.A, load)
	islandB, suppliedB := w.k.t.island(w.out, b.B, load)
	island := islandA
	switch {
	case suppliedA && suppliedB:
		return false
	case suppliedA:
		island = islandB
	case !suppliedB && len(islandB) < len(islandA):
		island = islandB
	}
	return w.edge(island, load)
}

// island returns the terminals that conduct to one end of a load without going
// through it, and whether a supply conductor is among them.
func (t *Tracer) island(out *settle.Outcome, from circuit.TerminalID, load circuit.BranchID) (map[circuit.TerminalID]bool, bool) {
	in := map[circuit.TerminalID]bool{from: true}
	supplied := false
	queue := []circuit.TerminalID{from}
	reach := func(n circuit.TerminalID) {
		if !in[n] {
			in[n] = true
			queue = append(queue, n)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, id := range t.at[n] {
			b := t.c.Branch(id)
			if !out.Conducts[id] || id == load {
				continue
			}
			if b.Role == circuit.Source {
				supplied = true
				continue
			}
			reach(b.A)
			reach(b.B)
		}
		for _, f := range out.Faults {
			if f.Kind == circuit.Grounded {
				g := t.c.Branch(f.Branch)
				if n == g.A || n == g.B {
					reach(t.c.ChassisTerminal())
				}
				if n == t.c.ChassisTerminal() {
					reach(g.A)
					reach(g.B)
				}
			}
		}
	}
	return in, supplied
}

// edge adds the faults that would give an island a new tie: welds across its
// edge, grounds on it, the load's own, and whatever would make a coil close or
// reopen a contact at the edge.
func (w *offWitness) edge(island map[circuit.TerminalID]bool, load circuit.BranchID) bool {
	t := w.k.t
	chassis := island[t.c.ChassisTerminal()]
	for i := range w.k.faults {
		f := &w.k.faults[i]
		b := t.c.Branch(f.Branch)
		switch {
		case f.Branch == load:
			w.want[int32(i)] = true
		case f.Kind == circuit.Welded && island[b.A] != island[b.B]:
			w.want[int32(i)] = true
		case f.Kind == circuit.Grounded && (island[b.A] || island[b.B] || chassis):
			w.want[int32(i)] = true
		case f.Kind == circuit.Short && island[b.A] != island[b.B]:
			w.want[int32(i)] = true
		}
	}
	for i := range t.c.Branches() {
		b := t.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Contact || b.Rule.By == circuit.None || island[b.A] == island[b.B] || w.out.Conducts[i] {
			continue
		}
		if !w.keepsStill(b) {
			return false
		}
	}
	return true
}

// keepsStill adds what could close an open contact through its coil or
// control. It reports false where that cannot be bounded.
func (w *offWitness) keepsStill(contact *circuit.Branch) bool {
	t := w.k.t
	mover := t.c.Branch(contact.Rule.By)
	if contact.Rule.NormallyClosed {
		return false // it is held open by a coil, which a short could starve
	}
	if mover.Role == circuit.Drive {
		// A control drives nothing it is not asked to in this mode.
		return !slices.Contains(t.c.Mode(w.k.mode).Drives, mover.ID)
	}
	return !w.out.Acting[mover.ID] && w.stayOff(mover.ID)
}

func (k *keeper) report() []OnSet {
	out := make([]OnSet, 0, len(k.found))
	rated := k.t.c.Branch(k.load).Watts
	for _, f := range k.found {
		s := OnSet{Watts: f.watts, Share: f.watts / rated, Chatters: f.chatters, Confirmed: true}
		for _, i := range f.set {
			s.Faults = append(s.Faults, k.faults[i])
		}
		out = append(out, s)
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Order() != out[j].Order() {
			return out[i].Order() < out[j].Order()
		}
		if out[i].Watts != out[j].Watts {
			return out[i].Watts > out[j].Watts
		}
		return false
	})
	return out
}
