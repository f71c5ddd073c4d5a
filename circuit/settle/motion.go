package settle

import "legtrace/circuit"

// Motion is what a motor or fan does.
type Motion uint8

const (
	Still Motion = iota
	Turns
	// Hums: it draws and does not turn. Its protector opens within seconds to a
	// minute (common practice, no source). The solved network has it draw as if it
	// ran; what it does draw is told by [Outcome.Locked].
	Hums
)

// A motor kept from turning draws LockedLeast to LockedMost times what it draws
// running: six times by NFPA 70, National Electrical Code, 2008, Table 430.251(A),
// beside the full-load currents of 1999, Table 430-148; small motors of appliances
// less (common practice, no source).
const LockedLeast, Locked, LockedMost = 4.0, 5.0, 6.0

// Locked lists, as faults to settle with besides, that motors which hum draw
// [Locked] times what they draw running. It is empty where none hums.
func (o *Outcome) Locked() []circuit.Fault {
	return o.e.locked(func(load circuit.BranchID) Motion { return o.e.Motion(o, load) })
}

// Locked is [Outcome.Locked].
func (o *SweepOutcome) Locked() []circuit.Fault { return o.s.e.locked(o.Motion) }

func (e *Engine) locked(motion func(circuit.BranchID) Motion) []circuit.Fault {
	var out []circuit.Fault
	for _, load := range e.c.Loads() {
		if motion(load) == Hums {
			out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: load, Factor: 1 / Locked})
		}
	}
	return out
}

func (m Motion) String() string { return [...]string{"still", "turns", "hums"}[m] }

// humShare is the share of its rated volts from which a motor that does not
// turn is heard (common practice, no source).
const humShare = 0.15

// Motion tells what a motor or fan does; anything else is still.
func (e *Engine) Motion(o *Outcome, load circuit.BranchID) Motion {
	return e.motion(load, func(id circuit.BranchID) bool { return o.Conducts[id] }, o.Acting[load], o.AnyState.LoadVolts, o.Faults)
}

// Motion is [Engine.Motion].
func (o *SweepOutcome) Motion(load circuit.BranchID) Motion {
	if o.full != nil {
		return o.s.e.Motion(o.full, load)
	}
	return o.s.e.motion(load, o.Conducts, o.Acting(load), o.s.update.LoadVolts, o.faults)
}

// Hums tells a motor that draws and is kept from turning: seized, or not
// started. One that only gets too little to turn is not meant: it is weak; nor
// one whose run winding is open, which hums and is dead.
func (o *Outcome) Hums(load circuit.BranchID) bool {
	return o.Conducts[load] && o.e.kept(load, o.Faults) && o.e.Motion(o, load) == Hums
}

// Hums is [Outcome.Hums].
func (o *SweepOutcome) Hums(load circuit.BranchID) bool {
	return o.Conducts(load) && o.s.e.kept(load, o.faults) && o.Motion(load) == Hums
}

// kept tells a motor that something besides its voltage may keep from turning.
func (e *Engine) kept(load circuit.BranchID, faults []circuit.Fault) bool {
	if e.c.Branch(load).Start != circuit.None {
		return true
	}
	for _, f := range faults {
		if f.Branch == load && f.Kind == circuit.Seized {
			return true
		}
	}
	return false
}

func (e *Engine) motion(load circuit.BranchID, conducts func(circuit.BranchID) bool, acting bool, loadVolts func(circuit.BranchID) float64, faults []circuit.Fault) Motion {
	b := e.c.Branch(load)
	if b.Watts == 0 || !e.c.CanHum(load) {
		return Still
	}
	draws := func(id circuit.BranchID) bool {
		return id != circuit.None && conducts(id) && loadVolts(id) >= humShare*e.c.Branch(id).Volts
	}
	switch {
	case !draws(load) && draws(b.Start):
		return Hums // on its start winding alone
	case !draws(load):
		return Still
	}
	for _, f := range faults {
		if f.Branch == load && f.Kind == circuit.Seized {
			return Hums
		}
	}
	turns := loadVolts(load) >= circuit.RunShare*b.Volts
	if e.loop.follows[load] {
		turns = acting
	}
	if turns {
		return Turns
	}
	return Hums
}
