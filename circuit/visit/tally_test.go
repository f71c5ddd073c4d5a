package visit_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
)

func TestARateIsShrunkAsBooksWorkIt(t *testing.T) {
	for _, x := range []struct {
		source                        string
		shape, rate, failed, exposure float64
		mean, tolerance               float64
	}{
		{"J. Albert, Bayesian Computation with R, section 3.3 (its program Chapter.3.3.R): hospital A, gamma(16, 15174), 1 death in 66", 16, 15174, 1, 66, 17.0 / 15240, 1e-12},
		{"the same, hospital B: 4 deaths in 1767", 16, 15174, 4, 1767, 20.0 / 16941, 1e-12},
		{"A. Johnson, M. Ott and M. Dogucu, Bayes Rules!, chapter 5: gamma(10, 2), counts 6, 2, 2, 1 give gamma(21, 6)", 10, 2, 11, 4, 3.5, 1e-12},
		{"A. Gelman and others, Bayesian Data Analysis, 3rd ed., section 2.6: gamma(3, 5), 3 deaths in 2 give a mean of 0.86 (value from memory)", 3, 5, 3, 2, 0.86, 0.005},
		{"the same, 30 deaths in 20: 1.32 (value from memory)", 3, 5, 30, 20, 1.32, 0.005},
	} {
		if mean, _, _ := visit.Shrunk(x.shape, x.rate, x.failed, x.exposure); math.Abs(mean-x.mean) > x.tolerance {
			t.Errorf("%s: %g, want %g", x.source, mean, x.mean)
		}
	}
	// A gamma distribution of shape 1 is exponential: its quantile at q is
	// -ln(1-q) over the rate.
	_, low, high := visit.Shrunk(1, 1, 0, 3)
	if math.Abs(low+math.Log(0.95)/4) > 1e-9 || math.Abs(high+math.Log(0.05)/4) > 1e-9 {
		t.Errorf("%g to %g, want %g to %g", low, high, -math.Log(0.95)/4, -math.Log(0.05)/4)
	}
	// Twice the rate times a gamma variable of shape 12 is chi-square of 24 degrees
	// of freedom, whose 5 and 95 per cent points tables give as 13.848 and 36.415
	// (values from memory).
	_, low, high = visit.Shrunk(10, 10, 2, 0.15)
	if math.Abs(low-13.848/20.3) > 5e-5 || math.Abs(high-36.415/20.3) > 5e-5 {
		t.Errorf("%g to %g, want %g to %g", low, high, 13.848/20.3, 36.415/20.3)
	}
}

