package circuit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
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

// brings say what to do for each, in the order of reachNames.
var brings = []string{"Select %q", "Wait until %q", "Let it get warm until %q", "Let it get cool until %q", "Wait until %q"}

func (r Reach) String() string { return reachNames[r] }

// Brings says what to do for a mode, as a phrase for fmt and what stands in it:
// not every mode is at a knob. Another language has its own phrases.
func (m *Mode) Brings() (phrase string, args []any) {
	label := strings.Join(strings.Fields(m.Label), " ")
	if m.How != "" {
		return "%s (%q)", []any{strings.Join(strings.Fields(m.How), " "), label}
	}
	return brings[m.Reached], []any{label}
}

// Bring is [Mode.Brings] as a sentence without its stop.
func (m *Mode) Bring() string {
	phrase, args := m.Brings()
	return fmt.Sprintf(phrase, args...)
}

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
