package meter

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// Stray pickup, a stated simple model: a conductor tied to nothing is coupled
// to the worst live conductor beside it in the harness by this capacitance,
// one to two metres of loom (common practice, no source). What it then shows
// wanders between nothing and that.
const StrayFarads = 100e-12

// Errors of readings that make no sense.
var (
	// ErrSameProbe is returned when both probes are on one terminal.
	ErrSameProbe = errors.New("both probes are on the same terminal")
	// ErrNoClamp is returned for a clamp around something that is no wire.
	ErrNoClamp = errors.New("a clamp goes around a wire")
)

// Bench takes readings on one circuit with one instrument. It must not be used
// by two goroutines at once.
type Bench struct {
	c          *circuit.Circuit
	engine     *settle.Engine
	reference  func() circuit.TerminalID // settled for once
	Instrument Instrument
	// Tolerances widens readings by part tolerances and the supply's range;
	// without it they hold the instrument's own error only.
	Tolerances bool
	// Ambient is the temperature in Celsius of sensors when a test is made
	// with the supply off and the machine cold.
	Ambient float64

	masks map[maskOf]Masking // those asked for
}

// New makes a bench with tolerances on, at room temperature.
func New(c *circuit.Circuit, in Instrument) *Bench {
	b := &Bench{c: c, engine: settle.New(c), Instrument: in, Tolerances: true, Ambient: circuit.RoomCelsius, masks: map[maskOf]Masking{}}
	b.reference = sync.OnceValue(b.findReference)
	return b
}

// Engine returns the engine the bench settles with.
func (b *Bench) Engine() *settle.Engine { return b.engine }

// Circuit returns the circuit on the bench.
func (b *Bench) Circuit() *circuit.Circuit { return b.c }

// Live settles the machine with its supply on.
func (b *Bench) Live(mode circuit.ModeID, faults []circuit.Fault) (*settle.Outcome, error) {
	return b.engine.Run(mode, faults)
}

// Dead settles the machine with the supply removed: selectors and thermostats
// where the mode has them, every coil let go.
func (b *Bench) Dead(mode circuit.ModeID, faults []circuit.Fault) (*settle.Outcome, error) {
	return b.engine.Run(mode, append(b.unplug(), faults...))
}

// unplug opens every supply conductor, earth too: a plugged-in machine's earth
// would close loops of its own.
func (b *Bench) unplug() []circuit.Fault {
	var out []circuit.Fault
	s := b.c.Supply()
	for _, id := range append(append([]circuit.BranchID{}, s.Legs...), s.Neutral, s.Earth) {
		if id != circuit.None {
			out = append(out, circuit.Fault{Kind: circuit.Open, Branch: id})
		}
	}
	return out
}

// energised reports whether any leg feeds the machine.
func (b *Bench) energised(o *settle.Outcome) bool {
	for _, id := range b.c.Supply().Legs {
		if o.Conducts[id] {
			return true
		}
	}
	return false
}

// Volts reads AC volts between two terminals, by the function given, [Volts]
// or [LowZVolts].
func (b *Bench) Volts(o *settle.Outcome, f Function, p, q circuit.TerminalID) (Reading, error) {
	if p == q {
		return Reading{}, fmt.Errorf("%w: %s", ErrSameProbe, b.c.Terminal(p).Ref)
	}
	if r, jumps := b.jumps(f, o, o.Volts(p, q)); jumps {
		return r, nil
	}
	input := b.Instrument.input(f)
	if _, fixed := o.AnyState.Between(p, q); !fixed {
		return b.stray(fullView{o}, f, p, q, input), nil
	}
	volts := func(in phasor.Input) (float64, error) {
		in.Probe = &phasor.Probe{A: p, B: q, Ohms: input}
		sol, err := o.Solver().Solve(in)
		if err != nil {
			return 0, err
		}
		v, _ := sol.Between(p, q)
		return cmplx.Abs(v), nil
	}
	in := b.engine.Input(o)
	v, err := volts(in)
	if err != nil {
		return Reading{}, err
	}
	r := Reading{Function: f, Value: v}
	low, high := v, v
	if b.Tolerances {
		low, high = v*(1-SupplyRange), v*(1+SupplyRange)
		r.Why = append(r.Why, fmt.Sprintf("supply within %.0f %% of nominal", 100*SupplyRange))
		down, up, err := b.loadSpread(o, in, v, volts)
		if err != nil {
			return Reading{}, err
		}
		if down+up > 0.005*v {
			low, high = max(0, low-down), high+up
			r.Why = append(r.Why, "loads in series, each within its tolerance")
		}
	}
	r.Low, _ = b.Instrument.Spread(f, low)
	_, r.High = b.Instrument.Spread(f, high)
	r.Why = append(r.Why, b.accuracyWhy(f))
	return r, nil
}

// jumps makes the reading of a figure that is not the same in every state of a
// machine that chatters.
func (b *Bench) jumps(f Function, o *settle.Outcome, figure settle.Range) (Reading, bool) {
	if _, steady := figure.Steady(); o.Chatter == nil || steady {
		return Reading{}, false
	}
	low, high := figure.Least, figure.Most
	if figure.Floats {
		low = 0
	}
	if b.Tolerances {
		low, high = low*(1-SupplyRange), high*(1+SupplyRange)
	}
	r := Reading{Function: f, Value: figure.Most, Jumps: true, Why: []string{"relays chatter: it goes back and forth, as fast as they do", b.accuracyWhy(f)}}
	r.Low, _ = b.Instrument.Spread(f, low)
	_, r.High = b.Instrument.Spread(f, high)
	return r, true
}

