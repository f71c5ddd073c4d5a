package netlists

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"
	"github.com/pelletier/go-toml/v2/unstable"
)

type nodeKind uint8

const (
	tableNode nodeKind = iota
	arrayNode
	stringNode
	integerNode
	floatNode
	boolNode
	dateNode
	mendedNode // what was written is a slip, reported already
)

var nodeNames = [...]string{"a table", "an array", "a string", "a whole number", "a number", "true or false", "a date or time", "a slip"}

func (k nodeKind) String() string { return nodeNames[k] }

// node is a value of a TOML file with where it stands. Tables keep the order
// of the file, which a decoded map loses.
type node struct {
	src     *source
	key, at int32 // offsets of its key and of its value
	kind    nodeKind
	text    string // of a string, or a scalar as written
	items   []*node
	table   *table
}

type table struct {
	names   []string
	entries map[string]*node
	// opened tells that the table has a [header] of its own, or braces; one
	// that is only led through by a longer header may still get it.
	opened bool
}

func newTable(src *source, key, at int) *node {
	return &node{src: src, key: int32(key), at: int32(at), kind: tableNode, table: &table{entries: map[string]*node{}}}
}

// get returns the entry of that name, nil if there is none or n is no table.
func (n *node) get(name string) *node {
	if n == nil || n.kind != tableNode {
		return nil
	}
	return n.table.entries[name]
}

// set adds or replaces an entry; a replaced one keeps its place in the order.
func (n *node) set(name string, value *node) {
	if _, ok := n.table.entries[name]; !ok {
		n.table.names = append(n.table.names, name)
	}
	n.table.entries[name] = value
}

// remove takes entries out.
func (n *node) remove(gone func(name string) bool) {
	kept := n.table.names[:0]
	for _, name := range n.table.names {
		if gone(name) {
			delete(n.table.entries, name)
			continue
		}
		kept = append(kept, name)
	}
	n.table.names = kept
}

func (n *node) keyPosition() Position { return n.src.position(int(n.key)) }
func (n *node) position() Position    { return n.src.position(int(n.at)) }

// number returns the value of an integer or float as written.
func (n *node) number() (float64, error) {
	digits := strings.ReplaceAll(n.text, "_", "")
	if n.kind == integerNode {
		i, err := strconv.ParseInt(digits, 0, 64)
		return float64(i), err
	}
	if strings.TrimLeft(digits, "+-") == "nan" {
		return math.NaN(), nil
	}
	return strconv.ParseFloat(digits, 64) // which knows inf
}

// integer returns the value of an integer as written.
func (n *node) integer() (int64, error) {
	return strconv.ParseInt(strings.ReplaceAll(n.text, "_", ""), 0, 64)
}

// parser builds the tree of a file from the syntax events of go-toml.
type parser struct {
	src   *source
	found *collector
	root  *node
	at    *node // the table that key-value lines go to
	// text is that of src, of the same length, with slips of spelling mended;
	// mended tells where values stand that are not what was written.
	text   []byte
	mended []int32
}

// parse returns the tree of a file, nil if it is not TOML. Keys given twice
// are all reported; the first one counts. Slips that can be mended are reported
// and the rest is read all the same.
func parse(src *source, found *collector) *node {
	p := &parser{src: src, found: found, text: slices.Clip(slices.Clone(src.text))}
	before := len(found.errs)
	for {
		said := len(found.errs)
		err := p.expressions()
		if err == nil {
			break
		}
		again := slices.Clone(found.errs[said:]) // would be said once more
		found.errs = found.errs[:said]
		if at := p.offset(err); at >= 0 && len(found.errs)-before < maxMended && p.mend(p.text, at) {
			continue
		}
		found.errs = append(found.errs, again...)
		p.syntaxError(err)
		return nil
	}
	if ships(src) {
		return p.root // a test has it read by both
	}
	// The second reader knows the rules that syntax alone does not show, such
	// as what a number or date may look like.
	var values map[string]any
	if _, err := toml.Decode(string(p.text), &values); err != nil && len(found.errs) == before {
		p.valueError(err)
		return nil
	}
	return p.root
}

// expressions reads the text from its start.
func (p *parser) expressions() error {
	p.root = newTable(p.src, 0, 0)
	p.at = p.root
	var syntax unstable.Parser
	syntax.Reset(p.text)
	for syntax.NextExpression() {
		p.expression(syntax.Expression())
	}
	return syntax.Error()
}

func (p *parser) syntaxError(err error) {
	at := Position{File: p.src.name}
	if offset := p.offset(err); offset >= 0 {
		at = p.src.position(offset)
	}
	message := strings.ReplaceAll(err.Error(), "character U+000A", "end of line")
	p.found.fail(at, syntaxHints[message], "not TOML: %s", message)
}

// syntaxHints tell what the parser's commoner errors ask for.
var syntaxHints = map[string]string{
	"basic strings cannot have new lines":              `close the quote " on its line`,
	"literal strings cannot have new lines":            `close the quote ' on its line`,
	"expected '=' after key":                           "write name = value",
	"expected ']' to close table name":                 "write [name] on a line of its own",
	"expected ',' or '}' after inline table key-value": "a comma between two keys, a brace } at the end, all on one line",
	"unexpected end of line at start of value":         "write the value on the same line",
}

