package heat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/heat"
)

// heated is an element on 240 V, by itself or behind a thermostat, that warms
// what is given.
func heated(t testing.TB, watts float64, bodies []circuit.BodySpec, parts ...circuit.PartSpec) *heat.Model {
	t.Helper()
	m := circuittest.SplitPhase(240).Load("element", "element", 240, watts)
	steps := []string{"supply.L1"}
	for _, p := range parts {
		m.Part(p)
		steps = append(steps, p.Name)
	}
	m.Series(append(steps, "element", "supply.L2")...)
	spec := m.Spec()
	spec.Bodies = bodies
	model, err := heat.New(circuittest.Build(t, spec))
	if err != nil {
		t.Fatal(err)
	}
	return model
}

func follow(t testing.TB, m *heat.Model, q heat.Question) *heat.Run {
	t.Helper()
	r, err := m.Run(q)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.4g, expected %.4g within %.2g", what, got, want, within)
	}
}

// Warm-up of a mass at known power, nothing lost: 1 kg of water, 4186 J/K
// (the mean calorie, OpenStax University Physics volume 2, table 1.3, value from
// memory), takes 4186 * 60 / 1000 = 251.2 s to warm by 60 K at 1000 W.
func TestAMassAtKnownPower(t *testing.T) {
	m := heated(t, 1000, []circuit.BodySpec{{Name: "kettle", Capacity: 4186, Heats: map[string]float64{"element": 1}}})
	r := follow(t, m, heat.Question{Room: 20, Minutes: 6})
	near(t, "minutes to 80 C", r.Above(0, 80), 4186*60/1000.0/60, 0.01)
	near(t, "joules", r.Joules[m.Circuit().Loads()[0]], 360e3, 1)
}

// With a loss it nears room + P/G by exp(-t G/C), Newton's law of cooling.
func TestABodyThatLosesHeat(t *testing.T) {
	m := heated(t, 500, []circuit.BodySpec{{Name: "box", Capacity: 6000, Loss: 5, Heats: map[string]float64{"element": 1}}})
	r := follow(t, m, heat.Question{Room: 20, Minutes: 240})
	near(t, "after one time constant", r.Bodies[0].Celsius[20], 20+100*(1-math.Exp(-1)), 1e-6)
	near(t, "in the end", r.Bodies[0].End, 120, 0.01)
	if !r.Steady {
		t.Error("it is not said to be steady")
	}
}

// Two bodies one around the other, in the end: all 100 W pass both, so the
// inner is 100/2 K above the outer and that 100/4 K above the room.
func TestABodyWithinAnother(t *testing.T) {
	m := heated(t, 100, []circuit.BodySpec{{Name: "oven", Capacity: 500, Loss: 2, Around: "shell", Heats: map[string]float64{"element": 1}},
		{Name: "shell", Capacity: 900, Loss: 4}})
	r := follow(t, m, heat.Question{Room: 20, Minutes: 300})
	near(t, "shell", r.Bodies[1].End, 45, 0.01)
	near(t, "oven", r.Bodies[0].End, 95, 0.01)
}

const usGallon = 3.785411784 // litres, NIST Handbook 44, appendix C

// Recovery of a storage water heater by the energy balance of a stirred tank,
// losses left out: 4500 W raise 20.5 US gallons an hour by 90 F (50 K). Makers'
// tables say 20 to 21 for 4500 W and 25 for 5500 W (service literature, common
// practice, no source).
func TestRecoveryOfATankByEnergyBalance(t *testing.T) {
	const density, specific = 0.9970, 4181.0 // kg/l, J/(kg K) at 25 C, CRC Handbook (from memory)
	for watts, table := range map[float64][2]float64{4500: {20, 21}, 5500: {24, 26}} {
		gallons := 50.0
		m := heated(t, watts, []circuit.BodySpec{{Name: "tank", Capacity: gallons * usGallon * density * specific, Heats: map[string]float64{"element": 1}}})
		r := follow(t, m, heat.Question{Room: 10, Minutes: 240})
		perHour := gallons / (r.Above(0, 60) / 60)
		if !(perHour >= table[0] && perHour <= table[1]) {
			t.Errorf("%g W recover %.2f gallons an hour, the tables say %v", watts, perHour, table)
		}
		if watts == 4500 {
			near(t, "gallons an hour at 4500 W", perHour, 20.5, 0.1)
		}
	}
}

