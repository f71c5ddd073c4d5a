package schematic

import (
	"bytes"
	"context"
	"fmt"
	"sort"
	"testing"

	"legtrace/circuit"
)

type stretch struct {
	a, b xy // a left of or above b
	net  int
	wire string
}

func (s stretch) box() box { return box{s.a.x, s.a.y, s.b.x, s.b.y} }

func (s stretch) level() bool { return s.a.y == s.b.y }

func (s stretch) holds(p xy) bool {
	return s.a.x <= p.x && p.x <= s.b.x && s.a.y <= p.y && p.y <= s.b.y
}

func (s stretch) inside(p xy) bool { return s.holds(p) && p != s.a && p != s.b }

// flaws lists everything wrong with a drawing's geometry, in words.
func (s *sheet) flaws(c *circuit.Circuit) []string {
	var out []string
	flaw := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	for i := range c.Parts() {
		if id := "part-" + c.Parts()[i].Name; s.ids[id] != 1 {
			flaw("%s drawn %d times", id, s.ids[id])
		}
	}
	for id, n := range s.ids {
		if n != 1 {
			flaw("id %s used %d times", id, n)
		}
	}
	if len(s.wires) != len(c.Wires()) {
		flaw("%d wires drawn, want %d", len(s.wires), len(c.Wires()))
	}
	for i := range c.Terminals() {
		t := &c.Terminals()[i]
		idle := c.Part(t.Part).Kind == circuit.KindSupply && len(t.Wires) == 0
		if _, ok := s.terminals[t.Ref]; ok == idle {
			flaw("terminal %s drawn %v, idle %v", t.Ref, ok, idle)
		}
	}
	net := s.nets()
	stretches := s.stretches(net, flaw)
	s.textFlaws(stretches, flaw)
	s.wireFlaws(stretches, flaw)
	s.dotFlaws(stretches, flaw)
	s.joinFlaws(c, stretches, flaw)
	sort.Strings(out)
	return out
}

// nets numbers the terminals by what the wires' own data say.
func (s *sheet) nets() map[string]int {
	root := map[string]string{}
	var find func(string) string
	find = func(t string) string {
		if root[t] == "" || root[t] == t {
			return t
		}
		return find(root[t])
	}
	for _, w := range s.wires {
		if a, b := find(w.from), find(w.to); a != b {
			root[b] = a
		}
	}
	number, out := map[string]int{}, map[string]int{}
	for t := range s.terminals {
		r := find(t)
		if _, ok := number[r]; !ok {
			number[r] = len(number)
		}
		out[t] = number[r]
	}
	return out
}

func (s *sheet) stretches(net map[string]int, flaw func(string, ...any)) []stretch {
	var out []stretch
	for _, w := range s.wires {
		if len(w.points) < 2 {
			flaw("%s has no path", w.id)
			continue
		}
		first, last := w.points[0], w.points[len(w.points)-1]
		if first != s.terminals[w.from] || last != s.terminals[w.to] {
			flaw("%s does not end on its terminals", w.id)
		}
		for i := 1; i < len(w.points); i++ {
			a, b := w.points[i-1], w.points[i]
			if a.x != b.x && a.y != b.y {
				flaw("%s runs aslant", w.id)
			}
			if a.x > b.x || a.y > b.y {
				a, b = b, a
			}
			out = append(out, stretch{a, b, net[w.from], w.id})
		}
	}
	return out
}

func (s *sheet) textFlaws(stretches []stretch, flaw func(string, ...any)) {
	for i, t := range s.texts {
		if t.box.x0 < 0 || t.box.y0 < 0 || t.box.x1 > s.width || t.box.y1 > s.height {
			flaw("text %q outside the page", t.s)
		}
		for _, o := range s.texts[i+1:] {
			if t.box.overlaps(o.box) {
				flaw("text %q over text %q", t.s, o.s)
			}
		}
		for _, f := range s.flags {
			if t.box.overlaps(f) {
				flaw("flag over text %q", t.s)
			}
		}
		for _, sym := range s.symbols {
			for _, ink := range sym.ink {
				if t.box.overlaps(ink) {
					flaw("text %q over a symbol at %v", t.s, sym.body)
				}
			}
			if sym.boxed && t.box.overlaps(sym.body) && t.class != "pin" {
				flaw("text %q over a box at %v", t.s, sym.body)
			}
		}
		for _, w := range stretches {
			if t.box.overlaps(grow(w.box(), 0.6)) {
				flaw("text %q over a wire at %v", t.s, w)
				break
			}
		}
		for _, trace := range s.traces {
			if t.box.overlaps(trace) {
				flaw("text %q over a wire's colour at %v", t.s, trace)
				break
			}
		}
	}
	for i, f := range s.flags {
		if f.x0 < 0 || f.y0 < 0 || f.x1 > s.width || f.y1 > s.height {
			flaw("flag outside the page")
		}
		for _, o := range s.flags[i+1:] {
			if f.overlaps(o) {
				flaw("flag over flag")
			}
		}
	}
	s.tagFlaws(stretches, flaw)
}

