package netlists

import "testing"

func TestEveryCatalogNetlistReadsWithoutAWarning(t *testing.T) {
	for _, e := range Catalog() {
		r, err := ReadFileFull("catalog:" + e.Name)
		if err != nil {
			t.Errorf("%s:\n%v", e.Name, err)
			continue
		}
		if len(r.Warnings) > 0 {
			t.Errorf("%s:\n%v", e.Name, r.Warnings)
		}
	}
}
