package report_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
	"legtrace/render/report"
)

// machine opens a machine of the catalog.
func machine(t testing.TB, name string) (*circuit.Circuit, *report.Reporter) {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c, report.New(c)
}

func ask(t testing.TB, r *report.Reporter, mode, load string, faults ...string) report.Question {
	t.Helper()
	q, err := r.Ask(mode, load, faults, report.Feeding)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func breaks(t testing.TB, r *report.Reporter, mode, load string, opt report.BreaksOptions) *report.Breaks {
	t.Helper()
	d, err := r.Breaks(context.Background(), ask(t, r, mode, load), opt)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The classic causes of a broiler that stays cold (common practice, no source)
// are each a single point of failure of the electronic range, and bake keeps
// working with exactly those that it does not share.
func TestTheClassicCausesOfAColdBroiler(t *testing.T) {
	causes := []struct {
		what, ref string
		bakeWorks bool
	}{
		{"a supply leg", "supply.L1", false},
		{"the other supply leg", "supply.L2", false},
		{"the element", "broil_element", true},
		{"the oven sensor", "oven_sensor", false},
		{"the thermal fuse", "thermal_fuse", false},
		{"the broil relay's contact", "broil_relay.contact", true},
		{"the broil relay's coil", "broil_relay.coil", true},
	}
	c, r := machine(t, "range-electronic")
	all := singles(breaks(t, r, "broil", "broil_element", report.BreaksOptions{Order: 1}))
	works, err := r.AskSymptom("bake_element=bake")
	if err != nil {
		t.Fatal(err)
	}
	sparing := singles(breaks(t, r, "broil", "broil_element", report.BreaksOptions{Order: 1, Works: []report.Symptom{works}}))
	engine := settle.New(c)
	for _, cause := range causes {
		if !slices.Contains(all, cause.ref) {
			t.Errorf("%s (%s) is not among the single opens", cause.what, cause.ref)
		}
		if got := slices.Contains(sparing, cause.ref); got != cause.bakeWorks {
			t.Errorf("%s (%s): said to spare bake: %v, want %v", cause.what, cause.ref, got, cause.bakeWorks)
		}
		// The engine, asked directly.
		for _, load := range []struct {
			mode, ref string
			works     bool
		}{{"broil", "broil_element", false}, {"bake", "bake_element", cause.bakeWorks}} {
			if got := share(t, c, engine, load.mode, load.ref, cause.ref+":open") > trace.DefaultShare; got != load.works {
				t.Errorf("with %s open, %s works in %s: %v, want %v", cause.what, load.ref, load.mode, got, load.works)
			}
		}
	}
	for _, ref := range all {
		spares := share(t, c, engine, "bake", "bake_element", ref+":open") > trace.DefaultShare
		if slices.Contains(sparing, ref) != spares {
			t.Errorf("with %s open bake works: %v, and the report says %v", ref, spares, !spares)
		}
	}
}

func singles(d *report.Breaks) []string {
	var refs []string
	for _, s := range d.Sets {
		if s.Order != 1 {
			continue
		}
		for _, it := range s.Members[0].AnyOf {
			refs = append(refs, it.Ref)
		}
	}
	return refs
}

// share is the share of its rated power that the load gets.
func share(t testing.TB, c *circuit.Circuit, engine *settle.Engine, mode, load string, faults ...string) float64 {
	t.Helper()
	m, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	l, err := c.FindLoad(load)
	if err != nil {
		t.Fatal(err)
	}
	out, err := engine.Run(m, circuittest.Faults(t, c, faults...))
	if err != nil {
		t.Fatal(err)
	}
	return out.LeastShare(l)
}

// Every set that is printed, any one of each line open, does what it is said to
// do to the load and to every other load.
func TestEverySetDoesWhatIsSaidOfIt(t *testing.T) {
	for i, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" || !circuittest.Sampled(i, 4) {
			continue
		}
		c, r := machine(t, entry.Name)
		engine := settle.New(c)
		for _, mode := range c.Modes() {
			for _, e := range mode.Expect {
				if e.Share == 0 {
					continue
				}
				load := c.Branch(e.Load).Ref
				d := breaks(t, r, mode.Name, load, report.BreaksOptions{})
				for _, s := range d.Sets {
					var first []string
					for _, m := range s.Members {
						first = append(first, m.AnyOf[0].Ref+":open")
						for _, it := range m.AnyOf {
							if s.Order == 1 {
								got := share(t, c, engine, mode.Name, load, it.Ref+":open") * d.Load.RatedWatts
								if diff := got - s.Watts; diff > 0.01 || diff < -0.01 {
									t.Errorf("%s, %s in %s: with %s open it gets %.2f W, said %.2f W", entry.Name, load, mode.Name, it.Ref, got, s.Watts)
								}
							}
						}
					}
					sayOthers(t, c, engine, entry.Name, s, first)
				}
			}
		}
	}
}

