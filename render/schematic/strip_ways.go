package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// way draws one way below what is there.
func (d *stripPage) way(i int, w *Way) {
	d.number = i + 1
	d.y += 14
	fmt.Fprintf(&d.out, "<path class=\"rule\" d=\"M%d %dL%d %d\"/>\n", stripMargin, d.y, StripWidth-stripMargin, d.y)
	d.y += 4
	const width = StripWidth - 2*stripMargin
	d.lines(stripMargin, width, stripHeading, 21, "heading", w.Heading)
	if w.Note != "" {
		d.y += 2
		d.lines(stripMargin, width, stripNote+1, noteLine+1, "entry", w.Note)
	}
	d.y += 16
	if w.Start != "" {
		d.stop(w.Start, d.y)
		d.y += stopRoom
		d.dot()
	}
	for k := range w.Hops {
		d.hop(&w.Hops[k])
	}
	if w.End != "" {
		d.dot()
		d.y += stopRoom
		d.stop(w.End, d.y)
		d.y += 6
	}
}

// stop says where a way joins what is drawn elsewhere.
func (d *stripPage) stop(s string, y int) {
	d.text(stripSpine-8, y+5, start, stripNote+1, "label", wrap(s, stripNote+1, StripWidth-stripMargin-stripSpine, 1)[0])
}

// stopRoom is from that text to the line.
const stopRoom = 20

func (d *stripPage) dot() {
	fmt.Fprintf(&d.out, "<circle class=\"dot\" cx=\"%d\" cy=\"%d\" r=\"4\"/>\n", stripSpine, d.y)
}

func (d *stripPage) hop(h *Hop) {
	b := d.s.Circuit.Branch(h.Branch)
	switch {
	case b.Role == circuit.Source:
		d.source(h, b)
	case b.Wire != circuit.None:
		d.wire(h, b)
	default:
		d.part(h, b)
	}
	d.out.WriteString(d.over.String())
	d.over.Reset()
}

// trail emphasises what is live, and what should be, between two rows.
func (d *stripPage) trail(h *Hop, top, foot int) {
	class := feedClass[h.Feed]
	if class == "" && d.s.lost(h.Branch) {
		class = lostClass
	}
	if class != "" {
		fmt.Fprintf(&d.out, "<g class=\"trace\"><path class=\"%s\" d=\"M%d %dL%d %d\"/></g>\n", class, stripSpine, top, stripSpine, foot)
	}
}

// source draws a conductor of the supply: at the top of a way with its lead
// down, at the bottom with its lead up.
func (d *stripPage) source(h *Hop, b *circuit.Branch) {
	u := &unit{part: d.s.Circuit.Part(b.Part), shape: shapeSource, branches: []circuit.BranchID{b.ID}}
	mid, foot := d.y+sourceRow/2-8, d.y+sourceRow-20
	if h.From != circuit.None {
		mid = d.y + 20
	}
	d.symbol(rect{stripSpine - 14, mid - 16, stripSpine + 14, mid + 12}, u, point{stripSpine, mid}, h.From != circuit.None)
	d.text(stripText, mid+2, start, stripLabel, "label", strings.TrimSuffix(d.s.Circuit.Label(b.ID)+", "+rating(d.s.Circuit, u), ", "))
	d.faulty(b.ID, mid)
	d.marks(b.ID, mid)
	if h.From == circuit.None {
		d.terminal(h.To, foot)
	}
	d.y += sourceRow - 20
}

// symbol draws a symbol, upside down if asked: a source at the foot of a way.
func (d *stripPage) symbol(body rect, u *unit, at point, turned bool) {
	class := "part kind-" + u.part.Kind.String()
	if u.branches[0] == d.s.Load {
		class += " interest"
	}
	fmt.Fprintf(&d.out, "<g%s class=\"%s\" data-part=\"%s\"><title>%s</title><desc>%s</desc><g class=\"symbol\" data-box=\"%d %d %d %d\">",
		d.id("part", u.part.Name), class, escape(u.part.Name), escape(u.part.Label), escape(d.s.describePart(u.part)), body.x0, body.y0, body.x1, body.y1)
	p := &pen{out: &d.out, at: at, upright: u.upright, half: float64(u.half), scale: stripScale, turned: turned}
	d.s.draw(u, p)
	d.out.WriteString("</g></g>\n")
}

