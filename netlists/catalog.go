package netlists

import (
	"bytes"
	"cmp"
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"

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
	out := named()
	for i := range out {
		e := &out[i]
		src, err := Source(e.Name)
		if err != nil {
			continue
		}
		top, _, _ := bytes.Cut(src, []byte("\n[")) // the tables are read when they are wanted
		head := parseVetted(CatalogPrefix+e.Name, top, &collector{})
		if title := head.get("title"); title != nil {
			e.Title = title.text
		}
		if notes := head.get("notes"); notes != nil {
			e.Summary, _, _ = strings.Cut(strings.TrimSpace(notes.text), "\n")
		}
	}
	return out
})

// named lists the catalog by what file names tell.
func named() []Entry {
	var out []Entry
	machine := ""
	for _, name := range catalogNames() {
		e := Entry{Name: name, Of: machine}
		if machine == "" || !strings.HasPrefix(name, machine+"-") {
			machine, e.Of = name, ""
		}
		out = append(out, e)
	}
	return out
}

// ships reports whether a text comes with legtrace, or is the beginning of one that does.
func ships(src *source) bool {
	text := familyTable
	if name, ok := strings.CutPrefix(src.name, CatalogPrefix); ok {
		text, _ = Source(name)
	}
	return bytes.HasPrefix(text, src.text)
}

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
