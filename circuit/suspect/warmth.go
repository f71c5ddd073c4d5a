package suspect

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"legtrace/circuit"
	"legtrace/circuit/heat"
	"legtrace/circuit/meter"
)

// warmth is how warm a machine gets beside a sound one.
type warmth struct {
	// slower is how many times as long it takes to come to temperature, positive
	// infinity where it never does.
	slower float64
	// over and under are by how many kelvin the body that is furthest off settles
	// too warm and too cool.
	over, under float64
	// stored is the share of a sound machine's heat that it has by the time that
	// one is warm.
	stored float64
	// drawn says that it is drawn from a store, where what lacks of it is felt as
	// a lower temperature.
	drawn bool
	// never says that heat is let off in a sound machine, and here never.
	never bool
}

// asSound is a sound machine's.
var asSound = warmth{slower: 1, stored: 1}

// How a person tells warmth, at what and how sharply (common practice, no
// source): half as long again, 14 K (25 F), an eighth of the hot water.
const (
	longerLog, longerSharp = 0.405, 0.11
	offKelvin, offSharp    = 14, 4
	lackShare, lackSharp   = 0.13, 0.035
	// hotForCold is the chance of being told of a matter of degree where nothing
	// heats at all; by how many degrees, of which nobody says, nor a few where it is many.
	hotForCold, degreesForCold = 0.05, 0.005
	// offLog is how far a thermometer hung in the oven, or a guess, may be from
	// what it tells of, as the log of the ratio.
	offLog = 0.6
	// far is by how many kelvin heat runs away, and ranAway the chance that it is
	// still called too hot, and no more.
	far, ranAway = 80, 0.2
	// lagging is the chance that heat which never lets off, as it never comes so far, is
	// told of by how many degrees it is short: that is called slow, or no heat.
	lagging = 0.1
	// someKelvin is by how many it is off where nobody says how many, nor which way: 50 F.
	someKelvin = 28
)

// above is the chance of being told that something is above a bound.
func (by *errs) above(v, at, sharp float64) float64 {
	return by.alarm + (1-by.misjudge-by.alarm)*math.Erfc((at-v)/(sharp*math.Sqrt2))/2
}

// toldWarmth is the chance of being told of it.
func (by *errs) toldWarmth(s *Symptom, p predicted) float64 {
	whole := s.Whole
	// off is the chance where it is off by so many kelvin: of the figure that was
	// said or, without one, of noticing it.
	off := func(kelvin float64) float64 {
		if s.Kelvin == 0 || kelvin <= 0 {
			return by.above(kelvin, offKelvin, offSharp)
		}
		apart := math.Log(kelvin/s.Kelvin) / offLog
		return degreesForCold + (1-by.misjudge-degreesForCold)*math.Exp(-apart*apart/2)
	}
	cold := p.share < circuit.OnShare
	switch {
	case s.measured && whole == AsSet && cold, s.measured && whole == RunsHot && cold:
		return by.misjudge
	case s.measured && cold:
		return 1 - 2*by.misjudge
	case whole == AsSet:
		return max(by.misjudge, 1-off(p.warmth.over)-off(p.warmth.under))
	case s.measured && whole == RunsHot:
		return off(p.warmth.over)
	case whole == Slow && (cold || p.stands):
		return p.slowForCold()
	case whole == Slow:
		return by.above(math.Log(p.warmth.slower), longerLog, longerSharp)
	case whole == RunsHot && p.warmth.over > far:
		return min(ranAway, off(p.warmth.over))
	case whole == RunsHot:
		return off(p.warmth.over)
	case cold && s.Kelvin > 0:
		return degreesForCold
	case cold:
		return hotForCold
	case whole == RunsCold && p.warmth.drawn && s.Kelvin == 0:
		return max(off(p.warmth.under), by.above(1-p.warmth.stored, lackShare, lackSharp))
	case whole == RunsCold && p.warmth.never && s.Kelvin > 0:
		return lagging * off(p.warmth.under)
	case whole == RunsCold:
		return off(p.warmth.under)
	}
	return by.above(1-p.warmth.stored, lackShare, lackSharp)
}

