package settle

import (
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Currents, as multiples of a rating, at which protection opens at once
// (common practice, no source): the magnetic trip of a breaker and a fuse. An
// overload below that opens with time and is not a matter of the settled state.
const TripFactor = 5

// ServiceAmps is the current at which the service's own protection opens both
// legs when nothing in the machine's circuit does (common practice, no source).
const ServiceAmps = 1000

// clearShort opens the protection in a dead short's path, or the service's.
func (e *Engine) clearShort(s *phasor.ShortError) {
	cleared := false
	for _, id := range s.Path {
		if e.c.Branch(id).Amps > 0 && !e.welded[id] {
			e.trip(id)
			cleared = true
		}
	}
	if !cleared {
		e.tripService()
	}
}

// tripService opens the legs; nobody's protection opens a neutral or an earth.
func (e *Engine) tripService() {
	for _, leg := range e.c.Supply().Legs {
		e.state.tripped[leg] = true
	}
}

// trip opens a fuse, or every pole of a breaker that is not welded.
func (e *Engine) trip(id circuit.BranchID) {
	p := e.c.Part(e.c.Branch(id).Part)
	if p.Kind != circuit.KindBreaker {
		e.state.tripped[id] = true
		return
	}
	for _, pole := range p.Branches {
		e.state.tripped[pole] = !e.welded[pole]
	}
}

// overcurrent trips what carries far more than its rating and reports whether
// anything did.
func (e *Engine) overcurrent() bool {
	service, any := false, false
	for i := range e.in.Conducts {
		b := e.c.Branch(circuit.BranchID(i))
		amps := e.sol.Amps[i]
		if b.Amps > 0 && e.in.Conducts[i] && cmplx.Abs(amps) > TripFactor*b.Amps && !e.welded[i] {
			e.trip(b.ID)
			any = true
		}
		if b.Role == circuit.Source && e.in.Conducts[i] && cmplx.Abs(amps) > ServiceAmps {
			service = true
		}
	}
	if service && !any {
		e.tripService()
	}
	return service || any
}
