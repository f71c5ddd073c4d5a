package meter_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

type tester struct {
	*testing.T
	c *circuit.Circuit
	b *meter.Bench
}

func open(t *testing.T, name string) tester {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return on(t, c)
}

func on(t *testing.T, c *circuit.Circuit) tester {
	return tester{t, c, meter.New(c, meter.DefaultInstrument())}
}

func (t tester) mode(name string) circuit.ModeID {
	t.Helper()
	id, err := t.c.FindMode(name)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (t tester) terminal(ref string) circuit.TerminalID {
	t.Helper()
	id, err := t.c.FindTerminal(ref)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (t tester) branch(ref string) circuit.BranchID {
	t.Helper()
	id, err := t.c.FindBranch(ref)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (t tester) live(mode string, faults ...string) *settle.Outcome {
	t.Helper()
	o, err := t.b.Live(t.mode(mode), circuittest.Faults(t, t.c, faults...))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func (t tester) dead(mode string, faults ...string) *settle.Outcome {
	t.Helper()
	o, err := t.b.Dead(t.mode(mode), circuittest.Faults(t, t.c, faults...))
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func (t tester) volts(o *settle.Outcome, p, q string) meter.Reading {
	t.Helper()
	r, err := t.b.Volts(o, meter.Volts, t.terminal(p), t.terminal(q))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (t tester) near(what string, got, want, within float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > within {
		t.Errorf("%s: %.4g, expected %.4g within %.2g", what, got, want, within)
	}
}

func TestLegL2LostInBroil(t *testing.T) {
	x := open(t, "range-electronic")
	o := x.live("broil", "supply.L2:open")
	// The control drives both relays still: it hangs on L1 and neutral.
	x.near("element terminal 1 to neutral", x.volts(o, "broil_element.1", "terminal_block.N.out").Value, 120, 1)
	x.near("element terminal 2 to neutral", x.volts(o, "broil_element.2", "terminal_block.N.out").Value, 120, 1)
	x.near("across the element", x.volts(o, "broil_element.1", "broil_element.2").Value, 0, 0.1)
	lamp, _ := x.c.FindLoad("oven_lamp")
	if share := x.live("door_open", "supply.L2:open").AnyState.Share(lamp); share < 0.95 {
		t.Errorf("the lamp takes %.0f %% of its watts with L2 lost, expected full", 100*share)
	}
}

// A 4 ohm joint ahead of a 3,400 W element of 16.94 ohms: 240 V with the
// element off, 240 x 16.94/20.94 = 194.2 V and (194.2/240)^2 = 65.4 % on.
func TestBurntJointReadsGoodUnloadedAndCollapsesUnderLoad(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("element", "element", 240, 3400).Switch("control").
		Part(circuit.PartSpec{Kind: "connector", Name: "joint"}).
		Series("supply.L1", "joint:in>out", "element", "control", "supply.L2").
		Mode("off").Mode("on", "control", "closed").Build(t)
	x := on(t, c)
	burnt := "joint:high=4"
	x.near("joint to L2, element off", x.volts(x.live("off", burnt), "joint.out", "supply.L2").Value, 240, 0.1)
	o := x.live("on", burnt)
	x.near("joint to L2, element on", x.volts(o, "joint.out", "supply.L2").Value, 194.2, 0.1)
	load, _ := c.FindLoad("element")
	x.near("share of its watts", o.AnyState.Share(load), 0.654, 0.001)
	x.near("across the joint", x.volts(o, "joint.in", "joint.out").Value, 45.8, 0.1)
}

// Neutral lost with a 40 W lamp (360 ohms) on L1 and 100 W (144 ohms) on L2:
// 240 V divide as 360 to 144, 171.4 V and 68.6 V.
func TestLostNeutralDividesByTheLoadsThatAreOn(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("lamp", "lamp", 120, 40).Load("fan", "fan", 120, 100).
		Part(circuit.PartSpec{Kind: "fuse", Name: "neutral"}).
		Series("supply.L1", "lamp", "neutral", "supply.N").Series("supply.L2", "fan", "neutral.1").Build(t)
	x := on(t, c)
	o := x.live("on", "neutral:open")
	x.near("lamp", x.volts(o, "lamp.1", "lamp.2").Value, 171.4, 0.1)
	x.near("fan", x.volts(o, "fan.1", "fan.2").Value, 68.6, 0.1)
	// Ten per cent of supply, then the tolerance of two loads in series.
	r := x.volts(o, "lamp.1", "lamp.2")
	if !(r.Low < 155 && r.High > 187) || len(r.Why) != 3 {
		t.Errorf("lamp reading %v is %s for %v", r, r.Range(), r.Why)
	}
}

func TestGroundedBakeElement(t *testing.T) {
	x := open(t, "range-electronic")
	// At rest both legs are open, so a grounded element only ties its wires to
	// the chassis; with the relay on L2 welded it heats in Off by half.
	bake, _ := x.c.FindLoad("bake_element")
	x.near("grounded alone, watts in Off", x.live("off", "bake_element:grounded").AnyState.Watts(bake), 0, 0.01)
	x.near("with the L2 relay welded, share in Off", x.live("off", "bake_element:grounded", "dlb_relay.contact:welded").AnyState.Share(bake), 0.5, 0.01)
	d := x.dead("off", "bake_element:grounded")
	r, err := x.b.Ohms(d, x.terminal("bake_element.1"), x.terminal("chassis"))
	if err != nil {
		t.Fatal(err)
	}
	// 22.15 ohms, read cold at 97 %, from its middle: 10.7 ohms.
	x.near("terminal to chassis, ohms", r.InCircuit.Value, 10.7, 0.1)
	if sound, _ := x.b.Ohms(x.dead("off"), x.terminal("bake_element.1"), x.terminal("chassis")); !sound.InCircuit.OL {
		t.Errorf("a sound element reads %v to chassis", sound.InCircuit)
	}
}

func TestSensorAtItsPins(t *testing.T) {
	x := open(t, "range-electronic")
	read := func(faults ...string) meter.Reading {
		r, err := x.b.Ohms(x.dead("broil", faults...), x.terminal("control.S1"), x.terminal("control.S2"))
		if err != nil {
			t.Fatal(err)
		}
		return r.InCircuit
	}
	good := read()
	// Common practice, no source: about 1080 ohms at 70 F.
	x.near("sound, cold", good.Value, 1080, 1)
	if drifted := read("oven_sensor:drifted=1.85"); !drifted.Differs(good) || math.Abs(drifted.Value-1998) > 3 {
		t.Errorf("drifted to 2000 ohms it reads %v", drifted)
	}
	if slight := read("oven_sensor:drifted=1.005"); slight.Differs(good) {
		t.Errorf("half a per cent off cannot be told from good, yet %s differs from %s", slight.Range(), good.Range())
	}
	if open := read("oven_sensor:open"); !open.OL || !open.Differs(good) {
		t.Errorf("open it reads %v", open)
	}
	// Drifted past its limits it stops the broiler; a little off it does not.
	broil, _ := x.c.FindLoad("broil_element")
	for _, c := range []struct {
		fault string
		on    bool
	}{{"oven_sensor:drifted=1.02", true}, {"oven_sensor:drifted=2", false}, {"oven_sensor:open", false}} {
		if on := x.live("broil", c.fault).AnyState.Share(broil) > 0.9; on != c.on {
			t.Errorf("%s: broil heats %v", c.fault, on)
		}
	}
}

func TestMaskedOpenNeedsALeadLifted(t *testing.T) {
	x := open(t, "range-electronic")
	// w13 and w12 feed two relay tabs that the board ties together.
	m, err := x.b.Mask(x.mode("broil"), x.branch("w13"))
	if err != nil {
		t.Fatal(err)
	}
	if !m.Masked || m.Hopeless || len(m.Lift) != 1 {
		t.Fatalf("w13: masked %v, hopeless %v, lift %v", m.Masked, m.Hopeless, m.Lift)
	}
	var through []string
	for _, id := range m.Through {
		through = append(through, x.c.Branch(id).Ref)
	}
	if got := strings.Join(through, " "); got != "w12 link" && got != "link w12" {
		t.Errorf("the open is hidden by %q", got)
	}
	// An element with both its relays at rest needs no lifting.
	if m, err = x.b.Mask(x.mode("broil"), x.branch("broil_element")); err != nil || m.Masked {
		t.Errorf("broil element: masked %v, %v", m.Masked, err)
	}
}

// The advice to lift, checked by the solver on random machines: where it is
// given, an open does read otherwise once the lead is off, and where it is
// said to be needless the open shows in circuit.
func TestLiftingAdviceIsConfirmedByTheSolver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, problems := circuit.Build(circuittest.Random(t, circuittest.Options{}))
		if c == nil {
			t.Fatal(problems)
		}
		b := meter.New(c, meter.DefaultInstrument())
		solver := phasor.New(c)
		mode, _ := c.FindMode("on")
		for i := range c.Branches() {
			br := c.Branch(circuit.BranchID(i))
			if br.A == circuit.None || br.Role == circuit.Source || br.A == br.B {
				continue
			}
			m, err := b.Mask(mode, br.ID)
			if err != nil {
				t.Fatal(err)
			}
			if m.Hopeless {
				continue
			}
			read := func(open, lift bool) (float64, bool) {
				var faults []circuit.Fault
				if open {
					faults = append(faults, circuit.Fault{Kind: circuit.Open, Branch: br.ID})
				}
				o, err := b.Dead(mode, faults)
				if err != nil {
					t.Fatal(err)
				}
				in := b.Engine().Input(o)
				in.DeadOhms = map[circuit.BranchID]float64{}
				for j := range c.Branches() {
					if l := c.Branch(circuit.BranchID(j)); l.Role == circuit.Load {
						in.DeadOhms[l.ID] = meter.Cold(c, l.ID, b.Ambient).Ohms
					}
				}
				if lift && br.Wire == circuit.None {
					in.Conducts = append([]bool(nil), in.Conducts...)
					for _, w := range m.Lift {
						in.Conducts[c.Wire(w).Branch] = false
					}
				}
				if lift && br.Wire != circuit.None {
					return br.Ohms, !open
				}
				return solver.Resistance(in, m.P, m.Q)
			}
			good, goodConnected := read(false, m.Masked)
			bad, badConnected := read(true, m.Masked)
			if goodConnected == badConnected && math.Abs(good-bad) < 1e-9*good {
				t.Fatalf("%s: masked %v, yet sound and open both read %g", br.Ref, m.Masked, good)
			}
		}
	})
}

func TestFloatingLeadReadsUnsteadyNotZero(t *testing.T) {
	x := open(t, "range-electronic")
	o := x.live("broil")
	r := x.volts(o, "lf_switch.H1", "terminal_block.N.out")
	// 100 pF at 60 Hz is 26.5 Mohm; 10 Mohm of 132 V: 132 x 10/28.3 = 46.6 V.
	if !r.Unsteady || math.Abs(r.High-46.6) > 1 {
		t.Errorf("floating lead reads %v up to %.1f V", r, r.High)
	}
	low, err := x.b.Volts(o, meter.LowZVolts, x.terminal("lf_switch.H1"), x.terminal("terminal_block.N.out"))
	if err != nil || low.Unsteady || low.High > 1 {
		t.Errorf("low-impedance input reads %v, %v", low, err)
	}
}

func TestOhmsOnALiveMachineIsRefused(t *testing.T) {
	x := open(t, "range-electronic")
	r, err := x.b.Ohms(x.live("off"), x.terminal("broil_element.1"), x.terminal("broil_element.2"))
	if err != nil || r.InCircuit.Refused == "" || r.Lifted.Refused == "" {
		t.Errorf("ohms on a live machine: %+v, %v", r, err)
	}
}

func TestBadProbes(t *testing.T) {
	x := open(t, "range-electronic")
	p := x.terminal("broil_element.1")
	if _, err := x.b.Volts(x.live("broil"), meter.Volts, p, p); !errors.Is(err, meter.ErrSameProbe) {
		t.Errorf("both probes on one terminal: %v", err)
	}
	if _, err := x.b.Ohms(x.dead("broil"), p, p); !errors.Is(err, meter.ErrSameProbe) {
		t.Errorf("both probes on one terminal: %v", err)
	}
	if _, err := x.b.Amps(x.live("broil"), x.branch("broil_element")); !errors.Is(err, meter.ErrNoClamp) {
		t.Errorf("a clamp around an element: %v", err)
	}
}

func TestClampReadsTheElementsCurrent(t *testing.T) {
	x := open(t, "range-electronic")
	r, err := x.b.Amps(x.live("broil"), x.branch("w15"))
	if err != nil {
		t.Fatal(err)
	}
	x.near("broil element's wire, amps", r.Value, 14.1, 0.05) // 3,400 W at 240 V, less the feeder's drop
	if r.Low > 12.8 || r.High < 15.5 {
		t.Errorf("interval %s", r.Range())
	}
	wire := x.c.Wire(x.c.Branch(x.branch("w15")).Wire)
	if quick := x.b.Quick(x.live("broil"), meter.Amps, wire.From, wire.To); quick.Range() != r.Range() {
		t.Errorf("by its two ends the wire carries %s, not %s", quick.Range(), r.Range())
	}
	if r := x.b.Quick(x.live("broil"), meter.Amps, x.terminal("broil_element.1"), x.terminal("broil_element.2")); r.Refused == "" {
		t.Errorf("a clamp around an element reads %s", r)
	}
}

func TestPointsThatStayLiveInOff(t *testing.T) {
	x := open(t, "range-electronic")
	s, err := x.b.LiveParts(x.mode("off"), nil)
	if err != nil {
		t.Fatal(err)
	}
	x.near("L1 side of the thermal fuse to chassis", s.Volts(x.terminal("thermal_fuse.1")), 120, 0.5)
	x.near("L2 side of the limit to chassis", s.Volts(x.terminal("oven_limit.2")), 120, 0.5)
	x.near("broil element in Off", s.Volts(x.terminal("broil_element.1")), 0, 0)
	x.near("between two live points", s.Apart, 240, 0.5)
	for _, n := range s.Nodes {
		if len(n.Way.Hops) == 0 || n.Way.Source == circuit.None {
			t.Errorf("%s is live by no way", x.c.Terminal(n.Terminals[0]).Ref)
		}
	}
}

// On a 3-wire hookup the chassis is bonded to neutral: lose the neutral and
// the metal goes to line voltage through whatever 120 V load is on.
func TestLostNeutralPutsTheChassisOfAThreeWireRangeAtLineVoltage(t *testing.T) {
	x := open(t, "range-mechanical")
	newly, err := x.b.NewlyLiveFaults(context.Background(), x.mode("off"))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range newly {
		if x.c.FaultRef(n.Fault) == "supply.N:open" {
			if !n.Chassis || n.ChassisVolts < 100 {
				t.Errorf("neutral lost: chassis live %v at %.0f V", n.Chassis, n.ChassisVolts)
			}
			return
		}
	}
	t.Error("a lost neutral makes nothing live")
}

func TestLowLineAndTwoLegsOfAWye(t *testing.T) {
	// 208 V on a 240 V element: (208/240)^2 = 75.1 % of its watts.
	c := circuittest.Wye(208).Load("element", "element", 240, 3400).Series("supply.L1", "element", "supply.L2").Build(t)
	load, _ := c.FindLoad("element")
	x := on(t, c)
	x.near("share at 208 V", x.live("on").AnyState.Share(load), 0.751, 0.0005)
	c = circuittest.SplitPhase(240).Load("element", "element", 240, 3400).Series("supply.L1", "element", "supply.L2").Build(t)
	x = on(t, c)
	x.near("share at 90 % of the supply", x.live("on", "supply:drifted=0.9").AnyState.Share(load), 0.81, 0.0005)
}

func TestInstrumentSpread(t *testing.T) {
	in := meter.DefaultInstrument()
	// 240 V on a 6000-count display is read to 0.1 V: 1 % and 3 counts, 2.7 V.
	low, high := in.Spread(meter.Volts, 240)
	if math.Abs(low-237.3) > 1e-9 || math.Abs(high-242.7) > 1e-9 {
		t.Errorf("240 V may show %.2f to %.2f", low, high)
	}
	bad := in
	bad.InputOhms = 0
	if bad.Check() == nil || in.Check() != nil {
		t.Error("an instrument with no input resistance was taken, or the default refused")
	}
}
