package settle_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// dryer is a 240 V 4800 W element, 12 ohms, behind a 30 A breaker and a relay
// whose 120 V 2 W coil, 7200 ohms, hangs between L1 and neutral behind a
// switch and a limit; its supply has 0.02 ohm a conductor. A timed relay of
// the same coil lights a lamp.
func dryer(t testing.TB) *circuit.Circuit {
	m := circuittest.SplitPhase(240).SupplyOhms(0.02).Load("element", "heater", 240, 4800).Load("lamp", "lamp", 120, 60)
	m.Part(circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 30})
	m.Relay("relay", "no", 120, 2).Switch("start").Part(circuit.PartSpec{Name: "limit", Kind: "limit"})
	m.Part(circuit.PartSpec{Name: "delay", Kind: "relay", Contact: "no", Volts: 120, Watts: 2, Timed: true})
	m.Series("supply.L1", "breaker:L1.in>L1.out", "relay:com>no", "heater", "breaker:L2.out>L2.in", "supply.L2")
	m.Series("breaker.L1.out", "start", "limit", "relay:A1>A2", "supply.N").Wire("supply.G", "chassis")
	m.Series("limit.2", "delay:A1>A2", "relay.A2").Series("breaker.L1.out", "delay:com>no", "lamp", "supply.N")
	m.Mode("off").Mode("on", "start", "closed")
	return m.ModeSpec(circuit.ModeSpec{Name: "released", After: "on", Set: map[string]string{"start": "open"}}).Build(t)
}