func (d *stripPage) wire(h *Hop, b *circuit.Branch) {
	w := d.s.Circuit.Wire(b.Wire)
	top, foot := d.y, d.y+wireRow
	d.trail(h, top, foot)
	d.terminal(h.From, top)
	from := d.ref(h.From)
	d.terminal(h.To, foot)
	fmt.Fprintf(&d.out, "<g%s class=\"wire%s\" data-from=\"%s\" data-to=\"%s\"><title>%s</title><path d=\"M%d %dL%d %d\"/></g>\n",
		d.id("wire", w.Name), feedSuffix(h.Feed), escape(from), escape(d.ref(h.To)), escape(d.s.wireTitle(w)), stripSpine, top, stripSpine, foot)
	if base, stripe := insulation(w.Colour); base != "" && d.s.Theme != Monochrome {
		d.out.WriteString("<g class=\"colours\">")
		writeSleeve(&d.out, point{stripSpine, top + wireRow/4}, false, base, stripe)
		d.out.WriteString("</g>\n")
	}
	name := strings.Join(strings.Fields(w.Name+" "+w.Colour+" "+w.Size), " ")
	class := "wirename"
	if !d.s.conducts(b.ID) {
		name, class = name+" OPEN", "open-word"
	}
	if s := d.s.end(b.ID); s != "" {
		name, class = name+", "+s, "open-word"
	}
	name = wrap(name, stripNote+1, stripFlag-14-stripWire, 1)[0]
	d.text(stripWire, top+wireRow/2+5, start, stripNote+1, class, name)
	d.standing(h.From, stripWire+textWidth(name, stripNote+1)+10, top+wireRow/2)
	d.volts(h.From, top+wireRow/2+5)
	d.faulty(b.ID, top+wireRow/2)
	d.marks(b.ID, top+wireRow/2)
	d.y = top + pointRoom + 2
	d.seam()
	d.y = foot
}

// standing marks what stays live, as far as there is room before the flags.
func (d *stripPage) standing(t circuit.TerminalID, x, y int) {
	if len(d.s.Standing) == 0 || d.s.Standing[t] == 0 {
		return
	}
	s := fmt.Sprintf("%.0f V off", d.s.Standing[t])
	room := stripFlag - 12 - x
	if room < standingIcon {
		return // the next wire of the node has room
	}
	fmt.Fprintf(&d.out, "<g class=\"standing\"><title>Stays live with the machine switched off: %.0f V to the chassis</title>", d.s.Standing[t])
	writeStandingIcon(&d.out, x, y-8)
	d.out.WriteString("</g>\n")
	if room >= standingIcon+textWidth(s, stripNote-1) {
		d.text(x+standingIcon, y+5, start, stripNote-1, "standing", s)
	}
}

// volts writes a node's voltage at the left, with a fault's below it.
func (d *stripPage) volts(t circuit.TerminalID, y int) {
	if len(d.s.Volts) == 0 {
		return
	}
	v := d.s.Volts[t]
	class := "volts"
	if !v.Known {
		class = "floating"
	}
	if d.s.changes(t) {
		before, after, _ := strings.Cut(change(v, d.s.FaultVolts[t]), " \u2192 ")
		d.text(stripVolts, y-8, end, stripNote+1, class, before)
		d.text(stripVolts, y+8, end, stripNote+1, "volts changed", "\u2192 "+after)
		return
	}
	d.text(stripVolts, y, end, stripNote+1, class, v.String())
}

