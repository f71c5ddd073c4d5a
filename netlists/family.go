package netlists

import (
	"cmp"
	_ "embed"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
)

// FamilyPrefix marks the name of a family where a netlist could stand.
const FamilyPrefix = "family:"

const familyFile = "families.toml"

//go:embed families.toml
var familyTable []byte

// Family is the machines that one of unknown wiring may be.
type Family struct {
	// Name is what it is asked for by, after [FamilyPrefix].
	Name    string             `toml:"-"`
	Title   string             `toml:"title"`
	Members map[string]float64 `toml:"members"`
}

// Member is a machine of a family, with how common it is there.
type Member struct {
	Netlist string
	Share   float64
	*Result
}

// FamilyTable is the text of the table of families.
func FamilyTable() []byte { return slices.Clone(familyTable) }

// Families lists the families of the catalog, by name.
func Families() ([]Family, error) {
	var found collector
	root := parseVetted(familyFile, familyTable, &found)
	if root == nil {
		return nil, found.sorted()
	}
	d := newDecoder(&found, root)
	var out []Family
	for _, name := range root.table.names {
		f := Family{Name: name}
		cursor{d: d, path: name, item: name}.value(root.get(name), reflectOf(&f))
		out = append(out, f)
	}
	if found.failed() {
		return nil, found.sorted()
	}
	slices.SortFunc(out, func(a, b Family) int { return strings.Compare(a.Name, b.Name) })
	return out, nil
}

// FindFamily finds a family of the catalog by name, or reads one from a file.
func FindFamily(name string) (*Family, error) {
	all, err := Families()
	if err != nil {
		return nil, err
	}
	var names []string
	for _, f := range all {
		if names = append(names, f.Name); f.Name == name {
			return &f, nil
		}
	}
	if filepath.Ext(name) != ".toml" {
		hint := cmp.Or(circuit.NearestHint(name, names), "there is "+strings.Join(names, ", ")+", or a file whose name ends in .toml")
		return nil, fmt.Errorf("no family %q (%s)", name, hint)
	}
	src, err := Text(name)
	if err != nil {
		return nil, err
	}
	f := Family{Name: name}
	at, err := Decode(name, src, "a family", &f)
	if err != nil {
		return nil, err
	}
	if len(f.Members) < 2 {
		return nil, Errors{at.Problem("members", `[members] with "catalog:dryer" = 3 and another`, "a family has at least two members")}
	}
	for _, netlist := range slices.Sorted(maps.Keys(f.Members)) {
		if share := f.Members[netlist]; !(share > 0) || math.IsInf(share, 0) {
			return nil, Errors{at.Problem("members."+netlist, "", fmt.Sprintf("a share of %g: it is above 0", share))}
		}
	}
	return &f, nil
}

// Read reads all members, by name.
func (f *Family) Read() ([]Member, error) {
	var out []Member
	for netlist, share := range f.Members {
		out = append(out, Member{Netlist: Beside(f.Name, netlist), Share: share})
	}
	slices.SortFunc(out, func(a, b Member) int { return strings.Compare(a.Netlist, b.Netlist) })
	errs := make([]error, len(out))
	var wait sync.WaitGroup
	for i := range out {
		wait.Go(func() { out[i].Result, errs[i] = ReadFileFull(out[i].Netlist) })
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}
