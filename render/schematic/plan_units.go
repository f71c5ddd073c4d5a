package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// step is the grid on which pins, wires and symbols lie, in pixels.
const step = 8

// Shapes of symbols, in pixels.
const (
	reach     = 4 * step // from a symbol's middle to the pin of a two-pin symbol
	trunkHalf = 3 * step // the same in a trunk
	waist     = 2 * step // half the height of a symbol below its axis
	head      = 3 * step // and above it, where what works a contact is drawn
	starReach = 5 * step // from the middle of contacts with a common terminal to their pins
	leafPitch = 4 * step // between contacts with a common terminal
	pinPitch  = 4 * step // between the pins of a box
	boxReach  = 8 * step // from a box's middle to its pins
)

type shape uint8

const (
	shapeBranch  shape = iota // two pins, one branch
	shapeStar                 // contacts with a common terminal
	shapeBox                  // named pins around a rectangle
	shapeWinding              // a transformer
	shapeMotor                // a motor with its start winding
	shapeSource               // one conductor of the supply
	shapeChassis
)

// side is the edge of a symbol that a pin lies on.
type side uint8

const (
	left side = iota
	right
	top
	bottom
)

// pin is a terminal on a symbol. X and Y are from the symbol's middle.
type pin struct {
	terminal circuit.TerminalID
	side     side
	x, y     int
}

// unit is one symbol: a part, or one of the pieces that a part with separate
// contacts, poles or windings is drawn as.
type unit struct {
	id       int
	part     *circuit.Part
	shape    shape
	branches []circuit.BranchID
	pins     []pin
	// hub is the common terminal of a star.
	hub circuit.TerminalID
	// upright symbols have their pins above each other, half apart from the
	// middle; half is reach unless the symbol spans two rungs.
	upright bool
	half    int
	label   []string // lines above the symbol
	rating  string   // line below it
	// x, y place the symbol's middle; a star's or box's first row is at y.
	x, y   int
	column int
	// height is the order from top to bottom in the layered layout.
	height float64
	placed bool
	trunk  bool
	// seated is a splice that a line stands for: it sits on the line.
	seated bool
	// siblings are the other symbols of the same part, where they are drawn
	// apart.
	siblings []*unit
	// load symbols stand for a load, not for a contact or a join.
	load bool
}

// depth returns how far a symbol reaches below its first row.
func (u *unit) depth() int {
	d := 0
	for _, p := range u.pins {
		d = max(d, p.y)
	}
	return d
}

// halfWidth returns the distance from a symbol's middle to its pins.
func (u *unit) halfWidth() int {
	switch u.shape {
	case shapeBox:
		return boxReach
	case shapeStar:
		return starReach
	}
	return reach
}

// body returns the rectangle that no wire may enter.
func (u *unit) body() rect {
	switch {
	case u.upright && u.shape == shapeBranch:
		above, _ := u.room()
		return rect{u.x - max(waist, above), u.y - u.half + step, u.x + waist, u.y + u.half - step}
	case u.shape == shapeSource:
		return rect{u.x - waist, u.y - 2*step, u.x + waist, u.y + step}
	case u.seated:
		return rect{u.x, u.y, u.x, u.y} // among its wires
	case u.shape == shapeChassis:
		return rect{u.x - waist, u.y + step, u.x + waist, u.y + 3*step}
	}
	w := u.halfWidth() - step
	above, below := u.room()
	return rect{u.x - w, u.y - above, u.x + w, u.y + u.depth() + below}
}

// withPins is a symbol's body with its terminals.
func (u *unit) withPins() rect {
	r := u.body()
	for _, p := range u.pins {
		at := u.at(p)
		r = rect{min(r.x0, at.x), min(r.y0, at.y), max(r.x1, at.x), max(r.y1, at.y)}
	}
	return r
}

// room tells how far a symbol reaches above its first row and below its last.
func (u *unit) room() (above, below int) {
	switch u.part.Kind {
	case circuit.KindTerminalBlock, circuit.KindConnector, circuit.KindFuse:
		return step, step
	case circuit.KindThermalFuse:
		return head, step
	}
	if u.shape == shapeStar || u.shape == shapeBranch && actuators[u.part.Kind] != nil && !u.load {
		return head, waist
	}
	return waist, waist
}