// heats tells whether what is told is weighed by how warm the machine gets.
func (s *Symptom) heats() bool {
	if of := s.meanings(); of != nil {
		return slices.ContainsFunc(of, func(m Symptom) bool { return m.heats() })
	}
	return s != nil && slices.Contains([]Whole{Slow, RunsHot, RunsCold, RunsOut, AsSet}, s.Whole)
}

// warmer follows one mode of a machine with faults, what is alike once.
type warmer struct {
	c       *circuit.Circuit
	model   *heat.Model
	heating []circuit.BranchID // loads that warm any body
	minutes float64
	sound   *heat.Run
	known   map[string]warmth
}

// steps is how many a run is followed in: a fraction of what it is worth to a
// single question.
const steps = 300

// warmer is nil where nothing is known of what gets warm in a mode, or of what
// temperature is aimed at.
func (w *worker) warmer(mode circuit.ModeID) (*warmer, error) {
	if have, ok := w.warmers[mode]; ok {
		return have, nil
	}
	model, err := heat.New(w.bench.Circuit())
	if err != nil {
		w.warmers[mode] = nil
		return nil, nil // it has no bodies
	}
	c := w.bench.Circuit()
	heating := slices.DeleteFunc(c.Loads(), func(load circuit.BranchID) bool { return !c.Warms(load) })
	x := &warmer{c: c, model: model, heating: heating, known: map[string]warmth{}}
	first, err := x.run(mode, nil, 240)
	if err != nil {
		return nil, err
	}
	last := 0.0
	for _, b := range first.Bodies {
		if !math.IsNaN(b.Reached) {
			last = max(last, b.Reached)
		}
	}
	if last == 0 {
		w.warmers[mode] = nil
		return nil, nil
	}
	x.minutes = min(240, max(60, 3*last))
	if x.sound, err = x.run(mode, nil, x.minutes); err != nil {
		return nil, err
	}
	w.warmers[mode] = x
	return x, nil
}

// letsOff reports whether a thermostat or a control let off heat.
func (x *warmer) letsOff(run *heat.Run) bool {
	return slices.ContainsFunc(run.Events, func(ev heat.Event) bool {
		p := x.c.Part(ev.Part)
		return ev.Acts && (p.Kind == circuit.KindControl || p.LetsOff())
	})
}

func (x *warmer) run(mode circuit.ModeID, faults []circuit.Fault, minutes float64) (*heat.Run, error) {
	return x.model.Run(heat.Question{Mode: mode, Faults: faults, Room: circuit.RoomCelsius, Minutes: minutes, Step: 60 * minutes / steps})
}

// warmth follows the machine with faults; the second result is false where
// nothing is known of its warmth in the mode.
func (w *worker) warmth(mode circuit.ModeID, faults []circuit.Fault) (warmth, bool, error) {
	x, err := w.warmer(mode)
	if x == nil || err != nil {
		return asSound, false, err
	}
	key, err := w.warmKey(mode, x.heating, faults)
	if err != nil {
		return asSound, false, err
	}
	if have, ok := x.known[key]; ok {
		return have, true, nil
	}
	now, err := x.run(mode, faults, x.minutes)
	if err != nil {
		return asSound, false, err
	}
	both := heat.Compare{Sound: x.sound, Now: now}
	got := warmth{slower: 1, drawn: w.bench.Circuit().StoresHeat()}
	var held, due float64
	for i := range x.sound.Bodies {
		id := circuit.BodyID(i)
		sound := &x.sound.Bodies[i]
		if math.IsNaN(sound.Reached) {
			continue
		}
		got.slower = max(got.slower, both.Slower(id))
		got.over, got.under = max(got.over, both.Off(id)), max(got.under, -both.Off(id))
		at, c := min(len(sound.Celsius)-1, int(x.minutes/3)), w.bench.Circuit().Bodies()[i].Capacity
		due += c * (sound.Celsius[at] - circuit.RoomCelsius)
		held += c * (now.Bodies[i].Celsius[min(at, len(now.Bodies[i].Celsius)-1)] - circuit.RoomCelsius)
	}
	got.stored, got.never = held/due, x.letsOff(x.sound) && !x.letsOff(now)
	x.known[key] = got
	return got, true, nil
}

