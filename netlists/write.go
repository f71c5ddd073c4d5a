package netlists

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"legtrace/circuit"
)

// Write writes a spec as a netlist in the house look: a line for each part,
// wire and test point, in the order of the spec. Reading it back gives the
// same spec. It fails, with nothing written, on what no netlist can say: a
// part, mode or point named twice, text that is not UTF-8, a number that is
// not finite.
func Write(w io.Writer, spec circuit.Spec) error {
	p := &printer{}
	p.netlist(spec)
	if p.err != nil {
		return p.err
	}
	buf := bufio.NewWriter(w)
	buf.WriteString(strings.TrimPrefix(p.out.String(), "\n"))
	return buf.Flush()
}

type printer struct {
	out strings.Builder
	err error
}

func (p *printer) line(format string, args ...any) { fmt.Fprintf(&p.out, format+"\n", args...) }

func (p *printer) fail(format string, args ...any) {
	if p.err == nil {
		p.err = fmt.Errorf("cannot be written as a netlist: "+format, args...)
	}
}

func (p *printer) netlist(spec circuit.Spec) {
	for _, head := range []struct{ key, text string }{{"name", spec.Name}, {"title", spec.Title}} {
		if head.text != "" {
			p.line("%s = %s", head.key, p.text(head.text))
		}
	}
	if spec.Notes != "" {
		p.line("notes = %s", p.block(spec.Notes))
	}
	named := haveNames(spec.Wires)
	if !named {
		p.wires(spec.Wires)
	}
	p.line("\n[supply]")
	p.keys(reflect.ValueOf(spec.Supply))
	lines(p, "parts", "part", spec.Parts, func(s circuit.PartSpec) string { return s.Name })
	if named {
		p.namedWires(spec.Wires)
	}
	p.modes(spec.Modes)
	lines(p, "points", "test point", spec.Points, func(s circuit.PointSpec) string { return s.Name })
	lines(p, "panels", "panel", spec.Panels, func(s circuit.PanelSpec) string { return s.Name })
	lines(p, "places", "place", spec.Places, func(s circuit.PlaceSpec) string { return s.Name })
	lines(p, "bodies", "body", spec.Bodies, func(s circuit.BodySpec) string { return s.Name })
	for _, t := range []struct {
		name string
		rows reflect.Value
	}{{"words", reflect.ValueOf(spec.Words)}, {"phrases", reflect.ValueOf(spec.Phrases)}, {"tales", reflect.ValueOf(spec.Tales)}, {"priors", reflect.ValueOf(spec.Priors)},
		{"sizes", reflect.ValueOf(spec.Sizes)}, {"mistakes", reflect.ValueOf(spec.Mistakes)}} {
		if !t.rows.IsNil() {
			p.line("\n[%s]", t.name)
			p.keys(t.rows)
		}
	}
}

// keys writes a line for each field given, or for each entry of a map.
func (p *printer) keys(v reflect.Value) {
	for _, e := range p.entries(v, "") {
		p.line("%s = %s", e.key, e.value)
	}
}

// lines writes a table of things by their names, a line for each.
func lines[T any](p *printer, table, what string, items []T, name func(T) string) {
	if items == nil {
		return
	}
	p.line("\n[%s]", table)
	var names []string
	for _, item := range items {
		names = append(names, name(item))
	}
	width := p.uniqueWidth(what, names)
	for i, item := range items {
		p.line("%s = %s", pad(p.key(names[i]), width), p.inline(reflect.ValueOf(item), "name"))
	}
}

func (p *printer) modes(modes []circuit.ModeSpec) {
	if modes == nil {
		return
	}
	var names []string
	for _, mode := range modes {
		names = append(names, mode.Name)
	}
	p.uniqueWidth("mode", names)
	if len(modes) == 0 {
		p.line("\n[modes]")
	}
	for _, mode := range modes {
		p.line("\n[modes.%s]", p.key(mode.Name))
		for _, e := range p.entries(reflect.ValueOf(mode), "name") {
			p.line("%s = %s", e.key, e.value)
		}
	}
}

// haveNames reports whether every wire has a name of its own.
func haveNames(wires []circuit.WireSpec) bool {
	seen := map[string]bool{"": true}
	for _, w := range wires {
		if seen[w.Name] {
			return false
		}
		seen[w.Name] = true
	}
	return len(wires) > 0
}

// namedWires writes a table of the wires by name, their ends in columns.
func (p *printer) namedWires(wires []circuit.WireSpec) {
	p.line("\n[wires]")
	names, rows := make([]string, len(wires)), make([][]entry, len(wires))
	for i, w := range wires {
		names[i], rows[i] = w.Name, p.entries(reflect.ValueOf(w), "name")
	}
	width := p.uniqueWidth("wire", names)
	for i, row := range columns(rows, 2) {
		p.line("%s = %s", pad(p.key(names[i]), width), row)
	}
}

