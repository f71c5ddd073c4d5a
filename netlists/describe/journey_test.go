package describe_test

import (
	"bytes"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/netlists/describe"
)

// enter takes lines one by one, as typed.
func enter(t *testing.T, text []byte, lines string) []byte {
	t.Helper()
	for _, line := range strings.Split(strings.TrimSpace(lines), "\n") {
		after, _, err := describe.Enter("mine.toml", text, line)
		if err != nil {
			t.Fatalf("%s\n    %v", line, err)
		}
		text = after
	}
	return text
}

func specOf(t *testing.T, text []byte) circuit.Spec {
	t.Helper()
	r, err := netlists.ReadFull("mine.toml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return r.Spec
}

// electrical leaves of a machine what was described: no labels that are not said,
// no places, points, heat and notes; wires and lists in an order of their own.
func electrical(s circuit.Spec) circuit.Spec {
	s.Notes, s.Points, s.Panels, s.Places, s.Bodies, s.Supply.FeederOhms, s.Supply.Volts = "", nil, nil, nil, nil, nil, 0
	s.Parts, s.Wires, s.Modes = slices.Clone(s.Parts), slices.Clone(s.Wires), slices.Clone(s.Modes)
	for i := range s.Parts {
		p := &s.Parts[i]
		p.Label, p.Place, p.Body, p.ActsCelsius = "", "", "", 0
	}
	for i := range s.Wires {
		s.Wires[i].Name = ""
	}
	for i := range s.Modes {
		for _, list := range [][]string{s.Modes[i].Drives, s.Modes[i].On, s.Modes[i].Off} {
			slices.Sort(list)
		}
	}
	slices.SortFunc(s.Parts, func(a, b circuit.PartSpec) int { return strings.Compare(a.Name, b.Name) })
	slices.SortFunc(s.Wires, func(a, b circuit.WireSpec) int { return strings.Compare(a.From+" "+a.To, b.From+" "+b.To) })
	slices.SortFunc(s.Modes, func(a, b circuit.ModeSpec) int { return strings.Compare(a.Name, b.Name) })
	return s
}

// TestTheDoubleOvenInFewerKeysThanItsTOML describes the largest wall oven of the
// catalog, 26 parts and 41 wires, from nothing, line by line, until it is the
// catalog's in every part, rating, wire, colour, gauge, mode and code. A key is a
// character or the end of a line. A character that a phone has on another level
// of its keyboard (a capital, a figure, a sign) is two.
func TestTheDoubleOvenInFewerKeysThanItsTOML(t *testing.T) {
	script, err := os.ReadFile("testdata/oven-double.txt")
	if err != nil {
		t.Fatal(err)
	}
	text := enter(t, describe.Begin("oven-double"), string(script))
	src, err := netlists.Source("oven-double")
	if err != nil {
		t.Fatal(err)
	}
	want := electrical(specOf(t, src))
	if diff := cmp.Diff(want, electrical(specOf(t, text)), cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("-catalog +described\n%s", diff)
	}
	var least bytes.Buffer
	if err := netlists.Write(&least, want); err != nil {
		t.Fatal(err)
	}
	keys, taps := len(script), len(script)
	for _, c := range string(script) {
		if (c < 'a' || c > 'z') && c != ' ' && c != '\n' && c != '.' {
			taps++
		}
	}
	// 36 words of five letters a minute is how fast people type with two thumbs
	// (Palin, Feit, Kim, Kristensson, Oulasvirta, How do People Type on Mobile
	// Devices?, MobileHCI 2019; value from memory). Three seconds a line to read
	// it off the sheet are assumed; finding the sheet, and tracing what is on
	// none, are not in it.
	minutes := float64(taps)/(36*5) + float64(bytes.Count(script, []byte("\n")))*3/60
	t.Logf("%d lines, %d keys, %d taps on a phone, %.0f minutes; its TOML %d bytes, the catalog's file %d, what was described without blanks %d",
		bytes.Count(script, []byte("\n")), keys, taps, minutes, len(text), len(src), least.Len())
	if keys >= least.Len() || taps >= least.Len() {
		t.Errorf("%d keys, %d taps: no fewer than the %d bytes of the same as TOML", keys, taps, least.Len())
	}
	if minutes > 15 {
		t.Errorf("%.0f minutes by thumb", minutes)
	}
}
