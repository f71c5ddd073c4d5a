package schematic

import (
	"fmt"
	"strings"
)

// writeTags puts out the marks of one layer.
func (cv *canvas) writeTags(b *strings.Builder, which layer) {
	for _, t := range cv.tags {
		if t.layer != which {
			continue
		}
		t.area = rect{t.area.x0 + cv.origin.x, t.area.y0 + cv.origin.y, t.area.x1 + cv.origin.x, t.area.y1 + cv.origin.y}
		t.at = point{t.at.x + cv.origin.x, t.at.y + cv.origin.y}
		t.write(b)
	}
}

func (t *tag) write(b *strings.Builder) {
	a := t.area
	fmt.Fprintf(b, "<g class=\"tag %s\" data-tag=\"%d %d %d %d\"><title>%s</title>", strings.TrimPrefix(layerIDs[t.layer], "layer-"), a.x0, a.y0, a.x1, a.y1, escape(t.title))
	if near := t.nearest(); t.leader && near != t.at {
		fmt.Fprintf(b, "<path class=\"leader\" d=\"M%d %dL%d %d\"/>", t.at.x, t.at.y, near.x, near.y)
	}
	base := a.y1 - 4
	switch t.layer {
	case layerPoints:
		fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>", a.x0, a.y0, a.x1-a.x0, tagHeight)
		writePointMark(b, a.x0, a.y0, t.mark)
		if t.s != "" {
			text{x: a.x0 + plateWidth(t.mark, smallSize) + 3, y: base, size: smallSize, class: "reading", s: t.s}.write(b)
		}
	case layerStanding:
		writeStandingIcon(b, a.x0, a.y0)
		if t.s != "" {
			text{x: a.x0 + standingIcon + 1, y: base, size: smallSize, class: "standing", s: t.s}.write(b)
		}
	default:
		if corner, framed := map[string]int{"broken": 0, "chance": tagHeight / 2}[t.class]; framed {
			fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"%d\"/>", a.x0, a.y0, a.x1-a.x0, tagHeight, corner)
		}
		text{x: (a.x0 + a.x1) / 2, y: base, anchor: middle, size: smallSize, class: t.class, s: t.s}.write(b)
	}
	b.WriteString("</g>\n")
}

// writePointMark draws a test point's mark, light on dark.
func writePointMark(b *strings.Builder, x, y int, mark string) {
	w := plateWidth(mark, smallSize)
	fmt.Fprintf(b, "<rect class=\"plate\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/><text class=\"number\" x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"middle\">%s</text>",
		x, y, w, tagHeight, x+w/2, y+tagHeight-4, smallSize, escape(mark))
}

// writeStandingIcon draws a triangle with a flash, as on a warning of voltage.
func writeStandingIcon(b *strings.Builder, x, y int) {
	fmt.Fprintf(b, "<path class=\"warning\" d=\"M%d %dL%d %dL%d %dZ\"/><path class=\"flash\" d=\"M%d %dL%d %dL%d %dL%d %d\"/>",
		x+8, y+1, x+16, y+15, x, y+15, x+9, y+5, x+6, y+10, x+10, y+10, x+7, y+14)
}

// writeHatches defines the patterns that the shading uses.
func (d *Drawing) writeHatches(b *strings.Builder) {
	if len(d.shaded()) == 0 {
		return
	}
	b.WriteString("<defs>")
	for i, h := range hatches {
		fmt.Fprintf(b, "<pattern id=\"hatch-%d\" width=\"%d\" height=\"%d\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M0 0L0 %d\"/></pattern>",
			i, h.pitch, h.pitch, h.pitch)
	}
	b.WriteString("</defs>\n")
}

// writeShading hatches the suspects' ground, under everything else.
func (cv *canvas) writeShading(b *strings.Builder) {
	for _, s := range cv.d.shaded() {
		for _, r := range cv.ground(s.Branch) {
			fmt.Fprintf(b, "<rect fill=\"url(#hatch-%d)\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n",
				hatch(s.P), r.x0+cv.origin.x, r.y0+cv.origin.y, r.x1-r.x0, r.y1-r.y0)
		}
	}
}