// loadSpread sums how far each energised load's own tolerance moves a voltage.
func (b *Bench) loadSpread(o *settle.Outcome, in phasor.Input, v float64, volts func(phasor.Input) (float64, error)) (down, up float64, err error) {
	for i := range b.c.Branches() {
		br := b.c.Branch(circuit.BranchID(i))
		if br.Role != circuit.Load || br.Sensor != nil || !o.Conducts[i] || o.AnyState.LoadVolts(br.ID) < 0.5 {
			continue
		}
		for _, factor := range [2]float64{1 / 1.05, 1 / 0.9} {
			changed := in
			changed.Faults = append(append([]circuit.Fault{}, in.Faults...), circuit.Fault{Kind: circuit.Drifted, Branch: br.ID, Factor: factor})
			w, err := volts(changed)
			if err != nil {
				return 0, 0, err
			}
			down, up = down+max(0, v-w), up+max(0, w-v)
		}
	}
	return down, up, nil
}

// Settled is a settled machine as a quick reading sees it: a
// [settle.SweepOutcome], or an outcome of the engine.
type Settled interface {
	Volts(circuit.TerminalID) complex128
	Floating(circuit.TerminalID) bool
	Conducts(circuit.BranchID) bool
	// Between is false where the circuit does not determine the voltage.
	Between(p, q circuit.TerminalID) (complex128, bool)
}

// fullView shows an engine's outcome as [Settled].
type fullView struct{ o *settle.Outcome }

func (v fullView) Between(p, q circuit.TerminalID) (complex128, bool) {
	return v.o.AnyState.Between(p, q)
}

func (v fullView) Volts(t circuit.TerminalID) complex128 { return v.o.AnyState.Volts[t] }
func (v fullView) Floating(t circuit.TerminalID) bool    { return v.o.AnyState.Floating[t] }
func (v fullView) Conducts(id circuit.BranchID) bool     { return v.o.Conducts[id] }

// stray reads a conductor tied to nothing.
func (b *Bench) stray(o Settled, f Function, p, q circuit.TerminalID, input float64) Reading {
	var live float64
	reference := func(leg complex128) float64 {
		for _, t := range [2]circuit.TerminalID{p, q} {
			if !o.Floating(t) {
				return cmplx.Abs(leg - o.Volts(t))
			}
		}
		return cmplx.Abs(leg)
	}
	for _, id := range b.c.Supply().Legs {
		if o.Conducts(id) {
			live = max(live, reference(b.c.Branch(id).EMF))
		}
	}
	if live == 0 {
		_, high := b.Instrument.Spread(f, 0)
		return Reading{Function: f, High: high, Why: []string{"nothing is live"}}
	}
	coupling := 1 / (2 * math.Pi * b.c.Supply().Hertz * StrayFarads)
	v := live * (1 + SupplyRange) * input / math.Hypot(input, coupling)
	_, high := b.Instrument.Spread(f, v)
	if v < 0.5 {
		return Reading{Function: f, High: high, Why: []string{"floating; the low-impedance input pulls stray voltage down"}}
	}
	return Reading{Function: f, High: high, Unsteady: true, Why: []string{"floating: stray voltage from live wires beside it"}}
}

func (b *Bench) accuracyWhy(f Function) string {
	a := *b.Instrument.Accuracy(f)
	return fmt.Sprintf("instrument %.2g %% + %.0f counts", a.Percent, a.Counts)
}

// Amps reads the current in a wire with a clamp.
func (b *Bench) Amps(o *settle.Outcome, wire circuit.BranchID) (Reading, error) {
	if b.c.Branch(wire).Wire == circuit.None {
		return Reading{}, fmt.Errorf("%w: %s is none", ErrNoClamp, b.c.Branch(wire).Ref)
	}
	if r, jumps := b.jumps(Amps, o, o.Amps(wire)); jumps {
		return r, nil
	}
	v := cmplx.Abs(o.AnyState.Amps[wire])
	locked := v
	if humming := o.Locked(); len(humming) > 0 {
		drawing, err := b.engine.Run(o.Mode, append(slices.Clip(o.Faults), humming...))
		if err != nil {
			return Reading{}, err
		}
		locked = cmplx.Abs(drawing.AnyState.Amps[wire])
	}
	r := b.QuickAmps(v, locked)
	if b.Tolerances {
		r.Why = append(r.Why, "supply within 10 % of nominal, rated watts +5/-10 %")
	}
	if locked > v {
		r.Why = append(r.Why, "a motor that does not turn draws four to six times what it draws running")
	}
	r.Why = append(r.Why, b.accuracyWhy(Amps))
	return r, nil
}

// QuickAmps is what a clamp shows around a wire that carries so much by the solved
// network, and so much with the motors that hum drawing [settle.Locked] times as
// much; without its reasons.
func (b *Bench) QuickAmps(amps, locked float64) Reading {
	low, high := amps, amps
	if locked > amps {
		per := (locked - amps) / (settle.Locked - 1)
		low, high = amps+per*(settle.LockedLeast-1), amps+per*(settle.LockedMost-1)
	}
	if b.Tolerances {
		low, high = low*(1-SupplyRange)*0.9, high*(1+SupplyRange)*1.05
	}
	r := Reading{Function: Amps, Value: locked}
	r.Low, _ = b.Instrument.Spread(Amps, low)
	_, r.High = b.Instrument.Spread(Amps, high)
	return r
}
