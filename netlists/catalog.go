package netlists

import (
	"embed"
	"fmt"
	"strings"

	"legtrace/circuit"
)

//go:embed catalog/*.toml
var catalogFiles embed.FS

// Entry describes a netlist of the catalog.
type Entry struct {
	Name, Title string
	// Summary is the first line of its notes.
	Summary string
}

// Catalog lists the generic machines that come with legtrace, by name.
func Catalog() []Entry {
	var out []Entry
	for _, name := range catalogNames() {
		src, err := Source(name)
		if err != nil {
			continue
		}
		spec, _, err := Parse(catalogPrefix+name, src)
		if err != nil {
			continue
		}
		summary, _, _ := strings.Cut(strings.TrimSpace(spec.Notes), "\n")
		out = append(out, Entry{Name: name, Title: spec.Title, Summary: summary})
	}
	return out
}

// Open reads a netlist of the catalog.
func Open(name string) (*circuit.Circuit, error) {
	return ReadFile(catalogPrefix + name)
}

// Source returns the text of a netlist of the catalog.
func Source(name string) ([]byte, error) {
	src, err := catalogFiles.ReadFile("catalog/" + name + ".toml")
	if err != nil {
		names := catalogNames()
		hint := "it has " + strings.Join(names, ", ")
		if near := circuit.Nearest(name, names); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
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
	return out
}
