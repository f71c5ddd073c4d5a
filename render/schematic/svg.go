package schematic

import (
	"fmt"
	"io"
	"strings"

	"legtrace/circuit"
)

// feedClass is how each feed is drawn.
var feedClass = map[Feed]string{FeedL1: "feed1", FeedL2: "feed2", FeedL3: "feed3", FeedNeutral: "feedn", FeedLoad: "feed1"}

// lostClass is how the part of a feed is drawn that its conductor no longer
// reaches.
const lostClass = "lost"

// write puts the page out.
func (l *layout) write(w io.Writer) error {
	var b strings.Builder
	page := l.page()
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" role="img" aria-labelledby="page-title page-desc">`+"\n",
		page.width, page.height, page.width, page.height)
	fmt.Fprintf(&b, "<title id=\"page-title\">%s</title>\n<desc id=\"page-desc\">%s</desc>\n", escape(l.title()), escape(l.describe()))
	fmt.Fprintf(&b, "<style>%s</style>\n<rect class=\"page\" width=\"%d\" height=\"%d\"/>\n", style(l.d.Theme), page.width, page.height)
	l.writeHatches(&b)
	l.writePage(&b, page)
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// writePage puts out the header, the diagram in its frame and the legend.
func (l *layout) writePage(b *strings.Builder, page *page) {
	for _, t := range page.header {
		l.text(b, t)
	}
	l.writeFrame(b, page.inner.x, page.inner.y)
	b.WriteString("<g class=\"diagram\">\n")
	l.writeDiagram(b)
	b.WriteString("</g>\n")
	page.write(l, b)
}

// writeDiagram puts out all but the legend, what lies underneath first.
func (l *layout) writeDiagram(b *strings.Builder) {
	l.writeLayer(b, layerSuspects, l.writeShading)
	l.writeLayer(b, layerLive, l.writeLive)
	l.writeWires(b)
	l.writeLayer(b, layerColours, l.writeColours)
	l.writeParts(b)
	l.writeLinks(b)
	for _, p := range l.junctions() {
		fmt.Fprintf(b, "<circle class=\"dot\" cx=\"%d\" cy=\"%d\" r=\"2.8\"/>\n", p.x+l.origin.x, p.y+l.origin.y)
	}
	l.writeTexts(b, layerNone)
	l.writeTags(b, layerNone)
	l.writeLayer(b, layerVolts, nil)
	l.writeLayer(b, layerStanding, nil)
	l.writeLayer(b, layerBreaks, func(b *strings.Builder) {
		for _, f := range l.flags {
			if f.leader {
				fmt.Fprintf(b, "<path class=\"leader\" d=\"M%d %dL%d %d\"/>\n", f.from.x+l.origin.x, f.from.y+l.origin.y, f.x+l.origin.x, f.y+l.origin.y)
			}
			l.writeFlag(b, f.number, f.x+l.origin.x, f.y+l.origin.y, l.c.Label(f.branch))
		}
	})
	l.writeLayer(b, layerPoints, nil)
	l.writeLayer(b, layerFault, l.writeFaults)
}

// writeLayer puts out one layer, if there is anything in it.
func (l *layout) writeLayer(b *strings.Builder, which layer, more func(*strings.Builder)) {
	var in strings.Builder
	if more != nil {
		more(&in)
	}
	l.writeTexts(&in, which)
	l.writeTags(&in, which)
	if in.Len() > 0 {
		fmt.Fprintf(b, "<g id=\"%s\" class=\"layer\">\n%s</g>\n", layerIDs[which], in.String())
	}
}

// writeTexts puts out the texts of a layer.
func (l *layout) writeTexts(b *strings.Builder, which layer) {
	for _, t := range l.texts {
		if t.unit == nil && t.wire == nil && t.layer == which {
			l.text(b, t.moved(l.origin))
		}
	}
}

func (l *layout) title() string {
	for _, s := range []string{l.d.Title, l.c.Title(), l.c.Name()} {
		if s != "" {
			return s
		}
	}
	return "Wiring diagram"
}

// describe tells a screen reader what the page shows.
func (l *layout) describe() string {
	s := fmt.Sprintf("Wiring diagram with %d parts and %d wires, drawn in mode %s.", len(l.c.Parts()), len(l.c.Wires()), l.c.Mode(l.d.Mode).Label)
	if l.d.Load != circuit.None && int(l.d.Load) < len(l.c.Branches()) {
		s += " The live path of " + l.c.Label(l.d.Load) + " is emphasised."
	}
	for _, b := range l.d.Breaks {
		s += " " + l.d.ends(b) + ": " + l.c.Label(b.Branch) + "."
	}
	if n := len(l.d.TestPoints); n > 0 {
		s += fmt.Sprintf(" %d test points are marked with their good readings.", n)
	}
	if n := len(l.d.Marks); n > 0 {
		s += fmt.Sprintf(" %d numbered flags are explained in the legend.", n)
	}
	return s
}

