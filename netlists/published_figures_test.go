package netlists_test

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

const (
	service      = "service literature, common practice, no source"
	elementTable = "tables of immersion elements, several printings alike (from memory)"
	wd6          = "NEMA WD 6, receptacle configurations (from memory)"
)

// figure is a published number, and how far ours may be from it.
type figure struct {
	says, source string
	got          func(t *testing.T) float64
	want, within float64
	right        string
}

var publishedFigures = []figure{
	{"an element of 4500 W at 240 V has 12.8 ohms", elementTable, element(4500, 240, "ohms"), 12.8, 0.05, ""},
	{"and takes 18.75 A", elementTable, element(4500, 240, "amps"), 18.75, 0.005, ""},
	{"and gives 3380 W at 208 V", elementTable, element(4500, 208, "watts"), 3380, 5, ""},
	{"and gives 1125 W at 120 V", elementTable, element(4500, 120, "watts"), 1125, 1, ""},
	{"an element of 5500 W at 240 V has 10.5 ohms", elementTable, element(5500, 240, "ohms"), 10.5, 0.05, ""},
	{"and gives 4125 W at 208 V", elementTable, element(5500, 208, "watts"), 4125, 10, "differs by 6 W, ours is right: (208/240)^2 of 5500 W is 4131 W; the table rounds the share to 75 %"},
	{"a surface coil of 2100 W has 27 ohms", service, element(2100, 240, "ohms"), 27, 0.5, ""},
	{"a surface coil of 1250 W has 45 ohms", service, element(1250, 240, "ohms"), 45, 1.5, "agrees; ours is hot, the sheet's cold: 46.1 ohms by the rating"},
	{"a dryer's heater of about 5 kW has 11.6 ohms", service, element(5000, 240, "ohms"), 11.6, 0.2, ""},
	{"a 240 V element on 208 V gives 75.1 % of its watts", "arithmetic, (208/240)^2", element(1000, 208, "watts"), 751, 0.5, ""},
	{"power of a heating appliance may be 5 % over: its ohms 4.8 % low", "IEC 60335-1, 10.1 (from memory)", func(t *testing.T) float64 { return band(t, 2400)[0] }, 1, 0, "agrees: the band legtrace expects cold takes in what the standard allows hot"},
	{"or 10 % under: its ohms 11.1 % high", "IEC 60335-1, 10.1 (from memory)", func(t *testing.T) float64 { return band(t, 2400)[1] }, 1, 0, ""},
	{"an oven sensor reads 1000 ohms at 32 F", service, platinum(32), 1000, 4, ""},
	{"1091 ohms at 75 F", service, platinum(75), 1091, 5.3, "agrees; the sheet's band of 5.3 ohms is for a known temperature; legtrace allows 12, since nobody knows the kitchen's to the degree"},
	{"1143 ohms at 100 F", service, platinum(100), 1143, 1, ""},
	{"1350 ohms at 200 F", service, platinum(200), 1350, 1, ""},
	{"1553 ohms at 300 F", service, platinum(300), 1553, 1.5, ""},
	{"1654 ohms at 350 F", service, platinum(350), 1654, 1, ""},
	{"1753 ohms at 400 F", service, platinum(400), 1753, 1, ""},
	{"1949 ohms at 500 F", service, platinum(500), 1949, 1.5, ""},
	{"2697 ohms at 900 F", service, platinum(900), 2697, 1, ""},
	{"a dryer thermostat's own heater has 2400 ohms, within 240", service, func(t *testing.T) float64 { return catalogPart(t, "dryer", "bias_heater").Ohms }, 2400, 240, ""},
	{"a dryer's high limit opens at 225 F, within 7", service, func(t *testing.T) float64 { return catalogPart(t, "dryer", "high_limit").ActsCelsius*1.8 + 32 }, 225, 7, ""},
	{"a good contact reads under 1 ohm", service, func(*testing.T) float64 { return meter.WornContactOhms }, 1, 0, "agrees; legtrace calls up to 1 ohm serviceable; a heater's contact of 1 ohm is not, for what it heats"},
	{"a latch motor's winding may read 2600 ohms", service, winding(circuit.PartSpec{Kind: "latch", Volts: 120, Watts: 5, ColdOhms: 2600}), 2600, 0, "differs, the sheet is right: what a rating says of a winding (some 170 to 1300 ohms here) would call it bad; cold_ohms says what is right"},
	{"a fan motor's winding may read 37 ohms", service, winding(circuit.PartSpec{Kind: "fan", Volts: 120, Watts: 30, ColdOhms: 37}), 37, 0, "differs, as above: give cold_ohms"},
	{"or 47 ohms", service, winding(circuit.PartSpec{Kind: "fan", Volts: 120, Watts: 30, ColdOhms: 47}), 47, 0, "differs, as above: give cold_ohms"},
	{"a receptacle 14-30 has four wires", wd6, supplyWires("dryer"), 4, 0, ""},
	{"of 30 A", wd6, breakerAmps("dryer"), 30, 0, ""},
	{"a receptacle 10-30 has three", wd6, supplyWires("dryer-3wire"), 3, 0, ""},
	{"a receptacle 14-50 has four wires", wd6, supplyWires("range-electronic"), 4, 0, ""},
	{"of 50 A: the branch circuit's breaker is no larger", wd6, func(t *testing.T) float64 { return max(breakerAmps("range-electronic")(t), 50) }, 50, 0, ""},
	{"a receptacle 10-50 has three wires", wd6, supplyWires("range-electronic-3wire"), 3, 0, ""},
}