// offset returns where in the text an error of the parser lies, -1 where it
// does not tell.
func (p *parser) offset(err error) int {
	var e *unstable.ParserError
	if errors.As(err, &e) {
		if offset := cap(p.text) - cap(e.Highlight); offset >= 0 && offset <= len(p.text) {
			return offset
		}
	}
	return -1
}

func (p *parser) valueError(err error) {
	var e toml.ParseError
	if errors.As(err, &e) && e.Position.Start >= 0 && e.Position.Start <= len(p.src.text) {
		p.found.fail(p.src.position(e.Position.Start), "", "not TOML: %s", e.Message)
		return
	}
	p.found.fail(Position{File: p.src.name}, "", "not TOML: %s", err)
}

func (p *parser) expression(e *unstable.Node) {
	switch e.Kind {
	case unstable.KeyValue:
		if p.at != nil {
			p.keyValue(p.at, e)
		}
	case unstable.Table, unstable.ArrayTable:
		keys := p.keys(e)
		last := keys[len(keys)-1]
		parent := p.descend(p.root, keys[:len(keys)-1])
		if parent == nil {
			p.at = nil
			return
		}
		p.at = p.header(parent, last, e.Kind == unstable.ArrayTable)
	}
}

// header opens the table of a [table] or [[table]] line.
func (p *parser) header(parent *node, k key, isArray bool) *node {
	have := parent.get(k.name)
	want := tableNode
	if isArray {
		want = arrayNode
	}
	if have == nil {
		have = newTable(p.src, k.at, k.at)
		have.kind = want
		parent.set(k.name, have)
	}
	switch {
	case have.kind != want:
		p.duplicate(k, have)
		return nil
	case !isArray:
		if have.table.opened {
			p.duplicate(k, have)
		}
		have.table.opened = true
		return have
	}
	item := newTable(p.src, k.at, k.at)
	item.table.opened = true
	have.items = append(have.items, item)
	return item
}

type key struct {
	name string
	at   int
	end  int
}

func (p *parser) keys(e *unstable.Node) []key {
	var out []key
	for it := e.Key(); it.Next(); {
		n := it.Node()
		at := int(n.Raw.Offset)
		out = append(out, key{string(n.Data), at, at + int(n.Raw.Length)})
	}
	return out
}

// descend opens the tables that the keys lead through; nil if one is no table.
func (p *parser) descend(n *node, keys []key) *node {
	for _, k := range keys {
		next := n.get(k.name)
		if next == nil {
			next = newTable(p.src, k.at, k.at)
			n.set(k.name, next)
		}
		if next.kind == arrayNode && len(next.items) > 0 {
			next = next.items[len(next.items)-1]
		}
		if next.kind != tableNode {
			p.duplicate(k, next)
			return nil
		}
		n = next
	}
	return n
}

func (p *parser) duplicate(k key, first *node) {
	at := first.keyPosition()
	p.found.fail(p.src.position(k.at), "keep one of them", "%q is already given at line %d, column %d", k.name, at.Line, at.Column)
}

func (p *parser) keyValue(to *node, e *unstable.Node) {
	keys := p.keys(e)
	last := keys[len(keys)-1]
	to = p.descend(to, keys[:len(keys)-1])
	if to == nil {
		return
	}
	if have := to.get(last.name); have != nil {
		p.duplicate(last, have)
		return
	}
	to.set(last.name, p.value(e.Value(), last.at, p.valueStart(last.end)))
}

// valueStart returns where the value after a key begins.
func (p *parser) valueStart(i int) int {
	for i < len(p.text)-1 && strings.IndexByte(" \t=", p.text[i]) >= 0 {
		i++
	}
	return i
}

func (p *parser) value(e *unstable.Node, key, at int) *node {
	n := &node{src: p.src, key: int32(key), at: int32(at)}
	switch e.Kind {
	case unstable.InlineTable:
		n = newTable(p.src, key, at)
		n.table.opened = true
		for it := e.Children(); it.Next(); {
			p.keyValue(n, it.Node())
		}
	case unstable.Array:
		n.kind = arrayNode
		for it := e.Children(); it.Next(); {
			at := p.itemStart(it.Node(), at)
			n.items = append(n.items, p.value(it.Node(), at, at))
		}
	case unstable.String:
		n.kind, n.text = stringNode, string(e.Data)
	case unstable.Integer:
		n.kind, n.text = integerNode, string(e.Data)
	case unstable.Float:
		n.kind, n.text = floatNode, string(e.Data)
	case unstable.Bool:
		n.kind, n.text = boolNode, string(e.Data)
	default:
		n.kind, n.text = dateNode, string(e.Data)
	}
	if p.isMended(at) {
		n.kind = mendedNode
	}
	return n
}

// itemStart returns where an array's item begins. The parser does not tell it
// of arrays within arrays: theirs is the bracket before their first item, or
// else where the outer array begins.
func (p *parser) itemStart(e *unstable.Node, outer int) int {
	if e.Kind != unstable.Array {
		return int(e.Raw.Offset)
	}
	first := e.Child()
	if first == nil {
		return outer
	}
	at := p.itemStart(first, outer)
	for i := at - 1; i > outer; i-- {
		switch p.text[i] {
		case ' ', '\t', '\r', '\n':
		case '[':
			return i
		default:
			return at
		}
	}
	return at
}
