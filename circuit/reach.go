package circuit

import (
	"cmp"
	"fmt"
	"slices"
)

// Reach says how a mode comes about.
type Reach uint8

const (
	// ByHand: knobs, keys, doors, buttons, a breaker: at once.
	ByHand Reach = iota
	// ByWaiting: it comes by itself, some time after the mode before it.
	ByWaiting
	// ByHeating and ByCooling: a part is brought to it on purpose, as by
	// running the hot water off.
	ByHeating
	ByCooling
	// NotAtWill: nothing that should be done brings it about.
	NotAtWill
)

var reachNames = []string{"hand", "wait", "heat", "cool", "chance"}

func (r Reach) String() string { return reachNames[r] }

// reach reads how a mode comes about. Where the netlist does not say, a limit
// or fuse away from its rest is not at will, and a thermostat away from it, or
// a hot sensor, takes waiting.
func (b *builder) reach(path string, s ModeSpec, m *Mode) {
	m.How, m.Minutes = s.How, s.Minutes
	b.minutes(path+".minutes", s.Minutes)
	if s.Reached != "" {
		if i := slices.Index(reachNames, s.Reached); i >= 0 {
			m.Reached = Reach(i)
			return
		}
		hint := cmp.Or(NearestHint(s.Reached, reachNames), fmt.Sprintf("one of %v", reachNames))
		b.fail(path+".reached", hint, "unknown way to reach a mode: %q", s.Reached)
		return
	}
	for i := range b.c.parts {
		p := &b.c.parts[i]
		if len(p.Positions) == 0 || m.Position[i] == p.Rest {
			continue
		}
		switch p.Kind {
		case KindLimit, KindThermalFuse, KindFuse:
			m.Reached = NotAtWill
			return
		case KindThermostat:
			m.Reached = ByWaiting
		}
	}
	if len(s.Celsius) > 0 && m.Reached == ByHand && len(s.Drives) == 0 {
		m.Reached = ByWaiting
	}
}
