package meter

import (
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// nearNothing is the voltage, as a share of the supply's, that a technician
// calls nothing (common practice, no source).
const nearNothing = 0.03

// NearZero reports whether a technician would call a reading no volts.
func (b *Bench) NearZero(r Reading) bool {
	return r.Function.Live() && r.Function != Amps && !r.Unsteady && !r.Jumps && r.High < b.Nothing()
}

// Range says what a reading lies in, as [Reading.Range], but for one that a technician
// calls no volts.
func (b *Bench) Range(r Reading) string {
	if b.NearZero(r) {
		return "near 0 " + r.Function.Unit()
	}
	return r.Range()
}

// Nothing is the least that a technician calls some volts.
func (b *Bench) Nothing() float64 { return nearNothing * b.c.Supply().Volts }

// NoProofOfDead is what must be said beside a reading of no volts whose ends
// are live all the same: both at one leg, or one at metal that is live itself.
// It is empty for any other reading.
func (b *Bench) NoProofOfDead(o *settle.Outcome, p, q circuit.TerminalID, r Reading) string {
	if !b.NearZero(r) {
		return ""
	}
	neutral := b.Reference()
	at, and := b.touch(o, neutral, p), b.touch(o, neutral, q)
	switch {
	case !at.Live() && !and.Live():
		return ""
	case at.String() == and.String():
		return fmt.Sprintf("Next to nothing between them, and neither end is dead: both are at %s.", at)
	}
	return fmt.Sprintf("Next to nothing between them, and neither end is dead: %s is at %s, %s at %s.", b.c.PlaceLabel(p), at, b.c.PlaceLabel(q), and)
}
