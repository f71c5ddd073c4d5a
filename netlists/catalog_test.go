package netlists

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestTheCatalogTellsWhatItHas(t *testing.T) {
	want := []Entry{
		{"range-electronic", "Freestanding electric range with electronic control, 4-wire",
			"Generic 120/240 V range: electronic oven control, self-clean, four coil elements."},
		{"range-mechanical", "Older electric range with mechanical oven controls, 3-wire",
			"Generic 120/240 V range on a 3-wire hookup: oven selector, capillary thermostat."},
	}
	if diff := cmp.Diff(want, Catalog()); diff != "" {
		t.Errorf("-expected +catalog:\n%s", diff)
	}
}

func TestEveryCatalogNetlistReadsWithoutAWarningAndIsTheSameOnceWritten(t *testing.T) {
	for _, name := range catalogNames() {
		r, err := ReadFileFull("catalog:" + name)
		if err != nil {
			t.Errorf("%s:\n%v", name, err)
			continue
		}
		if len(r.Warnings) > 0 {
			t.Errorf("%s:\n%v", name, r.Warnings)
		}
		if r.Spec.Name != name {
			t.Errorf("%s calls itself %q", name, r.Spec.Name)
		}
		var out bytes.Buffer
		if err := Write(&out, r.Spec); err != nil {
			t.Error(err)
			continue
		}
		again, _, err := Parse("written.toml", out.Bytes())
		if err != nil {
			t.Errorf("%v\nin\n%s", err, out.Bytes())
		}
		if diff := cmp.Diff(r.Spec, again); diff != "" {
			t.Errorf("%s: -read +written and read:\n%s", name, diff)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	for b.Loop() {
		if _, err := Open("range-electronic"); err != nil {
			b.Fatal(err)
		}
	}
}
