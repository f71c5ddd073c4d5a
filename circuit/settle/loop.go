package settle

import (
	"errors"
	"math"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// network solves a machine under faults with its contacts in the loop's
// present state: in full ([Engine]) or by updates of the sound machine
// ([Sweep]).
type network interface {
	// solve works out the contacts and the voltages, in the nth round of a mode.
	// It may return a *[phasor.ShortError].
	solve(n int) error
	// conducts, loadVolts, amps and ohms read what was solved last.
	conducts(circuit.BranchID) bool
	loadVolts(circuit.BranchID) float64
	amps(*device) (float64, error)
	ohms(*circuit.Sense) (ohms float64, connected bool, err error)
}

// loop settles a machine: it closes contacts by what acts, solves, lets
// protection open and moves every coil and drive to where the voltages want
// it, until nothing moves.
type loop struct {
	c   *circuit.Circuit
	net network
	// coils are those that move contacts, and motors with a start winding.
	coils, drives []circuit.BranchID
	follows       []bool // by branch: it is one of the coils
	// sources and devices open on a current; protection is all that they open.
	sources, devices []*device
	protection       []circuit.BranchID
	// timed are the coils whose contacts act late.
	timed []circuit.BranchID
	// moved lists the contacts that a coil or drive moves.
	moved map[circuit.BranchID][]circuit.BranchID
	// resistive tells that the machine has no capacitor or transformer, so that
	// no current in it exceeds what the supply sends.
	resistive bool
	// margin is the share of a limit within which a figure is too near to it to
	// say on which side it is.
	margin float64

	mode   *circuit.Mode
	faults []circuit.Fault
	opened []bool // by branch
	welded []bool
	seized []bool
	wanted []bool // drives the mode calls for
	state  state
	next   state
}

// state is everything that can move during settling, by branch.
type state struct {
	acting  []bool
	late    []bool // a timed relay's contacts have acted
	tripped []bool
}

func newState(n int) state {
	return state{acting: make([]bool, n), late: make([]bool, n), tripped: make([]bool, n)}
}

func newLoop(c *circuit.Circuit) *loop {
	n := len(c.Branches())
	l := &loop{c: c, resistive: true, moved: map[circuit.BranchID][]circuit.BranchID{},
		follows: make([]bool, n), opened: make([]bool, n), welded: make([]bool, n), seized: make([]bool, n), wanted: make([]bool, n), state: newState(n), next: newState(n)}
	timed := map[circuit.BranchID]bool{}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Start != circuit.None {
			l.follow(b.ID)
		}
		switch {
		case b.Role == circuit.Drive:
			l.drives = append(l.drives, b.ID)
		case b.Role == circuit.Source:
			l.sources = append(l.sources, &device{id: b.ID, joints: []circuit.BranchID{b.ID}, limit: ServiceAmps})
		case b.Role == circuit.Contact && b.Rule.Actuator != circuit.ByPosition:
			by := b.Rule.By
			if b.Rule.Actuator == circuit.ByCoil {
				l.follow(by)
			}
			l.moved[by] = append(l.moved[by], b.ID)
			if b.Rule.Timed && !timed[by] {
				timed[by] = true
				l.timed = append(l.timed, by)
			}
		}
		l.protect(b)
		if imag(b.Z) < 0 || b.Secondary != circuit.None {
			l.resistive = false
		}
	}
	return l
}

func (l *loop) follow(coil circuit.BranchID) {
	if !l.follows[coil] {
		l.follows[coil] = true
		l.coils = append(l.coils, coil)
	}
}

// rest puts everything at rest under the faults.
func (l *loop) rest(faults []circuit.Fault) {
	for _, id := range l.protection {
		l.state.tripped[id] = false
	}
	for _, movers := range [2][]circuit.BranchID{l.coils, l.drives} {
		for _, id := range movers {
			l.state.acting[id], l.state.late[id] = false, false
		}
	}
	l.fail(faults)
}

// fail breaks what the faults break, without bringing anything to rest.
func (l *loop) fail(faults []circuit.Fault) {
	for i := range l.faults {
		id := l.faults[i].Branch
		l.opened[id], l.welded[id], l.seized[id] = false, false, false
	}
	l.faults = append(l.faults[:0], faults...)
	for i := range faults {
		switch faults[i].Kind {
		case circuit.Open:
			l.opened[faults[i].Branch] = true
		case circuit.Welded:
			l.welded[faults[i].Branch] = true
		case circuit.Seized:
			l.seized[faults[i].Branch] = true
		case circuit.Driven:
			l.welded[faults[i].Branch] = true
		}
	}
}

// enter begins a mode.
func (l *loop) enter(mode circuit.ModeID) {
	for _, d := range l.drives {
		l.wanted[d] = false
	}
	l.mode = l.c.Mode(mode)
	for _, d := range l.mode.Drives {
		l.wanted[d] = true
	}
}

// closed tells whether a branch is intact and closed in the present state.
func (l *loop) closed(b *circuit.Branch) bool {
	if l.opened[b.ID] || l.state.tripped[b.ID] {
		return false
	}
	if b.Role != circuit.Contact || l.welded[b.ID] {
		return true
	}
	if b.Rule.Actuator == circuit.ByPosition {
		return b.Rule.Closed[l.mode.Position[b.Part]]
	}
	acts := l.state.acting[b.Rule.By]
	if b.Rule.Timed {
		acts = acts && l.state.late[b.Rule.By]
	}
	return acts != b.Rule.NormallyClosed
}

