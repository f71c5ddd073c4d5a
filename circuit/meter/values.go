package meter

import (
	"fmt"
	"math"

	"legtrace/circuit"
)

// Value is a resistance with its tolerance and the reason for it.
type Value struct {
	Ohms, Low, High float64
	Why             string
}

// spread is how a part's cold resistance lies about the ohms its rating gives.
// All figures are common practice, no source.
type spread struct {
	nominal, low, high float64
	why                string
}

// Elements are made within 5 % over and 10 % under their rated watts; heating
// wire reads a few per cent lower cold than hot.
var elementSpread = spread{0.97, 0.93 / 1.05, 1 / 0.90, "rated watts +5/-10 %, up to 7 % less cold than hot"}

var coldSpread = map[circuit.Kind]spread{
	circuit.KindElement:        elementSpread,
	circuit.KindSurfaceElement: elementSpread,
	circuit.KindLamp:           {0.09, 0.05, 0.14, "a lamp's filament cold is a tenth of it hot, more or less"},
	circuit.KindMotor:          {0.25, 0.08, 0.6, "a motor's winding is far below what it draws running"},
	circuit.KindFan:            {0.25, 0.08, 0.6, "a motor's winding is far below what it draws running"},
	circuit.KindLatch:          {0.8, 0.1, 1.8, "a small motor's winding tells little of what it draws"},
	circuit.KindSolenoid:       {0.4, 0.15, 0.9, "a coil's winding is below what it draws on alternating current"},
	circuit.KindRelay:          {0.8, 0.4, 1.15, "a coil's winding, +/-15 %, part of its draw being reactance"},
	circuit.KindResistor:       {1, 0.9, 1.1, "a resistor within 10 %"},
	circuit.KindControl:        {0.3, 0.02, 5, "a control's input is a transformer or a supply, and reads anything"},
	circuit.KindTransformer:    {0.02, 0.002, 0.1, "a transformer's winding is far below what it draws"},
	circuit.KindCapacitor:      {0, 0, 0, "a capacitor passes no direct current"},
}

// knownSpread is of parts whose cold ohms the netlist tells (common practice, no
// source).
var knownSpread = spread{1, 0.9, 1.1, "within 10 % of the cold ohms given"}

// carbideSpread is of a rod that lets more through the hotter it gets: two good ones of
// a kind differ by more than one that is worn does from new, so that its current while
// it glows is measured, and its ohms tell no more than that it is whole (common
// practice, no source).
var carbideSpread = spread{1, 0.65, 1.85, "a rod that conducts the better the hotter: its ohms cold tell that it is whole, its current how good it is"}

// windingSpread is of windings whose ohms the model has as they are, by the
// branch's name. All figures are common practice, no source.
var windingSpread = map[string]spread{
	"start":     {1, 0.85, 1.15, "a winding within 15 %"},
	"secondary": {0.5, 0.15, 1, "a transformer's winding, part of what its voltage drops under load"},
}

// Contact resistances (common practice, no source).
const (
	GoodContactOhms  = 0.1 // at most, clean
	WornContactOhms  = 1.0 // at most, still serviceable
	BurntContactOhms = 4.0 // typical of a burnt contact or joint
)

// SensorClass gives the limits of error of a temperature sensor in kelvin at a
// temperature in Celsius. For the 3850 curve it is class B of IEC 60751:2022,
// 0.30 + 0.005 |t| (from memory). That of the 3750 curve is what a published
// table allows, 4.0 ohms of 1000 at 0 C and 5.3 of 1091 at 24 C (service
// literature, common practice, no source); of the others common practice, no
// source.
func SensorClass(law string, celsius float64) float64 {
	switch law {
	case "pt3850":
		return 0.30 + 0.005*math.Abs(celsius)
	case "pt3750":
		return 1.05 + 0.0147*math.Abs(celsius)
	}
	return 2 + 0.02*math.Abs(celsius)
}

// Cold returns what a load's winding, wire or sensor reads by itself with the
// supply off, at a sensor temperature in Celsius.
func Cold(c *circuit.Circuit, load circuit.BranchID, celsius float64) Value {
	b := c.Branch(load)
	if b.Sensor != nil {
		return sensorValue(b.Sensor, celsius)
	}
	if ohms := c.Part(b.Part).Spec.ColdOhms; ohms > 0 && windingSpread[b.Name] == (spread{}) {
		if c.Part(b.Part).Kind.Heats() && ohms > math.Hypot(real(b.Z), imag(b.Z))/elementSpread.low {
			return carbideSpread.of(ohms)
		}
		return knownSpread.of(ohms)
	}
	return RatedCold(c, load)
}

// RatedCold is what a load's rating alone says of its cold resistance.
func RatedCold(c *circuit.Circuit, load circuit.BranchID) Value {
	b := c.Branch(load)
	kind := c.Part(b.Part).Kind
	s, ok := coldSpread[kind]
	if !ok {
		s = spread{1, 0.9, 1.1, "within 10 %"}
	}
	ohms := math.Hypot(real(b.Z), imag(b.Z))
	if named, ok := windingSpread[b.Name]; ok {
		s = named
	}
	return s.of(ohms)
}

func (s spread) of(ohms float64) Value {
	return Value{Ohms: s.nominal * ohms, Low: s.low * ohms, High: s.high * ohms, Why: s.why}
}

func sensorValue(curve *circuit.SensorCurve, celsius float64) Value {
	at := func(t float64) float64 {
		low, high := curve.Limits()
		r, err := curve.Ohms(min(max(t, low), high))
		if err != nil {
			return math.NaN() // not reached: t lies within the limits
		}
		return r
	}
	e := SensorClass(curve.Law, celsius)
	a, b := at(celsius-e), at(celsius+e)
	return Value{Ohms: at(celsius), Low: min(a, b), High: max(a, b),
		Why: fmt.Sprintf("%s at %.0f C, within %.1f K", curve.Law, celsius, e)}
}

// SupplyRange is how far the supply may lie from nominal, either way: the
// trade's 10 % (common practice, no source). ANSI C84.1 range B, service
// voltage, is 110 to 127 and 220 to 254 V (from memory), which lies inside.
const SupplyRange = 0.10
