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
