package schematic

import (
	"fmt"
	"strings"
)

// StripSheets writes the single-load view for print, upright: cut between wires
// and parts into columns, as many side by side as the paper takes.
func StripSheets(s Strip, paper Paper) ([][]byte, error) {
	if err := s.checkWays(); err != nil {
		return nil, err
	}
	d := newStripPage(&s)
	d.fill()
	upright := Paper{paper.Name, paper.Height, paper.Width}
	w, h := upright.Width-2*paperEdge, upright.Height-2*paperEdge
	columns := max(1, int(w/(leastScale*StripWidth)))
	k := min(w/float64(columns*StripWidth), mostScale)
	depth := int(h/k) - footDepth - 8
	tops := d.cut(depth)
	per := (len(tops) + columns - 1) / columns
	var out [][]byte
	for i := range per {
		b := d.s.newSheet(upright, upright.Width/k, upright.Height/k)
		left, top := int(paperEdge/k), int(paperEdge/k)
		for c := 0; c < columns && i*columns+c < len(tops); c++ {
			from, to := tops[i*columns+c], d.y
			if n := i*columns + c + 1; n < len(tops) {
				to = tops[n]
			}
			fmt.Fprintf(b, "<svg x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" viewBox=\"0 %d %d %d\">\n%s</svg>\n",
				left+c*StripWidth, top, StripWidth, to-from, from, StripWidth, to-from, d.out.String())
			if c > 0 {
				fmt.Fprintf(b, "<path class=\"rule\" d=\"M%d %dL%d %d\"/>\n", left+c*StripWidth, top, left+c*StripWidth, top+depth)
			}
		}
		d.s.writeFootBlock(b, left, top+depth+8, columns*StripWidth, fmt.Sprintf("%d of %d", i+1, per))
		b.WriteString("</svg>\n")
		out = append(out, []byte(b.String()))
	}
	return out, nil
}

// cut chooses where columns begin: each as long as depth allows.
func (d *stripPage) cut(depth int) []int {
	tops := []int{0}
	last := 0
	for _, y := range append(d.seams, d.y) {
		if at := tops[len(tops)-1]; y-at > depth && last > at {
			tops = append(tops, last)
		}
		last = y
	}
	return tops
}

// seam notes that the view may be cut here.
func (d *stripPage) seam() { d.seams = append(d.seams, d.y) }

// fill draws everything.
func (d *stripPage) fill() {
	d.head()
	for i := range d.s.Ways {
		d.seam()
		d.way(i, &d.s.Ways[i])
	}
	d.seam()
	d.foot()
}

// document is the whole view as one page.
func (d *stripPage) document() string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" role="img" aria-labelledby="page-title page-desc">`+"\n",
		StripWidth, d.y, StripWidth, d.y)
	fmt.Fprintf(&b, "<title id=\"page-title\">%s</title>\n<desc id=\"page-desc\">%s</desc>\n", escape(d.s.title()), escape(d.s.subtitle()))
	fmt.Fprintf(&b, "<style>%s</style>\n<rect class=\"page\" width=\"%d\" height=\"%d\"/>\n", style(d.s.Theme), StripWidth, d.y)
	b.WriteString(d.out.String())
	b.WriteString("</svg>\n")
	return b.String()
}