func (l *layout) text(b *strings.Builder, t text) {
	at := [...]string{"", ` text-anchor="middle"`, ` text-anchor="end"`}[t.anchor]
	fmt.Fprintf(b, "<text class=\"%s\" x=\"%d\" y=\"%d\" font-size=\"%d\"%s>%s</text>\n", t.class, t.x, t.y, t.size, at, escape(t.s))
}

// writeLive puts the live path under the wires, each stretch once.
func (l *layout) writeLive(b *strings.Builder) {
	if len(l.d.Live) == 0 {
		return
	}
	b.WriteString("<g class=\"trace\">\n")
	l.writeTrail(b, lostClass, l.d.lost)
	for _, feed := range []Feed{FeedL1, FeedNeutral, FeedL2, FeedL3} {
		l.writeTrail(b, feedClass[feed], func(id circuit.BranchID) bool { return l.d.live(id) == feed })
	}
	b.WriteString("</g>\n")
}

// writeTrail emphasises the wires and the parts' leads that are meant.
func (l *layout) writeTrail(b *strings.Builder, class string, on func(circuit.BranchID) bool) {
	sets := map[*net]map[int]uint8{}
	for i := range l.runs {
		if r := &l.runs[i]; on(r.wire.Branch) {
			if sets[r.net] == nil {
				sets[r.net] = map[int]uint8{}
			}
			l.router.mark(sets[r.net], r.points)
		}
	}
	for _, n := range l.nets {
		for _, s := range l.router.segments(sets[n]) {
			fmt.Fprintf(b, "<path class=\"%s\" d=\"M%d %dL%d %d\"/>\n", class, s.a.x+l.origin.x, s.a.y+l.origin.y, s.b.x+l.origin.x, s.b.y+l.origin.y)
		}
	}
	for _, u := range l.units {
		for _, id := range u.branches {
			if on(id) {
				l.writeLiveLeads(b, id, class)
			}
		}
	}
}

// writeLiveLeads emphasises a part's own leads.
func (l *layout) writeLiveLeads(b *strings.Builder, id circuit.BranchID, class string) {
	br := l.c.Branch(id)
	if br.A == circuit.None || br.B == circuit.None || l.unitOf[br.A].shape == shapeBox || l.unitOf[br.A].shape == shapeMotor {
		return
	}
	a, z := l.spot(br.A), l.spot(br.B)
	d := fmt.Sprintf("M%d %dL%d %d", a.x+l.origin.x, a.y+l.origin.y, z.x+l.origin.x, z.y+l.origin.y)
	if u := l.unitOf[br.A]; u.shape == shapeStar {
		hub, leaf := a, z
		if br.A != u.hub {
			hub, leaf = z, a
		}
		bar := u.x + starBar
		if leaf.x < hub.x {
			bar = u.x - starBar
		}
		way := []point{hub, {bar, hub.y}, {bar, leaf.y}, leaf}
		if l.changeover(u) {
			mid, side := u.y+u.depth()/2, btoi(leaf.x > hub.x)*2-1
			way = []point{hub, {bar, hub.y}, {bar, mid}, {u.x - side*gap, mid}, {u.x + side*gap, leaf.y}, leaf}
		}
		d = l.pathOf(way)
	}
	fmt.Fprintf(b, "<path class=\"%s\" d=\"%s\"/>\n", class, d)
}

func (l *layout) writeWires(b *strings.Builder) {
	b.WriteString("<g class=\"wires\">\n")
	l.writeWiresWhere(b, func(f Feed) bool { return f == FeedNone })
	l.writeWiresWhere(b, func(f Feed) bool { return f != FeedNone })
	b.WriteString("</g>\n")
}