// tagFlaws checks the marks of test points and of what stays live.
func (s *sheet) tagFlaws(stretches []stretch, flaw func(string, ...any)) {
	for i, g := range s.tags {
		if g.x0 < 0 || g.y0 < 0 || g.x1 > s.width || g.y1 > s.height {
			flaw("mark outside the page")
		}
		for _, o := range append(s.tags[i+1:], s.flags...) {
			if g.overlaps(o) {
				flaw("mark at %v over another", g)
			}
		}
		for _, t := range s.texts {
			if g.overlaps(t.box) {
				flaw("mark at %v over text %q", g, t.s)
			}
		}
		for _, t := range s.tagTexts {
			if t.box.overlaps(g) && (t.box.x0 < g.x0 || t.box.x1 > g.x1 || t.box.y0 < g.y0 || t.box.y1 > g.y1) {
				flaw("text %q runs out of its mark", t.s)
			}
		}
		for _, sym := range s.symbols {
			if g.overlaps(sym.body) {
				flaw("mark at %v over a symbol", g)
			}
		}
		for _, w := range stretches {
			if g.overlaps(grow(w.box(), 0.6)) {
				flaw("mark at %v over a wire", g)
				break
			}
		}
	}
}

func grow(b box, by float64) box { return box{b.x0 - by, b.y0 - by, b.x1 + by, b.y1 + by} }

func (s *sheet) wireFlaws(stretches []stretch, flaw func(string, ...any)) {
	for i, w := range stretches {
		if w.a.x < 0 || w.a.y < 0 || w.b.x > s.width || w.b.y > s.height {
			flaw("wire outside the page")
		}
		for _, sym := range s.symbols {
			if grow(w.box(), 0.5).overlaps(sym.body) {
				flaw("wire at %v through a symbol at %v", w, sym.body)
			}
		}
		for _, o := range stretches[i+1:] {
			if w.net == o.net {
				continue
			}
			if w.level() == o.level() && grow(w.box(), 0.6).overlaps(o.box()) || w.level() == o.level() && w.holds(o.a) || w.level() == o.level() && w.holds(o.b) {
				flaw("wires of different nodes share a line: %v, %v", w, o)
			}
			for _, p := range []xy{o.a, o.b} {
				if w.holds(p) {
					flaw("a wire turns or ends on another node's at %v", p)
				}
			}
			for _, p := range []xy{w.a, w.b} {
				if o.holds(p) {
					flaw("a wire turns or ends on another node's at %v", p)
				}
			}
		}
	}
}

// dotFlaws checks that dots stand exactly where wires that run as one part, and
// that a wire neither turns nor ends on another of its node elsewhere but at a
// terminal: such a place could be read either way.
func (s *sheet) dotFlaws(stretches []stretch, flaw func(string, ...any)) {
	dot, terminal := map[xy]bool{}, map[xy]bool{}
	for _, d := range s.dots {
		dot[d] = true
	}
	for _, t := range s.terminals {
		terminal[t] = true
	}
	corners := map[xy]bool{}
	for _, w := range stretches {
		corners[w.a], corners[w.b] = true, true
	}
	for p := range corners {
		// The directions in which each wire leaves the point, by node.
		ways := map[int]map[string]map[xy]bool{}
		for _, w := range stretches {
			if !w.holds(p) {
				continue
			}
			if ways[w.net] == nil {
				ways[w.net] = map[string]map[xy]bool{}
			}
			of := ways[w.net][w.wire]
			if of == nil {
				of = map[xy]bool{}
				ways[w.net][w.wire] = of
			}
			for _, end := range []xy{w.a, w.b} {
				if end != p {
					of[xy{signOf(end.x - p.x), signOf(end.y - p.y)}] = true
				}
			}
		}
		parts := false
		for _, wires := range ways {
			for i, a := range wires {
				for j, b := range wires {
					common := 0
					for d := range a {
						common += btoi(b[d])
					}
					if i < j && common == 1 && len(a) == 2 && len(b) == 2 {
						parts = true
					}
				}
			}
		}
		if parts != dot[p] && !terminal[p] {
			flaw("wires that run as one part at %v: %v, dot: %v", p, parts, dot[p])
		}
		delete(dot, p)
	}
	for d := range dot {
		flaw("dot at %v where no wire branches", d)
	}
}

