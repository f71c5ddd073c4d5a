package netlists

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"legtrace/circuit"
)

// decoder fills a spec from a tree by the toml tags of its fields, and reports
// every value of the wrong type and every key that means nothing.
type decoder struct {
	found     *collector
	positions *Positions
	spec      circuit.Spec
	// bad holds the paths of what did not decode, spoilt those of the parts,
	// wires and so on around it. What Build says of what is bad or within it,
	// or of what is spoilt as a whole, is only a consequence.
	bad, spoilt map[string]bool
}

func newDecoder(found *collector, root *node) *decoder {
	return &decoder{found: found, positions: &Positions{root: root}, bad: map[string]bool{}, spoilt: map[string]bool{}}
}

// byName lists the keys of a spec whose values are tables keyed by name.
var byName = map[string]string{"parts": "part", "modes": "mode", "points": "test point",
	"panels": "panel", "places": "place", "bodies": "body"}

// blamed reports whether what is wrong with a path has its cause told already.
func (d *decoder) blamed(path string) bool {
	if d.spoilt[path] {
		return true
	}
	for end := len(path); end > 0; end = strings.LastIndexAny(path[:end], ".[") {
		if d.bad[path[:end]] {
			return true
		}
	}
	return false
}

// blame marks a path as bad and what is around it, up to the item, as spoilt.
func (d *decoder) blame(path, item string) {
	d.bad[path] = true
	for len(path) > len(item) {
		path = path[:max(strings.LastIndexAny(path, ".["), len(item))]
		d.spoilt[path] = true
	}
}

// lostWire reports whether an end of a wire did not decode: what then hangs in
// the air may not.
func (d *decoder) lostWire() bool {
	for path := range d.bad {
		if strings.HasPrefix(path, "wires") && (strings.HasSuffix(path, ".from") || strings.HasSuffix(path, ".to") || !strings.Contains(path, ".")) {
			return true
		}
	}
	return false
}

func (d *decoder) netlist(root *node) {
	v := reflect.ValueOf(&d.spec).Elem()
	fields := fieldsByTag(v.Type())
	for _, name := range root.table.names {
		n := root.get(name)
		i, ok := fields[name]
		if !ok {
			d.unknownKey(n, name, "a netlist", keysOf(fields))
			continue
		}
		c := cursor{d: d, path: name, item: name}
		f := v.Field(i)
		switch {
		case byName[name] != "":
			c.named(n, f, byName[name])
		case name == "wires":
			c.wires(n, f)
		default:
			c.value(n, f)
		}
	}
}

// unknownKey reports a key that means nothing, and returns the one that may
// have been meant, "" where none is near.
func (d *decoder) unknownKey(n *node, name, where string, known []string) (near string) {
	hint := ""
	if d.found.hinting() {
		near = otherWords[strings.ToLower(name)]
		if !slices.Contains(known, near) {
			near = circuit.Nearest(name, known)
		}
		switch {
		case near != "":
			hint = fmt.Sprintf("did you mean %q?", near)
		case isTopKey(name):
			hint = topKeyHint(name)
		default:
			hint = "it takes " + strings.Join(known, ", ")
		}
	}
	d.found.fail(n.keyPosition(), hint, "%s has no key %q", where, name)
	return near
}

// otherWords are words that people take for a key, in lower case.
var otherWords = map[string]string{
	"power": "watts", "wattage": "watts", "kw": "watts", "voltage": "volts", "current": "amps", "amperage": "amps", "rating": "amps",
	"resistance": "ohms", "capacitance": "microfarads", "uf": "microfarads", "type": "kind", "part": "kind",
	"description": "label", "name": "label", "title": "label", "location": "place",
	"gauge": "awg", "size": "awg", "length": "metres", "feet": "metres", "terminal": "at", "between": "from",
	"frequency": "hertz", "conductors": "wires", "coil": "driven_by", "controlled_by": "driven_by", "states": "positions",
	"contacts": "chart", "relays": "drives", "loads": "on", "time": "minutes", "temperature": "celsius", "previous": "after",
}

