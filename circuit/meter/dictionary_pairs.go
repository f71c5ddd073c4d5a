package meter

import (
	"context"
	"runtime"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// PairDictionary is what every two faults at once do to the loads.
type PairDictionary struct {
	Faults []circuit.Fault
	// Modes are those asked for, in their order.
	Modes []PairMode
}

// PairMode is every pair of faults in a mode.
type PairMode struct {
	Mode circuit.ModeID
	// Pairs counts the pairs; AsOne those that do what one of the two does
	// alone, and Engine those that no table and no update could settle.
	Pairs, AsOne, Engine int
	// Together are the loads that two faults leave as neither does alone, by
	// second fault, then first, then load.
	Together []Together
}

// Together is a load that two faults leave as neither does alone.
type Together struct {
	First, Second int // faults
	Load          circuit.BranchID
	// Alone tells how the first and the second leave it, Both how both do, with
	// its share of rated power.
	Alone [2]circuit.LoadState
	Both  circuit.LoadState
	Share float64
}

// Pairs settles every two of [SingleFaults] at once, each at a branch of its
// own, in the modes given; nil means all.
func (b *Bench) Pairs(ctx context.Context, modes []circuit.ModeID) (*PairDictionary, error) {
	if modes == nil {
		for i := range b.c.Modes() {
			modes = append(modes, circuit.ModeID(i))
		}
	}
	d := &PairDictionary{Faults: SingleFaults(b.c), Modes: make([]PairMode, len(modes))}
	tables := settle.NewPairTables(b.engine, phasor.NewNetwork(b.c), d.Faults)
	errs := make([]error, len(modes))
	next := make(chan int, len(modes))
	for k := range modes {
		next <- k
	}
	close(next)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(modes)) {
		workers.Go(func() {
			for k := range next {
				d.Modes[k].Mode = modes[k]
				errs[k] = d.Modes[k].settle(ctx, b.c, tables, d.Faults)
			}
		})
	}
	workers.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return d, nil
}

// settle goes through every pair of a mode.
func (m *PairMode) settle(ctx context.Context, c *circuit.Circuit, tables *settle.PairTables, faults []circuit.Fault) error {
	sound, err := settle.New(c).Run(m.Mode, nil)
	if err != nil {
		return err
	}
	pairs, err := tables.Mode(ctx, m.Mode)
	if err != nil {
		return err
	}
	loads := c.Loads()
	alone := make([][]circuit.LoadState, len(faults))
	for i := range alone {
		o, err := pairs.Outcome(i, i)
		if err != nil {
			return err
		}
		for _, load := range loads {
			alone[i] = append(alone[i], circuit.JudgeLoad(o, sound, load))
		}
	}
	for j := range faults {
		if err := ctx.Err(); err != nil {
			return err
		}
		for i := range j {
			if faults[i].Branch == faults[j].Branch {
				continue
			}
			m.Pairs++
			if _, one := pairs.Single(i, j); one {
				m.AsOne++
				continue
			}
			o, err := pairs.Outcome(i, j)
			if err != nil {
				return err
			}
			if o.FellBack() {
				m.Engine++
			}
			for k, load := range loads {
				if both := circuit.JudgeLoad(o, sound, load); both != alone[i][k] && both != alone[j][k] {
					m.Together = append(m.Together, Together{i, j, load, [2]circuit.LoadState{alone[i][k], alone[j][k]}, both, o.LeastShare(load)})
				}
			}
		}
	}
	return nil
}
