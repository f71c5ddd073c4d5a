package netlists

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Edit is a netlist's text to be changed in places: whatever is not changed
// stays as it is written, comments, order and keys that nobody knows with it. A
// text in the house look stays in it; any other keeps its own.
//
// A path leads to what is changed, as in "parts", "broil_element", "watts"; a
// wire goes by its name, as in "wires", "w12", "to".
type Edit struct {
	name  string
	mark  string // that the text begins with, of its encoding
	eol   string
	text  []byte
	lines []textLine
	sites []site
	tidy  bool
}

// NewEdit takes a text to be changed. It has to be TOML; the error is of type
// [Errors].
func NewEdit(name string, text []byte) (*Edit, error) {
	var found collector
	root := parseVetted(name, text, &found)
	if found.failed() {
		return nil, found.sorted()
	}
	e := &Edit{name: name, eol: "\n"}
	if len(root.src.text) < len(text) {
		e.mark = string(text[:len(text)-len(root.src.text)])
	}
	if bytes.Contains(text, []byte("\r\n")) {
		e.eol = "\r\n"
	}
	e.set(root.src.text)
	e.tidy = bytes.Equal([]byte(layOut(textLines(e.text))), e.text)
	return e, nil
}

func (e *Edit) set(text []byte) {
	e.text = text
	e.lines = textLines(text)
	e.sites = sites(e.lines, text)
}

// Text returns the text as changed. The error tells of a mistake in legtrace.
func (e *Edit) Text() ([]byte, error) {
	text := append([]byte(e.mark), e.text...)
	var found collector
	var err error
	if e.tidy {
		text, err = Tidy(e.name, text)
	} else if parseVetted(e.name, text, &found); found.failed() {
		err = found.sorted()
	}
	if err != nil {
		return nil, fmt.Errorf("the change would not leave TOML, which is a mistake in legtrace; nothing was done: %w", err)
	}
	return text, nil
}

// Put gives the value at a path: a string, a number, a list, or a spec of
// package circuit. What it holds already is replaced, what is not there yet is
// added at the end of its table. Comments within what is replaced come to stand
// above it.
func (e *Edit) Put(value any, path ...string) error {
	var p printer
	v := reflect.ValueOf(value)
	if header := e.headers(value, path); header != nil {
		return e.section(header, p.entries(v, "name"), &p)
	}
	var s string
	if v.Kind() == reflect.Struct || v.Kind() == reflect.Map {
		s = p.inline(v, "name")
	} else {
		s = p.value(v, false)
	}
	if p.err != nil {
		return p.err
	}
	return e.put(s, path)
}

// headers is the path of the [header] that a new thing gets, where it gets one:
// a mode always, others where their like have it.
func (e *Edit) headers(value any, path []string) []string {
	if len(path) != 2 || reflect.ValueOf(value).Kind() != reflect.Struct || e.prefix(e.wirePath(path)) != nil {
		return nil
	}
	_, mode := value.(circuit.ModeSpec)
	switch like := e.prefix(path[:1]); {
	case like == nil && mode, like != nil && like.value == nil && len(like.path) == 2 && like.path[1] != "[0]":
		return path
	case like != nil && like.value == nil && len(like.path) == 2:
		return []string{path[0], "[" + path[1] + "]"}
	}
	return nil
}

func (e *Edit) put(value string, path []string) error {
	path = e.wirePath(path)
	for _, at := range e.sites {
		if at.value != nil && slices.Equal(at.path, path) {
			changes := []change{{at.value.span, value}}
			for _, comment := range at.value.comments() {
				changes = append(changes, change{span{e.lines[at.line].at, e.lines[at.line].at}, comment + e.eol})
			}
			e.set(splice(e.text, changes))
			return nil
		}
	}
	if e.prefix(path) != nil {
		e.take(path)
	}
	return e.add(value, path)
}

