package netlists

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"legtrace/circuit"
)

// MaxChain is how many netlists may start from one another.
const MaxChain = 8

// CatalogPrefix marks the name of a catalog netlist where a path could stand.
const CatalogPrefix = "catalog:"

// Text reads a file that a person writes, such as a netlist or a visit: no more of
// it than may be read at all, and nothing that is no file. A name such as
// catalog:dryer is a machine that comes along. The error is of type [Errors].
func Text(path string) ([]byte, error) {
	src, err := load(path)
	if err != nil {
		return nil, Errors{{Position: Position{File: path}, Message: "cannot be read: " + sanitise(err.Error())}}
	}
	if len(src) > MaxBytes {
		return nil, Errors{{Position: Position{File: path}, Message: fmt.Sprintf("a file of more than %d bytes is not read", MaxBytes)}}
	}
	return src, nil
}

// load is [Text] whose error does not name the file.
func load(path string) ([]byte, error) {
	if name, ok := strings.CutPrefix(path, CatalogPrefix); ok {
		return Source(name)
	}
	// A pipe or a device could keep the reader waiting for ever.
	info, err := os.Stat(path)
	if err != nil {
		return nil, reason(err)
	}
	if !info.Mode().IsRegular() && !info.IsDir() {
		return nil, errors.New("not a file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, reason(err)
	}
	defer f.Close()
	// One byte more than is allowed is enough to tell that it is too much.
	src, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return nil, reason(err)
	}
	return src, nil
}

// reason strips the path, which the reader of the error has seen already.
func reason(err error) error {
	var e *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("no such file")
	case errors.As(err, &e):
		return e.Err
	}
	return err
}

// adapter turns a file into a tree with what it starts from beneath it.
type adapter struct {
	found *collector
	chain []string // the files being read, outermost first
}

// dropSpec is the [drop] table.
type dropSpec struct {
	Parts  []string `toml:"parts"`
	Wires  []string `toml:"wires"`
	Modes  []string `toml:"modes"`
	Points []string `toml:"points"`
}

// tree returns nil, having said why, if the file cannot be parsed.
func (a *adapter) tree(name string, text []byte) *node {
	src := newSource(name, text, a.found)
	if src == nil {
		return nil
	}
	root := parse(src, a.found)
	if root == nil {
		return nil
	}
	nameWires(root.get("wires"), a.found)
	from, drop := root.get("from"), root.get("drop")
	root.remove(func(key string) bool { return key == "from" || key == "drop" })
	if from == nil {
		if drop != nil {
			a.found.fail(drop.keyPosition(), `add from = "..."`, "there is nothing to drop from")
		}
		return root
	}
	base := a.base(name, from)
	if base == nil {
		return nil
	}
	if drop != nil {
		a.drop(base, root, drop)
	}
	overlay(base, root)
	return base
}

// base returns the tree of the netlist that another starts from.
func (a *adapter) base(name string, from *node) *node {
	at := from.position()
	if from.kind != stringNode {
		a.found.fail(at, "", "from: found %s, expected a string", from.kind)
		return nil
	}
	path := from.text
	if !strings.HasPrefix(path, CatalogPrefix) {
		if filepath.IsAbs(path) || path == "" || strings.HasPrefix(name, CatalogPrefix) {
			a.found.fail(at, `"catalog:NAME", or a path that starts at this file's folder`, "cannot start from %q", path)
			return nil
		}
		path = Beside(name, path)
		// A device or a pipe could keep the reader waiting for ever.
		if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
			a.found.fail(at, "", "cannot start from %q: it is not a file", from.text)
			return nil
		}
	}
	chain := append(slices.Clone(a.chain), identity(name))
	if i := slices.Index(chain, identity(path)); i >= 0 {
		a.found.fail(at, "break the circle", "starts from itself: %s", strings.Join(append(shown(chain[i:]), filepath.Base(path)), " -> "))
		return nil
	}
	if len(chain) >= MaxChain {
		a.found.fail(at, "", "more than %d netlists start from one another", MaxChain)
		return nil
	}
	src, err := load(path)
	if err != nil {
		a.found.fail(at, "", "cannot start from %q: %v", from.text, err)
		return nil
	}
	return (&adapter{found: a.found, chain: chain}).tree(path, src)
}

// identity names a file so that two spellings of its path are found equal.
func identity(path string) string {
	if strings.HasPrefix(path, CatalogPrefix) {
		return path
	}
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return filepath.Clean(path)
}

func shown(chain []string) []string {
	var out []string
	for _, path := range chain {
		out = append(out, filepath.Base(path))
	}
	return out
}

// drop takes out of base what the [drop] table names. A part goes with its
// wires and test points and whatever modes say of it, a mode with what is said
// of it elsewhere; but what the netlist on top describes anew is only replaced.
func (a *adapter) drop(base, top, table *node) {
	var spec dropSpec
	d := newDecoder(a.found, nil)
	target := reflectOf(&spec)
	cursor{d: d, path: "drop", item: "drop"}.fields(table, target, fieldsByTag(target.Type()), "[drop]")

	parts := a.names(table.get("parts"), spec.Parts, base.get("parts"), "part")
	removeKeys(base.get("parts"), parts)
	forgetParts(base, notIn(top.get("parts"), parts))

	modes := a.names(table.get("modes"), spec.Modes, base.get("modes"), "mode")
	removeKeys(base.get("modes"), modes)
	forgetModes(base, notIn(top.get("modes"), modes))

	removeKeys(base.get("points"), a.names(table.get("points"), spec.Points, base.get("points"), "test point"))

	wires := newTable(table.src, 0, 0)
	for _, w := range base.get("wires").list() {
		if name := w.get("name"); name != nil && name.kind == stringNode {
			wires.set(name.text, w)
		}
	}
	gone := a.names(table.get("wires"), spec.Wires, wires, "wire")
	removeItems(base.get("wires"), func(w *node) bool { n := w.get("name"); return n != nil && gone[n.text] })
	forgetPlaces(base, top)
}

// notIn returns the names that a table does not have.
func notIn(table *node, names map[string]bool) map[string]bool {
	out := map[string]bool{}
	for name := range names {
		if table.get(name) == nil {
			out[name] = true
		}
	}
	return out
}

// names checks that what is to be dropped exists, and returns it as a set.
func (a *adapter) names(list *node, given []string, from *node, what string) map[string]bool {
	gone := map[string]bool{}
	for i, name := range given {
		if from.get(name) != nil {
			gone[name] = true
			continue
		}
		hint := ""
		if from != nil && from.kind == tableNode && a.found.hinting() {
			hint = circuit.NearestHint(name, from.table.names)
		}
		if list.items[i].kind == stringNode {
			a.found.fail(list.items[i].position(), hint, "there is no %s %q to drop", what, name)
		}
	}
	return gone
}
