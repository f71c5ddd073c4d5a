package settle

import (
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// view is a solution of a table as the loop's [network]: nothing is solved
// again.
type view struct {
	combination
	x      *Pairs
	t      *table
	i, j   int // faults, or -1
	faults []circuit.Fault
}

func (v *view) solve(int) error { return nil }

func (v *view) conducts(id circuit.BranchID) bool {
	return v.x.loop.closed(v.x.all.e.c.Branch(id))
}

func (v *view) loadVolts(id circuit.BranchID) float64 {
	return v.combination.loadVolts(v.x.all.e.c.Branch(id), v.faults)
}

func (v *view) amps(d *device) (float64, error) {
	var sum complex128
	for _, id := range d.joints {
		if slices.Contains(v.base.loops, id) || v.a != nil && (slices.Contains(v.a.loops, id) || slices.Contains(v.b.loops, id)) {
			return 0, fallBack{ReasonCurrent}
		}
		sum += v.combination.amps(id)
	}
	return cmplx.Abs(sum), nil
}

func (v *view) ohms(s *circuit.Sense) (float64, bool, error) {
	have, ok := v.t.senses[s]
	if !ok {
		return 0, false, fallBack{ReasonUnsolved}
	}
	felt := 0
	for n, k := range [2]int{v.i, v.j} {
		if k < 0 || n == 1 && k == v.i {
			continue
		}
		if r, ok := v.t.felt[feltSense{s, int32(k)}]; ok {
			have = r
			felt++
		}
	}
	if felt > 1 {
		var ok bool
		if have, ok = v.x.builder.read(v.t, s, v.faults); !ok {
			return 0, false, fallBack{ReasonUnsolved}
		}
	}
	return have.ohms, have.connected, nil
}

func (s *state) copyFrom(from *state) {
	copy(s.acting, from.acting)
	copy(s.late, from.late)
	copy(s.tripped, from.tripped)
}

func (s *state) tripFrom(from *state) { copy(s.tripped, from.tripped) }
