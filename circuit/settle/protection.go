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
	through := map[*circuit.Part]int{}
	for _, id := range s.Path {
		b := e.c.Branch(id)
		if b.Residual > 0 {
			through[e.c.Part(b.Part)]++
		}
		if b.Amps > 0 && !e.welded[id] {
			e.trip(id)
			cleared = true
		}
	}
	for _, p := range e.rcds {
		// A short from pole to pole comes back by the device that it went out by.
		if through[p] == 1 && !e.allWelded(p) {
			e.trip(p.Branches[0])
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

// trips tells whether a branch opens by a current.
func trips(b *circuit.Branch) bool {
	return b.Amps > 0 || b.Residual > 0 || b.Role == circuit.Source
}

func (e *Engine) allWelded(p *circuit.Part) bool {
	for _, pole := range p.Branches {
		if !e.welded[pole] {
			return false
		}
	}
	return true
}

// trip opens a fuse, or every pole of a breaker that is not welded.
func (e *Engine) trip(id circuit.BranchID) {
	p := e.c.Part(e.c.Branch(id).Part)
	if !p.Kind.Guards() {
		e.state.tripped[id] = true
		return
	}
	for _, pole := range p.Branches {
		e.state.tripped[pole] = !e.welded[pole]
	}
}

// residual trips the residual-current devices whose poles together carry more
// than they let pass, and reports whether any did. It reads currents as they
// are before anything opens.
func (e *Engine) residual() (trips []*circuit.Part) {
	for _, p := range e.rcds {
		var sum complex128
		open := true
		for _, pole := range p.Branches {
			if e.in.Conducts[pole] {
				sum += e.sol.Amps[pole]
				open = open && e.welded[pole]
			}
		}
		if !open && cmplx.Abs(sum) > e.c.Branch(p.Branches[0]).Residual {
			trips = append(trips, p)
		}
	}
	return trips
}

// overcurrent trips what carries far more than its rating, or loses more than
// it lets pass, and reports whether anything did.
func (e *Engine) overcurrent() bool {
	service, any := false, false
	for _, p := range e.residual() {
		e.trip(p.Branches[0])
		any = true
	}
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