// A thermostat lets off at its temperature and calls again below its reset; on
// for the share of time that the loss asks for: G (T - room) / P, here
// 5 * 80 / 1000 = 40 %. A 208 V service leaves 75.1 % of the watts and stretches
// that share to match. One out of calibration by a quarter acts as much higher above
// the room of 21 C, and is told from what it aims at: 102 + 81/4 = 122.25.
func TestAThermostatCycles(t *testing.T) {
	m := heated(t, 1000, []circuit.BodySpec{{Name: "box", Capacity: 3000, Loss: 5, Heats: map[string]float64{"element": 1}}},
		circuit.PartSpec{Name: "stat", Kind: "thermostat", Body: "box", ActsCelsius: 102, ResetsCelsius: 98})
	r := follow(t, m, heat.Question{Room: 20, Minutes: 240})
	load := m.Circuit().Loads()[0]
	near(t, "share of time on", r.On[load], 0.40, 0.01)
	near(t, "mean", r.Bodies[0].Mean, 100, 0.5)
	near(t, "aim", r.Bodies[0].Target, 102, 0)
	// C ln(...) of Newton's law: from 20 toward 220, 102 comes after
	// (3000/5) ln(200/118) s.
	near(t, "reached", r.Bodies[0].Reached, 600*math.Log(200.0/118)/60, 0.04)
	low, err := m.Circuit().ParseFault("supply:drifted=0.8666667")
	if err != nil {
		t.Fatal(err)
	}
	weak := follow(t, m, heat.Question{Room: 20, Minutes: 240, Faults: low})
	near(t, "share of time with full volts for 208 on 240", weak.On[load]/0.751, 0.40/0.751, 0.01)
	off, err := m.Circuit().ParseFault("stat:drifted=1.25")
	if err != nil {
		t.Fatal(err)
	}
	hot := follow(t, m, heat.Question{Room: 20, Minutes: 240, Faults: off})
	near(t, "highest", hot.Bodies[0].High, 102+81.0/4, 0.4)
	near(t, "swing", hot.Bodies[0].High-hot.Bodies[0].Low, 4, 0.6)
	near(t, "aim", hot.Bodies[0].Target, 102, 0)
}

// A limit whose body cools by a fan opens once that stops, and stays open if
// only its button resets it; a welded thermostat is what it is there for.
func TestALimitGuards(t *testing.T) {
	box := []circuit.BodySpec{{Name: "box", Capacity: 3000, Loss: 5, Heats: map[string]float64{"element": 1}}}
	stat := circuit.PartSpec{Name: "stat", Kind: "thermostat", Body: "box", ActsCelsius: 102, ResetsCelsius: 98}
	limit := circuit.PartSpec{Name: "limit", Kind: "limit", Body: "box", ActsCelsius: 150}
	m := heated(t, 1000, box, stat, limit)
	if r := follow(t, m, heat.Question{Room: 20, Minutes: 120}); !math.IsNaN(r.Acted(limitOf(m))) {
		t.Errorf("the limit opens in a sound machine after %.1f min", r.Acted(limitOf(m)))
	}
	welded, _ := m.Circuit().ParseFault("stat:welded")
	r := follow(t, m, heat.Question{Room: 20, Minutes: 240, Faults: welded})
	near(t, "the limit opens after", r.Acted(limitOf(m)), 600*math.Log(200.0/70)/60, 0.04)
	near(t, "highest", r.Bodies[0].Peak, 150, 1)
	if r.Bodies[0].End > 40 {
		t.Errorf("at the end the box is at %.0f C: the limit came back by itself", r.Bodies[0].End)
	}
}