// Each case is worked by hand from the ratings.
func TestFaultsBySweep(t *testing.T) {
	c := dryer(t)
	cases := []struct {
		name, mode string
		faults     []string
		want       string
	}{
		{"off", "off", nil, "heater 0.00, lamp 0.00"},
		// 240 V over 12.04 ohms: 19.93 A, 0.4 V lost in each conductor.
		{"on", "on", nil, "heater 0.99, lamp 0.99, acting relay.coil delay.coil"},
		{"released, both coils let go", "released", nil, "heater 0.00, lamp 0.00"},
		// No 240 V: neither end of the heater is fed from L2.
		{"L2 lost", "on", []string{"supply.L2:open"}, "heater 0.00, lamp 1.00, acting relay.coil delay.coil"},
		// The coils and the lamp have no way back.
		{"neutral lost", "on", []string{"supply.N:open"}, "heater 0.00, lamp 0.00"},
		// 4 ohms before the limit are nothing to the coils.
		{"a 4-ohm burnt joint before the coils", "on", []string{"limit:high=4"}, "heater 0.99, lamp 0.99, acting relay.coil delay.coil"},
		// 2000 ohms with 3600: the coils get 77 V of 120; they need 90.
		{"a 2000-ohm joint before the coils", "on", []string{"limit:high=2000"}, "heater 0.00, lamp 0.00"},
		// 4 ohms with the heater's 12: (12/16)^2 of its power.
		{"a 4-ohm burnt joint at the heater", "on", []string{"heater:high=4"}, "heater 0.56, lamp 0.99, acting relay.coil delay.coil"},
		{"contact welded, switched off", "off", []string{"relay:welded"}, "heater 0.99, lamp 0.00"},
		// Half the heater, 6 ohms, hangs from L2 with the control off: 120 V
		// over 6.04 ohms, 19.87 A and 2368 W of 4800.
		{"heater grounded, switched off", "off", []string{"heater:grounded"}, "heater 0.49, lamp 0.00"},
		// 240 V over 0.04 ohm.
		{"heater shorted", "on", []string{"heater:short"}, "heater 0.00, lamp 0.00, tripped breaker.L1 breaker.L2"},
		// 120 V over 0.04 ohm, ahead of the breaker: the service's own
		// protection opens both legs.
		{"supply side grounded", "off", []string{"w1:grounded=0"}, "heater 0.00, lamp 0.00, tripped supply.L1 supply.L2"},
		{"low supply", "on", []string{"supply.L1:drifted=0.5"}, "heater 0.00, lamp 0.00"},
		{"limit open and contact welded", "on", []string{"limit:open", "relay:welded"}, "heater 0.99, lamp 0.00"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			mode, err := c.FindMode(tc.mode)
			if err != nil {
				t.Fatal(err)
			}
			s, err := settle.NewSweep(settle.New(c), mode)
			if err != nil {
				t.Fatal(err)
			}
			o, err := s.Run(circuittest.Faults(t, c, tc.faults...))
			if err != nil {
				t.Fatal(err)
			}
			if o.FellBack {
				t.Errorf("settled by the engine: %s", o.Reason)
			}
			if diff := cmp.Diff(tc.want, story(c, o)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// story tells a swept machine in a line.
func story(c *circuit.Circuit, o *settle.SweepOutcome) string {
	var parts []string
	for _, id := range c.Loads() {
		if c.Branch(id).Pickup == 0 {
			parts = append(parts, fmt.Sprintf("%s %.2f", c.Branch(id).Ref, o.LeastShare(id)))
		}
	}
	list := func(what string, has func(circuit.BranchID) bool) {
		var refs []string
		for i := range c.Branches() {
			if has(circuit.BranchID(i)) {
				refs = append(refs, c.Branches()[i].Ref)
			}
		}
		if len(refs) > 0 {
			parts = append(parts, what+" "+strings.Join(refs, " "))
		}
	}
	list("acting", o.Acting)
	list("tripped", func(id circuit.BranchID) bool {
		for _, t := range o.Tripped {
			if t == id {
				return true
			}
		}
		return false
	})
	return strings.Join(parts, ", ")
}

// A coil fed through its own back contact never settles: the engine tells so.
func TestASweepLeavesChatterToTheEngine(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("lamp", "lamp", 120, 60).Relay("relay", "nc", 120, 2).Switch("start")
	c := m.Series("supply.L1", "start", "relay:com>nc", "relay:A1>A2", "supply.N").
		Series("relay.nc", "lamp", "supply.N").Mode("off").Mode("on", "start", "closed").Build(t)
	e := settle.New(c)
	off, err := settle.NewSweep(e, 0)
	if err != nil {
		t.Fatal(err)
	}
	welded, err := c.ParseFault("start:welded")
	if err != nil {
		t.Fatal(err)
	}
	o, err := off.Run(welded)
	if err != nil {
		t.Fatal(err)
	}
	full, err := o.Full()
	if err != nil {
		t.Fatal(err)
	}
	got := []any{o.FellBack, o.Reason, o.Chatter() != nil, full.Chatter != nil, off.Stats.FellBack[settle.ReasonMoves]}
	if diff := cmp.Diff([]any{true, settle.ReasonMoves, true, true, 1}, got); diff != "" {
		t.Error(diff)
	}
	on, err := settle.NewSweep(e, 1)
	if err != nil {
		t.Fatal(err)
	}
	if o, err = on.Run(nil); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]any{settle.ReasonSound, true}, []any{o.Reason, o.Chatter() != nil}); diff != "" {
		t.Error(diff)
	}
}

// What a sweep reads after many runs is not stained by earlier ones.
func TestASweepForgetsThePreviousFault(t *testing.T) {
	c := dryer(t)
	mode, err := c.FindMode("on")
	if err != nil {
		t.Fatal(err)
	}
	s, err := settle.NewSweep(settle.New(c), mode)
	if err != nil {
		t.Fatal(err)
	}
	tell := func(faults ...circuit.Fault) string {
		o, err := s.Run(faults)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(story(c, o), o.Differs())
	}
	sound := tell()
	for _, f := range singles(c) {
		tell(f)
		if got := tell(); got != sound {
			t.Fatalf("after %s: %s, want %s", c.Describe(f), got, sound)
		}
	}
}
