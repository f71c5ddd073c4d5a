package settle_test

import (
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// guarded is an element across both legs and a lamp on L1, behind a breaker and
// a device that opens at so many amps of residual current.
func guarded(t testing.TB, residual float64) *circuit.Circuit {
	m := circuittest.SplitPhase(240).SupplyOhms(0.04).Part(
		circuit.PartSpec{Name: "rcd", Kind: "rcd", Poles: []string{"L1", "L2", "N"}, ResidualAmps: residual},
		circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 30},
	).Switch("knob").Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40)
	m.Series("supply.L1", "rcd:L1.in>L1.out", "breaker:L1.in>L1.out", "knob", "element", "breaker:L2.out>L2.in", "rcd:L2.out>L2.in", "supply.L2")
	m.Series("breaker.L1.out", "lamp", "rcd:N.out>N.in", "supply.N").Wire("supply.G", "chassis")
	return m.Mode("off").Mode("on", "knob", "closed").Build(t)
}

// A leak to metal of 6 mA opens a class A GFCI (UL 943, 4 to 6 mA, value from
// memory) and not a 30 mA device (IEC 61008-1, value from memory), which must
// not open at half its rating; the breaker sees none of it. The leak is at the
// element's L1 end: 120 V over it.
func TestALeakOpensTheResidualCurrentDeviceAndNotTheBreaker(t *testing.T) {
	for _, x := range []struct {
		residual, milliamps float64
		trips               bool
	}{
		{0.005, 3.9, false}, {0.005, 6.1, true}, {0.030, 6.1, false}, {0.030, 14.9, false}, {0.030, 31, true},
	} {
		c := guarded(t, x.residual)
		element, _ := c.FindBranch("element")
		on, _ := c.FindMode("on")
		o, err := settle.New(c).Run(on, []circuit.Fault{{Kind: circuit.Grounded, Branch: element, Ohms: 120 / (x.milliamps / 1000)}})
		if err != nil {
			t.Fatal(err)
		}
		var opened []circuit.Kind
		for _, id := range o.Tripped {
			opened = append(opened, c.Part(c.Branch(id).Part).Kind)
		}
		want := []circuit.Kind(nil)
		if x.trips {
			want = []circuit.Kind{circuit.KindRCD, circuit.KindRCD, circuit.KindRCD}
		}
		if !slices.Equal(opened, want) {
			t.Errorf("%g mA through a device of %g A: opened %v, expected %v", x.milliamps, x.residual, opened, want)
		}
	}
}

// Which device opens tells what is wrong: a short from leg to leg leaves the
// residual-current device alone, a dead ground opens both, and a ground in the
// middle of an element between the legs, which stands at neutral there, neither.
func TestWhichDeviceOpens(t *testing.T) {
	c := guarded(t, 0.030)
	breaker, rcd := []string{"breaker.L1", "breaker.L2"}, []string{"rcd.L1", "rcd.L2", "rcd.N"}
	for fault, want := range map[string][]string{
		"element:short":        breaker,
		"element:grounded=0.5": nil,
		"element:grounded=0.4": rcd,
		"element:grounded=0":   append(slices.Clone(rcd), breaker...),
		"lamp:short":           breaker,
		// Neutral touches metal beyond the device: the lamp's third of an ampere
		// divides between neutral and earth.
		"lamp:grounded=1": rcd,
	} {
		got := find(c, run(t, c, "on", fault)).Tripped
		if !slices.Equal(got, want) {
			t.Errorf("%s opens %v, expected %v", fault, got, want)
		}
	}
}

// A sweep finds the same, and need not ask the engine for it.
func TestResidualCurrentsBySweep(t *testing.T) {
	c := guarded(t, 0.030)
	e, checker := settle.New(c), settle.New(c)
	faults := singles(c)
	for _, f := range singles(c) {
		if f.Kind == circuit.Grounded {
			for _, ohms := range []float64{1, 1000, 3000, 5000, 1e6} {
				for _, at := range []float64{0.1, 0.5, 0.9} {
					faults = append(faults, circuit.Fault{Kind: circuit.Grounded, Branch: f.Branch, Ohms: ohms, At: at})
				}
			}
		}
	}
	for _, m := range c.Modes() {
		s, err := settle.NewSweepOn(e, phasor.NewNetwork(c), m.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range faults {
			want, err := checker.Run(m.ID, []circuit.Fault{f})
			if err != nil {
				t.Fatal(err)
			}
			got, err := s.Run([]circuit.Fault{f})
			if err != nil {
				t.Fatal(err)
			}
			if where := unlike(c, want, got); where != "" {
				t.Errorf("%s, %s: %s", m.Name, c.FaultRef(f), where)
			}
		}
		if back := s.Stats.FellBack[settle.ReasonCurrent]; back > 0 {
			t.Errorf("%s: %d of %d runs asked the engine for a current", m.Name, back, s.Stats.Runs)
		}
	}
}

// The house's own residual-current device opens every leg and neutral where one
// drawn in front of the machine opens, and leaves alone what that leaves alone; by
// updates as in full.
func TestTheSuppliesOwnResidualCurrentDevice(t *testing.T) {
	for _, ohms := range []float64{0, 0.04} {
		m := circuittest.SplitPhase(240).SupplyOhms(ohms).Part(circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 30}).
			Switch("knob").Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40)
		m.Series("supply.L1", "breaker:L1.in>L1.out", "knob", "element", "breaker:L2.out>L2.in", "supply.L2").Series("breaker.L1.out", "lamp", "supply.N").Wire("supply.G", "chassis")
		spec := m.Mode("off").Mode("on", "knob", "closed").Spec()
		spec.Supply.ResidualAmps = 0.005
		c := circuittest.Build(t, spec)
		on, _ := c.FindMode("on")
		sweep, err := settle.NewSweep(settle.New(c), on)
		if err != nil {
			t.Fatal(err)
		}
		house := append(slices.Clone(c.Supply().Legs), c.Supply().Neutral)
		for fault, opens := range map[string]bool{
			"element:grounded=0/100000": false, "element:grounded=0/20000": true, "element:grounded=0": true, "element:grounded=0.5": false,
			"element:grounded=0.3": true, "element:short": false, "lamp:short": false, "lamp:grounded=0.4": true,
		} {
			faults, err := c.ParseFault(fault)
			if err != nil {
				t.Fatal(err)
			}
			o, err := settle.New(c).Run(on, faults)
			if err != nil {
				t.Fatal(err)
			}
			all := !slices.ContainsFunc(house, func(id circuit.BranchID) bool { return !slices.Contains(o.Tripped, id) })
			if all != opens || slices.Contains(o.Tripped, c.Supply().Earth) {
				t.Errorf("supply of %g ohms, %s: opened %v", ohms, fault, o.Tripped)
			}
			swept, err := sweep.Run(faults)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(swept.Tripped, o.Tripped) {
				t.Errorf("supply of %g ohms, %s: opened %v, by updates %v", ohms, fault, o.Tripped, swept.Tripped)
			}
		}
	}
}
