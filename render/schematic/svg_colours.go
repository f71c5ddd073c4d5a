package schematic

import (
	"fmt"
	"strings"
)

// inks are the colours of wires by their two-letter code, IEC 60757:2021 table
// 1 (from memory), as they look on a screen.
var inks = map[string]string{
	"BK": "#1a1a1a", "BN": "#7b4a1e", "RD": "#d21f2b", "OG": "#f07d00", "YE": "#f2c500", "GN": "#2e9b3a", "BU": "#1f5fd0",
	"VT": "#7d3fa8", "GY": "#8c8c8c", "WH": "#ffffff", "PK": "#f29ab8", "GD": "#b8942a", "TQ": "#2fb5ac", "SR": "#c4c8cc",
}

// A sleeve is a mark of a wire's insulation on its line, in pixels.
const (
	sleeveLong, sleeveWide = 14, 5
	sleeveLeast            = 40 // of the stretch that it lies on
)

// ground is the area that a wire takes up with its feed and its sleeve.
func (s segment) ground() rect { return s.box().grown(feedWeight / 2) }

// insulation splits a colour code into the colour of the wire and that of its
// stripe, which is empty where it has none. Names that are no code give none.
func insulation(code string) (base, stripe string) {
	if len(code) >= 2 {
		base = inks[code[:2]]
	}
	if len(code) == 4 {
		stripe = inks[code[2:]]
	}
	return base, stripe
}

// writeColours lays a sleeve of the insulation's colour on every wire, on the
// longest stretch that is its own. The code is written beside it, so that nothing
// is lost in black and white.
func (cv *canvas) writeColours(b *strings.Builder) {
	if cv.d.Theme == Monochrome {
		return
	}
	for i := range cv.runs {
		w := cv.runs[i].wire
		base, stripe := insulation(w.Colour)
		s, ok := cv.longest(w.ID)
		if base == "" || !ok || s.length() < sleeveLeast {
			continue
		}
		// Off the middle, where a fault is crossed out.
		at := point{s.a.x + (s.b.x-s.a.x)/3 + cv.origin.x, s.a.y + (s.b.y-s.a.y)/3 + cv.origin.y}
		writeSleeve(b, at, s.horizontal(), base, stripe)
	}
}

// writeSleeve marks a wire's insulation at a point of it; the stripe is the
// middle third.
func writeSleeve(b *strings.Builder, at point, horizontal bool, base, stripe string) {
	piece := func(class string, long float64, ink string) {
		w, h := long, float64(sleeveWide)
		if !horizontal {
			w, h = h, w
		}
		fmt.Fprintf(b, `<rect%s x="%s" y="%s" width="%s" height="%s" fill="%s"/>`, class, num(float64(at.x)-w/2), num(float64(at.y)-h/2), num(w), num(h), ink)
	}
	piece(` class="sleeve"`, sleeveLong, base)
	if stripe != "" {
		piece("", sleeveLong/3.0, stripe)
	}
	b.WriteString("\n")
}
