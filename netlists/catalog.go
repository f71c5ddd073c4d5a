package netlists

import (
	"cmp"
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
)

//go:embed catalog/*.toml
var catalogFiles embed.FS

// Entry describes a netlist of the catalog.
type Entry struct {
	Name, Title string
	// Summary is the first line of its notes.
	Summary string
	// Of names the machine this one is a variant of; empty for a machine of
	// its own.
	Of string
}

// Catalog lists the generic machines that come with legtrace, by name.
func Catalog() []Entry { return slices.Clone(listed()) }

var listed = sync.OnceValue(func() []Entry {
	var out []Entry
	machine := ""
	for _, name := range catalogNames() {
		if machine == "" || !strings.HasPrefix(name, machine+"-") {
			machine = name
		}
		src, err := Source(name)
		if err != nil {
			continue
		}
		var head struct{ Title, Notes string }
		top, _, _ := strings.Cut(string(src), "\n[") // the tables are read when they are wanted
		if _, err := toml.Decode(top, &head); err != nil {
			continue
		}
		summary, _, _ := strings.Cut(strings.TrimSpace(head.Notes), "\n")
		e := Entry{Name: name, Title: head.Title, Summary: summary}
		if name != machine {
			e.Of = machine
		}
		out = append(out, e)
	}
	return out
})

// Machines lists the catalog without variants.
func Machines() []Entry {
	return slices.DeleteFunc(Catalog(), func(e Entry) bool { return e.Of != "" })
}

// Open reads a netlist of the catalog.
func Open(name string) (*circuit.Circuit, error) {
	return ReadFile(CatalogPrefix + name)
}

// Source returns the text of a netlist of the catalog.
func Source(name string) ([]byte, error) {
	src, err := catalogFiles.ReadFile("catalog/" + name + ".toml")
	if err != nil {
		names := catalogNames()
		hint := cmp.Or(circuit.NearestHint(name, names), "it has "+strings.Join(withoutVariants(names), ", ")+", and variants of them")
		return nil, fmt.Errorf("the catalog has no netlist %q (%s)", name, hint)
	}
	return src, nil
}

func catalogNames() []string {
	entries, err := catalogFiles.ReadDir("catalog")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".toml"))
	}
	// By name, so that a machine comes before its variants; by file it is not.
	slices.Sort(out)
	return out
}

// withoutVariants leaves out names that extend one before them, as
// "dryer-3wire" does "dryer".
func withoutVariants(names []string) []string {
	var out []string
	for _, name := range names {
		if n := len(out); n == 0 || !strings.HasPrefix(name, out[n-1]+"-") {
			out = append(out, name)
		}
	}
	return out
}
