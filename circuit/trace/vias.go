package trace

import (
	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// vias says what each chain does for the load, and gives the chains an order:
// along the feed from each conductor, then what holds its contacts.
func (t *Tracer) vias(load circuit.BranchID, base *settle.Outcome) (map[int32]Via, func(int32) int32) {
	via := map[int32]Via{}
	rank := map[int32]int32{}
	set := func(id circuit.BranchID, v Via) {
		k := t.chains.of[id]
		if _, known := via[k]; !known {
			via[k] = v
			rank[k] = int32(len(rank))
		}
	}
	f := t.Feed(base, load)
	loadChain := t.chains.of[load]
	via[loadChain] = Via{Kind: ViaLoad, Source: circuit.None, Held: circuit.None}
	ends := []End{f.Ends[0], f.Ends[1]}
	for _, e := range ends {
		for _, hop := range e.Hops {
			set(hop.Branch, Via{Kind: ViaFeed, Source: e.Source, Held: circuit.None})
		}
	}
	rank[loadChain] = int32(len(rank))
	for _, h := range f.Holds {
		set(h.Mover, Via{Kind: viaOf(h), Source: circuit.None, Held: h.Contact})
		if h.Control != nil {
			set(h.Control.Supply, Via{Kind: ViaPower, Source: circuit.None, Held: h.Contact})
		}
		kind := ViaCoil
		if h.Control != nil {
			kind = ViaPower
		}
		for _, e := range h.Feed.Ends {
			for _, hop := range e.Hops {
				set(hop.Branch, Via{Kind: kind, Source: e.Source, Held: h.Contact})
			}
		}
		for _, s := range h.Senses {
			for _, id := range s.Branches {
				set(id, Via{Kind: ViaSense, Source: circuit.None, Held: h.Contact, Sense: s.Sense.Name})
			}
		}
	}
	for _, e := range f.Ends {
		if e.Made() {
			t.beside(base, e, set)
		}
	}
	return via, func(k int32) int32 {
		if r, ok := rank[k]; ok {
			return r
		}
		return int32(len(rank)) + k
	}
}

// beside marks what conducts to a made end without being on the shortest way.
func (t *Tracer) beside(out *settle.Outcome, e End, set func(circuit.BranchID, Via)) {
	w := &t.walk
	w.begin(len(t.at), e.Terminal)
	for at, more := w.next(); more; at, more = w.next() {
		for _, id := range t.at[at] {
			b := t.c.Branch(id)
			if !out.Conducts[id] || b.Role == circuit.Load || b.Role == circuit.Source {
				continue
			}
			set(id, Via{Kind: ViaBeside, Source: e.Source, Held: circuit.None})
			for _, far := range [2]circuit.TerminalID{b.A, b.B} {
				w.reach(far, Hop{})
			}
		}
	}
}

func viaOf(h Hold) ViaKind {
	if h.Control != nil {
		return ViaDrive
	}
	return ViaCoil
}
