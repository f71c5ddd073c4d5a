package schematic

import (
	"fmt"
	"sort"
	"strings"
)

// mostShared is how many wires one name beside a shared stretch may list.
const mostShared = 3

// placeWireNames writes each wire's name and colour beside it where there is
// room: where the wire runs alone if it does somewhere, otherwise beside a
// stretch that it shares with few, naming them all. A wire that finds no room
// is named in the legend.
func (l *layout) placeWireNames() {
	for _, n := range l.nets {
		if len(n.wires) == 0 {
			continue
		}
		groups := l.shares(n, mostShared)
		named := map[int]bool{}
		for _, g := range groups {
			if g.all(named) {
				continue
			}
			t := text{size: smallSize, class: "wirename", s: l.wireNames(g.wires), wire: l.runs[g.wires[0]].wire}
			if l.tryBeside(l.router.segments(g.edges), n.id, t) {
				for _, w := range g.wires {
					named[w] = true
				}
			}
		}
		for _, id := range n.wires {
			if w := l.c.Wire(id); !named[int(id)] {
				l.unplaced = append(l.unplaced, [2]string{l.wireNames([]int{int(id)}), l.c.Terminal(w.From).Ref + " to " + l.c.Terminal(w.To).Ref})
			}
		}
	}
}

// share is the stretches of a net that exactly these wires use.
type share struct {
	wires []int
	edges map[int]uint8
}

func (s share) all(named map[int]bool) bool {
	for _, w := range s.wires {
		if !named[w] {
			return false
		}
	}
	return true
}

// shares sorts a net's edges by the wires that use them, fewest first, and
// leaves out what more than most use.
func (l *layout) shares(n *net, most int) []share {
	type edge struct{ at, dir int }
	users := map[edge][]int{}
	var order []edge
	for _, id := range n.wires {
		own := map[int]uint8{}
		l.router.mark(own, l.runs[id].points)
		for _, at := range l.runs[id].points {
			for _, dir := range []int{east, south} {
				if own[at]&(1<<dir) == 0 {
					continue
				}
				e := edge{at, dir}
				if users[e] == nil {
					order = append(order, e)
				}
				users[e] = append(users[e], int(id))
			}
		}
	}
	at := map[string]int{}
	var out []share
	for _, e := range order {
		ws := users[e]
		if len(ws) > most {
			continue
		}
		key := fmt.Sprint(ws)
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, share{ws, map[int]uint8{}})
		}
		out[i].edges[e.at] |= 1 << e.dir
		out[i].edges[e.at+stepX[e.dir]+stepY[e.dir]*l.router.nx] |= 1 << (e.dir + 2)
	}
	sort.SliceStable(out, func(i, j int) bool { return len(out[i].wires) < len(out[j].wires) })
	return out
}

// wireNames lists wires with their colours, a colour shared by all once.
func (l *layout) wireNames(ids []int) string {
	var names []string
	same := true
	first := l.runs[ids[0]].wire.Colour
	for _, id := range ids {
		same = same && l.runs[id].wire.Colour == first
	}
	for _, id := range ids {
		w := l.runs[id].wire
		s := w.Name
		if !same && w.Colour != "" {
			s += " " + w.Colour
		}
		names = append(names, s)
	}
	s := strings.Join(names, ", ")
	if same && first != "" {
		s += " " + first
	}
	return s
}
