package schematic

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
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
	traces        []box // the sleeves of wires' colours
	flags         []box
	tags          []box
	tagTexts      []readText // inside marks
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
				case a["data-tag"] != "":
					f := numbers(t, a["data-tag"])
					s.tags = append(s.tags, box{f[0], f[1], f[2], f[3]})
				case a["data-box"] != "":
					f := numbers(t, a["data-box"])
					s.symbols = append(s.symbols, readSymbol{body: box{f[0], f[1], f[2], f[3]}})
				case a["data-from"] != "":
					s.wires = append(s.wires, readWire{id: a["id"], from: a["data-from"], to: a["data-to"]})
					wire = &s.wires[len(s.wires)-1]
				}
			case "rect":
				if a["class"] == "sleeve" {
					x, y := number(t, a["x"]), number(t, a["y"])
					s.traces = append(s.traces, box{x, y, x + number(t, a["width"]), y + number(t, a["height"])})
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
				if in("flag") || a["transform"] != "" {
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
				read := readText{body, a["class"], box{x, y - 0.72*size, x + w, y + 0.2*size}}
				if in("tag") {
					s.tagTexts = append(s.tagTexts, read)
				} else {
					s.texts = append(s.texts, read)
				}
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
