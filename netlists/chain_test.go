package netlists

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestAChainOfNetlistsIsFollowedAsFarAsItCanBeRead(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"mine.toml":         `from = "generic/oven.toml"`,
		"generic/oven.toml": `from = "catalog:range-electronic"`,
		"astray.toml":       `from = "generic/none.toml"`,
		"one.toml":          `from = "two.toml"`,
		"two.toml":          `from = "one.toml"`,
		"torn.toml":         `from = `,
		"plain.toml":        oven,
		"odd.toml":          `from = 3`,
	} {
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	below := filepath.Join("generic", "oven.toml")
	for path, want := range map[string][]string{
		"mine.toml":                {"mine.toml", below, "catalog:range-electronic"},
		"astray.toml":              {"astray.toml", filepath.Join("generic", "none.toml")},
		"one.toml":                 {"one.toml", "two.toml"},
		"torn.toml":                {"torn.toml"},
		"plain.toml":               {"plain.toml"},
		"odd.toml":                 {"odd.toml"},
		"catalog:range-mechanical": {"catalog:range-mechanical"},
	} {
		if diff := cmp.Diff(want, Chain(path)); diff != "" {
			t.Errorf("%s: -expected +followed:\n%s", path, diff)
		}
	}
}

// Starting from a machine of the catalog and saying nothing is that machine.
func TestAdaptingWithNothingIsTheIdentity(t *testing.T) {
	for _, name := range catalogNames() {
		src, err := Source(name)
		if err != nil {
			t.Fatal(err)
		}
		want, _, err := Parse(CatalogPrefix+name, src)
		if err != nil {
			t.Fatal(err)
		}
		got, _, err := Parse("mine.toml", []byte("from = \""+CatalogPrefix+name+"\"\n"))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: -as it ships +adapted:\n%s", name, diff)
		}
	}
}
