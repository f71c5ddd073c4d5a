package drill

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Rule is what an unsafe move breaks.
type Rule string

// The rules. They follow OSHA 29 CFR 1910.147 and 1910.333: lock out, test dead
// before touching; live tests by qualified people only. That the meter is proved
// before and after 1910.333(b)(2)(iv)(B) asks above 600 V; below, the US DOE's
// electrical safety handbook (DOE-HDBK-1092-2004, 2.13.2.1) and NFPA 70E-2021,
// 120.5, recommend it (from memory).
const (
	OhmsLive     Rule = "ohms on a live machine"
	LiftLive     Rule = "a lead lifted on a live machine"
	PartLive     Rule = "a part changed on a live machine"
	NotTested    Rule = "touched before it was tested dead"
	DeadUnproved Rule = "tested dead with a meter that was not proved"
	LiveUnproved Rule = "a live test with a meter that was not proved"
	LooseLive    Rule = "supply on with a live lead hanging loose"
)

// Rules lists all of them with what they say.
func Rules() []struct {
	Rule Rule
	Says string
} {
	return []struct {
		Rule Rule
		Says string
	}{
		{OhmsLive, "ohms and continuity with the supply off only"},
		{LiftLive, "a lead is touched with the supply off only; a control at Off leaves points live"},
		{PartLive, "to name a part is to have it in hand: a new one is fitted with the supply off"},
		{NotTested, "locked out is not dead: test dead before a hand or an ohmmeter goes in"},
		{DeadUnproved, "a broken meter calls everything dead: prove it each time the supply is turned"},
		{LiveUnproved, "the same before a live test"},
		{LooseLive, "no supply on a machine with a lead off whose end would be live"},
	}
}

// Unsafe is a move that was stopped.
type Unsafe struct {
	Rule Rule
	// Said tells why, with what stands at voltage.
	Said []string
}

// danger reports the rule that a move breaks, or nil.
func (s *Session) danger(m Move) (*Unsafe, error) {
	mode := s.mode
	if m.Mode != circuit.None {
		mode = m.Mode
	}
	hands := m.Verb == Lift || m.Verb == Refit || m.Verb == Name || m.Verb == Read && !m.Function.Live()
	switch {
	case m.Verb == Read && hands && s.On():
		return s.stopped(mode, OhmsLive, "Ohms on a live circuit harms the meter, and you.", m.P, m.Q)
	case m.Verb == Name && s.On():
		return s.stopped(mode, PartLive, "No part is changed while the supply is on: lock it out, prove the meter, test dead.")
	case hands && s.On():
		return s.stopped(mode, LiftLive, "No hand goes to a lead while the supply is on.", m.At)
	case hands && !s.dead:
		return s.stopped(mode, NotTested, "The supply is locked out, but nothing has shown that it is the right one: prove the meter and test dead.", places(m)...)
	case m.Verb == TestDead && !s.proved:
		return s.stopped(mode, DeadUnproved, "A meter that does not work calls everything dead: prove it on a known source first.")
	case m.Verb == Read && m.Function != meter.Amps && s.On() && !s.proved:
		return s.stopped(mode, LiveUnproved, "Prove the meter on a known source before you go by what it shows at live points.", m.P, m.Q)
	case m.Verb == On:
		return s.loose()
	}
	return nil, nil
}

func places(m Move) []circuit.TerminalID {
	switch m.Verb {
	case Read:
		return []circuit.TerminalID{m.P, m.Q}
	case Name:
		return nil
	}
	return []circuit.TerminalID{m.At}
}

// stopped tells which of the places are live on a sound machine in the mode, or
// what else is: what stands at voltage on the one at hand is not handed out.
func (s *Session) stopped(mode circuit.ModeID, rule Rule, why string, at ...circuit.TerminalID) (*Unsafe, error) {
	parts, err := s.d.bench.LiveParts(mode, nil)
	if err != nil {
		return nil, err
	}
	u := &Unsafe{Rule: rule, Said: []string{"Stopped: " + string(rule) + ". " + why}}
	var live []string
	for _, t := range at {
		if v := parts.Volts(t); v >= meter.HazardVolts {
			live = append(live, fmt.Sprintf("%s at %.0f V", s.d.c.PlaceLabel(t), v))
		}
	}
	label := s.d.c.Mode(mode).Label
	switch {
	case len(live) > 0:
		u.Said = append(u.Said, fmt.Sprintf("On a sound machine in %q %s; on this one, who knows.", label, atVolts(live)))
	case len(parts.Nodes) > 0:
		n := parts.Nodes[0]
		but := ""
		if len(at) > 0 {
			but = ", though nothing where you chose"
		}
		u.Said = append(u.Said, fmt.Sprintf("On a sound machine in %q %s%s.", label,
			atVolts([]string{fmt.Sprintf("%s at %.0f V", s.d.place(n.Terminals), n.Volts.Most())}), but))
	default:
		u.Said = append(u.Said, fmt.Sprintf("Nothing is live on a sound machine in %q; on this one, who knows.", label))
	}
	return u, nil
}

// atVolts says which places stand at which voltage.
func atVolts(live []string) string {
	if len(live) == 1 {
		return strings.Replace(live[0], " at ", " stands at ", 1)
	}
	return strings.Replace(live[0], " at ", " stands at ", 1) + " and " + circuit.List(live[1:])
}

// place names the first of joined terminals that is a listed point.
func (d *Drill) place(joined []circuit.TerminalID) string {
	for _, t := range joined {
		if d.c.PointAt(t) != nil {
			return d.c.PlaceLabel(t)
		}
	}
	return d.c.PlaceLabel(joined[0])
}

// loose stops a supply that would put voltage on a lead's loose end, in any
// mode.
func (s *Session) loose() (*Unsafe, error) {
	if len(s.lifted) == 0 {
		return nil, nil
	}
	for i := range s.d.c.Modes() {
		mode := circuit.ModeID(i)
		parts, err := s.d.bench.LiveParts(mode, s.faults())
		if err != nil {
			return nil, err
		}
		for _, l := range s.lifted {
			w := s.d.c.Wire(l.wire)
			far := w.Other(l.at)
			if v := parts.Volts(far); v >= meter.HazardVolts {
				return &Unsafe{Rule: LooseLive, Said: []string{fmt.Sprintf("Stopped: %s. The end of wire %s off %s would be live in %q.",
					LooseLive, w.Name, s.d.c.PlaceLabel(l.at), s.d.c.Mode(mode).Label)}}, nil
			}
		}
	}
	return nil, nil
}