// add writes a value where there is none yet.
func (e *Edit) add(value string, path []string) error {
	var p printer
	table, key := path[:len(path)-1], p.key(path[len(path)-1])
	if p.err != nil {
		return p.err
	}
	for _, at := range slices.Backward(e.sites) {
		if !slices.Equal(at.path, table) {
			continue
		}
		switch {
		case at.value == nil:
			e.line(e.sectionEnd(at.line), key+" = "+value)
		case at.value.open == "{":
			e.within(at.value, key+" = "+value)
		case at.value.open == "[" && table[0] == "wires":
			e.within(at.value, strings.Replace(value, "{", "{ name = "+p.text(path[len(path)-1])+",", 1))
		default:
			return fmt.Errorf("%s is no table", strings.Join(table, "."))
		}
		return nil
	}
	switch through, at := e.through(table); {
	case through != "":
		e.line(e.lines[at].end, through+"."+key+" = "+value)
	case len(table) == 0:
		e.line(e.sectionEnd(-1), key+" = "+value)
	case len(table) == 1:
		return e.section(table, []entry{{key, value}}, &p)
	case len(table) == 2 && e.prefix(table) == nil && table[0] == "modes":
		return e.section(table, []entry{{key, value}}, &p)
	default:
		return e.add("{ "+key+" = "+value+" }", table)
	}
	return nil
}

// through is how the last line writes a table that is only led through, as parts.x in
// parts.x.kind = ..., and which line that is; "" where none does.
func (e *Edit) through(table []string) (string, int) {
	for _, at := range slices.Backward(e.sites) {
		if at.in != nil || at.value == nil || len(at.path) <= len(table) || !below(at.path, table) {
			continue
		}
		if ahead := len(at.pieces) - (len(at.path) - len(table)); ahead > 0 {
			return string(e.text[at.pieces[0].at:at.pieces[ahead-1].end]), at.line
		}
	}
	return "", 0
}

// tables is the order in which a netlist is written.
var tables = []string{"drop", "supply", "parts", "wires", "modes", "points", "panels", "places", "bodies", "words", "phrases", "tales", "priors", "sizes", "mistakes"}

// section adds a table with a header of its own, behind those of its like.
func (e *Edit) section(path []string, keys []entry, p *printer) error {
	after := -1
	for _, at := range e.sites {
		if at.value == nil && slices.Index(tables, at.path[0]) <= slices.Index(tables, path[0]) {
			after = at.line
		}
	}
	var b strings.Builder
	var head []string
	for _, name := range path {
		head = append(head, p.key(name))
	}
	if last := path[len(path)-1]; strings.HasPrefix(last, "[") {
		b.WriteString(e.eol + "[[" + path[0] + "]]" + e.eol + "name = " + p.text(strings.Trim(last, "[]")))
	} else {
		b.WriteString(e.eol + "[" + strings.Join(head, ".") + "]")
	}
	for _, k := range keys {
		b.WriteString(e.eol + k.key + " = " + k.value)
	}
	if p.err != nil {
		return p.err
	}
	e.line(e.sectionEnd(after), b.String())
	return nil
}

// sectionEnd is where the last key of a header's table ends; of one without keys
// the header, with the comments right below. The keys of header -1 stand above
// the first.
func (e *Edit) sectionEnd(header int) int {
	last, keys := header, false
	for i := header + 1; i < len(e.lines) && e.lines[i].header == ""; i++ {
		switch {
		case e.lines[i].key != "":
			last, keys = i, true
		case !keys && last == i-1 && !e.lines[i].blank:
			last = i
		}
	}
	if last < 0 {
		return 0
	}
	return e.lines[last].end
}

// line puts a line in front of what stands at an offset.
func (e *Edit) line(at int, s string) {
	if at > 0 && e.text[at-1] != '\n' {
		s = e.eol + s // the text has no end of line at its end
	} else {
		s += e.eol
	}
	e.set(splice(e.text, []change{{span{at, at}, s}}))
}

// within adds an item at the end of brackets.
func (e *Edit) within(f *form, item string) {
	items := f.items()
	if len(items) == 0 {
		if f.open == "{" {
			item = " " + item + " "
		}
		e.set(splice(e.text, []change{{span{f.at + 1, f.at + 1}, item}}))
		return
	}
	end := items[len(items)-1].value.end
	if line, alone := e.alone(items[len(items)-1]); alone {
		indent := string(e.text[line.at:items[len(items)-1].start()])
		if e.comma(end) > 0 {
			e.set(splice(e.text, []change{{span{line.end, line.end}, indent + item + "," + e.eol}}))
		} else {
			e.set(splice(e.text, []change{{span{end, end}, ","}, {span{line.end, line.end}, indent + item + e.eol}}))
		}
		return
	}
	e.set(splice(e.text, []change{{span{end, end}, ", " + item}}))
}

