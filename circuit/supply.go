package circuit

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
)

// system is a kind of service: its usual volts, how many wires it has with
// protective earth and how few without, and the voltages of its legs to neutral for
// a voltage between legs.
type system struct {
	volts        float64
	wires, least int
	legs         func(volts float64) []complex128
}

var systems = map[string]system{
	"split-phase":  {240, 4, 3, func(v float64) []complex128 { return []complex128{complex(v/2, 0), complex(-v/2, 0)} }},
	"wye":          {208, 4, 3, func(v float64) []complex128 { return starLegs(v)[:2] }},
	"single-phase": {120, 3, 2, func(v float64) []complex128 { return []complex128{complex(v, 0)} }},
	"star":         {208, 5, 4, starLegs},
	"delta": {240, 5, 4, func(v float64) []complex128 {
		return []complex128{complex(v/2, 0), complex(0, -v*math.Sqrt(3)/2), complex(-v/2, 0)}
	}},
}

// Words name a supply in the trade's words: "120/240 V split-phase".
func (s Supply) Words() string {
	volts := fmt.Sprintf("%.4g", s.Volts)
	switch s.System {
	case "split-phase", "delta":
		volts = fmt.Sprintf("%.4g/%.4g", s.Volts/2, s.Volts)
	case "wye", "star":
		volts = fmt.Sprintf("%.0f/%.4g", s.Volts/math.Sqrt(3), s.Volts)
	}
	return fmt.Sprintf("%s V %s", volts, s.System)
}

func starLegs(volts float64) []complex128 {
	v := volts / math.Sqrt(3)
	return []complex128{complex(v, 0), cmplx.Rect(v, -2*math.Pi/3), cmplx.Rect(v, 2*math.Pi/3)}
}

// system names the service that a spec means; "" where none is near.
func (b *builder) system(name string) string {
	names := sortedKeys(systems)
	oneOf := "one of " + strings.Join(names, ", ")
	switch _, known := systems[name]; {
	case known:
		return name
	case name == "":
		b.fail("supply.system", oneOf, "the supply has no system")
		return ""
	}
	b.fail("supply.system", cmp.Or(NearestHint(name, names), oneOf), "unknown system %q", name)
	return Nearest(name, names)
}

// supply lowers the supply to source branches.
func (b *builder) supply(s SupplySpec) {
	b.path = "supply"
	p := b.newPart(PartSpec{Name: SupplyName, Label: "Supply"}, KindSupply)
	name := b.system(s.System)
	system, ok := systems[name]
	if !ok {
		return
	}
	volts, wires, hertz := cmp.Or(s.Volts, system.volts), cmp.Or(s.Wires, system.wires), cmp.Or(s.Hertz, 60)
	if wires < system.least || wires > system.wires {
		b.fail("supply.wires", fmt.Sprintf("%d or %d", system.least, system.wires), "%d wires on a %s supply", wires, name)
		wires = system.wires
	}
	if !(volts >= 1 && volts <= 1000) {
		b.fail("supply.volts", "1 to 1000", "%g V is not possible", volts)
	}
	if !(hertz >= 10 && hertz <= 1000) {
		b.fail("supply.hertz", "10 to 1000", "%g Hz is not possible", hertz)
		hertz = 60
	}
	ohms := b.conductorOhms("supply.source_ohms", s.SourceOhms, DefaultSourceOhms) + b.conductorOhms("supply.feeder_ohms", s.FeederOhms, DefaultFeederOhms)
	if s.ResidualAmps < 0 || s.ResidualAmps > 0 && s.ResidualAmps < smallest || s.ResidualAmps > 100 {
		b.fail("supply.residual_amps", "0.005 or 0.03 as a rule", "%g A is not possible", s.ResidualAmps)
	}
	b.c.supply = Supply{System: name, Volts: volts, Hertz: hertz, Wires: wires, Earth: None}
	add := func(name string, emf complex128) BranchID {
		br := b.branch(p, name, Source, None, b.terminal(p, name))
		br.EMF, br.Ohms, br.Residual = emf, ohms, s.ResidualAmps
		return br.ID
	}
	for i, emf := range system.legs(volts) {
		b.c.supply.Legs = append(b.c.supply.Legs, add(fmt.Sprintf("L%d", i+1), emf))
	}
	b.c.supply.Neutral = add("N", 0)
	if wires == system.wires {
		b.c.supply.Earth = add("G", 0)
		b.c.branches[b.c.supply.Earth].Residual = 0 // what comes back by it does not come back by the others
	}
}

// conductorOhms is a resistance of the supply, of each conductor.
func (b *builder) conductorOhms(path string, given *float64, usual float64) float64 {
	v := usual
	if given != nil {
		v = *given
	}
	if !(v >= 0 && v <= 1000) || v > 0 && v < smallest {
		b.fail(path, "0 to 1000", "%g ohms is not possible", v)
	}
	return v
}
