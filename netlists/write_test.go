package netlists

import (
	"bytes"
	"math"
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
)

func TestWhatIsWrittenReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawSpec(t)
		var out bytes.Buffer
		if err := Write(&out, want); err != nil {
			t.Fatal(err)
		}
		got, _, err := Parse("written.toml", out.Bytes())
		if err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("-written +read:\n%s\n%s", diff, out.Bytes())
		}
	})
}

// drawSpec fills every field of a spec, or leaves it out, at random.
func drawSpec(t *rapid.T) circuit.Spec {
	var spec circuit.Spec
	draw(t, reflect.ValueOf(&spec).Elem(), true)
	for i := range spec.Parts {
		spec.Parts[i].Name = distinct(t, i)
	}
	for i := range spec.Modes {
		spec.Modes[i].Name = distinct(t, i)
	}
	for i := range spec.Points {
		spec.Points[i].Name = distinct(t, i)
	}
	for i := range spec.Panels {
		spec.Panels[i].Name = distinct(t, i)
	}
	for i := range spec.Bodies {
		spec.Bodies[i].Name = distinct(t, i)
	}
	for i := range spec.Places {
		spec.Places[i].Name = distinct(t, i)
	}
	return spec
}

func distinct(t *rapid.T, i int) string {
	return drawText(t) + string(rune('a'+i))
}

func drawText(t *rapid.T) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"broil_element", "L1.in", "a b", `"`, `\`, "'''", `"""`, "\n", "\t\r", "\x1b[31m", "\u202e", "\ufeff", "#", "=", "é", "\U0001f525"}),
		rapid.StringN(0, 6, -1),
	).Draw(t, "text")
}

func drawNumber(t *rapid.T) float64 {
	return rapid.OneOf(
		rapid.SampledFrom([]float64{1, 120, 0.25, 1e-6, 1e15, -0.1, 1e300, math.SmallestNonzeroFloat64, math.MaxFloat64, 1 << 60}),
		rapid.Float64(),
	).Filter(func(f float64) bool { return f != 0 && !math.IsInf(f, 0) && !math.IsNaN(f) }).Draw(t, "number")
}

// draw sets v; optional values may stay zero. Within maps and slices a zero
// slice is drawn empty, since a netlist cannot leave it out there.
func draw(t *rapid.T, v reflect.Value, optional bool) {
	if optional && v.Kind() != reflect.Struct && rapid.Bool().Draw(t, "left out") {
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			draw(t, v.Field(i), true)
		}
	case reflect.Slice:
		n := rapid.IntRange(0, 3).Draw(t, "length")
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			draw(t, v.Index(i), false)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range rapid.IntRange(0, 3).Draw(t, "length") {
			value := reflect.New(v.Type().Elem()).Elem()
			draw(t, value, false)
			v.SetMapIndex(reflect.ValueOf(drawText(t)), value)
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		draw(t, v.Elem(), false)
	case reflect.String:
		v.SetString(drawText(t))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(int64(rapid.Int().Draw(t, "whole number")))
	case reflect.Float64:
		v.SetFloat(drawNumber(t))
	default:
		t.Fatalf("a spec has a %s", v.Kind())
	}
}

func TestTheHouseLook(t *testing.T) {
	feeder := 0.0
	spec := circuit.Spec{
		Name: "oven", Title: `An "oven"`, Notes: "Two lines,\nthe second \\ odd.\n",
		Supply: circuit.SupplySpec{System: "split-phase", Volts: 208, FeederOhms: &feeder},
		Parts: []circuit.PartSpec{
			{Name: "selector", Kind: "selector", Positions: []string{"off", "on"}, Chart: map[string][][]string{"on": {{"1", "2"}}, "off": {}}},
			{Name: "control", Kind: "control", Volts: 120, Watts: 5.5, Senses: []circuit.SenseSpec{{Name: "probe", Pins: []string{"S1", "S2"}, MaxOhms: 50}}},
		},
		Wires: []circuit.WireSpec{
			{Name: "w9", From: "supply.L1", To: "selector.1", Colour: "BK", AWG: 12},
			{Name: "w10", From: "selector.2", To: "control.L", SquareMM: 2.5, Metres: 1e-5},
		},
		Modes:  []circuit.ModeSpec{{Name: "on", Set: map[string]string{"selector": "on", "a b": "c"}, On: []string{"control"}}},
		Points: []circuit.PointSpec{{Name: "p", At: "control.L", Minutes: 5}},
		Priors: map[string]float64{"wire": 0.5, "relay": 4},
		Sizes:  map[string][][]float64{"joint": {{0.5, 20, 2}, {20, 1e3, 1}}}, Mistakes: map[string]float64{"slip": 0.03},
	}
	want := `name = "oven"
title = "An \"oven\""
notes = """
Two lines,
the second \\ odd.
"""

[supply]
system = "split-phase"
volts = 208
feeder_ohms = 0

[parts]
selector = { kind = "selector", positions = ["off", "on"], chart = { off = [], on = [["1", "2"]] } }
control  = { kind = "control", volts = 120, watts = 5.5, senses = [
    { name = "probe", pins = ["S1", "S2"], max_ohms = 50 },
  ] }

[wires]
w9  = { from = "supply.L1",  to = "selector.1", colour = "BK", awg = 12 }
w10 = { from = "selector.2", to = "control.L",  mm2 = 2.5, metres = 1e-05 }

[modes.on]
set = { "a b" = "c", selector = "on" }
on = ["control"]

[points]
p = { at = "control.L", minutes = 5 }

[priors]
relay = 4
wire = 0.5

[sizes]
joint = [[0.5, 20, 2], [20, 1000, 1]]

[mistakes]
slip = 0.03
`
	var out bytes.Buffer
	if err := Write(&out, spec); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("-expected +written:\n%s", diff)
	}
}

func TestWiresWithoutNamesAreWrittenAsAnArray(t *testing.T) {
	spec := circuit.Spec{Supply: circuit.SupplySpec{System: "wye"}, Wires: []circuit.WireSpec{
		{From: "supply.L1", To: "a.1"},
		{Name: "back", From: "a.2", To: "supply.L2", AWG: 14},
	}}
	want := `wires = [
  { from = "supply.L1", to = "a.1" },
  { name = "back",      from = "a.2", to = "supply.L2", awg = 14 },
]

[supply]
system = "wye"
`
	var out bytes.Buffer
	if err := Write(&out, spec); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("-expected +written:\n%s", diff)
	}
}