func signOf(v float64) float64 {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// joinFlaws follows the lines from terminal to terminal, knowing nothing of
// which wire a line belongs to, and compares with the netlist.
func (s *sheet) joinFlaws(c *circuit.Circuit, stretches []stretch, flaw func(string, ...any)) {
	root := make([]int, len(stretches))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			i = root[i]
		}
		return i
	}
	dot := map[xy]bool{}
	for _, d := range s.dots {
		dot[d] = true
	}
	for i, w := range stretches {
		for j, o := range stretches[:i] {
			joined := false
			for _, p := range []xy{w.a, w.b} {
				joined = joined || o.holds(p) && (!o.inside(p) || dot[p] || w.level() == o.level())
			}
			for _, p := range []xy{o.a, o.b} {
				joined = joined || w.holds(p) && (!w.inside(p) || dot[p] || w.level() == o.level())
			}
			if joined {
				root[find(i)] = find(j)
			}
		}
	}
	at := map[string]int{}
	for ref, p := range s.terminals {
		at[ref] = -1
		for i, w := range stretches {
			if w.a == p || w.b == p {
				at[ref] = find(i)
				break
			}
		}
	}
	want := map[int]int{} // drawn net to netlist net
	for ref, n := range wiredTogether(c) {
		drawn := at[ref]
		if drawn < 0 {
			flaw("no line reaches %s", ref)
			continue
		}
		if have, ok := want[drawn]; ok && have != n {
			flaw("%s is drawn joined to another node", ref)
		}
		want[drawn] = n
	}
	back := map[int]int{}
	for drawn, n := range want {
		if other, ok := back[n]; ok && other != drawn {
			flaw("one node is drawn as two")
		}
		back[n] = drawn
	}
}

// wiredTogether numbers the wired terminals by node.
func wiredTogether(c *circuit.Circuit) map[string]int {
	group := make([]int, len(c.Terminals()))
	for i := range group {
		group[i] = i
	}
	for changed := true; changed; {
		changed = false
		for _, w := range c.Wires() {
			if m := min(group[w.From], group[w.To]); group[w.From] != m || group[w.To] != m {
				group[w.From], group[w.To], changed = m, m, true
			}
		}
	}
	out := map[string]int{}
	for i, t := range c.Terminals() {
		if len(t.Wires) > 0 {
			out[t.Ref] = group[i]
		}
	}
	return out
}

func TestGeometryOfShippedMachines(t *testing.T) {
	for _, c := range append(shipped(t), everyKind(t), threePhases(t)) {
		plan, err := Arrange(context.Background(), c, nil)
		if err != nil {
			t.Fatalf("%s: %v", c.Name(), err)
		}
		for i := range c.Modes() {
			for look := range 4 {
				if look > 0 && i > 0 {
					break // neither symbols nor themes move anything: one mode shows it
				}
				d := drawn(t, c, circuit.ModeID(i))
				d.Symbols, d.Theme = Symbols(1+look%2), []Theme{Light, Light, Dark, Monochrome}[look]
				if i%2 == 1 {
					d.FaultVolts = lost(d.Volts)
					cut(&d)
				}
				var b bytes.Buffer
				if err := plan.Render(&b, d); err != nil {
					t.Fatalf("%s, %s: %v", c.Name(), c.Modes()[i].Name, err)
				}
				for _, f := range readSheet(t, b.Bytes()).flaws(c) {
					t.Errorf("%s, %s: %s", c.Name(), c.Modes()[i].Name, f)
				}
			}
		}
	}
}
