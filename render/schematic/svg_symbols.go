package schematic

import (
	"fmt"

	"legtrace/circuit"
)

// Symbols after IEC 60617, and after IEEE 315-1975 where that is asked for, or
// customary, and differs (both from memory). Coordinates are in pixels from the symbol's middle, current running
// along x from one pin at -reach to the other at reach.

// bodies draws what lies between a two-pin symbol's leads, by kind.
var bodies = map[circuit.Kind]func(*pen, Symbols){
	circuit.KindElement:        drawHeater,
	circuit.KindSurfaceElement: drawHeater,
	circuit.KindLamp:           drawLamp,
	circuit.KindMotor:          drawMotor,
	circuit.KindLatch:          drawMotor,
	circuit.KindFan:            drawFan,
	circuit.KindSolenoid:       drawSolenoid,
	circuit.KindRelay:          drawCoil,
	circuit.KindResistor:       drawResistor,
	circuit.KindCapacitor:      drawCapacitor,
	circuit.KindSensor:         drawSensor,
	circuit.KindTerminalBlock:  drawStud,
	circuit.KindConnector:      drawPlug,
}

// actuators draws what works a contact, above its blade, by kind.
var actuators = map[circuit.Kind]func(*pen, Symbols){
	circuit.KindSwitch:            drawHandle,
	circuit.KindPushSwitch:        drawButton,
	circuit.KindSelector:          drawKnob,
	circuit.KindCyclingSwitch:     drawKnob,
	circuit.KindThermostat:        drawHeat,
	circuit.KindLimit:             drawHeat,
	circuit.KindRelay:             drawCoilMark,
	circuit.KindDoorSwitch:        drawPlunger,
	circuit.KindLatch:             drawPlunger,
	circuit.KindCentrifugalSwitch: drawSpeed,
}

// draw draws a symbol.
func (d *Drawing) draw(u *unit, p *pen) {
	switch u.shape {
	case shapeSource:
		d.drawSource(u, p)
	case shapeChassis:
		if u.seated {
			p.circle("dot", 0, 0, 4)
			break
		}
		if u.part.Kind == circuit.KindNode {
			drawSplice(p)
			break
		}
		drawFrame(p)
	case shapeStar:
		d.drawStar(u, p)
	case shapeMotor:
		drawThreePin(u, p)
	case shapeWinding:
		drawWindings(p)
	case shapeBox:
		d.drawBox(u, p)
	default:
		d.drawBranch(u, p)
	}
}

func (d *Drawing) drawBranch(u *unit, p *pen) {
	b := d.Circuit.Branch(u.branches[0])
	switch {
	case u.part.Kind == circuit.KindFuse || u.part.Kind == circuit.KindThermalFuse:
		drawFuse(p, d.symbols(), d.conducts(b.ID))
		if u.part.Kind == circuit.KindThermalFuse {
			drawHeat(p, d.symbols())
		}
	case b.Role == circuit.Contact:
		// The hinge is on the pin that the branch starts at.
		p.flip = u.pins[0].terminal != b.A
		drawContact(p, d.conducts(b.ID), normallyClosed(u.part, b))
		switch u.part.Kind {
		case circuit.KindBreaker:
			drawBreakerMark(p, d.symbols())
		case circuit.KindRCD:
			drawRing(p)
		}
		d.drawActuator(u, p, b.ID)
	default:
		body := bodies[u.part.Kind]
		if body == nil {
			body = drawBlock
		}
		if b.ID == d.Load {
			p.box("halo", -19, -9, 19, 9)
		}
		body(p, d.symbols())
	}
}

// drawDelay marks a contact that acts late: the parachute on its link.
func drawDelay(p *pen) {
	p.arc("s", -5, -10, 5, -10, 5, true)
}

// drawActuator draws what works a contact. A relay's is filled while it acts.
func (d *Drawing) drawActuator(u *unit, p *pen, contact circuit.BranchID) {
	act := actuators[u.part.Kind]
	if act == nil {
		return
	}
	act(p, d.symbols())
	b := d.Circuit.Branch(contact)
	if b.Rule.Timed {
		drawDelay(p)
	}
	if u.part.Kind == circuit.KindRelay && d.conducts(contact) != b.Rule.NormallyClosed {
		p.box("solid", -5, -21.5, 5, -17.5)
	}
}