func limitOf(m *heat.Model) circuit.PartID {
	id, _ := m.Circuit().FindPart("limit")
	return id
}

// Warm water rises: a lower element warms the whole tank, an upper one only
// what is above it.
func TestWarmWaterRises(t *testing.T) {
	bodies := func(at string) []circuit.BodySpec {
		b := []circuit.BodySpec{{Name: "top", Capacity: 1e5}, {Name: "bottom", Capacity: 2e5, RisesInto: "top"}}
		b[map[string]int{"top": 0, "bottom": 1}[at]].Heats = map[string]float64{"element": 1}
		return b
	}
	r := follow(t, heated(t, 3000, bodies("bottom")), heat.Question{Room: 10, Minutes: 60})
	near(t, "top from below", r.Bodies[0].End, 10+3000*3600/3e5, 0.1)
	near(t, "bottom from below", r.Bodies[1].End, 10+3000*3600/3e5, 0.1)
	r = follow(t, heated(t, 3000, bodies("top")), heat.Question{Room: 10, Minutes: 20})
	near(t, "top from above", r.Bodies[0].End, 10+3000*1200/1e5, 0.1)
	near(t, "bottom from above", r.Bodies[1].End, 10, 1e-9)
}

// IEC 60751:2022, table of Pt100 (values from memory), read backwards; and what
// an error of so many ohms makes of an oven that is meant to be at 350 F
// (176.7 C): 10 ohms of a 1000 ohm sensor are 2.8 K there, high ohms making it
// run cool. A tenth of an ohm of joint is nothing.
func TestDegreesOfASensorThatIsOff(t *testing.T) {
	pt100 := circuit.SensorCurve{Law: "pt3850", OhmsAt: 100}
	for celsius, ohms := range map[float64]float64{-100: 60.26, 0: 100, 100: 138.51, 200: 175.86, 300: 212.05, 400: 247.09} {
		got, err := pt100.Celsius(ohms)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Pt100", got, celsius, 0.02)
	}
	oven := circuit.SensorCurve{Law: "pt3750", OhmsAt: 1000}
	meant, err := oven.Ohms(176.7)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ ohms, off float64 }{{10, -2.8}, {-10, 2.8}, {0.1, -0.03}, {100, -27.7}} {
		held, err := oven.Celsius(meant - x.ohms)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "off", held-176.7, x.off, 0.1)
	}
	if _, err := oven.Celsius(meant - 1e6); err == nil {
		t.Error("a sensor a megohm low is held at some temperature")
	}
}

