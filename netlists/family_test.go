package netlists_test

import (
	"strings"
	"testing"

	"legtrace/netlists"
)

// Every machine of a family is one of the catalog, and every range, dryer, water
// heater and oven of the catalog is in its family: who adds a machine says how
// common it is.
func TestFamiliesHoldTheCatalog(t *testing.T) {
	families, err := netlists.Families()
	if err != nil {
		t.Fatal(err)
	}
	in := map[string]string{}
	for _, f := range families {
		members, err := f.Read()
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range members {
			if m.Share <= 0 || in[m.Netlist] != "" {
				t.Errorf("family %s: %s at %g, in family %q before", f.Name, m.Netlist, m.Share, in[m.Netlist])
			}
			in[m.Netlist] = f.Name
		}
	}
	for _, e := range netlists.Catalog() {
		kind, _, _ := strings.Cut(strings.TrimPrefix(e.Name, "water-"), "-")
		for _, f := range families {
			if strings.TrimPrefix(f.Name, "water-") == kind && in["catalog:"+e.Name] != f.Name {
				t.Errorf("%s is in no family %s", e.Name, f.Name)
			}
		}
	}
}