// round solves the nth state of a mode, letting protection open until no more
// of it does.
func (l *loop) round(n int) error {
	for {
		err := l.net.solve(n)
		var short *phasor.ShortError
		if errors.As(err, &short) {
			l.clearShort(short)
			continue
		}
		if err != nil {
			return err
		}
		if tripped, err := l.overcurrent(); err != nil || !tripped {
			return err
		}
	}
}

// step finds in next where everything wants to be given the last solution, and
// tells whether that is where it is.
func (l *loop) step() (settled bool, err error) {
	settled = true
	move := func(id circuit.BranchID, acts bool) {
		late := l.state.late[id] && acts
		settled = settled && acts == l.state.acting[id] && late == l.state.late[id]
		l.next.acting[id], l.next.late[id] = acts, late
	}
	for _, coil := range l.coils {
		acts, err := l.pulls(coil)
		if err != nil {
			return false, err
		}
		move(coil, acts)
	}
	for _, d := range l.drives {
		l.next.acting[d] = false
	}
	for i := range l.c.Controls() {
		if err := l.drive(&l.c.Controls()[i]); err != nil {
			return false, err
		}
	}
	for _, d := range l.drives {
		move(d, l.next.acting[d])
	}
	return settled, nil
}

// advance makes next the present state.
func (l *loop) advance() {
	for _, movers := range [2][]circuit.BranchID{l.coils, l.drives} {
		for _, id := range movers {
			l.state.acting[id], l.state.late[id] = l.next.acting[id], l.next.late[id]
		}
	}
}

// timeOut lets the delays of timed relays run out, all at once, when all else
// has settled. It tells whether there was one to run, and time for it.
func (l *loop) timeOut() bool {
	moved := false
	if l.mode.Brief {
		return false
	}
	for _, coil := range l.timed {
		if l.next.acting[coil] && !l.next.late[coil] {
			l.next.late[coil], moved = true, true
		}
	}
	return moved
}

// pulls reports whether a coil is pulled in, or a motor runs.
func (l *loop) pulls(coil circuit.BranchID) (bool, error) {
	b := l.c.Branch(coil)
	if !l.net.conducts(coil) || l.seized[coil] {
		return false, nil
	}
	volts := l.net.loadVolts(coil)
	if l.state.acting[coil] {
		return l.reaches(volts, b.Dropout)
	}
	if ok, err := l.reaches(volts, b.Pickup); !ok || err != nil || b.Start == circuit.None {
		return ok, err
	}
	if !l.net.conducts(b.Start) {
		return false, nil
	}
	return l.reaches(l.net.loadVolts(b.Start), l.c.Branch(b.Start).Pickup)
}

// reaches compares a figure with the limit it must reach; within the margin it
// sends a sweep to the engine.
func (l *loop) reaches(figure, limit float64) (bool, error) {
	if limit > 0 && l.margin > 0 && math.Abs(figure-limit) <= l.margin*limit {
		return false, fallBack{ReasonNear}
	}
	return figure >= limit, nil
}

// drive sets in next what a control drives of what the mode calls for.
func (l *loop) drive(ctl *circuit.Control) error {
	ready, known := false, false
	for _, d := range l.drives {
		if l.welded[d] && l.c.ControlOf(d) == ctl {
			powered, err := l.powered(ctl)
			if err != nil {
				return err
			}
			l.next.acting[d] = powered && !l.opened[d]
			continue
		}
		if !l.wanted[d] || l.c.ControlOf(d) != ctl {
			continue
		}
		if !known {
			var err error
			if ready, err = l.ready(ctl); err != nil {
				return err
			}
			known = true
		}
		l.next.acting[d] = ready && !l.opened[d]
	}
	return nil
}

// powered tells whether a control has the supply that it needs.
func (l *loop) powered(ctl *circuit.Control) (bool, error) {
	if !l.net.conducts(ctl.Supply) {
		return false, nil
	}
	return l.reaches(l.net.loadVolts(ctl.Supply), ctl.MinVolts)
}

// ready tells whether a control can drive its relays.
func (l *loop) ready(ctl *circuit.Control) (bool, error) {
	if ok, err := l.powered(ctl); !ok || err != nil {
		return false, err
	}
	for k := range ctl.Senses {
		sense := &ctl.Senses[k]
		if sense.Modes != nil && !sense.Modes[l.mode.ID] {
			continue
		}
		ohms, connected, err := l.net.ohms(sense)
		if err != nil || !connected {
			return false, err
		}
		if ok, err := l.reaches(ohms, sense.MinOhms); !ok || err != nil {
			return false, err
		}
		if over, err := l.exceeds(ohms, sense.MaxOhms); over || err != nil {
			return false, err
		}
	}
	return true, nil
}

// exceeds compares a figure with the limit it must not pass.
func (l *loop) exceeds(figure, limit float64) (bool, error) {
	if l.margin > 0 && math.Abs(figure-limit) <= l.margin*limit {
		return false, fallBack{ReasonNear}
	}
	return figure > limit, nil
}