func (d *stripPage) part(h *Hop, b *circuit.Branch) {
	c := d.s.Circuit
	part := c.Part(b.Part)
	u := &unit{part: part, shape: shapeBranch, branches: []circuit.BranchID{b.ID}, upright: true, half: reach, load: b.Role == circuit.Load,
		pins: []pin{{terminal: h.From}, {terminal: h.To}}}
	top, mid := d.y, d.y+partRow/2
	d.trail(h, top, top+partRow)
	d.symbol(rect{stripSpine - 30, top + 10, stripSpine + 22, top + partRow - 10}, u, point{stripSpine, mid}, false)
	d.faulty(b.ID, mid)
	label := c.Label(b.ID)
	size, class := stripLabel, "label"
	if b.ID == d.s.Load {
		class = "heading load"
	}
	lines := wrap(label, size, stripFlag-14-stripText, 2)
	small := rating(c, u)
	if b.Role == circuit.Contact && !d.s.conducts(b.ID) {
		small = strings.TrimSuffix("OPEN, "+small, ", ")
	}
	if s := d.s.end(b.ID); s != "" {
		small = strings.TrimSuffix(s+", "+small, ", ")
	}
	for _, p := range d.s.shaded() {
		if p.Branch == b.ID {
			small = strings.TrimSuffix("suspect "+percent(p.P)+", "+small, ", ")
		}
	}
	if small != "" {
		small = wrap(small, stripNote, stripFlag-14-stripText, 1)[0]
	}
	y := mid + 6 - (len(lines)-1)*labelLine/2
	if small != "" {
		y -= 9
	}
	for _, line := range lines {
		d.text(stripText, y, start, size, class, line)
		y += labelLine
	}
	if small != "" {
		d.text(stripText, y, start, stripNote, "rating", small)
	}
	d.marks(b.ID, mid)
	for _, at := range []struct {
		t circuit.TerminalID
		y int
	}{{h.From, top}, {h.To, top + partRow}} {
		if name := shortTerminal(c.Terminal(at.t)); name != "" && d.terminal(at.t, at.y) {
			d.text(stripSpine-10, at.y+4, end, stripNote-1, "pin", name)
		}
	}
	d.y += partRow
}

// faulty crosses out what is at fault.
func (d *stripPage) faulty(id circuit.BranchID, y int) {
	for _, f := range d.s.Faults {
		if f.Branch == id {
			fmt.Fprintf(&d.out, "<g class=\"fault\"><title>%s</title><path d=\"M%d %dL%d %dM%d %dL%d %d\"/></g>\n", escape(d.s.Circuit.Describe(f)),
				stripSpine-12, y-12, stripSpine+12, y+12, stripSpine-12, y+12, stripSpine+12, y-12)
		}
	}
}

// marks sets the flags of a branch at the right.
func (d *stripPage) marks(id circuit.BranchID, y int) {
	for _, m := range d.s.Marks {
		if m.Branch == id {
			writeFlag(&d.out, m.Number, stripFlag, y, m.Text)
			return
		}
	}
}

// terminal draws a terminal with its test point, if it has one, and reports
// whether it is new: two hops meet at one.
func (d *stripPage) terminal(t circuit.TerminalID, y int) bool {
	if d.last.terminal == t && d.last.y == y {
		return false
	}
	d.last.terminal, d.last.y = t, y
	d.visits[d.key(t)]++
	fmt.Fprintf(&d.over, "<circle class=\"terminal\" data-terminal=\"%s\" cx=\"%d\" cy=\"%d\" r=\"2.6\"><title>%s</title></circle>\n",
		escape(d.ref(t)), stripSpine, y, escape(d.s.Circuit.Terminal(t).Ref))
	for _, p := range d.s.TestPoints {
		if p.Terminal != t || d.pointed[t] == d.number {
			continue
		}
		d.pointed[t] = d.number
		plate := max(22, plateWidth(p.Mark, stripNote-1))
		w := plate
		if p.Reading != "" {
			w += 4 + boldWidth(p.Reading, stripNote) + 8
		}
		fmt.Fprintf(&d.over, "<g class=\"tag points\" data-tag=\"%d %d %d %d\"><path class=\"leader\" d=\"M%d %dL%d %d\"/><rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"18\"/><rect class=\"plate\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"18\"/>",
			stripWire, y-9, stripWire+w, y+9, stripSpine+3, y, stripWire, y, stripWire, y-9, w, stripWire, y-9, plate)
		text{x: stripWire + plate/2, y: y + 5, anchor: middle, size: stripNote - 1, class: "number", s: p.Mark}.write(&d.over)
		text{x: stripWire + plate + 4, y: y + 5, size: stripNote, class: "reading", s: p.Reading}.write(&d.over)
		d.over.WriteString("</g>\n")
	}
	return true
}

// key names a terminal within its way, ref its visit too: a way with other
// loads on it may come by a terminal twice.
func (d *stripPage) key(t circuit.TerminalID) string {
	return fmt.Sprintf("%d/%s", d.number, d.s.Circuit.Terminal(t).Ref)
}

func (d *stripPage) ref(t circuit.TerminalID) string {
	if n := d.visits[d.key(t)]; n > 1 {
		return fmt.Sprintf("%s/%d", d.key(t), n)
	}
	return d.key(t)
}
