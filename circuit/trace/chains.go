package trace

import "legtrace/circuit"

// chain is a maximal run of branches in series: joined end to end at terminals
// where nothing else is. Opening any member is opening them all.
type chain struct {
	branches []circuit.BranchID // from u to v
	// u and v are the chain's ends: a terminal, or for an end at the supply
	// the number of terminals plus the source branch. none where it dangles.
	u, v int32
	// senses is set when a control's pins close the chain into a loop.
	senses bool
}

const none = int32(-1)

type chains struct {
	c    *circuit.Circuit
	of   []int32 // by branch
	list []chain
}

// findChains splits the circuit into chains. It looks at the wiring alone, so
// the split holds in every mode and under every set of opens.
func findChains(c *circuit.Circuit) *chains {
	nT, nB := len(c.Terminals()), len(c.Branches())
	ends, n := c.Meeting()
	inSeries := circuit.NewGroups(n)
	root := inSeries.Of
	for _, at := range ends {
		if len(at) == 2 {
			inSeries.Join(at[0], at[1])
		}
	}

	out := &chains{c: c, of: make([]int32, nB)}
	index := map[int32]int32{}
	for i := 0; i < nB; i++ {
		r := root(int32(i))
		k, ok := index[r]
		if !ok {
			k = int32(len(out.list))
			index[r] = k
			out.list = append(out.list, chain{u: none, v: none})
		}
		out.of[i] = k
		out.list[k].branches = append(out.list[k].branches, circuit.BranchID(i))
	}
	for i := nB; i < n; i++ {
		if k, ok := index[root(int32(i))]; ok {
			out.list[k].senses = true
		}
	}
	inner := func(t circuit.TerminalID) bool { return len(ends[t]) == 2 }
	for k := range out.list {
		out.order(&out.list[k], inner, nT)
	}
	return out
}

// order finds a chain's ends and sorts its branches from one to the other.
func (ch *chains) order(k *chain, inner func(circuit.TerminalID) bool, nT int) {
	if len(k.branches) == 1 && ch.c.Branch(k.branches[0]).Role == circuit.Drive {
		return
	}
	at := map[circuit.TerminalID][]circuit.BranchID{}
	type end struct {
		node   int32
		branch circuit.BranchID
		inside circuit.TerminalID // the branch's other terminal, to walk from
	}
	var ends []end
	for _, id := range k.branches {
		b := ch.c.Branch(id)
		if b.Role == circuit.Source {
			ends = append(ends, end{int32(nT) + int32(id), id, b.B})
			if inner(b.B) {
				at[b.B] = append(at[b.B], id)
			} else {
				ends = append(ends, end{int32(b.B), id, circuit.None})
			}
			continue
		}
		for _, t := range [2]circuit.TerminalID{b.A, b.B} {
			if inner(t) {
				at[t] = append(at[t], id)
				continue
			}
			far := b.Other(t)
			ends = append(ends, end{int32(t), id, far})
		}
	}
	loop := len(ends) == 0
	for _, id := range k.branches {
		// A loop of its own is walked from one pin that senses it to the other.
		b := ch.c.Branch(id)
		if loop && len(at[b.A]) == 1 {
			ends = append(ends, end{none, id, b.B})
		} else if loop && len(at[b.B]) == 1 {
			ends = append(ends, end{none, id, b.A})
		}
	}
	if len(ends) == 0 {
		return
	}
	k.u = ends[0].node
	if len(ends) > 1 && !loop {
		k.v = ends[len(ends)-1].node
	}
	if len(k.branches) == 1 {
		return
	}
	ordered := []circuit.BranchID{ends[0].branch}
	t := ends[0].inside
	for len(ordered) < len(k.branches) {
		var next circuit.BranchID = circuit.None
		for _, id := range at[t] {
			if id != ordered[len(ordered)-1] {
				next = id
			}
		}
		if next == circuit.None {
			break
		}
		ordered = append(ordered, next)
		b := ch.c.Branch(next)
		t = b.Other(t)
		if t == circuit.None {
			break
		}
	}
	if len(ordered) == len(k.branches) {
		k.branches = ordered
	}
}

// Segments groups the branches that fail alike: the chains of the circuit, cut
// where split says a terminal matters by itself, as a place for a probe does.
// Branches of one segment are in series with nothing between them that can be
// told from outside.
func (t *Tracer) Segments(split func(circuit.TerminalID) bool) [][]circuit.BranchID {
	var out [][]circuit.BranchID
	for i := range t.chains.list {
		var run []circuit.BranchID
		for _, id := range t.chains.list[i].branches {
			if len(run) > 0 && split(t.between(run[len(run)-1], id)) {
				out = append(out, run)
				run = nil
			}
			run = append(run, id)
		}
		out = append(out, run)
	}
	return out
}

// between returns the terminal two branches of a chain share, or None.
func (t *Tracer) between(a, b circuit.BranchID) circuit.TerminalID {
	x, y := t.c.Branch(a), t.c.Branch(b)
	for _, p := range [2]circuit.TerminalID{x.A, x.B} {
		if p != circuit.None && (p == y.A || p == y.B) {
			return p
		}
	}
	return circuit.None
}