// isTopKey reports whether a key belongs at the head of a netlist. TOML takes
// it for one of the last table's when it stands below the first.
func isTopKey(name string) bool {
	_, ok := fieldsByTag(reflect.TypeFor[circuit.Spec]())[name]
	return ok || name == "from" || name == "drop"
}

func topKeyHint(name string) string {
	if name == "wires" {
		return "put it above the first [table], or write a table [wires]"
	}
	return "put it above the first [table] if it is the netlist's"
}

func keysOf(fields map[string]int) []string { return slices.Sorted(maps.Keys(fields)) }

// keysOfKind lists the keys that a part takes, going by its kind if that is
// known.
func keysOfKind(part *node, fields map[string]int) []string {
	kind := part.get("kind")
	if kind == nil {
		return keysOf(fields)
	}
	k, err := circuit.ParseKind(kind.text)
	if err != nil {
		return keysOf(fields)
	}
	info := k.Info()
	return slices.Sorted(slices.Values(slices.Concat(info.Required, info.Optional, []string{"kind", "label", "place", "note"})))
}

// fieldsByTag maps the toml tags of a struct to its fields.
func fieldsByTag(t reflect.Type) map[string]int {
	fields := map[string]int{}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("toml"), ",")
		fields[name] = i
	}
	return fields
}

// cursor decodes one value: where it is in the spec, and which item it
// belongs to.
type cursor struct {
	d          *decoder
	path, item string
}

func (c cursor) into(step string) cursor {
	c.path += step
	return c
}

func (c cursor) fail(n *node, hint, format string, args ...any) {
	c.d.blame(c.path, c.item)
	if n.kind == mendedNode {
		return
	}
	c.d.found.fail(n.position(), hint, format, args...)
}

// wrong reports a value of the wrong type by the last step of its path.
func (c cursor) wrong(n *node, expected string) {
	c.fail(n, "", "%s: found %s, expected %s", c.last(), n.kind, expected)
}

// last returns the last step of the path.
func (c cursor) last() string { return c.path[strings.LastIndexByte(c.path, '.')+1:] }

// named decodes a table whose keys are names into a slice of structs that have
// a Name.
func (c cursor) named(n *node, v reflect.Value, what string) {
	if n.kind != tableNode {
		c.wrong(n, fmt.Sprintf("a table of each %s by its name", what))
		return
	}
	t := v.Type().Elem()
	fields := fieldsByTag(t)
	delete(fields, "name")
	v.Set(reflect.MakeSlice(v.Type(), len(n.table.names), len(n.table.names)))
	for i, name := range n.table.names {
		item := v.Index(i)
		item.FieldByName("Name").SetString(name)
		path := c.path + "." + name
		in := cursor{d: c.d, path: path, item: path}
		in.fields(n.get(name), item, fields, "a "+what)
		if what == "part" && in.d.shapeless(path) {
			// Build then knows nothing of its terminals, and does not blame
			// the wires to it.
			item.FieldByName("Kind").SetString("")
		}
	}
}

// shaping lists the keys of a part that give it its terminals.
var shaping = []string{"kind", "poles", "positions", "chart", "contact", "contacts", "driven_by", "senses", "start_ohms", "volts", "watts"}

// shapeless reports whether a part decoded so badly that its terminals are not
// known.
func (d *decoder) shapeless(path string) bool {
	return d.bad[path] || slices.ContainsFunc(shaping, func(key string) bool {
		return d.bad[path+"."+key] || d.spoilt[path+"."+key]
	})
}

func (c cursor) wires(n *node, v reflect.Value) {
	if n.kind != arrayNode {
		c.wrong(n, "an array of wires")
		return
	}
	fields := fieldsByTag(v.Type().Elem())
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		path := fmt.Sprintf("wires[%d]", i)
		cursor{d: c.d, path: path, item: path}.fields(item, v.Index(i), fields, "a wire")
	}
}

