package settle

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// chattering is a fault that leaves contacts moving for ever.
type chattering struct {
	outcome *Outcome
	// inert tells, by fault, that it changes nothing in any state the machine
	// goes through.
	inert []bool
}

// settleChatter decides what chatters by one fault alone once for all the pairs
// that it settles.
func (x *Pairs) settleChatter() error {
	x.chatters = map[int]*chattering{}
	n := len(x.all.faults)
	for i := range n {
		if x.results[index(i, i)].how != bySweep {
			continue
		}
		ch := &chattering{inert: make([]bool, n)}
		for k := range ch.inert {
			ch.inert[k] = !x.logic[k] && x.all.faults[k].Branch != x.all.faults[i].Branch
		}
		e := x.sweep.e
		e.Observe = func(conducts, _ []bool, sol *phasor.Solution) {
			r := row{volts: sol.Volts, amps: sol.Amps, island: make([]int32, len(sol.Volts))}
			for t := range r.island {
				r.island[t] = sol.Island(circuit.TerminalID(t))
			}
			for k := range ch.inert {
				if ch.inert[k] {
					p := newPort(x.all.e.c, x.all.faults[k], conducts)
					acts, _ := p.acts(&r)
					ch.inert[k] = !acts
				}
			}
		}
		var err error
		ch.outcome, err = e.Run(x.mode, x.all.faults[i:i+1])
		e.Observe = nil
		if err != nil {
			return err
		}
		if ch.outcome.Chatter == nil {
			continue
		}
		for k := range ch.inert {
			ch.inert[k] = ch.inert[k] && !slices.Contains(ch.outcome.Chatter.Contacts, x.all.faults[k].Branch)
		}
		x.chatters[i] = ch
	}
	for i, ch := range x.chatters {
		for k := range n {
			f := &x.results[index(min(i, k), max(i, k))]
			if f.how != bySweep || k != i && !ch.inert[k] {
				continue
			}
			f.node, f.how = -1, asFirst
			if k < i {
				f.how = asSecond
			}
		}
	}
	return nil
}

// inSeries gives, by fault, the first of the list that is a high resistance of
// the same size in series with it, or itself: either leaves every load and coil
// the same.
func inSeries(c *circuit.Circuit, faults []circuit.Fault) []int {
	ends, n := c.Meeting()
	groups, branches := circuit.NewGroups(n), int32(len(c.Branches()))
	for _, at := range ends {
		if len(at) == 2 && at[0] < branches && at[1] < branches {
			groups.Join(at[0], at[1])
		}
	}
	first, out := map[circuit.Fault]int{}, make([]int, len(faults))
	for i, f := range faults {
		out[i] = i
		if f.Kind != circuit.HighResistance || c.Branch(f.Branch).Role == circuit.Load {
			continue
		}
		f.Branch = circuit.BranchID(groups.Of(int32(f.Branch)))
		if k, ok := first[f]; ok {
			out[i] = k
		} else {
			first[f] = i
		}
	}
	return out
}

// outcomeBySweep settles a pair by the sweep; one that chatters once for all
// pairs of which each lies in series with one of it.
func (x *Pairs) outcomeBySweep(o *PairOutcome, i, j int) error {
	a, b := x.series[i], x.series[j]
	as := pair{uint16(min(a, b)), uint16(max(a, b))}
	if a == b && i != j {
		as = pair{uint16(i), uint16(j)}
	}
	if o.full = x.alike[as]; o.full != nil {
		return nil
	}
	var err error
	if o.swept, err = x.sweep.Run(o.faults); err == nil && o.swept.full != nil && o.swept.full.Chatter != nil {
		x.alike[as] = o.swept.full
	}
	return err
}