// normallyClosed reports whether a contact is made when nothing acts on it.
func normallyClosed(p *circuit.Part, b *circuit.Branch) bool {
	if b.Rule.Actuator == circuit.ByPosition {
		return !p.Kind.Guards() && b.Rule.Closed[p.Rest]
	}
	return b.Rule.NormallyClosed
}

// gap is half the distance between a contact's fixed point and its hinge.
const gap = 12

func drawContact(p *pen, closed, nc bool) {
	leads(p, gap)
	drawBlade(p, 0, closed, nc)
}

func drawBlade(p *pen, y float64, closed, nc bool) {
	if nc {
		p.line("s", gap, y, gap, y-8)
	}
	switch {
	case closed && nc:
		p.line("blade", -gap, y, gap+3, y-5)
	case closed:
		p.line("blade", -gap, y, gap, y)
	case nc:
		p.line("blade", -gap, y, gap-2, y+10)
	default:
		p.line("blade", -gap, y, gap-2, y-10)
	}
	p.circle("joint", -gap, y, 2.2)
	if !nc {
		p.circle("joint", gap, y, 2.2)
	}
}

func drawBreakerMark(p *pen, s Symbols) {
	if s == IEEE {
		p.arc("s", -gap, -4, gap, -4, 16, true)
		return
	}
	p.line("s", gap-4, -4, gap+4, 4)
	p.line("s", gap-4, 4, gap+4, -4)
}

// drawRing is the core that sums what a residual-current device lets through,
// about the conductor.
func drawRing(p *pen) {
	p.circle("s", gap+8, 0, 5)
}

// drawSplice is where wires meet without a part.
func drawSplice(p *pen) {
	p.line("s", 0, 0, 0, 8)
	p.circle("dot", 0, 8, 4)
}

func drawFuse(p *pen, s Symbols, whole bool) {
	if s == IEEE {
		leads(p, 16)
		p.arc("s", -16, 0, 0, 0, 9, true)
		p.arc("s", 0, 0, 16, 0, 9, false)
	} else {
		p.box("s fill", -16, -6, 16, 6)
		leads(p, 0)
	}
	if !whole {
		p.line("s", -6, 10, 6, -10)
	}
}

func leads(p *pen, from float64) {
	p.line("s", -p.half, 0, -from, 0)
	p.line("s", from, 0, p.half, 0)
}

func zigzag(p *pen) {
	leads(p, 18)
	p.line("s", -18, 0, -15, -7, -9, 7, -3, -7, 3, 7, 9, -7, 15, 7, 18, 0)
}

func drawHeater(p *pen, s Symbols) {
	if s == IEEE {
		zigzag(p)
		return
	}
	leads(p, 22)
	p.box("s fill", -22, -8, 22, 8)
	for _, x := range []float64{-11, 0, 11} {
		p.line("s", x, -8, x, 8)
	}
}

func drawResistor(p *pen, s Symbols) {
	if s == IEEE {
		zigzag(p)
		return
	}
	leads(p, 18)
	p.box("s fill", -18, -7, 18, 7)
}

func drawSensor(p *pen, s Symbols) {
	drawResistor(p, s)
	p.line("s", -17, 12, -12, 12, 12, -12)
}

func drawLamp(p *pen, s Symbols) {
	leads(p, 11)
	p.circle("s fill", 0, 0, 11)
	if s == IEEE {
		p.line("s", -11, 0, -4, 0, -4, 2)
		p.arc("s", -4, 2, 4, 2, 4, true)
		p.line("s", 4, 2, 4, 0, 11, 0)
		return
	}
	p.line("s", -7.8, -7.8, 7.8, 7.8)
	p.line("s", -7.8, 7.8, 7.8, -7.8)
}

func drawMotor(p *pen, _ Symbols) {
	leads(p, 13)
	p.circle("s fill", 0, 0, 13)
	drawM(p, 0)
}

