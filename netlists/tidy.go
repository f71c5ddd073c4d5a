package netlists

import (
	"errors"
	"strings"
)

// Tidy gives a netlist the house look and keeps every comment. What the file
// says stays as it is: the order, the spelling of numbers and texts, and
// whether a list is spread over lines. It has to be TOML, and may still be
// wrong as a netlist. The error is of type [Errors] where it is not TOML.
//
// In the house look the names and the equal signs of parts, wires and test
// points stand below one another, down to the next blank line or comment, and
// so do the ends of wires. A blank line stands above each table, none below its
// header, and nowhere two.
func Tidy(name string, text []byte) ([]byte, error) {
	var found collector
	before := parseVetted(name, text, &found)
	if found.failed() {
		return nil, found.sorted()
	}
	tidied := []byte(layOut(textLines(before.src.text)))
	after := parseVetted(name, tidied, &found)
	if after == nil || !before.same(after) {
		return nil, errors.New("tidying would change what the netlist says, which is a mistake in legtrace; nothing was done")
	}
	return tidied, nil
}

func parseVetted(name string, text []byte, found *collector) *node {
	src := newSource(name, text, found)
	if src == nil {
		return nil
	}
	return parse(src, found)
}

// same reports whether two trees hold the same in the same order.
func (n *node) same(other *node) bool {
	if n.kind != other.kind || n.text != other.text || len(n.items) != len(other.items) {
		return false
	}
	for i := range n.items {
		if !n.items[i].same(other.items[i]) {
			return false
		}
	}
	if n.kind != tableNode {
		return true
	}
	if len(n.table.names) != len(other.table.names) {
		return false
	}
	for i, name := range n.table.names {
		if other.table.names[i] != name || !n.get(name).same(other.get(name)) {
			return false
		}
	}
	return true
}

func layOut(lines []textLine) string {
	setBlanks(lines)
	var b strings.Builder
	table := ""
	for i := 0; i < len(lines); {
		n := 1
		switch {
		case lines[i].header != "":
			table = lines[i].header
			writeLine(&b, lines[i], lines[i].header)
		case lines[i].key == "":
			writeLine(&b, lines[i], "")
		default:
			n = groupSize(lines[i:])
			writeGroup(&b, lines[i:i+n], table)
		}
		i += n
	}
	return b.String()
}

// setBlanks puts the blank lines where the house look has them.
func setBlanks(lines []textLine) {
	for i := range lines {
		if i > 0 && lines[i-1].header != "" {
			lines[i].blank = false
		}
	}
	for i := range lines {
		if lines[i].header == "" {
			continue
		}
		// A header's comments are those on the lines right above it.
		first := i
		for first > 0 && !lines[first].blank && lines[first-1].header == "" && lines[first-1].key == "" {
			first--
		}
		lines[first].blank = true
	}
	if len(lines) > 0 {
		lines[0].blank = false
	}
}

// groupSize returns how many lines from the first give values one below the
// other.
func groupSize(lines []textLine) int {
	n := 1
	for n < len(lines) && lines[n].key != "" && !lines[n].blank {
		n++
	}
	return n
}

// inColumns lists the tables whose names stand in a column.
var inColumns = map[string]bool{"[parts]": true, "[wires]": true, "[points]": true, "[panels]": true, "[places]": true, "[bodies]": true}

func writeGroup(b *strings.Builder, lines []textLine, table string) {
	widest := 0
	if inColumns[table] {
		for _, l := range lines {
			widest = max(widest, width(l.key))
		}
	}
	values := make([]*form, len(lines))
	for i, l := range lines {
		values[i] = l.value
	}
	var ends []string
	if table == "[wires]" {
		ends = wireColumns(values, 2)
	}
	for i, l := range lines {
		value := ""
		if ends != nil {
			value = ends[i]
		}
		if value == "" {
			value = l.value.print(0, table == "" && l.key == "wires")
		}
		writeLine(b, l, pad(l.key, widest)+" = "+value)
	}
}

func writeLine(b *strings.Builder, l textLine, text string) {
	if l.blank {
		b.WriteByte('\n')
	}
	if text != "" && l.comment != "" {
		text += " "
	}
	b.WriteString(text + l.comment + "\n")
}

// print writes a value that stands so many brackets deep.
func (f *form) print(depth int, wires bool) string {
	switch {
	case f.open == "":
		return f.text
	case len(f.rows) == 0 && f.comment == "":
		return f.open + f.close
	case !f.spread:
		s := joinItems(f.rows[0].items, depth+1)
		if f.open == "{" {
			s = " " + s + " "
		}
		return f.open + s + f.close
	}
	var b strings.Builder
	b.WriteString(strings.TrimRight(f.open+" "+f.comment, " ") + "\n")
	var ends []string
	if wires {
		ends = wireColumns(rowValues(f.rows), 3)
	}
	for i, row := range f.rows {
		if row.blank {
			b.WriteByte('\n')
		}
		b.WriteString(strings.Repeat("  ", depth+1))
		if len(row.items) > 0 {
			if ends != nil && ends[i] != "" {
				b.WriteString(ends[i])
			} else {
				b.WriteString(joinItems(row.items, depth+1))
			}
			b.WriteByte(',')
			if row.comment != "" {
				b.WriteByte(' ')
			}
		}
		b.WriteString(row.comment + "\n")
	}
	b.WriteString(strings.Repeat("  ", depth) + f.close)
	return b.String()
}

func joinItems(items []formItem, depth int) string {
	var out []string
	for _, item := range items {
		s := item.value.print(depth, false)
		if item.key != "" {
			s = item.key + " = " + s
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

// rowValues returns the values of rows that hold one each, nil for the others.
func rowValues(rows []formRow) []*form {
	out := make([]*form, len(rows))
	for i, row := range rows {
		if len(row.items) == 1 {
			out[i] = row.items[0].value
		}
	}
	return out
}

// wireColumns writes wires on lines of their own with the first so many entries
// below one another. What is no wire on a single line is left empty.
func wireColumns(values []*form, aligned int) []string {
	var rows [][]entry
	var at []int
	for i, f := range values {
		if f == nil || f.open != "{" || f.spread {
			continue
		}
		var row []entry
		oneLine := true
		if len(f.rows) > 0 {
			for _, item := range f.rows[0].items {
				value := item.value.print(1, false)
				oneLine = oneLine && !strings.Contains(value, "\n")
				row = append(row, entry{item.key, value})
			}
		}
		if oneLine {
			rows, at = append(rows, row), append(at, i)
		}
	}
	out := make([]string, len(values))
	for i, s := range columns(rows, aligned) {
		out[at[i]] = s
	}
	return out
}
