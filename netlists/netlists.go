// Package netlists reads and writes machines as TOML files, and carries the
// generic machines that come with legtrace. FORMAT.md beside this file is the
// format's reference.
//
// Start with [ReadFile], or [Open] for a machine of the [Catalog]. [ReadFull]
// also gives the warnings and where in the file everything stands. [Write]
// turns a [circuit.Spec] back into a file.
//
// A file is read in steps, each in a file of its own: the bytes are vetted
// (vet.go), parsed into a tree that keeps positions (tree.go), laid over the
// netlist it starts from (adapt.go), decoded into a spec (decode.go) and
// checked by [circuit.Build]. Whatever is wrong comes out as [Errors], all at
// once.
package netlists

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists/complaints"
)

// Result is a netlist that was read without error.
type Result struct {
	Circuit *circuit.Circuit
	// Spec is what the circuit was built from, adaptation applied.
	Spec circuit.Spec
	// Warnings do not stop the machine from being used.
	Warnings Errors
	// Positions tells where the values of Spec stand.
	Positions *Positions
}

// Read reads a netlist. The name is shown in errors, and a relative path that
// the netlist starts from is looked for beside it. The error is of type
// [Errors].
func Read(name string, src []byte) (*circuit.Circuit, error) {
	r, err := ReadFull(name, src)
	if err != nil {
		return nil, err
	}
	return r.Circuit, nil
}

// ReadFile reads the netlist at a path, or the catalog's where the path is
// "catalog:NAME". The error is of type [Errors].
func ReadFile(path string) (*circuit.Circuit, error) {
	r, err := ReadFileFull(path)
	if err != nil {
		return nil, err
	}
	return r.Circuit, nil
}

// ReadFileFull is [ReadFile] with everything there is to know.
func ReadFileFull(path string) (*Result, error) {
	src, err := Text(path)
	if err != nil {
		return nil, err
	}
	return ReadFull(path, src)
}

// ReadFull is [Read] with everything there is to know.
func ReadFull(name string, src []byte) (*Result, error) {
	var found collector
	d := decodeFile(name, src, &found)
	if d == nil {
		return nil, found.sorted()
	}
	c, problems := circuit.Build(d.spec)
	for _, p := range slices.Concat(problems, suspect.CheckTales(d.spec.Tales), complaints.CheckPhrases(d.spec.Phrases)) {
		if d.blamed(p.Path) || p.Warning && d.lostWire() {
			continue
		}
		found.errs = append(found.errs, Error{Position: d.positions.Nearest(p.Path),
			Message: sanitise(p.Message), Hint: sanitise(p.Hint), Warning: p.Warning})
	}
	if found.failed() {
		return nil, found.sorted()
	}
	return &Result{Circuit: c, Spec: d.spec, Warnings: found.sorted(), Positions: d.positions}, nil
}

// Parse reads a netlist as far as its spec, adaptation applied, and does not
// check that the machine makes sense. The error is of type [Errors].
func Parse(name string, src []byte) (circuit.Spec, *Positions, error) {
	var found collector
	d := decodeFile(name, src, &found)
	if found.failed() {
		return circuit.Spec{}, nil, found.sorted()
	}
	return d.spec, d.positions, nil
}

// decodeFile returns nil when there is nothing to decode.
func decodeFile(name string, src []byte, found *collector) *decoder {
	root := (&adapter{found: found}).tree(name, src)
	if root == nil {
		return nil
	}
	d := newDecoder(found, root)
	d.netlist(root)
	return d
}

// Position is a place in a file. Lines and columns count from 1, columns in
// characters; a Line of 0 means the file as a whole.
type Position struct {
	File         string
	Line, Column int
}

func (p Position) String() string {
	file := sanitise(p.File)
	if p.Line == 0 {
		return file
	}
	return fmt.Sprintf("%s:%d:%d", file, p.Line, p.Column)
}

// Positions tells where the values of a spec stand. Paths are written as in
// [circuit.Problem]: "parts.broil_element.volts", "wires[3].to".
type Positions struct{ root *node }

// Key returns where the key of a path stands.
func (p *Positions) Key(path string) (Position, bool) {
	n, rest := p.find(path)
	return n.keyPosition(), rest == ""
}

// Value returns where the value of a path stands.
func (p *Positions) Value(path string) (Position, bool) {
	n, rest := p.find(path)
	return n.position(), rest == ""
}

// Nearest returns where to look for what is wrong with a path: its value, or
// its key where the value is a table with a name, or the same of the closest
// thing around it that is in the file.
func (p *Positions) Nearest(path string) Position {
	n, _ := p.find(path)
	if n.kind == tableNode {
		return n.keyPosition()
	}
	return n.position()
}

// find descends as far as the path leads, and returns what of it is left.
// Names may hold any character, so each cut of the path is tried.
func (p *Positions) find(path string) (*node, string) {
	n := p.root
descend:
	for path != "" {
		if n.kind == arrayNode {
			i, rest, ok := cutIndex(path)
			if !ok || i >= len(n.items) {
				return n, path
			}
			n, path = n.items[i], rest
			continue
		}
		for end := 1; end <= len(path); end++ {
			if end < len(path) && path[end] != '.' && path[end] != '[' {
				continue
			}
			if next := n.get(path[:end]); next != nil {
				n, path = next, strings.TrimPrefix(path[end:], ".")
				continue descend
			}
		}
		return n, path
	}
	return n, ""
}

// cutIndex splits "[3].to" into 3 and "to".
func cutIndex(path string) (index int, rest string, ok bool) {
	if !strings.HasPrefix(path, "[") {
		return 0, "", false
	}
	digits, rest, ok := strings.Cut(path[1:], "]")
	if !ok || digits == "" || len(digits) > 9 {
		return 0, "", false
	}
	for _, r := range digits {
		if r < '0' || r > '9' {
			return 0, "", false
		}
		index = 10*index + int(r-'0')
	}
	return index, strings.TrimPrefix(rest, "."), true
}