// warmKey is the same for faults that warm a machine alike: what loads and fans of
// its bodies get in the mode and once it is satisfied, what the control sees, what
// is wrong with what heat works and with what stays on of itself.
func (w *worker) warmKey(mode circuit.ModeID, heating []circuit.BranchID, faults []circuit.Fault) (string, error) {
	var key []byte
	number := func(x float64) { key = append(strconv.AppendFloat(key, x, 'g', -1, 64), ' ') }
	c := w.bench.Circuit()
	// What is heated later, once a thermostat has moved, is on in a mode of its own.
	modes := append([]circuit.ModeID{mode}, w.coverage()...)
	if next := c.Mode(mode).Cycles; next != circuit.None {
		modes = append(modes, next)
	}
	bodies := c.Bodies()
	for _, m := range modes {
		o, err := w.live(m, faults)
		if err != nil {
			return "", err
		}
		for i := range bodies {
			if fan := bodies[i].Fan; fan != circuit.None {
				number(float64(o.Motion(fan)))
			}
		}
		for _, load := range heating {
			number(math.Round(50 * o.LeastShare(load)))
		}
	}
	for i := range c.Controls() {
		for _, sense := range c.Controls()[i].Senses {
			if sense.Modes != nil && !sense.Modes[mode] {
				continue
			}
			r, _, err := w.reading(meter.Probes{Function: meter.Ohms, P: sense.Pin1, Q: sense.Pin2}, mode, nil, faults)
			if err != nil {
				return "", err
			}
			key = strconv.AppendBool(key, r.OL)
			number(math.Round(200 * math.Log1p(r.Value)))
		}
	}
	for _, f := range faults {
		b := c.Branch(f.Branch)
		worked := b.Part != circuit.None && c.Part(b.Part).Body != circuit.None
		switch {
		case f.Kind == circuit.Welded, f.Kind == circuit.Driven, worked && f.Kind == circuit.Open, worked && f.Kind == circuit.Drifted:
			number(float64(f.Branch))
			number(float64(f.Kind))
			number(math.Round(100 * f.Factor))
		}
	}
	return string(key), nil
}

// warmed makes a symptom of a telling of a matter of degree, in a mode that aims
// at a temperature: which faults do that is worked out. Where the netlist knows
// too little of what gets warm it stays hearsay.
func (e *Engine) warmed(t *Telling) (*Symptom, error) {
	if t.ask.Ask == Thermometer {
		return t.measured(), nil
	}
	whole, ok := map[string]Whole{"runs_hot": RunsHot, "runs_cold": RunsCold, "runs_out": RunsOut, "off_by": RunsHot}[t.What]
	if !ok {
		return nil, nil
	}
	mode, err := e.aims(t.Load)
	if mode == circuit.None || err != nil {
		return nil, err
	}
	s := &Symptom{Mode: mode, Load: circuit.None, Whole: whole, Kelvin: t.Kelvin}
	if t.What == "off_by" {
		s.Kelvin = cmp.Or(t.Kelvin, someKelvin)
		s.also = []Symptom{{Mode: mode, Load: circuit.None, Whole: RunsCold, Kelvin: s.Kelvin}}
	}
	return s, nil
}

// unevenTold is how often what comes out uneven is told of beside a fan that stands, whatever a
// thermometer shows in the middle (common practice, no source).
const unevenTold = 0.3

// stirs reports whether faults leave a fan dead that was told to be: its own, or what feeds
// and drives it alone. What it spread the heat of comes out uneven.
func (e *Engine) stirs(faults []circuit.Fault) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		if s == nil || s.Load == circuit.None || s.State != circuit.Dead || kindOf(e.c, s.Load) != circuit.KindFan {
			return false
		}
		needs, err := e.dependsOn(s.Load)
		return err == nil && slices.ContainsFunc(faults, func(f circuit.Fault) bool { return needs[f.Branch] })
	})
}
