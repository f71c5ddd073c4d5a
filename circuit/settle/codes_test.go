package settle_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	ct "legtrace/circuit/circuittest"
)

// A control shows the code of what it sees: an open sensor, a shorted one, one
// too hot; nothing while it sees what it should, and nothing without power.
func TestWhatAControlShows(t *testing.T) {
	c := ct.SplitPhase(240).
		Part(circuit.PartSpec{Name: "control", Kind: "control", Volts: 120, Watts: 5,
			Senses: []circuit.SenseSpec{{Name: "oven", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2900}},
			Codes: []circuit.CodeSpec{
				{Code: "C1", Means: "sensor open", Sense: "oven", Above: 2900},
				{Code: "C2", Means: "sensor shorted", Sense: "oven", Below: 900},
				{Code: "C3", Means: "too hot", Sense: "oven", Above: 2100, Below: 2901, Modes: []string{"bake"}},
				{Code: "C9", Means: "the control itself"}}}).
		Part(circuit.PartSpec{Name: "sensor", Kind: "sensor", Curve: "pt3750", OhmsAt: 1000}).
		Wire("supply.L1", "control.L").Wire("control.N", "supply.N").Wire("control.S1", "sensor.1").Wire("control.S2", "sensor.2").
		Mode("off").
		ModeSpec(circuit.ModeSpec{Name: "bake", Celsius: map[string]float64{"sensor": 350}}).
		Build(t)
	for _, x := range []struct {
		mode, fault string
		want        []string
	}{
		{mode: "off"},
		{mode: "off", fault: "sensor:open", want: []string{"C1"}},
		{mode: "off", fault: "sensor:short", want: []string{"C2"}},
		{mode: "bake", want: []string{"C3"}},
		{mode: "bake", fault: "supply.L1:open"},
	} {
		var faults []string
		if x.fault != "" {
			faults = []string{x.fault}
		}
		o := run(t, c, x.mode, faults...)
		var got []string
		for _, code := range o.Controls[0].Shows(&c.Controls()[0], o.Mode) {
			got = append(got, code.Text)
		}
		if diff := cmp.Diff(x.want, got); diff != "" {
			t.Errorf("%s with %q: %s", x.mode, x.fault, diff)
		}
	}
}