// at returns where a pin lies.
func (u *unit) at(p pin) point { return point{u.x + p.x, u.y + p.y} }

// split turns the machine's parts into symbols.
func (g *graph) split() {
	for i := range g.c.Parts() {
		p := g.c.Part(circuit.PartID(i))
		switch p.Kind {
		case circuit.KindSupply:
			for _, b := range p.Branches {
				g.source(p, b)
			}
		case circuit.KindChassis, circuit.KindNode:
			u := g.newUnit(p, shapeChassis)
			u.pins = []pin{{terminal: p.Terminals[0], side: top}}
		case circuit.KindControl:
			g.splitControl(p)
		case circuit.KindTransformer:
			u := g.newUnit(p, shapeWinding)
			u.branches = p.Branches
			for row, b := range p.Branches {
				y := row * 5 * step
				u.pins = append(u.pins, pin{g.c.Branch(b).A, left, -reach, y}, pin{g.c.Branch(b).B, right, reach, y})
			}
		default:
			g.splitPieces(p)
		}
	}
	for _, u := range g.units {
		g.caption(u)
		for _, p := range u.pins {
			g.unitOf[p.terminal] = u
		}
	}
}

// source makes the symbol of one conductor of the supply. One that nothing is
// wired to is not drawn.
func (g *graph) source(p *circuit.Part, b circuit.BranchID) {
	at := g.c.Branch(b).B
	u := &unit{part: p, shape: shapeSource, hub: circuit.None, half: reach}
	if len(g.c.Terminal(at).Wires) > 0 {
		u = g.newUnit(p, shapeSource)
	}
	u.branches = []circuit.BranchID{b}
	u.pins = []pin{{terminal: at, side: bottom, y: 2 * step}}
	g.unitOf[at] = u
}

// drawn reports whether a terminal is on the page.
func (g *graph) drawn(t circuit.TerminalID) bool {
	return g.unitOf[t].shape != shapeSource || len(g.c.Terminal(t).Wires) > 0
}

func (g *graph) newUnit(p *circuit.Part, s shape) *unit {
	u := &unit{id: len(g.units), part: p, shape: s, hub: circuit.None, half: reach}
	g.units = append(g.units, u)
	return u
}

// splitControl makes a box: supply pins first, then what it senses.
func (g *graph) splitControl(p *circuit.Part) {
	u := g.newUnit(p, shapeBox)
	u.branches = p.Branches
	for _, t := range p.Terminals {
		u.pins = append(u.pins, pin{terminal: t})
	}
}

// splitPieces makes a symbol of every group of branches that share terminals.
func (g *graph) splitPieces(p *circuit.Part) {
	groups := circuit.NewGroups(len(g.c.Terminals()))
	for _, b := range p.Branches {
		if br := g.c.Branch(b); br.A != circuit.None && br.B != circuit.None {
			groups.Join(int32(br.A), int32(br.B))
		}
	}
	pieces := map[int32][]circuit.BranchID{}
	for _, b := range p.Branches {
		if br := g.c.Branch(b); br.A != circuit.None {
			r := groups.Of(int32(br.A))
			pieces[r] = append(pieces[r], b)
		}
	}
	for _, t := range p.Terminals {
		r := groups.Of(int32(t))
		if len(pieces[r]) > 0 {
			g.piece(p, pieces[r])
			pieces[r] = nil
		}
	}
}