func sayOthers(t *testing.T, c *circuit.Circuit, engine *settle.Engine, machine string, s report.Set, opens []string) {
	t.Helper()
	works := func(load, mode string) bool {
		return share(t, c, engine, mode, load, opens...) >= trace.DefaultShare*share(t, c, engine, mode, load)
	}
	for _, e := range s.Stops {
		for _, m := range e.Modes {
			if works(e.Ref, m.Name) {
				t.Errorf("%s: %v is said to stop %s in %s and does not", machine, opens, e.Ref, m.Name)
			}
		}
	}
	for _, n := range s.Spares {
		for _, m := range c.Modes() {
			for _, e := range m.Expect {
				if e.Share > 0 && c.Branch(e.Load).Ref == n.Ref && !works(n.Ref, m.Name) {
					t.Errorf("%s: %v is said to spare %s and stops it in %s", machine, opens, n.Ref, m.Name)
				}
			}
		}
	}
}

// A person can follow the way with a finger: every wire and part starts where
// the one before ended.
func TestTheWayHasNoGaps(t *testing.T) {
	for _, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" {
			continue
		}
		c, r := machine(t, entry.Name)
		for _, mode := range c.Modes() {
			for _, e := range mode.Expect {
				d, err := r.Path(ask(t, r, mode.Name, c.Branch(e.Load).Ref))
				if err != nil {
					t.Fatal(err)
				}
				for _, end := range d.Ends {
					at := ""
					for _, h := range end.Hops {
						if h.Item.Kind == "wire" && h.Item.From != at && h.Item.To != at {
							t.Errorf("%s, %s in %s: %s does not start at %s", entry.Name, d.Load.Ref, mode.Name, h.Item.Ref, at)
						}
						at = h.To
					}
					if len(end.Hops) > 0 && at != end.Terminal {
						t.Errorf("%s, %s in %s: the way ends at %s, not %s", entry.Name, d.Load.Ref, mode.Name, at, end.Terminal)
					}
				}
			}
		}
	}
}

// The parts and wires of a chain come in the order in which they are met from
// the supply, or along the sensor circuit.
func TestChainsFollowTheFeed(t *testing.T) {
	_, r := machine(t, "range-electronic")
	d := breaks(t, r, "broil", "broil_element", report.BreaksOptions{Order: 1})
	got := map[string]string{}
	for _, s := range d.Sets {
		m := s.Members[0]
		var refs []string
		for _, it := range m.AnyOf {
			refs = append(refs, it.Ref)
		}
		key := strings.Join(strings.Fields(m.Via+" "+m.From+" "+m.Sense), " ")
		got[key] = strings.TrimSpace(got[key] + " " + strings.Join(refs, " "))
	}
	want := map[string]string{
		"feed L1":                "supply.L1 w01 breaker.L1 w03 cord.L1 w07 terminal_block.L1 w11 thermal_fuse",
		"feed L2":                "supply.L2 w02 breaker.L2 w04 cord.L2 w08 terminal_block.L2 w16 oven_limit w17 dlb_relay.contact",
		"load":                   "broil_relay.contact w15 broil_element w19",
		"drive":                  "broil_relay.coil dlb_relay.coil",
		"power":                  "w20 control_plug.L w21 control w23 control_plug.N w22",
		"power N":                "supply.N w05 cord.N w09 terminal_block.N",
		"sense oven_temperature": "w26 sensor_plug.A w24 oven_sensor w25 sensor_plug.B w27",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// What the engine contradicts is a finding, with its place and where to look.
func TestAnExpectationTheEngineContradicts(t *testing.T) {
	c, problems := circuit.Build(circuit.Spec{
		Name: "plate", Supply: circuit.SupplySpec{System: "single-phase"},
		Parts: []circuit.PartSpec{{Name: "switch", Kind: "switch"}, {Name: "element", Kind: "element", Volts: 120, Watts: 600}},
		Wires: []circuit.WireSpec{{Name: "w1", From: "supply.L1", To: "switch.1"}, {Name: "w2", From: "switch.2", To: "element.1"}, {Name: "w3", From: "element.2", To: "supply.N"}},
		Modes: []circuit.ModeSpec{{Name: "on", On: []string{"element"}}, {Name: "off", Set: map[string]string{"switch": "closed"}, Off: []string{"element"}}},
	})
	if c == nil {
		t.Fatal(problems)
	}
	d, err := report.New(c).Check(nil, func(path string) report.At { return report.At{File: path} })
	if err != nil {
		t.Fatal(err)
	}
	want := []report.Finding{
		{At: report.At{File: "modes.on.on[0]"}, Mode: "on", Load: "element",
			Message: "in On, Element should be on and gets 0 W, 0 % of its rating", Hint: "open at Switch"},
		{At: report.At{File: "modes.off.off[0]"}, Mode: "off", Load: "element",
			Message: "in Off, Element should be off and gets 596 W, 99 % of its rating", Hint: "fed from L1 through Switch, and from neutral"},
	}
	if diff := cmp.Diff(want, d.Findings); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}
