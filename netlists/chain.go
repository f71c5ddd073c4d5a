package netlists

import (
	"bytes"
	"path/filepath"
	"strings"
)

// Chain returns the paths of the netlists that one is made of: its own, then
// what it starts from, and so on, as far as they can be read. None of the files
// has to be right otherwise.
func Chain(path string) []string {
	var chain []string
	seen := map[string]bool{}
	for len(chain) <= MaxChain && !seen[identity(path)] {
		seen[identity(path)] = true
		chain = append(chain, path)
		text, err := load(path)
		if err != nil {
			break
		}
		from := StartsFrom(path, text)
		if from == "" {
			break
		}
		path = Beside(path, from)
	}
	return chain
}

// Base names the netlist whose drawing that of another should look like: what it
// starts from in the end or, in the catalog, the machine that this is a variant of.
// It is empty where that is itself.
func Base(path string) string {
	chain := Chain(path)
	root := chain[len(chain)-1]
	for _, e := range named() {
		if e.Of != "" && root == CatalogPrefix+e.Name {
			return CatalogPrefix + e.Of
		}
	}
	if len(chain) == 1 {
		return ""
	}
	return root
}

// StartsFrom names the netlist that a text starts from, as it stands there; empty
// for none, or where that cannot be read.
func StartsFrom(name string, text []byte) string {
	found := &collector{}
	top, _, _ := bytes.Cut(text, []byte("\n[")) // it stands before all tables
	root := parseVetted(name, top, found)
	if found.failed() { // so that was none
		root = parseVetted(name, text, &collector{})
	}
	from := root.get("from")
	if from == nil || from.kind != stringNode {
		return ""
	}
	return from.text
}

// Beside turns a path that stands in a file into one from where we are. A whole path
// and the name of a machine of the catalog stay.
func Beside(file, path string) string {
	if strings.HasPrefix(path, CatalogPrefix) || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(file), filepath.FromSlash(path))
}