// piece makes the symbol of branches that hang together.
func (g *graph) piece(p *circuit.Part, branches []circuit.BranchID) {
	count := map[circuit.TerminalID]int{}
	var terminals []circuit.TerminalID
	for _, b := range branches {
		br := g.c.Branch(b)
		for _, t := range []circuit.TerminalID{br.A, br.B} {
			if count[t] == 0 {
				terminals = append(terminals, t)
			}
			count[t]++
		}
	}
	if len(branches) == 1 {
		u := g.newUnit(p, shapeBranch)
		u.branches = branches
		br := g.c.Branch(branches[0])
		u.load = br.Role == circuit.Load
		u.pins = []pin{{br.A, left, -reach, 0}, {br.B, right, reach, 0}}
		return
	}
	hub := circuit.TerminalID(circuit.None)
	for _, t := range terminals {
		if count[t] == len(branches) {
			hub = t
			break
		}
	}
	if hub != circuit.None && len(terminals) == len(branches)+1 {
		s := shapeStar
		if p.Kind == circuit.KindMotor {
			s = shapeMotor
		}
		u := g.newUnit(p, s)
		u.branches, u.hub = branches, hub
		for _, t := range terminals {
			u.pins = append(u.pins, pin{terminal: t})
		}
		return
	}
	u := g.newUnit(p, shapeBox)
	u.branches = branches
	for _, t := range terminals {
		u.pins = append(u.pins, pin{terminal: t})
	}
}

// longestLabel is how many characters of a label are drawn at most; its symbol's
// title has them all.
const longestLabel = 120

// caption writes a symbol's label and rating.
func (g *graph) caption(u *unit) {
	p := u.part
	text := p.Label
	switch {
	case u.shape == shapeSource:
		text = g.c.Branch(u.branches[0]).Name
	case p.Kind == circuit.KindRelay && len(p.Branches) > 1 && len(u.branches) == 1 && g.c.Branch(u.branches[0]).Role == circuit.Load:
		text += " coil"
	case (p.Kind == circuit.KindTerminalBlock || p.Kind == circuit.KindConnector || p.Kind.Guards()) && g.c.Branch(u.branches[0]).Name != "":
		text += " " + g.c.Branch(u.branches[0]).Name
	case p.Kind == circuit.KindLatch && len(u.branches) == 1 && g.c.Branch(u.branches[0]).Role == circuit.Load && len(p.Branches) > 1:
		text += " motor"
	case p.Kind == circuit.KindRelay && len(p.Spec.Contacts) > 1 && len(u.branches) == 1:
		text += " " + g.c.Branch(u.branches[0]).Name
	}
	if letters := []rune(text); len(letters) > longestLabel {
		text = string(letters[:longestLabel-1]) + "\u2026"
	}
	u.label = balance(text, partSize, captionWidth, 3)
	u.rating = rating(g.c, u)
}

// rating tells what a technician reads off the part.
func rating(c *circuit.Circuit, u *unit) string {
	var out []string
	s := u.part.Spec
	switch u.shape {
	case shapeChassis:
		return ""
	case shapeWinding:
		return fmt.Sprintf("%g / %g V", s.Volts, s.SecondaryVolts)
	}
	b := c.Branch(u.branches[0])
	if b.Role == circuit.Source { // the house's own device, of all conductors, is told at the first
		if b.Residual > 0 && b.ID == c.Supply().Legs[0] {
			return fmt.Sprintf("RCD %g mA", 1000*b.Residual)
		}
		return ""
	}
	if b.Role == circuit.Load {
		switch {
		case b.Sensor != nil:
			out = append(out, fmt.Sprintf("%s, %g \u2126", s.Curve, s.OhmsAt))
		case s.Microfarads > 0:
			out = append(out, fmt.Sprintf("%g \u00b5F", s.Microfarads))
		case s.Ohms > 0:
			out = append(out, fmt.Sprintf("%g \u2126", s.Ohms))
		case b.Watts > 0:
			out = append(out, fmt.Sprintf("%g V %g W", b.Volts, b.Watts))
		}
	}
	if b.Rule.Actuator == circuit.ByControl && b.Rule.By != circuit.None {
		out = append(out, "on "+c.Part(c.ControlOf(b.Rule.By).Part).Label)
	}
	if b.Residual > 0 {
		out = append(out, fmt.Sprintf("%g mA", 1000*b.Residual))
	}
	if b.Amps > 0 {
		out = append(out, fmt.Sprintf("%g A", b.Amps))
	}
	return strings.Join(out, ", ")
}