func (c cursor) fields(n *node, v reflect.Value, fields map[string]int, what string) {
	if n.kind != tableNode {
		hint := ""
		if c.path == c.item && c.path != c.last() && isTopKey(c.last()) {
			hint = topKeyHint(c.last())
		}
		c.fail(n, hint, "%s: found %s, expected %s as a table", c.last(), n.kind, what)
		return
	}
	for _, name := range n.table.names {
		value := n.get(name)
		i, ok := fields[name]
		if !ok {
			known := keysOf(fields)
			if what == "a part" {
				known = keysOfKind(n, fields)
			}
			if near := c.d.unknownKey(value, name, what, known); near != "" {
				c.d.blame(c.path+"."+near, c.item)
			} else {
				c.d.blame(c.path, c.item)
			}
			continue
		}
		c.into("."+name).value(value, v.Field(i))
	}
}

func (c cursor) value(n *node, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		c.fields(n, v, fieldsByTag(v.Type()), "a "+strings.ToLower(strings.TrimSuffix(v.Type().Name(), "Spec")))
	case reflect.Map:
		c.mapping(n, v)
	case reflect.Slice:
		c.slice(n, v)
	case reflect.Pointer:
		p := reflect.New(v.Type().Elem())
		c.value(n, p.Elem())
		v.Set(p)
	case reflect.String:
		if n.kind != stringNode {
			c.wrong(n, "a string")
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		if n.kind != boolNode {
			c.wrong(n, "true or false")
			return
		}
		v.SetBool(n.text == "true")
	case reflect.Int:
		c.integer(n, v)
	case reflect.Float64:
		c.float(n, v)
	}
}

func (c cursor) mapping(n *node, v reflect.Value) {
	if n.kind != tableNode {
		c.wrong(n, "a table")
		return
	}
	v.Set(reflect.MakeMapWithSize(v.Type(), len(n.table.names)))
	for _, name := range n.table.names {
		value := reflect.New(v.Type().Elem()).Elem()
		c.into("."+name).value(n.get(name), value)
		v.SetMapIndex(reflect.ValueOf(name), value)
	}
}

func (c cursor) slice(n *node, v reflect.Value) {
	if n.kind != arrayNode {
		c.wrong(n, "an array")
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		c.into(fmt.Sprintf("[%d]", i)).value(item, v.Index(i))
	}
}

func (c cursor) integer(n *node, v reflect.Value) {
	if n.kind != integerNode {
		c.notNumber(n, "a whole number")
		return
	}
	i, err := n.integer()
	if err != nil || int64(int(i)) != i {
		c.fail(n, "", "%s is too large a number", n.text)
		return
	}
	v.SetInt(i)
}

// notNumber reports a value that is no number, and the number it may mean.
func (c cursor) notNumber(n *node, expected string) {
	hint := ""
	if n.kind == stringNode || n.kind == floatNode {
		hint = meantHint(c.last(), n.text)
	}
	if strings.Contains(hint, ".") && expected != "a number" {
		hint = ""
	}
	if n.kind == stringNode && hint != "" {
		c.fail(n, hint, "%s: found %q in quotes, expected %s", c.last(), n.text, expected)
		return
	}
	c.fail(n, hint, "%s: found %s, expected %s", c.last(), n.kind, expected)
}

func (c cursor) float(n *node, v reflect.Value) {
	if n.kind != integerNode && n.kind != floatNode {
		c.notNumber(n, "a number")
		return
	}
	f, err := n.number()
	switch {
	case err != nil:
		c.fail(n, "", "%s is too large a number", n.text)
	case math.IsNaN(f) || math.IsInf(f, 0):
		c.fail(n, "a finite number", "%s is not a value anything can have", n.text)
	case f == 0 && strings.HasPrefix(c.path, "parts.") && !strings.Contains(c.path, "["):
		// In a spec zero means not given, which this is not.
		c.fail(n, "a number above 0, or leave it out", "%s of %s is not possible", c.last(), n.text)
	default:
		v.SetFloat(f)
	}
}
