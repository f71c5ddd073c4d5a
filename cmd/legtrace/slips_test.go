package main

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/report"
)

// checked is everything that check says of a netlist, without its places, one
// sentence each.
func checked(t *testing.T, src string) []string {
	t.Helper()
	var out []string
	add := func(what, message, hint string) {
		if hint != "" {
			message += " (" + hint + ")"
		}
		out = append(out, what+": "+message)
	}
	r, err := netlists.ReadFull("slip.toml", []byte(src))
	var d *report.Check
	if err == nil {
		d, err = machineOf("slip.toml", r).check(context.Background(), &auditFlags{})
	}
	if err != nil {
		for _, e := range err.(netlists.Errors) {
			what := "error"
			if e.Warning {
				what = "warning"
			}
			add(what, e.Message, e.Hint)
		}
		return out
	}
	causes := len(d.Findings) > 0
	for _, w := range d.Warnings {
		if causes && w.Cause {
			add("warning, the cause?", w.Message, w.Reason)
		}
	}
	for _, f := range d.Findings {
		add("finding", f.Message, f.Hint)
	}
	for _, w := range d.Warnings {
		if !causes || !w.Cause {
			add("warning", w.Message, w.Reason)
		}
	}
	return out
}

// slip is a slip of the pen: what it is, and the netlist with it.
type slip struct{ what, netlist string }

// slips reads the list of slips, each made in the sound netlist.
func slips(t *testing.T, folder string) (sound string, out []slip) {
	t.Helper()
	sound = readText(t, filepath.Join(folder, "sound.toml"))
	for line := range strings.Lines(readText(t, filepath.Join(folder, "slips.list"))) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		field := strings.Split(strings.ReplaceAll(strings.TrimRight(line, "\n"), `\n`, "\n"), " | ")
		if len(field) < 3 || len(field)%2 == 0 {
			t.Fatalf("%q has %d fields", line, len(field))
		}
		text := sound
		for i := 1; i < len(field); i += 2 {
			if !strings.Contains(text, field[i]) {
				t.Fatalf("%s: %q is not in sound.toml", field[0], field[i])
			}
			text = strings.Replace(text, field[i], field[i+1], 1)
		}
		out = append(out, slip{field[0], text})
	}
	return sound, out
}

var slipsFolder = filepath.Join("..", "..", "testdata", "hostile", "slips")

// A hundred slips in one sound netlist: of each something is said. What stands
// in slips.txt, beside the list of slips, is read by eye before it is kept.
func TestNoSlipInANetlistIsSilent(t *testing.T) {
	sound, list := slips(t, slipsFolder)
	usual := map[string]bool{}
	for _, s := range checked(t, sound) {
		usual[s] = true
	}
	var table strings.Builder
	for i, slip := range list {
		fmt.Fprintf(&table, "%d. %s\n", i+1, slip.what)
		silent := true
		for _, s := range checked(t, slip.netlist) {
			if !usual[s] {
				silent = false
				fmt.Fprintf(&table, "   %s\n", s)
			}
		}
		if silent {
			t.Errorf("nothing is said of %q", slip.what)
		}
	}
	if len(list) < 60 {
		t.Errorf("%d slips, fewer than 60", len(list))
	}
	golden := filepath.Join(slipsFolder, "slips.txt")
	if *update {
		if err := os.WriteFile(golden, []byte(table.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(readText(t, golden), table.String()); diff != "" {
		t.Errorf("-golden +said (go test ./cmd/legtrace -run Slip -update writes it anew):\n%s", diff)
	}
}

// What check says of a machine does not depend on the order of its parts and
// wires in the file.
func TestTheOrderOfTheFileChangesNoAnswerOfCheck(t *testing.T) {
	var machines []slip
	for _, e := range netlists.Catalog() {
		src, err := netlists.Source(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		machines = append(machines, slip{e.Name, string(src)})
	}
	_, list := slips(t, slipsFolder)
	random := rand.New(rand.NewPCG(1, 2))
	shuffled := 0
	for _, m := range append(machines, list...) {
		r, err := netlists.ReadFull("slip.toml", []byte(m.netlist))
		if err != nil {
			continue
		}
		spec := r.Spec
		for i := range spec.Wires {
			spec.Wires[i].Name = r.Circuit.Wires()[i].Name
		}
		want := checked(t, written(t, spec))
		random.Shuffle(len(spec.Parts), func(i, j int) { spec.Parts[i], spec.Parts[j] = spec.Parts[j], spec.Parts[i] })
		random.Shuffle(len(spec.Wires), func(i, j int) { spec.Wires[i], spec.Wires[j] = spec.Wires[j], spec.Wires[i] })
		got := checked(t, written(t, spec))
		slices.Sort(want)
		slices.Sort(got)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: -as written +parts and wires in another order:\n%s", m.what, diff)
		}
		shuffled++
	}
	if shuffled < 60 {
		t.Errorf("%d machines put in another order, fewer than 60", shuffled)
	}
}

func written(t *testing.T, spec circuit.Spec) string {
	t.Helper()
	var b bytes.Buffer
	if err := netlists.Write(&b, spec); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func readText(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(text), "\r\n", "\n")
}
