package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// titleRows is what the title block says, heading and text.
func (d *Drawing) titleRows() [][2]string {
	s := d.Circuit.Supply()
	rows := [][2]string{{"Machine", d.title()}, {"Mode", d.Circuit.Mode(d.Mode).Label},
		{"Supply", fmt.Sprintf("%s, %g V, %d wires", s.System, s.Volts, s.Wires)}}
	if d.Load != circuit.None && int(d.Load) < len(d.Circuit.Branches()) {
		rows = append(rows, [2]string{"Load", d.Circuit.Label(d.Load)})
	}
	if d.Assumptions != "" {
		rows = append(rows, [2]string{"Assumed", d.Assumptions})
	}
	symbols := "IEC 60617"
	if d.symbols() == IEEE {
		symbols = "IEEE 315"
	}
	rows = append(rows, [2]string{"Symbols", symbols + ", wire colours IEC 60757"})
	if d.Date != "" {
		rows = append(rows, [2]string{"Date", d.Date})
	}
	return rows
}

// titleTerm is the width of the title block's headings.
const titleTerm = 62

func (d *Drawing) titleEntries() []entry {
	var out []entry
	for _, r := range d.titleRows() {
		out = append(out, entry{term: r[0], lines: wrap(r[1], labelSize, panelWidth-titleTerm-6, 0)})
	}
	return out
}

// writeFootBlock writes the title block along the foot of a printed sheet, from
// x on, w wide, in a frame of footDepth.
func (d *Drawing) writeFootBlock(b *strings.Builder, x, y, w int, sheet string) {
	fmt.Fprintf(b, "<g class=\"titleblock\"><rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", x, y, w, footDepth)
	cells := append(d.titleRows(), [2]string{"Sheet", sheet})
	widths := footWidths(cells, w)
	for i, c := range cells {
		n := widths[i]
		if i > 0 {
			fmt.Fprintf(b, "<path class=\"rule\" d=\"M%d %dL%d %d\"/>\n", x, y, x, y+footDepth)
		}
		text{x: x + 6, y: y + 13, size: smallSize, class: "rating", s: c[0]}.write(b)
		for k, line := range wrap(c[1], labelSize, n-12, 2) {
			text{x: x + 6, y: y + 28 + k*entryPitch, size: labelSize, class: "label", s: line}.write(b)
		}
		x += n
	}
	b.WriteString("</g>\n")
}

// footDepth is how deep the title block of a sheet is.
const footDepth = 50

// footWidths shares the width among the cells: what is left over evenly, what
// is lacking taken from the widest.
func footWidths(cells [][2]string, w int) []int {
	var out []int
	left := w
	for _, c := range cells {
		n := max(textWidth(c[0], smallSize), textWidth(c[1], labelSize)) + 16
		out, left = append(out, n), left-n
	}
	for ; left < 0; left++ {
		widest := 0
		for i := range out {
			if out[i] > out[widest] {
				widest = i
			}
		}
		out[widest]--
	}
	for i := range out {
		out[i] += left / len(out)
	}
	return out
}
