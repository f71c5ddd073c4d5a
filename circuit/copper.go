package circuit

import "math"

// awgDiameterMM returns the diameter of a solid round conductor in
// millimetres: 0.127 mm times 92^((36-n)/39), ASTM B258.
func awgDiameterMM(awg int) float64 {
	return 0.127 * math.Pow(92, float64(36-awg)/39)
}

// awgSquareMM returns the cross-section of a solid conductor in mm2.
func awgSquareMM(awg int) float64 {
	d := awgDiameterMM(awg)
	return math.Pi * d * d / 4
}

// copperOhms returns the resistance of a copper wire at 75 C, the temperature
// of NFPA 70 chapter 9 table 8: annealed copper of IEC 60028, 1/58 ohm mm2/m
// at 20 C, with 0.00393 per kelvin (both from memory).
func copperOhms(squareMM, metres float64) float64 {
	const at20, perKelvin = 1.0 / 58, 0.00393
	return at20 * (1 + perKelvin*(75-20)) * metres / squareMM
}
