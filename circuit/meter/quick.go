package meter

import (
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// seriesSpread widens a quick voltage for the tolerances of loads in series,
// which [Bench.Volts] works out one by one.
const seriesSpread = 0.03

// Quick takes a reading without the instrument's own loading and with the
// tolerances of loads in series taken as a flat share: a fraction of the work
// of [Bench.Volts], for weighing many faults against each other. Amps are those
// of the wire between the two.
func (b *Bench) Quick(o *settle.Outcome, f Function, p, q circuit.TerminalID) Reading {
	if f == Amps {
		wire, err := b.c.WireBetween(p, q)
		if err == nil {
			var r Reading
			if r, err = b.Amps(o, wire); err == nil {
				return r
			}
		}
		return Reading{Function: f, Refused: err.Error()}
	}
	if !f.Live() {
		if b.energised(o) {
			return Reading{Function: f, Refused: "the machine is on"}
		}
		return b.ohms(o, p, q)
	}
	if r, jumps := b.jumps(f, o, o.Volts(p, q)); jumps {
		return r
	}
	return b.QuickOn(fullView{o}, f, p, q)
}

// Read takes a reading as the instrument shows it, its own loading and all,
// whichever function it is of.
func (b *Bench) Read(o *settle.Outcome, f Function, p, q circuit.TerminalID) (Reading, error) {
	if f.Live() && f != Amps {
		return b.Volts(o, f, p, q)
	}
	return b.Quick(o, f, p, q), nil
}

// Take settles the machine with faults in a mode, dead or live as the function
// asks, lifts leads and takes a reading: what is good between two places is one figure,
// whoever says it.
func (b *Bench) Take(p Probes, mode circuit.ModeID, lift []circuit.WireID, faults []circuit.Fault) (Reading, error) {
	run := b.Dead
	if p.Function.Live() {
		run = b.Live
	}
	o, err := run(mode, faults)
	if err != nil {
		return Reading{}, err
	}
	for _, w := range lift {
		o.Conducts[b.c.Wire(w).Branch] = false
	}
	return b.Read(o, p.Function, p.P, p.Q)
}

// QuickOn is [Bench.Quick] for volts, on a machine settled in any way.
func (b *Bench) QuickOn(m Settled, f Function, p, q circuit.TerminalID) Reading {
	if v, fixed := m.Between(p, q); fixed {
		return b.steady(f, cmplx.Abs(v))
	}
	return b.stray(m, f, p, q, b.Instrument.input(f))
}

// steady makes a reading of a voltage that the circuit determines.
func (b *Bench) steady(f Function, v float64) Reading {
	r := Reading{Function: f, Value: v}
	low, high := v, v
	if b.Tolerances {
		low, high = v*(1-SupplyRange-seriesSpread), v*(1+SupplyRange+seriesSpread)
	}
	r.Low, _ = b.Instrument.Spread(f, low)
	_, r.High = b.Instrument.Spread(f, high)
	return r
}
