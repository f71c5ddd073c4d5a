package netlists

import (
	"reflect"
	"strings"
)

// exclusive lists the keys of a part or wire that stand in for one another:
// giving one takes the other's inherited value away.
var exclusive = map[string]string{
	"awg": "mm2", "mm2": "awg",
	"contact": "contacts", "contacts": "contact",
}

// overlay lays a netlist over the one it starts from: names and titles are
// replaced, supply and priors are changed key by key, and so is each part,
// mode, point and wire of the same name.
func overlay(base, top *node) {
	for _, name := range top.table.names {
		given, have := top.get(name), base.get(name)
		switch {
		case have == nil || have.kind != given.kind:
			base.set(name, given)
		case name == "wires":
			overlayWires(have, given)
		case given.kind == tableNode && (byName[name] != "" || name == "phrases"):
			for _, item := range given.table.names {
				overlayItem(have, item, given.get(item))
			}
		case given.kind == tableNode:
			overlayKeys(have, given)
		default:
			base.set(name, given)
		}
	}
}

// overlayItem changes one part, mode or point, or adds it. A part of another
// kind than before inherits nothing.
func overlayItem(base *node, name string, given *node) {
	have := base.get(name)
	if have == nil || have.kind != tableNode || given.kind != tableNode {
		base.set(name, given)
		return
	}
	if kind, was := given.get("kind"), have.get("kind"); kind != nil && was != nil && kind.text != was.text {
		base.set(name, given)
		return
	}
	overlayKeys(have, given)
}

func overlayKeys(have, given *node) {
	for _, key := range given.table.names {
		if other := exclusive[key]; other != "" {
			have.remove(func(name string) bool { return name == other && given.get(name) == nil })
		}
		have.set(key, given.get(key))
	}
	have.src, have.key, have.at = given.src, given.key, given.at
}

func overlayWires(have, given *node) {
	inherited := map[string]*node{}
	for _, w := range have.list() {
		if name := w.get("name"); name != nil && name.kind == stringNode {
			inherited[name.text] = w
		}
	}
	for _, w := range given.items {
		if name := w.get("name"); name != nil && name.kind == stringNode && inherited[name.text] != nil {
			overlayKeys(inherited[name.text], w)
			// A second wire of the name is a slip, to be found by the checks.
			delete(inherited, name.text)
			continue
		}
		have.items = append(have.items, w)
	}
}

// nameWires turns a table of wires by their names into the array that the other
// ways of writing wires give.
func nameWires(wires *node, found *collector) {
	if wires == nil || wires.kind != tableNode {
		return
	}
	for _, name := range wires.table.names {
		w := wires.get(name)
		if w.kind == tableNode {
			if extra := w.get("name"); extra != nil {
				found.fail(extra.keyPosition(), "leave it out", "the wire's name is %q already", name)
			}
			w.set("name", &node{src: w.src, key: w.key, at: w.key, kind: stringNode, text: name})
		}
		wires.items = append(wires.items, w)
	}
	wires.kind, wires.table = arrayNode, nil
}

// list returns an array's items; none if n is no array.
func (n *node) list() []*node {
	if n == nil || n.kind != arrayNode {
		return nil
	}
	return n.items
}

func reflectOf(pointer any) reflect.Value { return reflect.ValueOf(pointer).Elem() }

// values returns a table's values; none if n is no table.
func (n *node) values() []*node {
	if n == nil || n.kind != tableNode {
		return nil
	}
	var out []*node
	for _, name := range n.table.names {
		out = append(out, n.get(name))
	}
	return out
}

func removeKeys(table *node, gone map[string]bool) {
	removeIf(table, func(name string) bool { return gone[name] })
}

func removeIf(table *node, gone func(name string) bool) {
	if table != nil && table.kind == tableNode {
		table.remove(gone)
	}
}

func removeItems(array *node, gone func(item *node) bool) {
	if array.list() == nil {
		return
	}
	kept := array.items[:0]
	for _, item := range array.items {
		if !gone(item) {
			kept = append(kept, item)
		}
	}
	array.items = kept
}

// forgetParts takes out the wires and test points on parts, and what the modes
// say of them.
func forgetParts(base *node, gone map[string]bool) {
	for _, m := range partMentions {
		if m.path != drivenBy {
			forget(base, strings.Fields(m.path), m, gone)
		}
	}
}

// forget takes out what names one of the parts at a path from a node, and
// reports whether the node itself has to go.
func forget(n *node, path []string, m mention, gone map[string]bool) bool {
	named := func(name string, child *node) bool {
		switch {
		case path[0] != "*" && path[0] != name || child == nil:
			return false
		case len(path) > 1:
			return forget(child, path[1:], m, gone)
		case m.key:
			return gone[partOf(name)]
		}
		return child.kind == stringNode && gone[partOf(child.text)]
	}
	if m.whole && len(path) == 1 {
		return named(path[0], n.get(path[0]))
	}
	removeItems(n, func(item *node) bool { return named("*", item) })
	removeIf(n, func(name string) bool { return named(name, n.get(name)) })
	return false
}

// partOf is the part of a "part.terminal" or "part.branch".
func partOf(ref string) string {
	name, _, _ := strings.Cut(ref, ".")
	return name
}

// forgetModes takes modes out of what follows them and of what controls sense.
// A thing sensed in none but the dropped modes is sensed no more.
func forgetModes(base *node, gone map[string]bool) {
	for _, mode := range base.get("modes").values() {
		removeIf(mode, func(key string) bool { return (key == "after" || key == "cycles") && gone[mode.get(key).text] })
	}
	for _, part := range base.get("parts").values() {
		seen := map[string]bool{"": true}
		inNone := func(of *node) bool {
			in := of.get("modes")
			before := len(in.list())
			removeItems(in, func(mode *node) bool { return gone[mode.text] })
			return before > 0 && len(in.items) == 0
		}
		removeItems(part.get("senses"), inNone)
		for _, sense := range part.get("senses").list() {
			if name := sense.get("name"); name != nil {
				seen[name.text] = true
			}
		}
		removeItems(part.get("codes"), func(code *node) bool {
			sense := code.get("sense")
			return inNone(code) || sense != nil && !seen[sense.text]
		})
	}
}

// forgetPlaces takes out what base tells of places that neither it nor the
// netlist on top has anything at.
func forgetPlaces(base, top *node) {
	used := map[string]bool{}
	for _, tree := range [2]*node{base, top} {
		for _, key := range [2]string{"parts", "points"} {
			for _, item := range tree.get(key).values() {
				if place := item.get("place"); place != nil {
					used[place.text] = true
				}
			}
		}
	}
	removeIf(base.get("places"), func(place string) bool { return !used[place] })
}
