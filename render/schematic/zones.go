package schematic

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// zoneSize is the width of a field of the frame, as on a technical drawing's.
const zoneSize = 200

// band is the width of the frame's border, where the numbers stand.
const band = 16

// rungApart is how far apart rows are, at least, that have numbers of their own.
const rungApart = 14

// numberRungs numbers the rows of symbols from top to bottom: what is drawn apart
// is found by them, as the drawings of machines have it (IEC 61082-1 and NFPA 79
// refer so, from memory).
func (l *layout) numberRungs() {
	l.rungs = l.rungs[:0]
	var ys []int
	for _, u := range l.units {
		if !u.trunk && u.shape != shapeChassis {
			ys = append(ys, u.y)
		}
	}
	slices.Sort(ys)
	for _, y := range ys {
		if n := len(l.rungs); n == 0 || y-l.rungs[n-1] >= rungApart {
			l.rungs = append(l.rungs, y)
		}
	}
}

// rung is the number of the row that a symbol stands on, from 1; 0 above all.
func (l *layout) rung(u *unit) int {
	n, _ := slices.BinarySearch(l.rungs, u.y+1)
	return n
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

// isCoil reports whether a symbol is what moves the other symbols of its part.
func (l *layout) isCoil(u *unit) bool {
	return u.load && (u.part.Kind == circuit.KindRelay || u.part.Kind == circuit.KindLatch)
}

// reference says on which rungs the rest of a part is drawn: at a coil those of
// its contacts, at a contact that of its coil first.
func (l *layout) reference(u *unit) string {
	var coils, contacts []string
	inOrder := slices.SortedFunc(slices.Values(u.siblings), func(a, b *unit) int { return a.y - b.y })
	for _, o := range inOrder {
		at := strconv.Itoa(l.rung(o))
		switch {
		case l.isCoil(o):
			coils = append(coils, at)
		case l.isCoil(u) && len(o.branches) == 1 && l.c.Branch(o.branches[0]).Rule.NormallyClosed:
			contacts = append(contacts, at+" nc")
		default:
			contacts = append(contacts, at)
		}
	}
	contacts = slices.Compact(contacts)
	if len(contacts) > mostSiblings {
		contacts = append(contacts[:mostSiblings], "\u2026")
	}
	switch list := strings.Join(contacts, ", "); {
	case l.isCoil(u):
		return "contacts " + list
	case len(coils) == 0:
		return "also " + list
	case list == "":
		return "coil " + coils[0]
	default:
		return "coil " + coils[0] + ", also " + list
	}
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
	return textWidth("contacts"+strings.Repeat(" 88,", min(len(u.siblings), mostSiblings)), smallSize)
}

// writeFrame draws the frame around the diagram, which is w wide and h deep: its
// fields across, its rungs down.
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
	for i, at := range l.rungs {
		for _, mid := range []int{x - band/2, x + w + band/2} {
			l.text(b, text{x: mid, y: y + at + 4, anchor: middle, size: smallSize, class: "zone", s: strconv.Itoa(i + 1)})
		}
	}
	b.WriteString("</g>\n")
}
