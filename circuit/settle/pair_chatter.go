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
