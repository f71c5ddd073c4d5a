package report

import (
	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// between lists the parts and wires with an end at each probe.
func (x *taking) between(p Pair) []circuit.BranchID {
	var out []circuit.BranchID
	for i := range x.c.Branches() {
		b := x.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Source && (b.A == p.From && b.B == p.To || b.A == p.To && b.B == p.From) {
			out = append(out, b.ID)
		}
	}
	return out
}

// scanCap is up to how many branches a pair of probes far apart is tried for
// opens that it would not show.
const scanCap = 2000

// advise says of what is between the probes whether its open would show: of
// the part or wire with an end at each, else of whatever the reading depends
// on.
func (x *taking) advise(d *PairReading, p Pair, good meter.Reading) error {
	between := x.between(p)
	if len(between) == 0 {
		hidden, err := x.hidden(p, good)
		if err != nil {
			return err
		}
		between = hidden
	}
	for _, id := range between {
		m, err := x.b.Mask(x.q.Mode, id)
		if err != nil {
			return err
		}
		a := Advice{Of: x.item(id), Verdict: adviceNoNeed, Through: []Item{}, Good: shown(x.b, x.f, m.Good), Open: shown(x.b, x.f, m.Open)}
		switch {
		case m.Hopeless:
			a.Verdict = adviceNoUse
		case m.Masked:
			a.Verdict, a.Lift = adviceLift, x.liftOf(m.At, m.Lift)
			a.Good, a.Open = shown(x.b, x.f, m.GoodLifted), shown(x.b, x.f, m.OpenLifted)
			a.Through = x.items(m.Through)
		}
		d.Advice = append(d.Advice, a)
	}
	return nil
}

// hidden lists what the reading passes through and whose open it would not
// show.
func (x *taking) hidden(p Pair, good meter.Reading) ([]circuit.BranchID, error) {
	if len(x.c.Branches()) > scanCap || good.OL {
		return nil, nil
	}
	var out []circuit.BranchID
	for _, id := range x.carries(p) {
		o, err := x.b.Dead(x.q.Mode, []circuit.Fault{{Kind: circuit.Open, Branch: id}})
		if err != nil {
			return nil, err
		}
		r, err := x.b.Ohms(o, p.From, p.To)
		if err != nil {
			return nil, err
		}
		if !r.InCircuit.Differs(good) {
			out = append(out, id)
		}
	}
	return out, nil
}

// carries lists the joins and contacts on any way between the probes that
// meets no terminal twice.
func (x *taking) carries(p Pair) []circuit.BranchID {
	at := map[circuit.TerminalID][]circuit.BranchID{}
	for i := range x.c.Branches() {
		b := x.c.Branch(circuit.BranchID(i))
		if !x.sound.Conducts[i] || b.Role != circuit.Join && b.Role != circuit.Contact || b.A == circuit.None || b.B == circuit.None {
			continue
		}
		at[b.A], at[b.B] = append(at[b.A], b.ID), append(at[b.B], b.ID)
	}
	on := map[circuit.BranchID]bool{}
	visited := map[circuit.TerminalID]bool{}
	steps := 0
	var walk func(t circuit.TerminalID, way []circuit.BranchID)
	walk = func(t circuit.TerminalID, way []circuit.BranchID) {
		if steps++; steps > scanCap*10 {
			return
		}
		if t == p.To {
			for _, id := range way {
				on[id] = true
			}
			return
		}
		visited[t] = true
		for _, id := range at[t] {
			b := x.c.Branch(id)
			far := b.Other(t)
			if !visited[far] {
				walk(far, append(way[:len(way):len(way)], id))
			}
		}
		visited[t] = false
	}
	walk(p.From, nil)
	var out []circuit.BranchID
	for i := range x.c.Branches() {
		if on[circuit.BranchID(i)] {
			out = append(out, circuit.BranchID(i))
		}
	}
	return out
}