// A control holds what it sees. A sensor 4 % high has the oven run cool by the
// degrees that its ohms are off, an open one has it drop its relay.
func TestAControlHoldsBySensor(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2600).Part(
		circuit.PartSpec{Name: "control", Kind: "control", Volts: 120, Watts: 5, DifferentialKelvin: 8,
			Senses: []circuit.SenseSpec{{Name: "oven", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2900, Modes: []string{"bake"}}}},
		circuit.PartSpec{Name: "relay", Kind: "relay", DrivenBy: "control", Contact: "no"},
		circuit.PartSpec{Name: "sensor", Kind: "sensor", Curve: "pt3750", OhmsAt: 1000, Body: "oven"})
	m.Series("supply.L1", "relay:com>no", "bake", "supply.L2").Series("supply.L1", "control:L>N", "supply.N").Series("control.S1", "sensor", "control.S2")
	m.Mode("off").ModeSpec(circuit.ModeSpec{Name: "bake", Drives: []string{"relay"}, Celsius: map[string]float64{"sensor": 177}})
	spec := m.Spec()
	spec.Bodies = []circuit.BodySpec{{Name: "oven", Capacity: 10000, Loss: 4, Heats: map[string]float64{"bake": 1}}}
	c := circuittest.Build(t, spec)
	model, err := heat.New(c)
	if err != nil {
		t.Fatal(err)
	}
	bake, _ := c.FindMode("bake")
	sound := follow(t, model, heat.Question{Mode: bake, Room: 21, Minutes: 180})
	near(t, "mean, sound", sound.Bodies[0].Mean, 177, 1)
	high, _ := c.ParseFault("sensor:drifted=1.04")
	sensor := circuit.SensorCurve{Law: "pt3750", OhmsAt: 1000}
	at, _ := sensor.Ohms(177)
	want, err := sensor.Celsius(at / 1.04)
	if err != nil {
		t.Fatal(err)
	}
	r := follow(t, model, heat.Question{Mode: bake, Room: 21, Minutes: 180, Faults: high})
	near(t, "mean, sensor 4 % high", r.Bodies[0].Mean, want, 1)
	for _, fault := range []string{"sensor:open", "sensor:short", "supply.N:open"} {
		f, _ := c.ParseFault(fault)
		if r := follow(t, model, heat.Question{Mode: bake, Room: 21, Minutes: 60, Faults: f}); r.Bodies[0].Peak > 22 {
			t.Errorf("with %s it heats to %.0f C", fault, r.Bodies[0].Peak)
		}
	}
	welded, _ := c.ParseFault("relay:welded")
	both, err := model.Compare(heat.Question{Mode: bake, Room: 21, Minutes: 600, Faults: welded})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "relay welded, warmer by", both.Off(0), 21+2600/4.0-177, 3)
	near(t, "no slower for that", both.Slower(0), 1, 0.01)
	half, _ := c.ParseFault("bake:drifted=2")
	if both, err = model.Compare(heat.Question{Mode: bake, Room: 21, Minutes: 600, Faults: half}); err != nil {
		t.Fatal(err)
	}
	// Toward 671 C at full power and 346 C at half: ln(650/494) against ln(325/169).
	near(t, "slower at half power", both.Slower(0), math.Log(325.0/169)/math.Log(650.0/494), 0.03)
}

// At a knob setting of 30 % a coil gets 30 % of its watts; with its cycling
// contact welded it stays on, whatever the knob says.
func TestACyclingSwitchThatDoesNotCycle(t *testing.T) {
	m := circuittest.SplitPhase(240).Part(circuit.PartSpec{Name: "knob", Kind: "cycling_switch"}).Load("surface_element", "coil", 240, 2100).Load("lamp", "pilot", 120, 1)
	m.Series("supply.L1", "knob:L1>H1", "coil", "knob:H2>L2", "supply.L2").Series("knob.P", "pilot", "supply.N")
	m.Mode("off").ModeSpec(circuit.ModeSpec{Name: "low", Set: map[string]string{"knob": "on"}, Duty: map[string]float64{"knob": 0.3}})
	spec := m.Spec()
	spec.Bodies = []circuit.BodySpec{{Name: "coil_metal", Capacity: 300, Loss: 3, Heats: map[string]float64{"coil": 1}}}
	c := circuittest.Build(t, spec)
	model, err := heat.New(c)
	if err != nil {
		t.Fatal(err)
	}
	low, _ := c.FindMode("low")
	coil, _ := c.FindLoad("coil")
	sound := follow(t, model, heat.Question{Mode: low, Room: 20, Minutes: 40})
	near(t, "share of time on", sound.On[coil], 0.30, 0.02)
	near(t, "mean", sound.Bodies[0].Mean, 20+0.3*2100/3, 15)
	stuck, _ := c.ParseFault("knob.L1-H1:welded")
	r := follow(t, model, heat.Question{Mode: low, Room: 20, Minutes: 40, Faults: stuck})
	near(t, "welded, share of time on", r.On[coil], 1, 0.001)
	near(t, "welded, mean", r.Bodies[0].Mean, 720, 1)
}

