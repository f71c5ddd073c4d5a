package meter_test

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
)

// A motor's rating tells little of its winding; what its sheet says does.
func TestColdOhmsGivenBeatTheRating(t *testing.T) {
	build := func(cold float64) *circuit.Circuit {
		return circuittest.SplitPhase(240).
			Part(circuit.PartSpec{Kind: "motor", Name: "drum", Volts: 120, Watts: 300, StartOhms: 8, ColdOhms: cold}).
			Wire("supply.L1", "drum.1", "drum.3").Wire("drum.2", "supply.N").Mode("on").Build(t)
	}
	at := func(c *circuit.Circuit, ref string) meter.Value {
		id, err := c.FindBranch(ref)
		if err != nil {
			t.Fatal(err)
		}
		return meter.Cold(c, id, circuit.RoomCelsius)
	}
	rated, given := at(build(0), "drum.main"), at(build(2.5), "drum.main")
	if given.Ohms != 2.5 || given.Low != 2.25 || given.High != 2.75 {
		t.Errorf("2.5 ohms given are read as %v to %v, nominal %v", given.Low, given.High, given.Ohms)
	}
	if (rated.High-rated.Low)/rated.Ohms < 3*(given.High-given.Low)/given.Ohms {
		t.Errorf("the rating claims to know nearly as much: %v to %v", rated.Low, rated.High)
	}
	if start := at(build(2.5), "drum.start"); start.Ohms != 8 {
		t.Errorf("the start winding reads %v, want its own 8", start.Ohms)
	}
}

// An igniter that reads some 40 to 110 ohms cold is good (service literature, common
// practice, no source): what conducts the better the hotter spreads far.
func TestARodThatConductsHotSpreadsCold(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "element", Name: "igniter", Volts: 120, Watts: 400, ColdOhms: 60}).
		Wire("supply.L1", "igniter.1").Wire("igniter.2", "supply.N").Mode("on").Build(t)
	load, err := c.FindLoad("igniter")
	if err != nil {
		t.Fatal(err)
	}
	if v := meter.Cold(c, load, circuit.RoomCelsius); v.Low > 42 || v.High < 105 {
		t.Errorf("good from %.0f to %.0f ohms", v.Low, v.High)
	}
}

// Figures of published part tables (service literature, common practice, no
// source): a good part that reads so must not be called bad, and the good band
// of a sensor must be no more than a tenth wider than the table's.
func TestGoodBandsAgreeWithPublishedTables(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "resistor", Name: "bias", Ohms: 2400, Volts: 120},
			circuit.PartSpec{Kind: "latch", Name: "latch", Volts: 120, Watts: 5},
			circuit.PartSpec{Kind: "fan", Name: "cooling", Volts: 120, Watts: 25, PowerFactor: 0.6},
			circuit.PartSpec{Kind: "fan", Name: "convection", Volts: 120, Watts: 30, PowerFactor: 0.6},
			circuit.PartSpec{Kind: "element", Name: "tank", Volts: 240, Watts: 4500},
			circuit.PartSpec{Kind: "element", Name: "coil", Volts: 240, Watts: 2100},
			circuit.PartSpec{Kind: "element", Name: "dryer", Volts: 240, Watts: 5000},
			circuit.PartSpec{Kind: "sensor", Name: "sensor", Curve: "pt3750", OhmsAt: 1000}).
		Wire("supply.L1", "bias.1", "latch.M1", "latch.1", "cooling.1", "convection.1", "tank.1", "coil.1", "dryer.1", "sensor.1").
		Wire("supply.N", "bias.2", "latch.M2", "latch.2", "cooling.2", "convection.2", "tank.2", "coil.2", "dryer.2", "sensor.2").
		Mode("on").Build(t)
	for _, x := range []struct {
		part     string
		celsius  float64
		low, top float64 // the table's good band, or a figure that is good
	}{
		{"bias", 21, 2160, 2640}, {"latch.motor", 21, 2600, 2600}, {"cooling", 21, 47, 47}, {"convection", 21, 37, 37},
		{"tank", 21, 12.8, 12.8}, {"coil", 21, 27, 27}, {"dryer", 21, 11.6, 11.6},
		{"sensor", 0, 996, 1004}, {"sensor", (75 - 32) / 1.8, 1085.7, 1096.3},
	} {
		id, err := c.FindBranch(x.part)
		if err != nil {
			t.Fatal(err)
		}
		v := meter.Cold(c, id, x.celsius)
		if v.Low > x.low+0.5 || v.High < x.top-0.5 {
			t.Errorf("%s at %.0f C: good from %.4g to %.4g, the table says %g to %g", x.part, x.celsius, v.Low, v.High, x.low, x.top)
		}
		if x.part == "sensor" && v.High-v.Low > 1.1*(x.top-x.low) {
			t.Errorf("sensor at %.0f C: good from %.4g to %.4g, wider than the table's %g to %g", x.celsius, v.Low, v.High, x.low, x.top)
		}
	}
}
