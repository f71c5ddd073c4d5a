package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// zoneSize is the side of a field of the grid that places on the diagram are
// named by: a letter down, a number across, as on a technical drawing's frame.
const zoneSize = 200

// band is the width of the frame's border, where the fields' names stand.
const band = 16

// zone names the field that a point lies in.
func zone(p point) string { return zoneRow(p.y/zoneSize) + fmt.Sprint(p.x/zoneSize+1) }

// zoneRow names a row of fields: A to Z, without I and O, then AA and so on.
func zoneRow(n int) string {
	const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
	s := ""
	for n++; n > 0; n = (n - 1) / len(letters) {
		s = letters[(n-1)%len(letters):][:1] + s
	}
	return s
}

// wholes are the kinds whose poles, drawn apart, stand for themselves. The
// symbols of any other part name each other's fields.
var wholes = map[circuit.Kind]bool{
	circuit.KindConnector: true, circuit.KindTerminalBlock: true, circuit.KindBreaker: true, circuit.KindRCD: true, circuit.KindSupply: true,
}

// findSiblings notes which symbols belong to one part.
func (l *layout) findSiblings() {
	of := map[*circuit.Part][]*unit{}
	for _, u := range l.units {
		if !wholes[u.part.Kind] {
			of[u.part] = append(of[u.part], u)
		}
	}
	for _, u := range l.units {
		for _, o := range of[u.part] {
			if o != u {
				u.siblings = append(u.siblings, o)
			}
		}
	}
}

// mostSiblings is how many fields a reference names.
const mostSiblings = 4

// reference says where the rest of a part is drawn.
func (u *unit) reference() string {
	var at []string
	for _, o := range u.siblings {
		z := zone(point{o.x, o.y})
		if len(at) == 0 || at[len(at)-1] != z {
			at = append(at, z)
		}
	}
	if len(at) > mostSiblings {
		at = append(at[:mostSiblings], "\u2026")
	}
	return "also " + strings.Join(at, ", ")
}

// placeReferences writes the references where room was kept for them, or close
// by where a wire had to take it.
func (l *layout) placeReferences() {
	for _, t := range l.refs {
		if !l.tryAround(t) {
			l.unplaced = append(l.unplaced, [2]string{l.c.Part(t.unit.part.ID).Label, t.s})
		}
	}
}

func (l *layout) tryAround(t text) bool {
	for _, dy := range []int{0, 1, 2, 3, -1} {
		for _, dx := range []int{0, 2, -2, 4, -4, 6, -6} {
			c := t
			c.x, c.y = t.x+dx*step, t.y+dy*step
			if l.fitsPage(c.box()) && l.taken.free(c.box().grown(1)) {
				l.texts = append(l.texts, c)
				l.taken.add(c.box(), -1)
				return true
			}
		}
	}
	return false
}

// referenceWidth is the room kept for a symbol's reference.
func (u *unit) referenceWidth() int {
	if len(u.siblings) == 0 {
		return 0
	}
	return textWidth("also"+strings.Repeat(" W88,", min(len(u.siblings), mostSiblings)), smallSize)
}

// writeFrame draws the frame with the fields' names around the diagram, which
// is w wide and h deep.
func (l *layout) writeFrame(b *strings.Builder, w, h int) {
	x, y := l.origin.x, l.origin.y
	fmt.Fprintf(b, "<g class=\"zones\"><rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>", x, y, w, h)
	fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", x-band, y-band, w+2*band, h+2*band)
	for i := 0; i*zoneSize < w; i++ {
		at, end := x+i*zoneSize, min(x+(i+1)*zoneSize, x+w)
		if i > 0 {
			fmt.Fprintf(b, "<path class=\"frame\" d=\"M%d %dL%d %dM%d %dL%d %d\"/>", at, y-band, at, y, at, y+h, at, y+h+band)
		}
		if end-at < zoneSize/4 {
			continue
		}
		for _, base := range []int{y - 4, y + h + band - 4} {
			l.text(b, text{x: (at + end) / 2, y: base, anchor: middle, size: smallSize, class: "zone", s: fmt.Sprint(i + 1)})
		}
	}
	for i := 0; i*zoneSize < h; i++ {
		at, end := y+i*zoneSize, min(y+(i+1)*zoneSize, y+h)
		if i > 0 {
			fmt.Fprintf(b, "<path class=\"frame\" d=\"M%d %dL%d %dM%d %dL%d %d\"/>", x-band, at, x, at, x+w, at, x+w+band, at)
		}
		if end-at < zoneSize/4 {
			continue
		}
		for _, mid := range []int{x - band/2, x + w + band/2} {
			l.text(b, text{x: mid, y: (at+end)/2 + 4, anchor: middle, size: smallSize, class: "zone", s: zoneRow(i)})
		}
	}
	b.WriteString("</g>\n")
}
