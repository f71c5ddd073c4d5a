package schematic

import (
	"fmt"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// feedClass is how each feed is drawn.
var feedClass = map[Feed]string{FeedL1: "feed1", FeedL2: "feed2", FeedL3: "feed3", FeedNeutral: "feedn", FeedLoad: "feed1"}

// lostClass is how the part of a feed is drawn that its conductor no longer
// reaches.
const lostClass = "lost"

// writeDiagram puts out all but the legend, what lies underneath first.
func (cv *canvas) writeDiagram(b *strings.Builder) {
	cv.writeLayer(b, layerSuspects, cv.writeShading)
	cv.writeLayer(b, layerLive, cv.writeLive)
	cv.writeWires(b)
	cv.writeLayer(b, layerColours, cv.writeColours)
	cv.writeParts(b)
	cv.writeLinks(b)
	for _, p := range cv.dots {
		fmt.Fprintf(b, "<circle class=\"dot\" cx=\"%d\" cy=\"%d\" r=\"2.8\"/>\n", p.x+cv.origin.x, p.y+cv.origin.y)
	}
	cv.writeTexts(b, layerNone)
	cv.writeTags(b, layerNone)
	cv.writeLayer(b, layerVolts, nil)
	cv.writeLayer(b, layerStanding, nil)
	cv.writeLayer(b, layerBreaks, func(b *strings.Builder) {
		for _, f := range cv.flags {
			if f.leader {
				fmt.Fprintf(b, "<path class=\"leader\" d=\"M%d %dL%d %d\"/>\n", f.from.x+cv.origin.x, f.from.y+cv.origin.y, f.x+cv.origin.x, f.y+cv.origin.y)
			}
			writeFlag(b, f.number, f.x+cv.origin.x, f.y+cv.origin.y, cv.c.Label(f.branch))
		}
	})
	cv.writeLayer(b, layerPoints, nil)
	cv.writeLayer(b, layerFault, cv.writeFaults)
}

// writeLayer puts out one layer, if there is anything in it.
func (cv *canvas) writeLayer(b *strings.Builder, which layer, more func(*strings.Builder)) {
	var in strings.Builder
	if more != nil {
		more(&in)
	}
	cv.writeTexts(&in, which)
	cv.writeTags(&in, which)
	if in.Len() > 0 {
		fmt.Fprintf(b, "<g id=\"%s\" class=\"layer\">\n%s</g>\n", layerIDs[which], in.String())
	}
}

// writeTexts puts out the texts of a layer.
func (cv *canvas) writeTexts(b *strings.Builder, which layer) {
	for i := range cv.texts {
		if t := &cv.texts[i]; t.unit == nil && t.wire == nil && t.layer == which {
			t.moved(cv.origin).write(b)
		}
	}
}

func (d *Drawing) title() string {
	for _, s := range []string{d.Title, d.Circuit.Title(), d.Circuit.Name()} {
		if s != "" {
			return s
		}
	}
	return "Wiring diagram"
}

// describe tells a screen reader what the page shows.
func (d *Drawing) describe() string {
	s := fmt.Sprintf("Wiring diagram with %d parts and %d wires, drawn in mode %s.", len(d.Circuit.Parts()), len(d.Circuit.Wires()), d.Circuit.Mode(d.Mode).Label)
	if d.Load != circuit.None && int(d.Load) < len(d.Circuit.Branches()) {
		s += " The live path of " + d.Circuit.Label(d.Load) + " is emphasised."
	}
	for _, b := range d.Breaks {
		s += " " + d.ends(b) + ": " + d.Circuit.Label(b.Branch) + "."
	}
	if n := len(d.TestPoints); n > 0 {
		s += fmt.Sprintf(" %d test points are marked with their good readings.", n)
	}
	if n := len(d.Marks); n > 0 {
		s += fmt.Sprintf(" %d numbered flags are explained in the legend.", n)
	}
	return s
}

func (t text) write(b *strings.Builder) {
	at := [...]string{"", ` text-anchor="middle"`, ` text-anchor="end"`}[t.anchor]
	fmt.Fprintf(b, "<text class=\"%s\" x=\"%d\" y=\"%d\" font-size=\"%d\"%s>%s</text>\n", t.class, t.x, t.y, t.size, at, escape(t.s))
}

// writeLive puts the live path under the wires, each stretch once.
func (cv *canvas) writeLive(b *strings.Builder) {
	if len(cv.d.Live) == 0 {
		return
	}
	b.WriteString("<g class=\"trace\">\n")
	cv.writeTrail(b, lostClass, cv.d.lost)
	for _, feed := range []Feed{FeedL1, FeedNeutral, FeedL2, FeedL3} {
		cv.writeTrail(b, feedClass[feed], func(id circuit.BranchID) bool { return cv.d.live(id) == feed })
	}
	b.WriteString("</g>\n")
}

// writeTrail emphasises the wires and the parts' leads that are meant.
func (cv *canvas) writeTrail(b *strings.Builder, class string, on func(circuit.BranchID) bool) {
	sets := map[*net]map[int]uint8{}
	for i := range cv.runs {
		if r := &cv.runs[i]; on(r.wire.Branch) {
			if sets[r.net] == nil {
				sets[r.net] = map[int]uint8{}
			}
			cv.router.mark(sets[r.net], r.points)
		}
	}
	for _, n := range cv.nets {
		for _, s := range cv.router.segments(sets[n]) {
			fmt.Fprintf(b, "<path class=\"%s\" d=\"M%d %dL%d %d\"/>\n", class, s.a.x+cv.origin.x, s.a.y+cv.origin.y, s.b.x+cv.origin.x, s.b.y+cv.origin.y)
		}
	}
	for _, u := range cv.units {
		for _, id := range u.branches {
			if on(id) {
				cv.writeLiveLeads(b, id, class)
			}
		}
	}
}

// writeLiveLeads emphasises a part's own leads.
func (cv *canvas) writeLiveLeads(b *strings.Builder, id circuit.BranchID, class string) {
	br := cv.c.Branch(id)
	if br.A == circuit.None || br.B == circuit.None || cv.unitOf[br.A].shape == shapeBox || cv.unitOf[br.A].shape == shapeMotor {
		return
	}
	a, z := cv.spot(br.A), cv.spot(br.B)
	d := fmt.Sprintf("M%d %dL%d %d", a.x+cv.origin.x, a.y+cv.origin.y, z.x+cv.origin.x, z.y+cv.origin.y)
	if u := cv.unitOf[br.A]; u.shape == shapeStar {
		hub, leaf := a, z
		if br.A != u.hub {
			hub, leaf = z, a
		}
		bar := u.x + starBar
		if leaf.x < hub.x {
			bar = u.x - starBar
		}
		way := []point{hub, {bar, hub.y}, {bar, leaf.y}, leaf}
		if cv.d.changeover(u) {
			mid, side := u.y+u.depth()/2, btoi(leaf.x > hub.x)*2-1
			way = []point{hub, {bar, hub.y}, {bar, mid}, {u.x - side*gap, mid}, {u.x + side*gap, leaf.y}, leaf}
		}
		d = cv.pathOf(way)
	}
	fmt.Fprintf(b, "<path class=\"%s\" d=\"%s\"/>\n", class, d)
}

func (cv *canvas) writeWires(b *strings.Builder) {
	b.WriteString("<g class=\"wires\">\n")
	cv.writeWiresWhere(b, func(f Feed) bool { return f == FeedNone })
	cv.writeWiresWhere(b, func(f Feed) bool { return f != FeedNone })
	b.WriteString("</g>\n")
}

// writeWiresWhere writes some of the wires. Those of the feed come last: along a
// rail they cover the others' lines.
func (cv *canvas) writeWiresWhere(b *strings.Builder, on func(Feed) bool) {
	for i := range cv.runs {
		r := &cv.runs[i]
		w := r.wire
		if !on(cv.d.live(w.Branch)) {
			continue
		}
		fmt.Fprintf(b, "<g id=\"wire-%s\" class=\"wire%s\" data-from=\"%s\" data-to=\"%s\"><title>%s</title><path d=\"%s\"/>",
			escape(w.Name), feedSuffix(cv.d.live(w.Branch)), escape(cv.c.Terminal(w.From).Ref), escape(cv.c.Terminal(w.To).Ref),
			escape(cv.d.wireTitle(w)), cv.pathOf(cv.router.corners(r.points)))
		for i := range cv.texts {
			if t := &cv.texts[i]; t.wire == w {
				b.WriteString("\n")
				t.moved(cv.origin).write(b)
			}
		}
		b.WriteString("</g>\n")
	}
}

func feedSuffix(f Feed) string {
	if f == FeedNone {
		return ""
	}
	return " live " + feedClass[f]
}

func (cv *canvas) pathOf(points []point) string {
	var d strings.Builder
	for i, p := range points {
		fmt.Fprintf(&d, "%s%d %d", []string{"L", "M"}[btoi(i == 0)], p.x+cv.origin.x, p.y+cv.origin.y)
	}
	return d.String()
}

func (cv *canvas) writeParts(b *strings.Builder) {
	b.WriteString("<g class=\"parts\">\n")
	for i := range cv.c.Parts() {
		p := cv.c.Part(circuit.PartID(i))
		class := "part kind-" + p.Kind.String()
		for _, id := range p.Branches {
			if cv.d.live(id) != FeedNone {
				class = strings.TrimSuffix(class, " live") + " live"
			}
			if id == cv.d.Load {
				class += " interest"
			}
		}
		fmt.Fprintf(b, "<g id=\"part-%s\" class=\"%s\" data-part=\"%s\"><title>%s</title><desc>%s</desc>\n", escape(p.Name), class, escape(p.Name), escape(p.Label), escape(cv.d.describePart(p)))
		for _, u := range cv.units {
			if u.part == p {
				cv.writeUnit(b, u)
			}
		}
		b.WriteString("</g>\n")
	}
	b.WriteString("</g>\n")
}

func (d *Drawing) describePart(p *circuit.Part) string {
	s := p.Kind.Info().Trade
	if p.Place != "" {
		s += "; " + p.Place
	}
	if len(p.Positions) > 0 {
		s += "; in position " + p.Positions[d.Circuit.Mode(d.Mode).Position[p.ID]]
	}
	return s
}

func (cv *canvas) writeUnit(b *strings.Builder, u *unit) {
	box := u.body()
	if u.seated {
		b.WriteString("<g class=\"symbol\">")
	} else {
		fmt.Fprintf(b, "<g class=\"symbol\" data-box=\"%d %d %d %d\">", box.x0+cv.origin.x, box.y0+cv.origin.y, box.x1+cv.origin.x, box.y1+cv.origin.y)
	}
	p := &pen{out: b, at: point{u.x + cv.origin.x, u.y + cv.origin.y}, upright: u.upright && u.shape == shapeBranch, half: float64(u.half)}
	cv.d.draw(u, p)
	b.WriteString("</g>\n")
	for _, pn := range u.pins {
		at := u.at(pn)
		fmt.Fprintf(b, "<circle class=\"terminal\" data-terminal=\"%s\" cx=\"%d\" cy=\"%d\" r=\"1.8\"><title>%s</title></circle>\n",
			escape(cv.c.Terminal(pn.terminal).Ref), at.x+cv.origin.x, at.y+cv.origin.y, escape(cv.c.Terminal(pn.terminal).Ref))
	}
	for i := range cv.texts {
		if t := &cv.texts[i]; t.unit == u {
			t.moved(cv.origin).write(b)
		}
	}
}

// writeLinks ties the poles of a breaker with a dashed mechanical link.
func (cv *canvas) writeLinks(b *strings.Builder) {
	for _, s := range cv.links() {
		fmt.Fprintf(b, "<path class=\"link\" d=\"M%d %dL%d %d\"/>\n", s.a.x+cv.origin.x, s.a.y+cv.origin.y, s.b.x+cv.origin.x, s.b.y+cv.origin.y)
	}
}

func (cv *canvas) writeFaults(b *strings.Builder) {
	for _, f := range cv.d.Faults {
		at := cv.centre(f.Branch)
		x, y := at.x+cv.origin.x, at.y+cv.origin.y
		fmt.Fprintf(b, "<g class=\"fault\"><title>%s</title><path d=\"M%d %dL%d %dM%d %dL%d %d\"/></g>\n",
			escape(cv.c.Describe(f)), x-9, y-9, x+9, y+9, x-9, y+9, x+9, y-9)
	}
}

func writeFlag(b *strings.Builder, number, x, y int, title string) {
	fmt.Fprintf(b, "<g class=\"flag\"><title>%s</title><circle cx=\"%d\" cy=\"%d\" r=\"%d\"/><text x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"middle\">%d</text></g>\n",
		escape(title), x, y, flagRadius, x, y+3, smallSize, number)
}

// zoneSize is the width of a field of the frame, as on a technical drawing's.
const zoneSize = 200

// band is the width of the frame's border, where the numbers stand.
const band = 16

// writeFrame draws the frame around the diagram, which is w wide and h deep: its
// fields across, its rungs down.
func (cv *canvas) writeFrame(b *strings.Builder, w, h int) {
	x, y := cv.origin.x, cv.origin.y
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
			text{x: (at + end) / 2, y: base, anchor: middle, size: smallSize, class: "zone", s: fmt.Sprint(i + 1)}.write(b)
		}
	}
	for i, at := range cv.rungs {
		for _, mid := range []int{x - band/2, x + w + band/2} {
			text{x: mid, y: y + at + 4, anchor: middle, size: smallSize, class: "zone", s: strconv.Itoa(i + 1)}.write(b)
		}
	}
	b.WriteString("</g>\n")
}