func TestPublishedFigures(t *testing.T) {
	for _, f := range publishedFigures {
		if against := is("ours", f.got(t), f.want, f.within); against != "" {
			t.Errorf("%s (%s): %s", f.says, f.source, against)
		}
	}
}

// element settles an element rated at 240 V on another voltage.
func element(watts, volts float64, ask string) func(*testing.T) float64 {
	return func(t *testing.T) float64 {
		t.Helper()
		m := circuittest.SplitPhase(240).Load("element", "element", 240, watts).Series("supply.L1", "element", "supply.L2")
		spec := m.Spec()
		zero := 0.0
		spec.Supply = circuit.SupplySpec{System: "single-phase", Volts: volts, SourceOhms: &zero, FeederOhms: &zero}
		spec.Wires[1].To = "supply.N"
		a := &asked{t: t, c: circuittest.Build(t, spec)}
		a.engine = settle.New(a.c)
		o, err := a.engine.Run(0, nil)
		if err != nil {
			t.Fatal(err)
		}
		load := a.load("element")
		amps := real(o.AnyState.Amps[load])
		return map[string]float64{"ohms": volts / amps, "amps": amps, "watts": o.AnyState.Watts(load)}[ask]
	}
}

// band tells of a heating element whether the ohms that IEC 60335-1 allows lie
// in what a good one may read cold: 1 where they do, below and above.
func band(t *testing.T, watts float64) [2]float64 {
	t.Helper()
	c := circuittest.SplitPhase(240).Load("element", "element", 240, watts).Series("supply.L1", "element", "supply.L2").Build(t)
	load, err := c.FindLoad("element")
	if err != nil {
		t.Fatal(err)
	}
	cold, hot := meter.RatedCold(c, load), 240*240/watts
	var out [2]float64
	if cold.Low <= hot/1.05 {
		out[0] = 1
	}
	if cold.High >= hot/0.9 {
		out[1] = 1
	}
	return out
}

func platinum(fahrenheit float64) func(*testing.T) float64 {
	return func(t *testing.T) float64 {
		t.Helper()
		curve := circuit.SensorCurve{Law: "pt3750", OhmsAt: 1000}
		ohms, err := curve.Ohms((fahrenheit - 32) / 1.8)
		if err != nil {
			t.Fatal(err)
		}
		return ohms
	}
}

func winding(part circuit.PartSpec) func(*testing.T) float64 {
	return func(t *testing.T) float64 {
		t.Helper()
		part.Name = "winding"
		m := circuittest.SplitPhase(240).Part(part)
		spec := m.Spec()
		ends := [2]string{"winding.1", "winding.2"}
		if part.Kind == "latch" {
			ends = [2]string{"winding.M1", "winding.M2"}
		}
		spec.Wires = append(spec.Wires, circuit.WireSpec{From: "supply.L1", To: ends[0]}, circuit.WireSpec{From: ends[1], To: "supply.N"})
		spec.Modes = []circuit.ModeSpec{{Name: "on"}}
		c := circuittest.Build(t, spec)
		return meter.Cold(c, c.Loads()[0], circuit.RoomCelsius).Ohms
	}
}

func catalogPart(t *testing.T, machine, name string) circuit.PartSpec {
	t.Helper()
	c, err := netlists.Open(machine)
	if err != nil {
		t.Fatal(err)
	}
	id, err := c.FindPart(name)
	if err != nil {
		t.Fatal(err)
	}
	return c.Part(id).Spec
}

func supplyWires(machine string) func(*testing.T) float64 {
	return func(t *testing.T) float64 {
		t.Helper()
		c, err := netlists.Open(machine)
		if err != nil {
			t.Fatal(err)
		}
		return float64(c.Supply().Wires)
	}
}

func breakerAmps(machine string) func(*testing.T) float64 {
	return func(t *testing.T) float64 { return catalogPart(t, machine, "breaker").Amps }
}
