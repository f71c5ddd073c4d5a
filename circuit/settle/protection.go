package settle

import (
	"slices"

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

// device is what opens on a current: a supply conductor by the service's
// protection, a rated branch, a residual-current device.
type device struct {
	id circuit.BranchID
	// joints are the branches whose currents are added: it alone, or all poles
	// of a residual-current device.
	joints   []circuit.BranchID
	residual bool
	// limit is the current, in amperes, that opens it.
	limit float64
}

// protect notes how a branch opens on a current.
func (l *loop) protect(b *circuit.Branch) {
	if b.Amps > 0 {
		l.devices = append(l.devices, &device{id: b.ID, joints: []circuit.BranchID{b.ID}, limit: TripFactor * b.Amps})
	}
	if b.Residual > 0 && b.ID == l.c.Part(b.Part).Branches[0] {
		l.devices = append(l.devices, &device{id: b.ID, joints: l.poles(b), residual: true, limit: b.Residual})
	}
	// The poles of one device open together, rated or not.
	if b.Amps > 0 || b.Residual > 0 || b.Role == circuit.Source || b.Part != circuit.None && l.c.Part(b.Part).Kind.Guards() {
		l.protection = append(l.protection, b.ID)
	}
}

// poles are what opens together with a branch: every pole of its device, of the
// supply's all but the earth.
func (l *loop) poles(b *circuit.Branch) []circuit.BranchID {
	var out []circuit.BranchID
	for _, id := range l.c.Part(b.Part).Branches {
		if b.Residual == 0 || l.c.Branch(id).Residual > 0 {
			out = append(out, id)
		}
	}
	return out
}

// clearShort opens the protection in a dead short's path, or the service's.
func (l *loop) clearShort(s *phasor.ShortError) {
	cleared := false
	through := map[circuit.PartID]int{}
	for _, id := range slices.Concat(s.Path, []circuit.BranchID{s.From, s.To}) {
		b := l.c.Branch(id)
		if b.Residual > 0 {
			through[b.Part]++
		}
		if b.Amps > 0 && !l.welded[id] {
			l.trip(id)
			cleared = true
		}
	}
	for _, d := range l.devices {
		// A short from pole to pole comes back by the device that it went out by.
		if d.residual && through[l.c.Branch(d.id).Part] == 1 && !l.allWelded(d) {
			l.trip(d.id)
			cleared = true
		}
	}
	if !cleared {
		l.tripService()
	}
}

func (l *loop) allWelded(d *device) bool {
	for _, id := range d.joints {
		if !l.welded[id] {
			return false
		}
	}
	return true
}

// tripService opens the legs; nobody's protection opens a neutral or an earth.
func (l *loop) tripService() {
	for _, leg := range l.c.Supply().Legs {
		l.state.tripped[leg] = true
	}
}

// trip opens a fuse, or every pole of another device that is not welded.
func (l *loop) trip(id circuit.BranchID) {
	b := l.c.Branch(id)
	if b.Residual == 0 && !l.c.Part(b.Part).Kind.Guards() {
		l.state.tripped[id] = true
		return
	}
	for _, pole := range l.poles(b) {
		l.state.tripped[pole] = !l.welded[pole]
	}
}

// overcurrent trips what carries far more than its rating, or loses more than
// it lets pass, and reports whether anything did.
func (l *loop) overcurrent() (bool, error) {
	service, sent := false, 0.0
	var near error // a supply conductor that may be over
	for _, d := range l.sources {
		if !l.net.conducts(d.id) {
			continue
		}
		amps, err := l.net.amps(d)
		if err != nil {
			return false, err
		}
		over, err := l.exceeds(amps, d.limit)
		if err != nil {
			near = err
		}
		service = service || over
		sent += amps
	}
	// Every current is read before any of them trips anything.
	var trips []circuit.BranchID
	for _, d := range l.devices {
		// In a network of resistors no current exceeds half of all that the
		// supply sends; motors, whose currents lag, are allowed as much again.
		if !l.watches(d) || !d.residual && l.resistive && sent <= d.limit {
			continue
		}
		amps, err := l.net.amps(d)
		if err != nil {
			return false, err
		}
		over, err := l.exceeds(amps, d.limit)
		if err != nil {
			return false, err
		}
		if over {
			trips = append(trips, d.id)
		}
	}
	for _, id := range trips {
		l.trip(id)
	}
	switch {
	case len(trips) > 0: // before the service's own
	case service:
		l.tripService()
	case near != nil:
		return false, near
	}
	return service || len(trips) > 0, nil
}

// watches tells whether any branch of a device conducts and can open.
func (l *loop) watches(d *device) bool {
	for _, id := range d.joints {
		if l.net.conducts(id) && !l.welded[id] {
			return true
		}
	}
	return false
}

// tripped lists the protection that opened, in the order of branches.
func (l *loop) tripped() []circuit.BranchID {
	var out []circuit.BranchID
	for _, id := range l.protection {
		if l.state.tripped[id] {
			out = append(out, id)
		}
	}
	return out
}
