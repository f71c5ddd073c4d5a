package drill_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"legtrace/circuit"
	"legtrace/circuit/drill"
)

func explain(t *testing.T, s *drill.Session) *drill.Explanation {
	t.Helper()
	out, err := s.Explain(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// feed shows the stations with volts to the nearest ten, so that the day's
// supply, within 5 % of nominal, drops out: 120 V, 240 V or nothing.
func feed(f drill.FaultStory, day float64) []string {
	var out []string
	volts := func(v float64) string {
		switch {
		case math.IsNaN(v):
			return "floats"
		case v < 2:
			return "0"
		case math.Abs(v/day-120) < 2:
			return "120"
		case math.Abs(v/day-240) < 4:
			return "240"
		}
		return "?"
	}
	for _, s := range f.Feed {
		line := s.Place + " " + volts(s.Healthy) + " " + volts(s.Faulty)
		if s.Fault {
			line += " <-"
		}
		out = append(out, line)
	}
	return out
}

// day is the supply as a share of nominal, as a session's first station has it
// with nothing drawn.
func day(f drill.FaultStory) float64 { return f.Feed[0].Faulty / 120 }

// L2 lost upstream of everything: both ends of the element stand at L1's 120 V
// and nothing across it.
func TestLostLegIsExplained(t *testing.T) {
	s := hide(t, machine(t, "range-electronic"), "supply.L2:open").Start()
	f := explain(t, s).Faults[0]
	got := feed(f, day(f))
	// The way to the bake relay leaves out the broil relay's tab.
	want := []string{"supply L1 120 120", "terminal block L1 120 120", "thermal fuse (line side) 120 120", "thermal fuse (load side) 120 120", "bake relay output 120 120", "bake element terminal 1 120 120",
		"across bake element 240 0", "bake element terminal 2 120 120", "double-line-break relay output 120 120", "double-line-break relay (line side) 120 120", "terminal block L2 120 120", "range breaker L2 (line side) 120 120", "supply L2 120 120 <-"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	said := strings.Join(f.Said, " ")
	matches(t, said, `In "Bake" the bake element should get 2[2-5]\d V and 2[3-9]\d\d W; it gets 0 V and 0 W`)
	matches(t, said, `Both ends of the bake element stand at 1[12]\d V and 1[12]\d V, and across it there are 0 V`)
}

// A fuse that is open: the element's far side is the other leg's, so the whole
// 240 V stand across the fuse.
func TestOpenFuseIsExplained(t *testing.T) {
	s := hide(t, machine(t, "range-electronic"), "thermal_fuse:open").Start()
	f := explain(t, s).Faults[0]
	want := []string{"supply L1 120 120", "terminal block L1 120 120", "thermal fuse (line side) 120 120", "thermal fuse (load side) 120 120 <-", "bake relay output 120 120", "bake element terminal 1 120 120",
		"across bake element 240 0", "bake element terminal 2 120 120", "double-line-break relay output 120 120", "double-line-break relay (line side) 120 120", "terminal block L2 120 120", "supply L2 120 120"}
	if diff := cmp.Diff(want, feed(f, day(f))); diff != "" {
		t.Error(diff)
	}
	said := strings.Join(f.Said, " ")
	matches(t, said, `Across the oven thermal fuse a sound machine has 0 V; this one has 2[2-5]\d V: 1[12]\d V on one side, 1[12]\d V on the other, to terminal block N`)
	matches(t, said, `With the supply off, thermal fuse \(line side\) to thermal fuse \(load side\) reads 0 ohms on a sound machine and OL on this one`)
}

// A sensor that is open leaves no mark on the element's own feed but that its
// relays let go: the story goes by way of the control.
func TestOpenSensorIsExplainedThroughTheControl(t *testing.T) {
	s := hide(t, machine(t, "range-electronic"), "oven_sensor:open").Start()
	f := explain(t, s).Faults[0]
	want := []string{"supply L1 120 120", "terminal block L1 120 120", "thermal fuse (line side) 120 120", "thermal fuse (load side) 120 120", "bake relay output 120 floats", "bake element terminal 1 120 floats",
		"across bake element 240 0", "bake element terminal 2 120 floats", "double-line-break relay output 120 floats", "double-line-break relay (line side) 120 120", "terminal block L2 120 120", "supply L2 120 120"}
	if diff := cmp.Diff(want, feed(f, day(f))); diff != "" {
		t.Error(diff)
	}
	said := strings.Join(f.Said, " ")
	matches(t, said, `The bake relay contact closes only while the oven control drives it`)
	// pt3750 at 177 C: 1000 (1 + 3.81e-3 t - 6.02e-7 t^2) = 1656 ohms.
	matches(t, said, `must see 900 to 2900 ohms between its pins S1 and S2: 1656 ohms on a sound machine, open on this one`)
}

// A bad joint shows under load only, and turns to heat what it takes. By hand,
// with V at the joint's far side: (120-V)/4 = (V+120)/24 + V/240, so V = 84.51;
// the joint takes 35.49 V at 8.87 A, 315 W, and the element has 204.5 of its 240 V.
func TestBadJointIsExplained(t *testing.T) {
	s := hide(t, heater(t), "w1:high=4").Start()
	f := explain(t, s).Faults[0]
	at := slices.IndexFunc(f.Feed, func(st drill.Station) bool { return st.Across })
	scale := f.Feed[at].Healthy / 240 // the supply of the day
	want := drill.Station{Place: "across element", At: circuit.None, Across: true, Healthy: 240 * scale, Faulty: 204.507 * scale, Changed: true}
	if diff := cmp.Diff(want, f.Feed[at], cmpopts.EquateApprox(1e-4, 0)); diff != "" {
		t.Error(diff)
	}
	said := strings.Join(f.Said, " ")
	matches(t, said, fmt.Sprintf("Across the wire w1 a sound machine has 0 V; this one has %.0f V", 35.493*scale))
	matches(t, said, fmt.Sprintf(`It carries %.1f A and turns %.0f W to heat`, 8.873*scale, 314.9*scale*scale))
}

// A clamp around a wire is judged beside what that wire carries in a sound machine:
// 14.1 A in the wire of a 3,400 W element at 240 V.
func TestAClampReadingIsJudged(t *testing.T) {
	s := hide(t, machine(t, "range-electronic"), "broil_element:open").Start()
	play(t, s, "try broil", "prove", "amps w15")
	tests := explain(t, s).Tests
	if j := tests[len(tests)-1]; j.Showed != "0 A" || j.Healthy != "11.1 to 16.7 A" {
		t.Errorf("the clamp shows %s, in a sound machine %s", j.Showed, j.Healthy)
	}
}

// Which tests gave it away and which were waste is told by weights alone.
func TestTestsAreJudged(t *testing.T) {
	s := hide(t, machine(t, "range-electronic"), "broil_element:open").Start()
	play(t, s, "try off", "try broil", "off", "prove", "dead", "ohms bake_1 bake_2 in broil", "ohms broil_1 broil_2 in broil", "ohms broil_1 broil_2 in broil", "name broil_element")
	var got []string
	for _, j := range explain(t, s).Tests {
		got = append(got, j.Text+": "+string(j.Verdict))
	}
	want := []string{
		"Select \"Off\", and look: waste",
		"Select \"Broil\", and look: waste",                 // the customer said so
		"Ohms across the bake element, in \"Broil\": waste", // bake works
		"Ohms across the broil element, in \"Broil\": gave it away",
		"Ohms across the broil element, in \"Broil\": waste", // again
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
