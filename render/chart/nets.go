package chart

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// nets is what a map is made from: the runs of wires and connectors, each one
// potential, and the branches between them.
type nets struct {
	c     *circuit.Circuit
	runs  []int32
	legs  map[int32]string // the runs of the supply's terminals, by what feeds them
	steps map[int32]int    // how many branches lie between a run and a leg
}

// Nets is the map of a machine's nets: an oval for each run of wires at one
// potential, boxes for what lies between two of them, from the legs on.
func Nets(c *circuit.Circuit) ([]byte, error) {
	m := &nets{c: c, runs: c.Runs(), legs: map[int32]string{}}
	m.feed()
	m.distances()
	d := newChart("LR", "Map of nets", c.Title(), "", "Ovals: runs of wire, each at one potential. Boxes: what lies between two.", "Grey: loads. Bold ovals: what the supply feeds.", "")
	nodes := map[int32]node{}
	for _, run := range m.used() {
		look := []string{"shape", "ellipse", "margin", "0.02,0.02", "label", m.label(run)}
		if m.legs[run] != "" {
			look = append(look, "style", "bold")
		}
		nodes[run] = d.put(look...)
	}
	for _, b := range m.between() {
		look := []string{"label", wrapped(26, c.Label(b.ID), m.rating(b), b.Ref)}
		if b.Role == circuit.Load {
			look = append(look, "style", "filled,bold", "fillcolor", "gray92")
		}
		n, from, to := d.put(look...), m.runs[b.A], m.runs[b.B]
		if m.steps[to] < m.steps[from] {
			from, to = to, from
		}
		d.join(nodes[from], n, "dir", "none")
		d.join(n, nodes[to], "dir", "none")
	}
	return d.dot("nets")
}

// feed names the runs that the supply feeds.
func (m *nets) feed() {
	s := m.c.Supply()
	for _, id := range append(slices.Clone(s.Legs), s.Neutral, s.Earth) {
		if id == circuit.None {
			continue
		}
		b := m.c.Branch(id)
		for _, t := range []circuit.TerminalID{b.A, b.B} {
			if t != circuit.None && strings.HasPrefix(m.c.Terminal(t).Ref, "supply.") {
				m.legs[m.runs[t]] = m.c.Terminal(t).Name
			}
		}
	}
}

// between are the branches that lie between two runs.
func (m *nets) between() []*circuit.Branch {
	var list []*circuit.Branch
	all := m.c.Branches()
	for i := range all {
		if b := &all[i]; b.Part != circuit.None && b.Role != circuit.Source && b.A != circuit.None && b.B != circuit.None && m.runs[b.A] != m.runs[b.B] {
			list = append(list, b)
		}
	}
	return list
}

// used are the runs that a branch ends on, in the order of their terminals.
func (m *nets) used() []int32 {
	has := map[int32]bool{}
	for _, b := range m.between() {
		has[m.runs[b.A]], has[m.runs[b.B]] = true, true
	}
	var list []int32
	for _, run := range m.runs {
		if has[run] {
			list = append(list, run)
			delete(has, run)
		}
	}
	return list
}

// distances counts the branches from the legs to each run, breadth first; what
// the neutral and the earth feed comes last.
func (m *nets) distances() {
	m.steps = map[int32]int{}
	next := map[int32][]int32{}
	for _, b := range m.between() {
		a, z := m.runs[b.A], m.runs[b.B]
		next[a], next[z] = append(next[a], z), append(next[z], a)
	}
	var queue []int32
	for _, run := range m.used() {
		if name := m.legs[run]; name != "" && name != "N" && name != "G" {
			m.steps[run] = 0
			queue = append(queue, run)
		}
	}
	for ; len(queue) > 0; queue = queue[1:] {
		for _, run := range next[queue[0]] {
			if _, seen := m.steps[run]; !seen {
				m.steps[run] = m.steps[queue[0]] + 1
				if m.legs[run] == "" { // not on through the neutral
					queue = append(queue, run)
				}
			}
		}
	}
}

// label names a run: by what feeds it or where it is probed, and by its wires.
func (m *nets) label(run int32) string {
	const most = 5
	name := m.legs[run]
	var wires []string
	for _, t := range m.c.Terminals() {
		if m.runs[t.ID] != run {
			continue
		}
		if p := m.c.PointAt(t.ID); name == "" && p != nil {
			name = p.Name
		}
		for _, id := range t.Wires {
			w := m.c.Wire(id)
			if text := strings.TrimSpace(w.Name + " " + w.Colour); !slices.Contains(wires, text) {
				wires = append(wires, text)
			}
		}
	}
	if extra := len(wires) - most; extra > 1 {
		wires = append(wires[:most], fmt.Sprintf("%d more", extra))
	}
	if name == "" && len(wires) == 0 { // terminals that nothing is wired to
		for _, t := range m.c.Terminals() {
			if m.runs[t.ID] == run {
				name = t.Ref
				break
			}
		}
	}
	return wrapped(24, name, strings.Join(wires, ", "))
}

// rating tells what a load is rated.
func (m *nets) rating(b *circuit.Branch) string {
	if b.Role != circuit.Load || b.Watts == 0 {
		return ""
	}
	return fmt.Sprintf("%g W", b.Watts)
}
