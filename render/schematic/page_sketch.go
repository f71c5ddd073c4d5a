package schematic

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// sketch is a view of the machine: its outline, and a numbered box for each
// place that the view shows.
type sketch struct {
	view  string
	boxes []sketchBox
}

// sketchBox is a place, or several at the same spot.
type sketchBox struct {
	circuit.Box
	numbers []int
}

// The size of a sketch, in pixels.
const sketchWide, sketchDeep = 320, 240

func (s *sketch) size() (w, h int)                { return sketchWide, headingDeep + sketchDeep + 4 }
func (s *sketch) split(int) (first, rest exhibit) { return nil, nil }

func (s *sketch) write(_ *Drawing, b *strings.Builder, x, y int) {
	b.WriteString("<g class=\"sketch\">\n")
	text{x: x, y: y + 12, size: labelSize, class: "heading", s: "Seen from: " + s.view}.write(b)
	y += headingDeep
	fmt.Fprintf(b, "<rect class=\"outline\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", x, y, sketchWide, sketchDeep)
	var taken []rect
	for _, o := range s.boxes {
		bx, by := float64(x)+o.X*sketchWide/100, float64(y)+o.Y*sketchDeep/100
		w, h := o.W*sketchWide/100, o.H*sketchDeep/100
		fmt.Fprintf(b, "<rect class=\"place\" x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/>\n", num(round1(bx)), num(round1(by)), num(round1(w)), num(round1(h)))
		var names []string
		for _, n := range o.numbers {
			names = append(names, fmt.Sprint(n))
		}
		t := text{anchor: middle, size: smallSize, class: "heading", s: strings.Join(names, " ")}
		side := float64(boldWidth(t.s, smallSize)/2 + 4)
		// In the middle, in a corner, or beside the box.
		for _, at := range [][2]float64{{w / 2, h/2 + 4}, {side, 11}, {w - side, 11}, {side, h - 4}, {w - side, h - 4}, {w + side, h/2 + 4}, {-side, h/2 + 4}} {
			t.x, t.y = int(bx+at[0]), int(by+at[1])
			if !slices.ContainsFunc(taken, t.box().grown(3).overlaps) {
				break
			}
		}
		taken = append(taken, t.box())
		t.write(b)
	}
	b.WriteString("</g>\n")
}

// placeTable shows where things are: a sketch of each view, and a list of the
// places with what stands in front of them and what is there.
func (d *Drawing) placeTable() []exhibit {
	var views []*sketch
	t := &grid{heading: "Places, by the numbers in the sketches", head: []string{"No.", "Place", "Open first", "Parts there"}}
	for i := range d.Circuit.Places() {
		p := &d.Circuit.Places()[i]
		var open, parts []string
		for _, id := range d.Circuit.PanelsTo(p.Name) {
			open = append(open, d.Circuit.Panels()[id].Label)
		}
		for k := range d.Circuit.Parts() {
			if part := d.Circuit.Part(circuit.PartID(k)); part.Place == p.Name {
				parts = append(parts, part.Label)
			}
		}
		t.rows = append(t.rows, []string{fmt.Sprint(i + 1), p.Name, strings.Join(open, ", then "), strings.Join(parts, ", ")})
		if p.Box == nil {
			continue
		}
		at := slices.IndexFunc(views, func(s *sketch) bool { return s.view == p.Box.View })
		if at < 0 {
			at = len(views)
			views = append(views, &sketch{view: p.Box.View})
		}
		s := views[at]
		k := slices.IndexFunc(s.boxes, func(o sketchBox) bool { return o.Box == *p.Box })
		if k < 0 {
			k = len(s.boxes)
			s.boxes = append(s.boxes, sketchBox{Box: *p.Box})
		}
		s.boxes[k].numbers = append(s.boxes[k].numbers, i+1)
	}
	var out []exhibit
	for _, s := range views {
		// The larger ones lie underneath.
		slices.SortStableFunc(s.boxes, func(a, b sketchBox) int { return int(b.W*b.H) - int(a.W*a.H) })
		out = append(out, s)
	}
	return append(out, one(t)...)
}
