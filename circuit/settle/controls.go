package settle

import (
	"slices"

	"legtrace/circuit"
)

// ControlState says what a control has to work with.
type ControlState struct {
	Powered bool
	Volts   float64
	// Senses follow the control's, in order.
	Senses []SenseState
}

// Ready reports whether the control can drive its relays.
func (s ControlState) Ready() bool {
	for _, sense := range s.Senses {
		if !sense.OK {
			return false
		}
	}
	return s.Powered
}

// Shows lists the codes that a control in this state shows in a mode. Without
// power it shows nothing.
func (s ControlState) Shows(ctl *circuit.Control, mode circuit.ModeID) []circuit.Code {
	if !s.Powered {
		return nil
	}
	var out []circuit.Code
	for _, code := range ctl.Codes {
		if code.Sense == circuit.None {
			continue
		}
		if seen := s.Senses[code.Sense]; code.Shown(mode, seen.Ohms, seen.Connected) {
			out = append(out, code)
		}
	}
	return out
}

// SenseState is what a control sees between two pins. Demanded is false in a
// mode where it does not matter; OK is then true.
type SenseState struct {
	Demanded, OK bool
	// Connected is false when the pins are open to each other.
	Connected bool
	Ohms      float64
}

// controls reads what every control has to work with in the state solved last.
func (l *loop) controls() ([]ControlState, error) {
	out := make([]ControlState, len(l.c.Controls()))
	for i := range out {
		ctl, s := &l.c.Controls()[i], &out[i]
		drives := slices.ContainsFunc(l.mode.Drives, func(d circuit.BranchID) bool { return l.c.ControlOf(d) == ctl })
		s.Volts = l.net.loadVolts(ctl.Supply)
		s.Powered = l.net.conducts(ctl.Supply) && s.Volts >= ctl.MinVolts
		for k := range ctl.Senses {
			sense := &ctl.Senses[k]
			var seen SenseState
			seen.Demanded = drives && (sense.Modes == nil || sense.Modes[l.mode.ID])
			var err error
			if seen.Ohms, seen.Connected, err = l.net.ohms(sense); err != nil {
				return nil, err
			}
			seen.OK = !seen.Demanded || seen.Connected && seen.Ohms >= sense.MinOhms && seen.Ohms <= sense.MaxOhms
			s.Senses = append(s.Senses, seen)
		}
	}
	return out, nil
}
