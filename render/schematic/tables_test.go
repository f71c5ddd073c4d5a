package schematic

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

// tableOf makes one table of a machine and returns its rows.
func tableOf(t *testing.T, c *circuit.Circuit, which Table) [][]string {
	t.Helper()
	d := drawn(t, c, 0)
	d.Tables = []Table{which}
	for i := range c.Modes() {
		d.Charts = append(d.Charts, ModeContacts{circuit.ModeID(i), drawn(t, c, circuit.ModeID(i)).Conducts})
	}
	g, err := newGraph(d.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for _, e := range d.tables(g.units) {
		if g, ok := e.(*grid); ok {
			rows = append(rows, g.rows...)
		}
	}
	return rows
}

func row(rows [][]string, first string) []string {
	for _, r := range rows {
		if r[0] == first {
			return r
		}
	}
	return nil
}

// The values are worked out by hand from the netlist: 240 V squared by 3400 W is
// 16.9 ohms hot.
func TestPartTableTellsWhatIsAsked(t *testing.T) {
	want := []string{"broil_element", "Broil element", "240 V 3400 W", "15.0 to 18.8", "oven ceiling", "w15 w19"}
	if diff := cmp.Diff(want, row(tableOf(t, demo(t), PartTable), "broil_element")); diff != "" {
		t.Error(diff)
	}
}

func TestContactChartFollowsTheModes(t *testing.T) {
	c := demo(t)
	chart := tableOf(t, c, ContactTable)
	for _, r := range chart {
		if len(r) != 2+len(c.Modes()) {
			t.Fatalf("%s has %d modes, the machine %d", r[0], len(r)-2, len(c.Modes()))
		}
	}
	broil := row(chart, "Broil relay contact")
	if broil[1] != "Oven control" {
		t.Errorf("the broil relay is moved by %q", broil[1])
	}
	for i, m := range c.Modes() {
		if (broil[2+i] == "X") != (m.Name == "broil" || m.Name == "self_clean") {
			t.Errorf("the broil relay in %s: %s", m.Name, broil[2+i])
		}
	}
}

func TestWiresAndPlugsOfTheTables(t *testing.T) {
	c := demo(t)
	if rows := tableOf(t, c, WireTable); len(rows) != len(c.Wires()) {
		t.Errorf("%d wires listed of %d", len(rows), len(c.Wires()))
	}
	want := []string{"Sensor plug", "A", "w24 WH to oven_sensor.1", "w26 VT to control.S1"}
	for _, r := range tableOf(t, c, PlugTable) {
		if r[0] == want[0] && r[1] == want[1] {
			if diff := cmp.Diff(want, r); diff != "" {
				t.Error(diff)
			}
			return
		}
	}
	t.Error("the sensor plug is not listed")
}

func TestEachFlagIsExplainedOnce(t *testing.T) {
	d := drawn(t, demo(t), 1)
	d.Marks = []Mark{{1, 3, "Breaker pole; wires w1 (feed from L1)"}, {1, 4, "Cord pole"}, {2, 5, "Fuse"}}
	var got []string
	for _, e := range d.flagEntries() {
		got = append(got, strings.Join(e.lines, " "))
	}
	if diff := cmp.Diff([]string{"Breaker pole, Cord pole; wires w1 (feed from L1)", "Fuse"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestUnknownTableIsRefused(t *testing.T) {
	_, err := ParseTables("parts,doors")
	if want := `tables "doors": a list of contacts, parts, wires, plugs, symbols, places, or all or none`; fmt.Sprint(err) != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

// Exhibits are packed in order, none over another, none off the page.
func TestExhibitsKeepApart(t *testing.T) {
	c := demo(t)
	d := drawn(t, c, 1)
	d.Tables, d.Charts = Tables, []ModeContacts{{d.Mode, d.Conducts}}
	g, err := newGraph(d.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	pages, _ := pack(d.tables(g.units), 1500, 900)
	for _, page := range pages {
		for i, a := range page {
			w, h := a.size()
			box := rect{a.x, a.y, a.x + w, a.y + h}
			if box.x1 > 1500 || box.y1 > 900 {
				t.Errorf("an exhibit reaches to %d, %d", box.x1, box.y1)
			}
			for _, b := range page[:i] {
				w, h := b.size()
				if box.overlaps(rect{b.x, b.y, b.x + w, b.y + h}) {
					t.Error("two exhibits overlap")
				}
			}
		}
	}
}
