// Package chart writes what is best drawn as a graph of boxes and arrows: [Plan]
// the troubleshooting flowchart of a plan, [Nets] a map of a machine's nets.
//
// Both write DOT, the language of Graphviz, for cmd/legtrace-chart to draw and
// for anybody's tools.
package chart

import (
	"strings"

	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/encoding"
	"gonum.org/v1/gonum/graph/encoding/dot"
	"gonum.org/v1/gonum/graph/multi"

	"legtrace/render/report"
)

// font is one whose widths Graphviz knows, and what else may be there.
const font = "Arial,Liberation Sans,Helvetica,DejaVu Sans,sans-serif"

// attributes are of a graph, a node or a line, in order: key, value, ...
type attributes []string

// Attributes implements [encoding.Attributer].
func (a attributes) Attributes() []encoding.Attribute {
	var list []encoding.Attribute
	for i := 0; i < len(a); i += 2 {
		value := strings.ReplaceAll(a[i+1], "\u00a0", " ") // it would be written as a code
		if strings.HasPrefix(value, "<") || strings.HasPrefix(value, `"`) {
			value = " " + value // it is text, neither HTML nor quoted already
		}
		list = append(list, encoding.Attribute{Key: a[i], Value: value})
	}
	return list
}

// node and line are those of a graph, with how they look.
type node struct {
	graph.Node
	attributes
}

type line struct {
	graph.Line
	attributes
}

// chart is a graph with how it looks.
type chart struct {
	*multi.DirectedGraph
	all, nodes, lines attributes
}

// DOTAttributers implements [dot.Attributers].
func (c *chart) DOTAttributers() (all, nodes, lines encoding.Attributer) {
	return c.all, c.nodes, c.lines
}

// newChart begins a chart that runs in a direction, TB or LR, with a title above
// it and the cautions below.
func newChart(direction string, title ...string) *chart {
	label := title
	for _, caution := range report.Cautions() {
		label = append(label, report.Wrap(caution, 70)...)
	}
	return &chart{multi.NewDirectedGraph(),
		attributes{"rankdir", direction, "label", strings.Join(label, "\n") + "\n ", "labelloc", "t", "fontname", font, "fontsize", "14", "nodesep", "0.15", "ranksep", "0.3"},
		attributes{"shape", "box", "fontname", font, "fontsize", "12", "margin", "0.08,0.06"},
		attributes{"fontname", font, "fontsize", "11"}}
}

// put adds a node.
func (c *chart) put(look ...string) node {
	n := node{c.NewNode(), look}
	c.AddNode(n)
	return n
}

// join adds a line.
func (c *chart) join(from, to node, look ...string) {
	c.SetLine(line{c.NewLine(from, to), look})
}

// dot writes the chart.
func (c *chart) dot(name string) ([]byte, error) {
	text, err := dot.MarshalMulti(c, name, "", "\t")
	return append(text, '\n'), err
}

// wrapped breaks texts into lines that fit a box. Spaces about each, which are not
// seen, keep room for a font wider than the one the box is laid out for: the
// widest that is common has a seventh more.
func wrapped(width int, texts ...string) string {
	var lines []string
	for _, t := range texts {
		if t == "" {
			continue
		}
		for _, l := range report.Wrap(t, width) {
			room := strings.Repeat(" ", 2+len(l)/7)
			lines = append(lines, room+l+room)
		}
	}
	return strings.Join(lines, "\n")
}
