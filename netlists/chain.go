package netlists

import (
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
		root := parseVetted(path, text, &collector{})
		from := root.get("from")
		if from == nil || from.kind != stringNode || from.text == "" {
			break
		}
		path = beside(path, from.text)
	}
	return chain
}

// beside turns the path a netlist starts from into one from where we are.
func beside(name, from string) string {
	if strings.HasPrefix(from, catalogPrefix) || filepath.IsAbs(from) {
		return from
	}
	return filepath.Join(filepath.Dir(name), filepath.FromSlash(from))
}
