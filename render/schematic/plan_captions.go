package schematic

import (
	"legtrace/circuit"
	"strings"
)

// setCaptions sets the symbols' own text; placement has kept room for it.
func (pl *plan) setCaptions() {
	for _, u := range pl.units {
		first := len(pl.captions)
		above, below := u.extent()
		switch {
		case u.shape == shapeSource:
			pl.captions = append(pl.captions, caption(u.x+2*step, u.y, start, partSize, "label", u.label[0]))
			if u.rating != "" {
				pl.captions = append(pl.captions, caption(u.x+2*step+textWidth(u.label[0]+" ", partSize), u.y, start, smallSize, "rating", u.rating))
			}
		case u.seated: // its label comes with a leader
		case u.shape == shapeChassis:
			pl.captions = append(pl.captions, caption(u.x, u.y+3*step+partPitch, middle, partSize, "label", u.label[0]))
		case u.trunk:
			y := u.y - (len(u.label)-1)*partPitch/2 + 4
			if u.part.Kind.Guards() || u.isolates() {
				y += lineHeight
			}
			for i, line := range u.label {
				pl.captions = append(pl.captions, caption(u.x+waist+6, y+i*partPitch, start, partSize, "label", line))
			}
			if u.rating != "" {
				pl.captions = append(pl.captions, caption(u.x+waist+6, y+(len(u.label)-1)*partPitch+lineHeight, start, smallSize, "rating", u.rating))
			}
		default:
			y := u.y - above + partSize
			for i, line := range u.label {
				pl.captions = append(pl.captions, caption(u.x, y+i*partPitch, middle, partSize, "label", line))
			}
			base := u.y + below - 3
			if len(u.siblings) > 0 {
				t := caption(u.x, base, middle, smallSize, "xref", pl.reference(u))
				t.unit = u
				pl.refs = append(pl.refs, t)
				base -= lineHeight
			}
			if u.rating != "" {
				pl.captions = append(pl.captions, caption(u.x, base, middle, smallSize, "rating", u.rating))
			}
		}
		pl.pinNames(u)
		for i := first; i < len(pl.captions); i++ {
			pl.captions[i].unit = u
		}
	}
}

func caption(x, y int, a anchor, size int, class, s string) text {
	return text{x: x, y: y, anchor: a, size: size, class: class, s: s}
}

// pinNames sets the terminals' names.
func (pl *plan) pinNames(u *unit) {
	if u.trunk || u.shape == shapeSource || u.shape == shapeChassis {
		return
	}
	for _, p := range u.pins {
		name := shortTerminal(pl.c.Terminal(p.terminal))
		if name == "" {
			continue
		}
		at := u.at(p)
		t := text{y: at.y + smallSize + 2, size: smallSize, class: "pin", s: name}
		switch {
		case u.shape == shapeBox && p.side == left:
			t.x, t.y, t.anchor = at.x+step+4, at.y+3, start
		case u.shape == shapeBox:
			t.x, t.y, t.anchor = at.x-step-4, at.y+3, end
		case u.upright && p.y < 0:
			continue
		case u.upright:
			continue
		case u.shape == shapeStar && p.terminal == u.hub && u.depth() > 0:
			t.y = at.y - 4
			t.x, t.anchor = at.x+hubAside, start
			if p.side == right {
				t.x, t.anchor = at.x-hubAside, end
			}
		case p.side == left:
			t.x, t.anchor = at.x+pinAside(name), start
		default:
			t.x, t.anchor = at.x-pinAside(name), end
		}
		pl.captions = append(pl.captions, t)
	}
}

// hubAside is how far the name of contacts' common terminal stands inside of it:
// a wire may leave it upwards.
const hubAside = 2

// pinAside is how far a terminal's name stands inside of it, so that a wire may
// leave it upwards or downwards, where the name leaves the blade free.
func pinAside(name string) int {
	return max(0, min(4, reach-gap-1-textWidth(name, smallSize)))
}

// shortTerminal is the last piece of a terminal's name; "in" and "out" say
// nothing that the drawing does not.
func shortTerminal(t *circuit.Terminal) string {
	name := t.Name[strings.LastIndexByte(t.Name, '.')+1:]
	if name == "in" || name == "out" {
		return ""
	}
	return name
}

func (pl *plan) fitsPage(r rect) bool {
	return r.x0 >= 0 && r.y0 >= 0 && r.x1 <= pl.size.x && r.y1 <= pl.size.y
}
