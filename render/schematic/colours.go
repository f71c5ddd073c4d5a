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

// Distances of a wire's coloured trace from its line, in pixels.
const (
	traceAside = 3
	traceShort = 4 // how much it keeps from corners and joins
)

// ground is the area that a wire takes up with its coloured trace.
func (s segment) ground() rect {
	r := s.box().grown(2)
	if s.horizontal() {
		r.y1 = s.a.y + traceAside + 2
	} else {
		r.x1 = s.a.x + traceAside + 2
	}
	return r
}

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

// writeColours lays a trace of the wire's own colour beside its line, where
// all the wires that share the line are of one colour. The code is written
// beside it, so that nothing is lost in black and white.
func (l *layout) writeColours(b *strings.Builder) {
	if l.d.Theme == Monochrome {
		return
	}
	b.WriteString("<g class=\"colours\">\n")
	for _, n := range l.nets {
		if len(n.wires) == 0 {
			continue
		}
		for _, g := range l.shares(n, len(l.runs)) {
			code := l.runs[g.wires[0]].wire.Colour
			for _, w := range g.wires {
				if l.runs[w].wire.Colour != code {
					code = ""
				}
			}
			base, stripe := insulation(code)
			if base == "" {
				continue
			}
			for _, s := range l.router.segments(g.edges) {
				l.writeTrace(b, s, base, stripe)
			}
		}
	}
	b.WriteString("</g>\n")
}

func (l *layout) writeTrace(b *strings.Builder, s segment, base, stripe string) {
	a, z := point{s.a.x + l.origin.x, s.a.y + l.origin.y}, point{s.b.x + l.origin.x, s.b.y + l.origin.y}
	if s.length() <= 2*traceShort {
		return
	}
	if s.horizontal() {
		a, z = point{a.x + traceShort, a.y + traceAside}, point{z.x - traceShort, z.y + traceAside}
	} else {
		a, z = point{a.x + traceAside, a.y + traceShort}, point{z.x + traceAside, z.y - traceShort}
	}
	d := fmt.Sprintf("M%d %dL%d %d", a.x, a.y, z.x, z.y)
	fmt.Fprintf(b, "<path class=\"edge\" d=\"%s\"/><path stroke=\"%s\" d=\"%s\"/>", d, base, d)
	if stripe != "" {
		fmt.Fprintf(b, "<path stroke=\"%s\" stroke-dasharray=\"5 5\" d=\"%s\"/>", stripe, d)
	}
	b.WriteString("\n")
}