// drawM draws the letter upright whichever way the symbol lies.
func drawM(p *pen, y float64) {
	q := *p
	q.upright, q.flip = false, false
	q.line("s", -5, y+5, -5, y-5, 0, y+2, 5, y-5, 5, y+5)
}

func drawFan(p *pen, _ Symbols) {
	leads(p, 13)
	p.circle("s fill", 0, 0, 13)
	p.arc("s", -10, 0, 0, 0, 6, true)
	p.arc("s", -10, 0, 0, 0, 6, false)
	p.arc("s", 0, 0, 10, 0, 6, true)
	p.arc("s", 0, 0, 10, 0, 6, false)
}

func drawCoil(p *pen, s Symbols) {
	if s == IEEE {
		leads(p, 12)
		p.circle("s fill", 0, 0, 12)
		return
	}
	leads(p, 9)
	p.box("s fill", -9, -12, 9, 12)
}

func drawSolenoid(p *pen, s Symbols) {
	if s == IEEE {
		leads(p, 16)
		for _, x := range []float64{-16, -8, 0, 8} {
			p.arc("s", x, 0, x+8, 0, 4, true)
		}
		return
	}
	leads(p, 9)
	p.box("s fill", -9, -12, 9, 12)
	p.line("s", -9, 12, 9, -12)
}

func drawCapacitor(p *pen, s Symbols) {
	leads(p, 4)
	p.line("s", -4, -10, -4, 10)
	if s == IEEE {
		p.arc("s", 7, -10, 7, 10, 18, false)
		return
	}
	p.line("s", 4, -10, 4, 10)
}

// drawBlock stands for a part that is more than two terminals, where only its
// supply or one winding is shown.
func drawBlock(p *pen, _ Symbols) {
	leads(p, 20)
	p.box("s fill", -20, -16, 20, 16)
}

func drawStud(p *pen, _ Symbols) {
	leads(p, 6)
	p.circle("s fill", 0, 0, 6)
	p.circle("dot", 0, 0, 2)
}

func drawPlug(p *pen, s Symbols) {
	leads(p, 6)
	if s == IEEE {
		p.line("s", -12, -6, -6, 0, -12, 6)
		p.line("s", 0, -6, 6, 0, 0, 6)
		p.line("s", -6, 0, 6, 0)
		return
	}
	p.box("solid", -1, -3.5, 10, 3.5)
	p.line("s", -9, -7, -5, -4, -4, 0, -5, 4, -9, 7)
}

func drawHandle(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -20)
	p.line("s", -5, -20, 5, -20)
}

func drawButton(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -20)
	p.line("s", -5, -16, -5, -20, 5, -20, 5, -16)
}

func drawKnob(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -19)
	p.line("s", -5, -15, -5, -19, 5, -19, 5, -23)
}

func drawPlunger(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -15)
	p.area("s fill", 0, -15, -5, -22, 5, -22)
}

func drawSpeed(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -13)
	p.line("s", -3, -14, -3, -21, 0, -22, 3, -20, 3, -14)
}

func drawCoilMark(p *pen, _ Symbols) {
	p.line("link", 0, -5, 0, -16)
	p.box("s fill", -7, -23, 7, -16)
}

// drawHeat marks what temperature works: by a letter, or by the stepped line of
// a bimetal.
func drawHeat(p *pen, s Symbols) {
	if s == IEEE {
		p.line("link", 0, -5, 0, -12)
		p.line("s", -8, -12, 0, -12, 0, -21, 8, -21)
		return
	}
	drawTheta(p)
}

// drawTheta draws the letter that stands for temperature.
func drawTheta(p *pen) {
	x, y := p.place(0, -17)
	fmt.Fprintf(p.out, `<ellipse class="s fill" cx="%s" cy="%s" rx="%s" ry="%s"/>`, num(x), num(y), num(p.scaled(3.2)), num(p.scaled(5)))
	q := pen{out: p.out, at: point{int(x), int(y)}, scale: p.scale}
	q.line("s", -3.2, 0, 3.2, 0)
}
