package schematic

import (
	"slices"
	"sort"
	"strings"

	"legtrace/circuit"
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
			if w := l.c.Wire(id); !named[int(id)] && !l.tryLeader(w) {
				l.unplaced = append(l.unplaced, [2]string{l.wireNames([]int{int(id)}), l.c.Terminal(w.From).Ref + " to " + l.c.Terminal(w.To).Ref})
			}
		}
	}
}

// tryLeader writes a wire's name near by, with a line to it that crosses no
// other.
func (l *layout) tryLeader(w *circuit.Wire) bool {
	t := tag{layer: layerNone, s: l.wireNames([]int{int(w.ID)}), leader: true, title: l.wireTitle(w)}
	for _, t.at = range l.aims(w) {
		if l.tryTag(&t, textWidth(t.s, smallSize)+4, tagRings, item.any) {
			l.tags = append(l.tags, t)
			l.taken.add(t.area.grown(tagClear), -1)
			return true
		}
	}
	return false
}

// nameSplices writes the names of splices that sit on a line beside them.
func (l *layout) nameSplices() {
	for _, u := range l.units {
		if !u.seated {
			continue
		}
		name := strings.Join(u.label, " ")
		t := tag{layer: layerNone, s: name, leader: true, title: name, at: point{u.x, u.y}}
		if wide := textWidth(name, smallSize) + 4; !l.tryTag(&t, wide, tagRings, item.any) && !l.tryTag(&t, wide, tagRings, item.solid) {
			l.unplaced = append(l.unplaced, [2]string{name, l.c.Terminal(u.pins[0].terminal).Ref})
			continue
		}
		l.tags = append(l.tags, t)
		l.taken.add(t.area.grown(tagClear), -1)
	}
}

// aims lists the points of a wire that a line may lead to, those first that it
// shares with fewest others; none is near another node's wire.
func (l *layout) aims(w *circuit.Wire) []point {
	var out []point
	n := l.netOf[w.From]
	for _, g := range l.shares(n, len(l.runs)) {
		if !slices.Contains(g.wires, int(w.ID)) {
			continue
		}
		for _, s := range byLength(l.router.segments(g.edges)) {
			dx, dy := btoi(s.horizontal()), btoi(!s.horizontal())
			for off := 0; off <= s.length()/2; off += step {
				p := point{roundUp((s.a.x+s.b.x)/2, step) - off*dx, roundUp((s.a.y+s.b.y)/2, step) - off*dy}
				if l.taken.nearOwn(rect{p.x, p.y, p.x, p.y}, n.id) {
					out = append(out, p)
				}
			}
		}
		break
	}
	return append(out, l.spot(w.From), l.spot(w.To))
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

// shares lists the stretches of a net by the wires that use them, fewest first,
// and leaves out what more than most use.
func (l *layout) shares(n *net, most int) []share {
	all := l.shared[n.id]
	fit := sort.Search(len(all), func(i int) bool { return len(all[i].wires) > most })
	return all[:fit]
}

// share sorts every net's edges by the wires that use them.
func (l *layout) share() {
	l.shared = make([][]share, len(l.nets))
	for _, n := range l.nets {
		l.shared[n.id] = l.shareOut(n)
	}
}

func (l *layout) shareOut(n *net) []share {
	type edge struct{ at, dir int }
	users := map[edge][]int{}
	var order []edge
	for _, id := range n.wires {
		points := l.runs[id].points
		for k := 1; k < len(points); k++ {
			e := edge{min(points[k-1], points[k]), east}
			if abs(points[k]-points[k-1]) != 1 {
				e.dir = south
			}
			if users[e] == nil {
				order = append(order, e)
			}
			users[e] = append(users[e], int(id))
		}
	}
	var out []share
	for _, e := range order {
		ws := users[e]
		i := slices.IndexFunc(out, func(s share) bool { return slices.Equal(s.wires, ws) })
		if i < 0 {
			i = len(out)
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