// writeWiresWhere writes some of the wires. Those of the feed come last: along a
// rail they cover the others' lines.
func (l *layout) writeWiresWhere(b *strings.Builder, on func(Feed) bool) {
	for i := range l.runs {
		r := &l.runs[i]
		w := r.wire
		if !on(l.d.live(w.Branch)) {
			continue
		}
		fmt.Fprintf(b, "<g id=\"wire-%s\" class=\"wire%s\" data-from=\"%s\" data-to=\"%s\"><title>%s</title><path d=\"%s\"/>",
			escape(w.Name), feedSuffix(l.d.live(w.Branch)), escape(l.c.Terminal(w.From).Ref), escape(l.c.Terminal(w.To).Ref),
			escape(l.wireTitle(w)), l.pathOf(l.router.corners(r.points)))
		for _, t := range l.texts {
			if t.wire == w {
				b.WriteString("\n")
				l.text(b, t.moved(l.origin))
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

func (l *layout) pathOf(points []point) string {
	var d strings.Builder
	for i, p := range points {
		fmt.Fprintf(&d, "%s%d %d", []string{"L", "M"}[btoi(i == 0)], p.x+l.origin.x, p.y+l.origin.y)
	}
	return d.String()
}

func (l *layout) writeParts(b *strings.Builder) {
	b.WriteString("<g class=\"parts\">\n")
	for i := range l.c.Parts() {
		p := l.c.Part(circuit.PartID(i))
		class := "part kind-" + p.Kind.String()
		for _, id := range p.Branches {
			if l.d.live(id) != FeedNone {
				class = strings.TrimSuffix(class, " live") + " live"
			}
			if id == l.d.Load {
				class += " interest"
			}
		}
		fmt.Fprintf(b, "<g id=\"part-%s\" class=\"%s\" data-part=\"%s\"><title>%s</title><desc>%s</desc>\n", escape(p.Name), class, escape(p.Name), escape(p.Label), escape(l.describePart(p)))
		for _, u := range l.units {
			if u.part == p {
				l.writeUnit(b, u)
			}
		}
		b.WriteString("</g>\n")
	}
	b.WriteString("</g>\n")
}

func (l *layout) describePart(p *circuit.Part) string {
	s := p.Kind.Info().Trade
	if p.Place != "" {
		s += "; " + p.Place
	}
	if len(p.Positions) > 0 {
		s += "; in position " + p.Positions[l.c.Mode(l.d.Mode).Position[p.ID]]
	}
	return s
}

func (l *layout) writeUnit(b *strings.Builder, u *unit) {
	box := u.body()
	if u.seated {
		b.WriteString("<g class=\"symbol\">")
	} else {
		fmt.Fprintf(b, "<g class=\"symbol\" data-box=\"%d %d %d %d\">", box.x0+l.origin.x, box.y0+l.origin.y, box.x1+l.origin.x, box.y1+l.origin.y)
	}
	p := &pen{out: b, at: point{u.x + l.origin.x, u.y + l.origin.y}, upright: u.upright && u.shape == shapeBranch, half: float64(u.half)}
	l.draw(u, p)
	b.WriteString("</g>\n")
	for _, pn := range u.pins {
		at := u.at(pn)
		fmt.Fprintf(b, "<circle class=\"terminal\" data-terminal=\"%s\" cx=\"%d\" cy=\"%d\" r=\"1.8\"><title>%s</title></circle>\n",
			escape(l.c.Terminal(pn.terminal).Ref), at.x+l.origin.x, at.y+l.origin.y, escape(l.c.Terminal(pn.terminal).Ref))
	}
	for _, t := range l.texts {
		if t.unit == u {
			l.text(b, t.moved(l.origin))
		}
	}
}

// writeLinks ties the poles of a breaker with a dashed mechanical link.
func (l *layout) writeLinks(b *strings.Builder) {
	for _, s := range l.links() {
		fmt.Fprintf(b, "<path class=\"link\" d=\"M%d %dL%d %d\"/>\n", s.a.x+l.origin.x, s.a.y+l.origin.y, s.b.x+l.origin.x, s.b.y+l.origin.y)
	}
}

func (l *layout) writeFaults(b *strings.Builder) {
	for _, f := range l.d.Faults {
		at := l.centre(f.Branch)
		x, y := at.x+l.origin.x, at.y+l.origin.y
		fmt.Fprintf(b, "<g class=\"fault\"><title>%s</title><path d=\"M%d %dL%d %dM%d %dL%d %d\"/></g>\n",
			escape(l.c.Describe(f)), x-9, y-9, x+9, y+9, x-9, y+9, x+9, y-9)
	}
}

func (l *layout) writeFlag(b *strings.Builder, number, x, y int, title string) {
	fmt.Fprintf(b, "<g class=\"flag\"><title>%s</title><circle cx=\"%d\" cy=\"%d\" r=\"%d\"/><text x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"middle\">%d</text></g>\n",
		escape(title), x, y, flagRadius, x, y+3, smallSize, number)
}