// wires writes an array of wires. TOML wants it above the first table.
func (p *printer) wires(wires []circuit.WireSpec) {
	if wires == nil {
		return
	}
	rows := make([][]entry, len(wires))
	for i, w := range wires {
		rows[i] = p.entries(reflect.ValueOf(w), "")
	}
	if len(rows) == 0 {
		p.line("\nwires = []")
		return
	}
	p.line("\nwires = [")
	for _, row := range columns(rows, 3) {
		p.line("  %s,", row)
	}
	p.line("]")
}

// columns writes rows as inline tables, the first so many entries below one
// another.
func columns(rows [][]entry, aligned int) []string {
	widths := make([]int, aligned)
	cell := func(row []entry, i int) string {
		s := row[i].key + " = " + row[i].value
		if i < len(row)-1 {
			s += ","
		}
		return s
	}
	for _, row := range rows {
		for i := range min(aligned, len(row)-1) {
			widths[i] = max(widths[i], width(cell(row, i)))
		}
	}
	out := make([]string, len(rows))
	for i, row := range rows {
		if len(row) == 0 {
			out[i] = "{}"
			continue
		}
		var b strings.Builder
		b.WriteString("{")
		for j := range row {
			s := cell(row, j)
			if j < aligned && j < len(row)-1 {
				s = pad(s, widths[j])
			}
			b.WriteString(" " + s)
		}
		b.WriteString(" }")
		out[i] = b.String()
	}
	return out
}

// uniqueWidth checks that names differ and returns the width of their column.
func (p *printer) uniqueWidth(what string, names []string) int {
	seen := map[string]bool{}
	widest := 0
	for _, name := range names {
		if seen[name] {
			p.fail("two %ss are named %q", what, name)
		}
		seen[name] = true
		widest = max(widest, width(p.key(name)))
	}
	return widest
}

type entry struct{ key, value string }

// entries returns what is given of a struct or map, as TOML; maps by key.
func (p *printer) entries(v reflect.Value, skip string) []entry {
	var out []entry
	if v.Kind() == reflect.Map {
		keys := v.MapKeys()
		slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
		for _, k := range keys {
			out = append(out, entry{p.key(k.String()), p.value(v.MapIndex(k), false)})
		}
		return out
	}
	for i := range v.NumField() {
		key := v.Type().Field(i).Tag.Get("toml")
		if key != skip && !v.Field(i).IsZero() {
			out = append(out, entry{key, p.value(v.Field(i), key == "senses" || key == "codes")})
		}
	}
	return out
}

func (p *printer) inline(v reflect.Value, skip string) string {
	entries := p.entries(v, skip)
	if len(entries) == 0 {
		return "{}"
	}
	var pairs []string
	for _, e := range entries {
		pairs = append(pairs, e.key+" = "+e.value)
	}
	return "{ " + strings.Join(pairs, ", ") + " }"
}

// value writes a value; an array may be spread over lines of its own.
func (p *printer) value(v reflect.Value, spread bool) string {
	switch v.Kind() {
	case reflect.String:
		return p.text(v.String())
	case reflect.Bool:
		return strconv.FormatBool(v.Bool())
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Float64:
		return p.number(v.Float())
	case reflect.Pointer:
		return p.value(v.Elem(), false)
	case reflect.Slice:
		var items []string
		for i := range v.Len() {
			items = append(items, p.value(v.Index(i), false))
		}
		if spread && len(items) > 0 {
			return "[\n    " + strings.Join(items, ",\n    ") + ",\n  ]"
		}
		return "[" + strings.Join(items, ", ") + "]"
	}
	return p.inline(v, "")
}

func (p *printer) number(f float64) string {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		p.fail("the number %g", f)
		return "0"
	}
	if a := math.Abs(f); a >= 1e-4 && a < 1e15 || a == 0 {
		return strconv.FormatFloat(f, 'f', -1, 64)
	}
	return strconv.FormatFloat(f, 'g', -1, 64)
}

// key writes a key bare where TOML allows it.
func (p *printer) key(s string) string {
	bare := s != ""
	for i := range len(s) {
		c := s[i]
		bare = bare && (c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '_' || c == '-')
	}
	if bare {
		return s
	}
	return p.text(s)
}

func (p *printer) text(s string) string { return `"` + p.escape(s, false) + `"` }

// block writes text of several lines as it reads.
func (p *printer) block(s string) string {
	if !strings.Contains(s, "\n") {
		return p.text(s)
	}
	return `"""` + "\n" + p.escape(s, true) + `"""`
}

func (p *printer) escape(s string, lines bool) string {
	if !utf8.ValidString(s) {
		p.fail("%q, which is not UTF-8", s)
		return ""
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n' && lines:
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case strconv.IsPrint(r):
			b.WriteRune(r)
		case r <= 0xffff:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			fmt.Fprintf(&b, `\U%08X`, r)
		}
	}
	return b.String()
}

// maxColumn keeps one long name from pushing every line to the right.
const maxColumn = 48

func width(s string) int { return min(utf8.RuneCountInString(s), maxColumn) }

func pad(s string, to int) string {
	return s + strings.Repeat(" ", max(0, to-utf8.RuneCountInString(s)))
}
