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
