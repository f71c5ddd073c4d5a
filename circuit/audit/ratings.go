package audit

import (
	"fmt"
	"math/cmplx"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// span is what a rating of a kind of part commonly lies between.
type span struct{ low, high float64 }

// usualWatts and usualVolts are of household appliances (common practice, no
// source): outside of them a figure is more often a slip than a part.
var usualWatts = map[circuit.Kind]span{
	circuit.KindElement:        {10, 12000},
	circuit.KindSurfaceElement: {100, 5000},
	circuit.KindLamp:           {0.05, 500},
	circuit.KindMotor:          {0.5, 2500},
	circuit.KindFan:            {0.5, 1000},
	circuit.KindSolenoid:       {0.5, 200},
	circuit.KindRelay:          {0.2, 60},
	circuit.KindLatch:          {0.5, 100},
	circuit.KindControl:        {0.2, 150},
	circuit.KindTransformer:    {1, 1000},
}

// otherFigures are the same of other keys.
var otherFigures = map[string]struct {
	span
	unit string
}{
	"amps":            {span{0.1, 125}, "A"},
	"microfarads":     {span{0.001, 1000}, "microfarads"},
	"start_ohms":      {span{0.5, 200}, "ohms"},
	"ohms":            {span{0.5, 1e6}, "ohms"},
	"secondary_volts": {span{3, 300}, "V"},
}

// usualVolts is of ratings, usualService of the supply by its system.
var (
	usualVolts   = span{2, 600}
	usualService = map[string]span{"split-phase": {200, 250}, "wye": {190, 250}, "single-phase": {100, 250}, "star": {190, 480}, "delta": {200, 250}}
)

const slip = "outside of what such parts have (common practice, no source): a slip of the unit or of a digit?"

// ratings questions figures that are possible but not likely. They come first:
// what is odd in the modes may only follow from them.
func (a *auditor) ratings() {
	for i := range a.c.Parts() {
		p := a.c.Part(circuit.PartID(i))
		s := &p.Spec
		if usual, ok := usualWatts[p.Kind]; ok && s.Watts > 0 {
			a.figure(p, "watts", "W", s.Watts, usual)
		}
		if s.Volts > 0 {
			a.figure(p, "volts", "V", s.Volts, usualVolts)
		}
		for _, f := range []struct {
			key   string
			value float64
		}{{"amps", s.Amps}, {"microfarads", s.Microfarads}, {"start_ohms", s.StartOhms}, {"ohms", s.Ohms}, {"secondary_volts", s.SecondaryVolts}} {
			if o := otherFigures[f.key]; f.value > 0 {
				a.figure(p, f.key, o.unit, f.value, o.span)
			}
		}
		a.sensor(p)
	}
	a.service()
	a.lengths()
}

func (a *auditor) figure(p *circuit.Part, key, unit string, value float64, usual span) {
	if value >= usual.low && value <= usual.high {
		return
	}
	message := fmt.Sprintf("%s = %s of the %s", key, number(value), circuit.LowerFirst(p.Label))
	if key == "watts" && p.Spec.Volts > 0 {
		message += fmt.Sprintf(" is %s A at its %g V", three(value/p.Spec.Volts), p.Spec.Volts)
	} else {
		message += fmt.Sprintf(": %s %s", number(value), unit)
	}
	if value < usual.low && value*1000 >= usual.low && value*1000 <= usual.high && key == "watts" {
		message += fmt.Sprintf("; if kilowatts are meant write %s", number(value*1000))
	}
	a.findCause(Rating, "parts."+p.Name+"."+key, p.Branches, slip, "%s", message)
}

// three writes a figure with three digits that count, and no exponent.
func three(v float64) string {
	if v >= 100 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return fmt.Sprintf("%.3g", v)
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// platinum lists the ohms at 0 C of platinum sensors: IEC 60751:2022, 5.1, the
// nominal 100 ohms and its multiples (from memory).
var platinum = []float64{100, 200, 500, 1000, 2000}

func (a *auditor) sensor(p *circuit.Part) {
	s := &p.Spec
	if p.Kind != circuit.KindSensor || !strings.HasPrefix(s.Curve, "pt") {
		return
	}
	for _, ohms := range platinum {
		if s.OhmsAt == ohms {
			return
		}
	}
	message := fmt.Sprintf("ohms_at = %g of the %s: platinum sensors have 100, 500 or 1000 ohms at 0 C", s.OhmsAt, circuit.LowerFirst(p.Label))
	if s.OhmsAt > 1050 && s.OhmsAt < 1120 {
		message += "; near 1080 is what one of 1000 reads at room temperature"
	}
	a.findCause(Rating, "parts."+p.Name+".ohms_at", p.Branches, "IEC 60751:2022, 5.1 (from memory)", "%s", message)
}

// service questions the supply's own figures.
func (a *auditor) service() {
	s := a.c.Supply()
	if usual := usualService[s.System]; s.Volts < usual.low || s.Volts > usual.high {
		between := "between the legs"
		if len(s.Legs) == 1 {
			between = "from leg to neutral"
		}
		a.findCause(Rating, "supply.volts", s.Legs, "ANSI C84.1-2020, nominal systems of 120/240, 120/208 and 120 V (from memory)",
			"a %s supply of %g V %s", s.System, s.Volts, between)
	}
	if s.Hertz != 50 && s.Hertz != 60 {
		a.findCause(Rating, "supply.hertz", s.Legs, "50 or 60 Hz: common practice, no source", "a line frequency of %g Hz", s.Hertz)
	}
	if ohms := a.c.Branch(s.Neutral).Ohms; ohms > 1 {
		a.findCause(Rating, "supply", s.Legs, "a service and its branch circuit have some hundredths of an ohm (common practice, no source)",
			"the supply has %.3g ohms in each conductor: 20 A lose %.3g V in it", ohms, 20*ohms)
	}
}

// longest is how many metres of one wire a house and an appliance have.
const longest = 60

func (a *auditor) lengths() {
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		if w.Metres > longest {
			a.findCause(Rating, wirePath(w.ID)+".metres", []circuit.BranchID{w.Branch}, "a length is in metres (common practice, no source)",
				"wire %s is %g m long", w.Name, w.Metres)
		}
	}
	for _, p := range a.c.Points() {
		if p.Minutes > longest {
			a.findCause(Rating, "points."+p.Name+".minutes", nil, "the effort to get a probe there, in minutes (common practice, no source)",
				"test point %s takes %g minutes", p.Name, p.Minutes)
		}
	}
}

// overShare is the share of rated volts above which a load is fed too high: the
// service's own 10 %, and as much again.
const overShare = 1.2

// overfed questions loads that stand at far more than their rated volts.
func (a *auditor) overfed() {
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Load || b.Volts == 0 || b.Sensor != nil || b.Watts == 0 {
			continue
		}
		for _, o := range a.modes {
			volts := cmplx.Abs(o.AnyState.Volts[b.A] - o.AnyState.Volts[b.B])
			if o.Chatter != nil || volts <= overShare*b.Volts {
				continue
			}
			a.findCause(Overfed, "parts."+a.c.Part(b.Part).Name, []circuit.BranchID{b.ID}, "it would burn out: its volts, or where it is wired, may be a slip",
				"%s of %g V stands at %.0f V in %s", a.c.Label(b.ID), b.Volts, volts, a.c.Mode(o.Mode).Label)
			break
		}
	}
}