func opened(t *testing.T, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func proved(causes ...string) *visit.Record {
	return &visit.Record{Verdict: &visit.Verdict{Causes: causes}, Repair: &visit.Repair{Done: "mended"},
		Notes: []visit.Note{{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "OL", Minutes: 4}}}
}

func learnt(t *visit.Tally, name string) visit.Prior {
	for _, p := range t.Priors() {
		if p.Name == name {
			return p
		}
	}
	return visit.Prior{}
}

// Two visits to a range whose relays failed move the relays' figure a little, a
// hundred move it far, and the common practice lies within what two leave open.
func TestFewVisitsChangeLittle(t *testing.T) {
	c := opened(t, "range-electronic")
	tally := visit.NewTally()
	add := func(n int) {
		for range n {
			if err := tally.Add(c, proved("broil_relay.contact:open"), nil, nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	add(2)
	two := learnt(tally, "relay")
	if two.Failed != 2 || two.Learnt < two.Common || two.Learnt > 1.2*two.Common || two.Low > two.Common || two.High < two.Common {
		t.Errorf("after two failures: %+v", two)
	}
	add(98)
	hundred := learnt(tally, "relay")
	if hundred.Learnt < 2*hundred.Common || hundred.High-hundred.Low > hundred.Learnt {
		t.Errorf("after a hundred failures: %+v", hundred)
	}
	if sensor := learnt(tally, "sensor"); sensor.Learnt >= sensor.Common {
		t.Errorf("sensors that never failed: %+v", sensor)
	}
	expected := 0.0
	for _, n := range tally.Kinds {
		expected += n.Expected
	}
	if math.Abs(expected-100) > 1e-9 {
		t.Errorf("%g failures are expected of 100", expected)
	}
}

// What was named and left alone is not counted where something else was repaired and
// that held.
func TestWhatWasRepairedCounts(t *testing.T) {
	c := opened(t, "range-electronic")
	rec := proved("broil_element:open")
	rec.Repair.Parts = []string{"broil_relay"}
	tally := visit.NewTally()
	if err := tally.Add(c, rec, nil, nil); err != nil {
		t.Fatal(err)
	}
	if relay, element := learnt(tally, "relay"), learnt(tally, "element"); relay.Failed != 1 || element.Failed != 0 || element.Expected == 0 {
		t.Errorf("relay %+v, element %+v", relay, element)
	}
}

// Counted in one van or in three and merged, in whichever order: the same.
func TestMergingIsCountingTogether(t *testing.T) {
	c := opened(t, "range-electronic")
	causes := []string{"broil_element:open", "broil_relay.contact:open | broil_relay.coil:open", "w15:open", "oven_sensor:open"}
	whole := visit.NewTally()
	vans := []*visit.Tally{visit.NewTally(), visit.NewTally(), visit.NewTally()}
	for i := range 30 {
		for _, into := range []*visit.Tally{whole, vans[i%3]} {
			if err := into.Add(c, proved(causes[i%4]), []string{"element dead"}, []string{"cold"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	whole.Left[visit.NotProved], vans[1].Left[visit.NotProved] = 2, 2
	for _, order := range [][3]int{{0, 1, 2}, {2, 0, 1}} {
		merged := visit.NewTally()
		for _, i := range order {
			merged.Merge(vans[i])
		}
		if diff := cmp.Diff(whole, merged, cmpopts.EquateApprox(1e-9, 1e-9)); diff != "" {
			t.Errorf("%v: -together +merged\n%s", order, diff)
		}
	}
	if got := fmt.Sprintf("%.2f %.2f", whole.Moves["ohms"].Mean(), whole.Moves["ohms"].Deviation()); got != "4.00 0.00" {
		t.Errorf("minutes: %s", got)
	}
}

// The minutes of a move are those of that move: to look, to press a reset and to listen
// are not to turn the machine on, and each function of the meter is by itself.
func TestMinutesAreByWhatTheMoveIs(t *testing.T) {
	c := opened(t, "range-electronic")
	rec := proved("broil_relay.contact:open")
	rec.Notes = []visit.Note{
		{Mode: "broil", Load: "broil_element", State: "dead", Minutes: 3},
		{Mode: "off", Ask: string(suspect.Look), Part: "broil_element", Answer: "ok", Minutes: 5},
		{Mode: "broil", Ask: string(suspect.Listen), Part: "broil_relay", Answer: "ok", Minutes: 2},
		{Mode: "broil", Function: "volts", P: "broil_1", Q: "broil_2", Answer: "0", Minutes: 7},
		{Mode: "off", Function: "ohms", P: "broil_1", Q: "broil_2", Lifted: "broil_1", Answer: "17", Minutes: 8},
		{Told: "burnt", Part: "broil_relay", Minutes: 1},
		{Mode: "off", Ask: string(suspect.Press), Part: "limit", Skipped: true, Minutes: 9},
	}
	tally := visit.NewTally()
	if err := tally.Add(c, rec, nil, nil); err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{}
	for move, m := range tally.Moves {
		got[move] = m.Sum
	}
	want := map[string]float64{"trial": 3, "look": 5, "listen": 2, "volts": 7, "ohms, lead lifted": 8, "told": 1}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}
