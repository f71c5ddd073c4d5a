package circuit

import (
	"fmt"
	"math"
)

// SensorCurve gives a temperature sensor's resistance.
type SensorCurve struct {
	// Law is "pt3850", "pt3750" or "ntc".
	Law string
	// OhmsAt is the resistance at 0 C (platinum) or at 25 C (ntc).
	OhmsAt float64
	// Beta is the ntc material constant in kelvin.
	Beta float64
}

// platinum holds the Callendar-Van Dusen coefficients
// R(t) = R0 (1 + A t + B t^2 + C (t - 100) t^3), C only below 0 C.
type platinum struct{ a, b, c, low, high float64 }

var platinumLaws = map[string]platinum{
	// IEC 60751:2022.
	"pt3850": {3.9083e-3, -5.775e-7, -4.183e-12, -200, 850},
	// Thin-film sensors of 3750 ppm/K, value from memory.
	"pt3750": {3.8102e-3, -6.01888e-7, -6e-12, -200, 600},
}

// Limits returns the temperatures, in Celsius, between which the law holds.
func (s SensorCurve) Limits() (low, high float64) {
	if p, ok := platinumLaws[s.Law]; ok {
		return p.low, p.high
	}
	return -50, 350
}

// Celsius returns the temperature at which the sensor has a resistance. It
// fails for ohms that it has nowhere within the law's limits.
func (s SensorCurve) Celsius(ohms float64) (float64, error) {
	low, high := s.Limits()
	a, _ := s.Ohms(low)
	b, _ := s.Ohms(high)
	if !(ohms >= min(a, b) && ohms <= max(a, b)) {
		return 0, fmt.Errorf("the sensor has %g ohms nowhere from %g to %g C", ohms, low, high)
	}
	rises := b > a
	// Every law is monotonic, so halving finds it; 60 halvings of 1000 K leave
	// nothing.
	for range 60 {
		mid := (low + high) / 2
		if r, _ := s.Ohms(mid); r < ohms == rises {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, nil
}

// Ohms returns the resistance at a temperature in Celsius. It fails outside
// the law's limits.
func (s SensorCurve) Ohms(celsius float64) (float64, error) {
	low, high := s.Limits()
	if !(celsius >= low && celsius <= high) {
		return 0, fmt.Errorf("temperature %g C is outside the sensor's range %g to %g C", celsius, low, high)
	}
	if p, ok := platinumLaws[s.Law]; ok {
		t := celsius
		r := 1 + p.a*t + p.b*t*t
		if t < 0 {
			r += p.c * (t - 100) * t * t * t
		}
		return s.OhmsAt * r, nil
	}
	const zero, reference = 273.15, 298.15
	return s.OhmsAt * math.Exp(s.Beta*(1/(celsius+zero)-1/reference)), nil
}