// comma is where the comma that follows ends, 0 where none follows.
func (e *Edit) comma(at int) int {
	s := &scanner{text: e.text, at: at}
	s.space()
	if !s.take(',') {
		return 0
	}
	return s.at
}

// alone finds the line that an item within brackets has for itself.
func (e *Edit) alone(item formItem) (line span, ok bool) {
	start, end := item.start(), item.value.end
	for start > 0 && (e.text[start-1] == ' ' || e.text[start-1] == '\t') {
		start--
	}
	if start == 0 || e.text[start-1] != '\n' {
		return span{}, false
	}
	s := &scanner{text: e.text, at: end}
	s.space()
	s.take(',')
	s.space()
	s.comment()
	if !s.take('\n') {
		return span{}, false
	}
	return span{start, s.at}, true
}

// Take takes out what a path leads to, and of a part also the wires and test
// points on it and what the modes say of it, as [drop] does. What comes from the
// netlist that this one starts from is put on its [drop] list.
func (e *Edit) Take(path ...string) error {
	given := path
	path = e.wirePath(path)
	inherited := len(path) == 2 && e.inherits(given)
	if e.prefix(path) == nil && !inherited {
		return fmt.Errorf("there is no %s", strings.Join(given, "."))
	}
	if len(path) == 2 && path[0] == "parts" {
		e.forget(path[1])
	}
	e.take(path)
	if !inherited {
		return nil
	}
	path = given
	gone := []string{}
	for _, at := range e.sites {
		if s, ok := at.value.str(); ok && len(at.path) == 3 && at.path[0] == "drop" && at.path[1] == path[0] {
			gone = append(gone, s)
		}
	}
	if slices.Contains(gone, path[1]) {
		return nil
	}
	return e.Put(append(gone, path[1]), "drop", path[0])
}

// inherits reports whether a part, wire, mode or point comes from the netlist
// that this one starts from.
func (e *Edit) inherits(path []string) bool {
	base := e.base()
	for _, w := range base.get("wires").list() {
		if name := w.get("name"); path[0] == "wires" && name != nil && name.text == path[1] {
			return true
		}
	}
	return base.get(path[0]).get(path[1]) != nil
}

// base is the tree of the netlist that this one starts from, nil where there is
// none.
func (e *Edit) base() *node {
	var found collector
	root := parseVetted(e.name, e.text, &found)
	from := root.get("from")
	if from == nil {
		return nil
	}
	return (&adapter{found: &found}).base(e.name, from)
}

// prefix returns the first site at a path or below it.
func (e *Edit) prefix(path []string) *site {
	i := slices.IndexFunc(e.sites, func(s site) bool { return below(s.path, path) })
	if i < 0 {
		return nil
	}
	return &e.sites[i]
}

// errElsewhere tells that a name stands in another file.
var errElsewhere = errors.New("it is described in the netlist that this one starts from")

// wirePath is where in the text a wire of a name stands.
func (e *Edit) wirePath(path []string) []string {
	if len(path) < 2 || path[0] != "wires" {
		return path
	}
	for _, s := range e.sites {
		if len(s.path) == 3 && s.path[0] == "wires" && s.path[2] == "name" {
			if name, ok := s.value.str(); ok && name == path[1] {
				return join(s.path[:2], path[2:]...)
			}
		}
	}
	// One without a name goes by its place, as in w4 (package circuit).
	var place int
	if n, _ := fmt.Sscanf(path[1], "w%d", &place); n == 1 && path[1] == fmt.Sprintf("w%d", place) {
		at := []string{"wires", fmt.Sprintf("[%d]", place-1)}
		if e.prefix(at) != nil && e.prefix(join(at, "name")) == nil {
			return append(at, path[2:]...)
		}
	}
	return path
}
