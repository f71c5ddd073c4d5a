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
		from := StartsFrom(path, text)
		if from == "" {
			break
		}
		path = beside(path, from)
	}
	return chain
}

// StartsFrom names the netlist that a text starts from, as it stands there; empty
// for none, or where that cannot be read.
func StartsFrom(name string, text []byte) string {
	from := parseVetted(name, text, &collector{}).get("from")
	if from == nil || from.kind != stringNode {
		return ""
	}
	return from.text
}

// beside turns the path a netlist starts from into one from where we are.
func beside(name, from string) string {
	if strings.HasPrefix(from, catalogPrefix) || filepath.IsAbs(from) {
		return from
	}
	return filepath.Join(filepath.Dir(name), filepath.FromSlash(from))
}
