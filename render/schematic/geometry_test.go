package schematic

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"legtrace/circuit"
)

// failer is what testing.T and rapid.T share.
type failer interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// sheet is a drawing read back from its SVG alone.
type sheet struct {
	width, height float64
	texts         []readText
	symbols       []readSymbol
	wires         []readWire
	dots          []xy
	flags         []box
	terminals     map[string]xy
	ids           map[string]int
}

type xy struct{ x, y float64 }

type box struct{ x0, y0, x1, y1 float64 }

func (a box) overlaps(b box) bool {
	const touch = 0.01
	return a.x0 < b.x1-touch && b.x0 < a.x1-touch && a.y0 < b.y1-touch && b.y0 < a.y1-touch
}

type readText struct {
	s, class string
	box      box
}

type readSymbol struct {
	body  box
	ink   []box
	boxed bool // a rectangle with text inside
}

type readWire struct {
	id, from, to string
	points       []xy
}

// readSheet parses a drawing. It knows the attributes that the package comment
// promises, nothing of the layout.
func readSheet(t failer, svg []byte) *sheet {
	t.Helper()
	s := &sheet{terminals: map[string]xy{}, ids: map[string]int{}}
	face := newFace(t)
	dec := xml.NewDecoder(bytes.NewReader(svg))
	type open struct {
		class string
		attrs map[string]string
	}
	var stack []open
	var wire *readWire
	in := func(class string) bool {
		for _, o := range stack {
			for _, c := range strings.Fields(o.class) {
				if c == class {
					return true
				}
			}
		}
		return false
	}
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch el := tok.(type) {
		case xml.StartElement:
			a := map[string]string{}
			for _, at := range el.Attr {
				a[at.Name.Local] = at.Value
			}
			if id := a["id"]; id != "" {
				s.ids[id]++
			}
			stack = append(stack, open{a["class"], a})
			switch el.Name.Local {
			case "svg":
				s.width, s.height = number(t, a["width"]), number(t, a["height"])
			case "g":
				switch {
				case a["data-box"] != "":
					f := numbers(t, a["data-box"])
					s.symbols = append(s.symbols, readSymbol{body: box{f[0], f[1], f[2], f[3]}})
				case a["data-from"] != "":
					s.wires = append(s.wires, readWire{id: a["id"], from: a["data-from"], to: a["data-to"]})
					wire = &s.wires[len(s.wires)-1]
				}
			case "path":
				pts, closed := pathPoints(t, a["d"])
				switch {
				case in("symbol"):
					sym := &s.symbols[len(s.symbols)-1]
					if closed && pts[2].x-pts[0].x >= 2*boxReach-2*step-1 {
						sym.boxed = true
					} else {
						sym.ink = append(sym.ink, inkOf(pts, closed)...)
					}
				case in("wire"):
					wire.points = pts
				}
			case "circle", "ellipse":
				c := xy{number(t, a["cx"]), number(t, a["cy"])}
				switch {
				case a["data-terminal"] != "":
					s.terminals[a["data-terminal"]] = c
				case in("symbol"):
					rx, ry := a["r"], a["r"]
					if rx == "" {
						rx, ry = a["rx"], a["ry"]
					}
					w, h := number(t, rx), number(t, ry)
					sym := &s.symbols[len(s.symbols)-1]
					sym.ink = append(sym.ink, box{c.x - w, c.y - h, c.x + w, c.y + h})
				case in("flag"):
					r := number(t, a["r"])
					s.flags = append(s.flags, box{c.x - r, c.y - r, c.x + r, c.y + r})
				case a["class"] == "dot":
					s.dots = append(s.dots, c)
				}
			case "text":
				if in("flag") {
					break
				}
				size := number(t, a["font-size"])
				body, err := textOf(dec)
				if err != nil {
					t.Fatal(err)
				}
				stack = stack[:len(stack)-1]
				w := float64(font.MeasureString(face, body)) / 64 * size / faceSize
				x, y := number(t, a["x"]), number(t, a["y"])
				switch a["text-anchor"] {
				case "middle":
					x -= w / 2
				case "end":
					x -= w
				}
				s.texts = append(s.texts, readText{body, a["class"], box{x, y - 0.72*size, x + w, y + 0.2*size}})
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
	return s
}

const faceSize = 100

// newFace measures text with a font that the layout does not know.
func newFace(t failer) font.Face {
	t.Helper()
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: faceSize, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	return face
}

func textOf(dec *xml.Decoder) (string, error) {
	var b strings.Builder
	for {
		tok, err := dec.Token()
		if err != nil {
			return "", err
		}
		switch el := tok.(type) {
		case xml.CharData:
			b.Write(el)
		case xml.EndElement:
			return b.String(), nil
		}
	}
}

func number(t failer, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is not a number", s)
	}
	return v
}

func numbers(t failer, s string) []float64 {
	t.Helper()
	var out []float64
	for _, f := range strings.Fields(s) {
		out = append(out, number(t, f))
	}
	return out
}

// pathPoints reads M, L, A and Z; an arc counts as the chord's box.
func pathPoints(t failer, d string) (pts []xy, closed bool) {
	t.Helper()
	for _, piece := range strings.FieldsFunc(strings.NewReplacer("M", "|M ", "L", "|L ", "A", "|A ", "Z", "|Z ").Replace(d), func(r rune) bool { return r == '|' }) {
		f := strings.Fields(piece)
		if f[0] == "Z" {
			closed = true
			continue
		}
		v := numbers(t, strings.Join(f[1:], " "))
		pts = append(pts, xy{v[len(v)-2], v[len(v)-1]})
	}
	return pts, closed
}

// inkOf turns lines into thin boxes and areas into their outline's box.
func inkOf(pts []xy, closed bool) []box {
	var out []box
	whole := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i, p := range pts {
		whole = box{min(whole.x0, p.x), min(whole.y0, p.y), max(whole.x1, p.x), max(whole.y1, p.y)}
		if i > 0 {
			q := pts[i-1]
			out = append(out, box{min(p.x, q.x) - 0.5, min(p.y, q.y) - 0.5, max(p.x, q.x) + 0.5, max(p.y, q.y) + 0.5})
		}
	}
	if closed {
		return []box{whole}
	}
	return out
}

type stretch struct {
	a, b xy // a left of or above b
	net  int
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
		if _, ok := s.terminals[c.Terminals()[i].Ref]; !ok {
			flaw("terminal %s not drawn", c.Terminals()[i].Ref)
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
			out = append(out, stretch{a, b, net[w.from]})
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

// dotFlaws checks that dots stand exactly where drawn lines branch.
func (s *sheet) dotFlaws(stretches []stretch, flaw func(string, ...any)) {
	dot := map[xy]bool{}
	for _, d := range s.dots {
		dot[d] = true
	}
	ways := func(p xy, net int) int {
		dirs := map[xy]bool{}
		for _, w := range stretches {
			if w.net != net || !w.holds(p) {
				continue
			}
			if p != w.a {
				dirs[xy{sign(w.a.x - p.x), sign(w.a.y - p.y)}] = true
			}
			if p != w.b {
				dirs[xy{sign(w.b.x - p.x), sign(w.b.y - p.y)}] = true
			}
		}
		return len(dirs)
	}
	seen := map[xy]bool{}
	for _, w := range stretches {
		for _, p := range []xy{w.a, w.b} {
			if seen[p] {
				continue
			}
			seen[p] = true
			if n := ways(p, w.net); n > 2 != dot[p] {
				flaw("%d lines meet at %v, dot %v", n, p, dot[p])
			}
		}
	}
	for d := range dot {
		if !seen[d] {
			flaw("dot at %v where no wire branches", d)
		}
	}
}

func sign(v float64) float64 {
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
	for _, c := range append(shipped(t), everyKind(t)) {
		for i := range c.Modes() {
			for _, symbols := range []Symbols{IEC, IEEE} {
				d := drawn(t, c, circuit.ModeID(i))
				d.Symbols = symbols
				var b bytes.Buffer
				if err := Render(context.Background(), &b, d); err != nil {
					t.Fatalf("%s, %s: %v", c.Name(), c.Modes()[i].Name, err)
				}
				for _, f := range readSheet(t, b.Bytes()).flaws(c) {
					t.Errorf("%s, %s: %s", c.Name(), c.Modes()[i].Name, f)
				}
			}
		}
	}
}
