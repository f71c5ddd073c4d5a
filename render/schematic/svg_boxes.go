package schematic

import (
	"math"

	"legtrace/circuit"
)

func drawFrame(p *pen) {
	p.line("s", 0, 0, 0, 12)
	p.line("s", -12, 12, 12, 12)
	for _, x := range []float64{-12, 0, 12} {
		p.line("s", x, 12, x-5, 20)
	}
}

func (d *Drawing) drawSource(u *unit, p *pen) {
	id := u.branches[0]
	s := d.Circuit.Supply()
	switch {
	case id == s.Earth:
		p.line("s", 0, 16, 0, -2)
		p.line("s", -11, -2, 11, -2)
		p.line("s", -7, -6, 7, -6)
		p.line("s", -3, -10, 3, -10)
	case id == s.Neutral:
		p.line("s", 0, 16, 0, 0)
		p.circle("s fill", 0, -5, 5)
	default:
		p.line("s", 0, 16, 0, 5)
		p.circle("s fill", 0, -5, 10)
		p.arc("s", -6, -5, 0, -5, 3.2, true)
		p.arc("s", 0, -5, 6, -5, 3.2, false)
	}
}

// starBar is where the contacts with a common terminal join.
const starBar = -18

// drawStar draws contacts that share a terminal: a bar with a blade each.
func (d *Drawing) drawStar(u *unit, p *pen) {
	for _, pn := range u.pins {
		if pn.terminal == u.hub {
			p.flip = pn.x > 0
		}
	}
	if d.changeover(u) {
		d.drawChangeover(u, p)
		p.line("link", 0, -5, 0, float64(u.depth())/2-2)
		d.drawActuator(u, p, u.branches[0])
		return
	}
	p.line("s", -starReach, 0, starBar, 0)
	p.line("s", starBar, 0, starBar, float64(u.depth()))
	for _, pn := range u.pins {
		if pn.terminal == u.hub {
			continue
		}
		y := float64(pn.y)
		for _, id := range u.branches {
			b := d.Circuit.Branch(id)
			if b.A != pn.terminal && b.B != pn.terminal {
				continue
			}
			p.line("s", starBar, y, -gap, y)
			p.line("s", gap, y, starReach, y)
			drawBlade(p, y, d.conducts(id), normallyClosed(u.part, b))
		}
	}
	p.line("link", 0, -5, 0, float64(u.depth())-6)
	d.drawActuator(u, p, u.branches[0])
}

// changeover reports whether a star is one blade between two contacts: one is
// made at rest, the other is not.
func (d *Drawing) changeover(u *unit) bool {
	if u.shape != shapeStar || len(u.branches) != 2 {
		return false
	}
	a, b := d.Circuit.Branch(u.branches[0]), d.Circuit.Branch(u.branches[1])
	return normallyClosed(u.part, a) != normallyClosed(u.part, b)
}

// drawChangeover draws one blade that lies at either of two contacts, or between
// them where neither is made.
func (d *Drawing) drawChangeover(u *unit, p *pen) {
	deep := float64(u.depth())
	p.line("s", -starReach, 0, starBar, 0, starBar, deep/2, -gap, deep/2)
	at, ways := deep/2, 0
	for _, pn := range u.pins {
		if pn.terminal == u.hub {
			continue
		}
		y := float64(pn.y)
		p.line("s", gap, y, starReach, y)
		p.circle("joint", gap, y, 2.2)
		for _, id := range u.branches {
			if b := d.Circuit.Branch(id); (b.A == pn.terminal || b.B == pn.terminal) && d.conducts(id) {
				at = y
				ways++
				p.line("blade", -gap, deep/2, gap, y)
			}
		}
	}
	if ways == 0 {
		p.line("blade", -gap, deep/2, gap-2, at)
	}
	p.circle("joint", -gap, deep/2, 2.2)
}

// drawThreePin draws a motor with its two windings: the main one on the first
// row, the other below, joined at the terminal that they share.
func drawThreePin(u *unit, p *pen) {
	for _, pn := range u.pins {
		if pn.terminal == u.hub {
			p.flip = pn.x < 0
		}
	}
	d := float64(u.depth())
	for _, y := range []float64{0, d} {
		p.line("s", -reach, y, -20, y)
		for x := -20.0; x < 10; x += 10 {
			p.arc("s", x, y, x+10, y, 5, true)
		}
	}
	p.line("s", 10, 0, reach, 0)
	p.line("s", 10, d, 20, d, 20, 0)
	p.circle("s fill", 0, d/2+2, 9)
	q := *p
	q.scale = 0.7
	q.at.y += int(d/2) + 2
	drawM(&q, 0)
}

func drawWindings(p *pen) {
	const rows = 5 * step
	for _, w := range []struct {
		y  float64
		up bool
	}{{0, false}, {rows, true}} {
		p.line("s", -reach, w.y, -20, w.y)
		p.line("s", 20, w.y, reach, w.y)
		for x := -20.0; x < 20; x += 10 {
			p.arc("s", x, w.y, x+10, w.y, 5, w.up)
		}
	}
	p.line("s", -20, rows/2-2, 20, rows/2-2)
	p.line("s", -20, rows/2+2, 20, rows/2+2)
}

// drawBox draws a rectangle with its pins, and inside it the contacts that are
// made.
func (d *Drawing) drawBox(u *unit, p *pen) {
	w := float64(boxReach - step)
	p.box("s fill", -w, -waist, w, float64(u.depth()+waist))
	where := map[circuit.TerminalID]pin{}
	for _, pn := range u.pins {
		where[pn.terminal] = pn
		edge := w
		if pn.side == left {
			edge = -w
		}
		p.line("s", float64(pn.x), float64(pn.y), edge, float64(pn.y))
	}
	if u.part.Kind == circuit.KindControl {
		return
	}
	for k, id := range u.branches {
		b := d.Circuit.Branch(id)
		a, z := where[b.A], where[b.B]
		ax, zx := w-boxInset, w-boxInset
		if a.side == left {
			ax = -ax
		}
		if z.side == left {
			zx = -zx
		}
		class, feed := "open", ""
		if d.conducts(id) {
			class = "blade"
			if f := d.live(id); f != FeedNone {
				class, feed = "blade", feedClass[f]
			}
			p.circle("joint", ax, float64(a.y), 2.2)
			p.circle("joint", zx, float64(z.y), 2.2)
		}
		way := []float64{ax, float64(a.y), zx, float64(z.y)}
		// Each contact turns on a line of its own.
		if a.side == z.side || a.y != z.y {
			mid := math.Mod(float64(8*(k+1)), 2*(w-boxInset))
			if a.side == left {
				mid = -w + boxInset + mid
			} else {
				mid = w - boxInset - mid
			}
			way = []float64{ax, float64(a.y), mid, float64(a.y), mid, float64(z.y), zx, float64(z.y)}
		}
		if feed != "" {
			for _, pn := range []pin{a, z} {
				lead := float64(pn.x) + step
				if pn.side == right {
					lead = float64(pn.x) - step
				}
				p.line(feed, float64(pn.x), float64(pn.y), lead, float64(pn.y))
			}
			p.line(feed, way...)
		}
		p.line(class, way...)
	}
}

// boxInset is how far inside a box its contacts begin, past the pins' names.
const boxInset = 30
