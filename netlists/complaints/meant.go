package complaints

import (
	"math"
	"slices"

	"legtrace/circuit"
)

// meantBy is what was spoken of or read last where a phrase names no more than what such a
// thing has: its winding, its lamp, its plug; "the ring element's plug" is that element's.
func (k *readout) meantBy(np *phrase, before *lastRead) *phrase {
	if len(np.nouns) > 1 && slices.ContainsFunc(k.r.partsAt(np, np.where, anyPart), func(id circuit.PartID) bool { return k.r.c.Part(id).Kind == circuit.KindConnector }) {
		return np // it has a plug of its own
	}
	if n := len(np.nouns); n > 1 && k.isPlug(np.said[n-1]) && k.at && k.unit != "ohms" {
		of := *np
		if of.nouns, of.said = np.nouns[:n-1], np.said[:n-1]; len(k.r.parts(&of, k.r.isLoad)) == 1 {
			return &of
		}
	}
	if len(np.where) > 0 || len(np.said) != 1 || np.all {
		return np
	}
	for _, of := range []*phrase{before.of, k.spoken} {
		if of == nil {
			continue
		}
		parts := k.r.parts(of, k.r.isLoad)
		if len(parts) != 1 {
			continue
		}
		p := k.r.c.Part(parts[0])
		switch turns := p.Kind == circuit.KindMotor || p.Kind == circuit.KindFan; {
		case turns && slices.Contains(k.r.l.Windings, np.said[0]),
			p.Kind == circuit.KindLamp && k.r.namesOnly(np, circuit.KindLamp),
			k.isPlug(np.said[0]) && k.at && k.unit != "ohms" && !k.r.isSurface(p.ID) && p.Kind != circuit.KindControl && p.Kind != circuit.KindLamp && math.Abs(k.amps-p.Spec.Volts) < p.Spec.Volts/5:
			return of
		}
	}
	return np
}

// isPlug reports whether a word is of what joins a part to its wires, or a machine to the house.
func (k *readout) isPlug(said string) bool {
	return slices.Contains(k.r.l.Meter.Leads, said) && slices.Contains(k.r.l.nounOf(k.r.l.alone(said)).Is, "plug")
}
