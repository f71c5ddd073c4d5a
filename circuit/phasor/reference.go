package phasor

import "legtrace/circuit"

// ToEarth is what "volts to" means wherever one terminal is spoken of: its
// voltage to the service's neutral point, or false where it floats. The service
// ties that point to earth (NEC 2023, 250.24, from memory), so that a meter
// reads the same to the service's neutral, to earth and to metal that is bonded
// to either; a machine that is brought no neutral is read to earth. A neutral
// or metal that a fault has cut off from the service is no reference: it may be
// at the voltage of a leg.
func (s *Solution) ToEarth(t circuit.TerminalID) (complex128, bool) {
	return s.Volts[t], !s.Floating[t]
}