func TestWhatCannotBeFollowed(t *testing.T) {
	if _, err := heat.New(circuittest.SplitPhase(240).Load("lamp", "lamp", 120, 40).Series("supply.L1", "lamp", "supply.N").Build(t)); err != heat.ErrNoBodies {
		t.Errorf("a machine without bodies: %v", err)
	}
	m := heated(t, 1000, []circuit.BodySpec{{Name: "box", Capacity: 1e-3, Heats: map[string]float64{"element": 1}}},
		circuit.PartSpec{Name: "stat", Kind: "thermostat", Body: "box", ActsCelsius: 102, ResetsCelsius: 101.999})
	for _, q := range []heat.Question{{Room: 20}, {Room: 20, Minutes: 1e9}, {Room: 900, Minutes: 10}, {Room: math.NaN(), Minutes: 10}, {Room: 20, Minutes: math.NaN()}} {
		if _, err := m.Run(q); err == nil {
			t.Errorf("%v minutes in a room of %v C were followed", q.Minutes, q.Room)
		}
	}
}

// Heat is neither made nor lost on the way: with nothing going out to the room,
// what the bodies hold in the end is what the element gave, whatever surrounds,
// rises into or is blown into what.
func TestHeatIsKept(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(rt, "bodies")
		names := []string{"a", "b", "c", "d"}[:n]
		var bodies []circuit.BodySpec
		for i, name := range names {
			b := circuit.BodySpec{Name: name, Capacity: rapid.Float64Range(1000, 50000).Draw(rt, "capacity")}
			if i > 0 {
				b.Around, b.Loss = names[i-1], rapid.Float64Range(0.1, 20).Draw(rt, "loss")
				if rapid.Bool().Draw(rt, "rises") {
					b.RisesInto = names[rapid.IntRange(0, i-1).Draw(rt, "above")]
				}
			}
			bodies = append(bodies, b)
		}
		bodies[rapid.IntRange(0, n-1).Draw(rt, "heated")].Heats = map[string]float64{"element": 1}
		m := heated(t, 2000, bodies)
		r := follow(t, m, heat.Question{Room: 20, Minutes: 30})
		held := 0.0
		for i, b := range bodies {
			held += b.Capacity * (r.Bodies[i].End - 20)
		}
		if given := r.Joules[m.Circuit().Loads()[0]]; math.Abs(held-given) > 0.01*given {
			rt.Fatalf("%.0f J given, %.0f held", given, held)
		}
	})
}

// Followed in steps of fifteen seconds it comes out as in steps of one: within a
// step each body moves exactly.
func TestLongStepsTellTheSame(t *testing.T) {
	body := []circuit.BodySpec{{Name: "oven", Capacity: 10000, Loss: 5, Heats: map[string]float64{"element": 1}}}
	m := heated(t, 2500, body, circuit.PartSpec{Name: "thermostat", Kind: "thermostat", Body: "oven", ActsCelsius: 180, ResetsCelsius: 160})
	fine, coarse := follow(t, m, heat.Question{Room: 20, Minutes: 120}), follow(t, m, heat.Question{Room: 20, Minutes: 120, Step: 15})
	near(t, "minutes to temperature", coarse.Bodies[0].Reached, fine.Bodies[0].Reached, 0.25)
	near(t, "mean", coarse.Bodies[0].Mean, fine.Bodies[0].Mean, 2)
}

// A step or a dial that no run can be made with is refused, as a room is.
func TestRunsThatCannotBe(t *testing.T) {
	m := heated(t, 100, []circuit.BodySpec{{Name: "block", Capacity: 1000, Loss: 1, Heats: map[string]float64{"element": 1}}})
	for _, q := range []heat.Question{{Minutes: 1, Step: -1}, {Minutes: 1, Step: math.NaN()}, {Minutes: 1, Dial: math.NaN()}, {Minutes: 1, Dial: -500}, {Minutes: 1, Dial: 1e5}} {
		if _, err := m.Run(q); err == nil {
			t.Errorf("%+v was run", q)
		}
	}
}
