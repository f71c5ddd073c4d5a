package report

import (
	"errors"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// Readings tells what the meter shows between probes.
type Readings struct {
	Head
	Function   string        `json:"function" help:"volts, lowz, ohms, continuity or amps"`
	Power      string        `json:"power" help:"on, or removed: resistance is only ever taken with the supply removed"`
	Meter      Meter         `json:"meter" help:"the instrument"`
	Tolerances bool          `json:"tolerances" help:"intervals hold part tolerances and the supply's range, not only the instrument's error"`
	Celsius    float64       `json:"celsius" help:"temperature of sensors when measured with the supply removed"`
	Readings   []PairReading `json:"readings" help:"one for each pair of probes, or each clamped wire"`
}

// PairReading is the reading at one pair of probes, or around one wire.
type PairReading struct {
	From *Probe `json:"from" help:"the red probe; null for a clamp"`
	To   *Probe `json:"to" help:"the black probe; null for a clamp"`
	Wire *Item  `json:"wire" help:"the wire in the clamp; null for probes"`
	Good Shown  `json:"good" help:"a sound machine, everything connected"`
	// The next two are for ohms and continuity on one part or wire.
	Lift       *Lift  `json:"lift" help:"the lead taken off for the lifted reading; null where there is none to take"`
	GoodLifted *Shown `json:"good_lifted" help:"the same with the lead off; null where lifting leaves nothing between the probes"`
	With       *Shown `json:"with_faults" help:"the same reading with the faults present; null when there are none"`
	WithLifted *Shown `json:"with_faults_lifted" help:"and with the lead off"`
	Differs    bool   `json:"differs" help:"in circuit, the faults make it read as a sound machine cannot"`
	// DiffersLifted is the same with the lead off.
	DiffersLifted bool     `json:"differs_lifted" help:"and so with the lead off"`
	Advice        []Advice `json:"advice" help:"for ohms and continuity: whether an open would show here without lifting a lead"`
	Remarks       []string `json:"remarks" help:"what the reading is often taken for and is not"`
}

// Advice says whether an open between two probes shows in circuit.
type Advice struct {
	Of      Item   `json:"of" help:"the part or wire that may be open"`
	Verdict string `json:"verdict" help:"no need to lift, lift, or no use: then only a live test tells"`
	Lift    *Lift  `json:"lift" help:"the lead to lift; null where it is not needed or of no use"`
	Through []Item `json:"through" help:"the way round that hides the open"`
	Good    Shown  `json:"good" help:"sound, as advised"`
	Open    Shown  `json:"open" help:"open, as advised"`
}

// Verdicts of advice.
const (
	adviceNoNeed = "no need to lift"
	adviceLift   = "lift"
	adviceNoUse  = "no use"
)

// ErrLiveOhms is returned for resistance asked for on a machine that is on.
var ErrLiveOhms = errors.New("resistance is never measured on a live machine: current from the supply passes through the meter, which harms it and you, and the figure means nothing; remove the supply, lock out, and leave out --live")

// Pair is where the two probes are.
type Pair struct{ From, To circuit.TerminalID }

// Readings reads between pairs of probes in a mode, sound and with the
// question's faults.
func (r *Reporter) Readings(q Question, f meter.Function, pairs []Pair, opt MeterOptions) (*Readings, error) {
	if f == meter.Amps {
		return nil, errors.New("amps are read around wires, not between probes")
	}
	for _, p := range pairs {
		if p.From == p.To {
			return nil, fmt.Errorf("both probes are on %s", r.c.Terminal(p.From).Ref)
		}
	}
	x, err := r.readingsOf(q, f, opt)
	if err != nil {
		return nil, err
	}
	for _, p := range pairs {
		d := PairReading{From: new(r.probe(p.From)), To: new(r.probe(p.To)), Advice: []Advice{}, Remarks: []string{}}
		if f.Live() {
			err = x.volts(&d, p)
		} else {
			err = x.ohms(&d, p)
		}
		if err != nil {
			return nil, err
		}
		x.d.Readings = append(x.d.Readings, d)
	}
	return x.d, nil
}

// Clamps reads amps around wires.
func (r *Reporter) Clamps(q Question, wires []circuit.BranchID, opt MeterOptions) (*Readings, error) {
	x, err := r.readingsOf(q, meter.Amps, opt)
	if err != nil {
		return nil, err
	}
	for _, w := range wires {
		d := PairReading{Wire: new(r.item(w)), Advice: []Advice{}, Remarks: []string{}}
		good, err := x.b.Amps(x.sound, w)
		if err != nil {
			return nil, err
		}
		with, err := x.b.Amps(x.broken, w)
		if err != nil {
			return nil, err
		}
		x.both(&d, good, with)
		x.d.Readings = append(x.d.Readings, d)
	}
	return x.d, nil
}

// taking is a round of readings.
type taking struct {
	*Reporter
	b             *meter.Bench
	f             meter.Function
	q             Question
	d             *Readings
	sound, broken *settle.Outcome // with the supply as the function wants it
}

func (r *Reporter) readingsOf(q Question, f meter.Function, opt MeterOptions) (*taking, error) {
	if _, err := r.sound(q.Mode); err != nil {
		return nil, err
	}
	b, err := r.newBench(opt)
	if err != nil {
		return nil, err
	}
	x := &taking{Reporter: r, b: b, f: f, q: q}
	settled, power := b.Live, "on"
	if !f.Live() {
		settled, power = b.Dead, "removed"
	}
	if x.sound, err = settled(q.Mode, nil); err != nil {
		return nil, fmt.Errorf("mode %q cannot be worked out: %w", r.c.Mode(q.Mode).Name, err)
	}
	if x.broken, err = settled(q.Mode, q.Faults); err != nil {
		return nil, fmt.Errorf("mode %q cannot be worked out with these faults: %w", r.c.Mode(q.Mode).Name, err)
	}
	x.d = &Readings{Head: r.head("readings", q), Function: f.String(), Power: power, Meter: instrument(b.Instrument),
		Tolerances: b.Tolerances, Celsius: b.Ambient, Readings: []PairReading{}}
	if f.Live() {
		r.settled(&x.d.Head, x.broken)
	}
	return x, nil
}

// both fills in the sound reading and, with faults, the other.
func (x *taking) both(d *PairReading, good, with meter.Reading) {
	d.Good = shown(x.b, x.f, good)
	if len(x.q.Faults) > 0 {
		d.With, d.Differs = new(shown(x.b, x.f, with)), with.Differs(good)
	}
}

func (x *taking) volts(d *PairReading, p Pair) error {
	good, err := x.b.Volts(x.sound, x.f, p.From, p.To)
	if err != nil {
		return err
	}
	with, err := x.b.Volts(x.broken, x.f, p.From, p.To)
	if err != nil {
		return err
	}
	x.both(d, good, with)
	if s := x.noProofOfDead(good, with, p); s != "" {
		d.Remarks = append(d.Remarks, s)
	}
	sag, err := x.sags(good, with, p)
	if sag != "" {
		d.Remarks = append(d.Remarks, sag)
	}
	return err
}

// sagShare is the share of a sound reading below which one under load counts as
// low, though a low supply may read so too.
const sagShare = 0.95

// sags remarks on a reading that is low under load and right without: a supply
// that is low could read so too, and only the two together tell.
func (x *taking) sags(good, with meter.Reading, p Pair) (string, error) {
	if with.Unsteady || with.Jumps || x.b.NearZero(with) || with.Value > sagShare*good.Value || x.q.Mode == x.c.OffMode() {
		return "", nil
	}
	read := func(faults []circuit.Fault) (float64, error) {
		o, err := x.b.Live(x.c.OffMode(), faults)
		if err != nil {
			return 0, err
		}
		r, err := x.b.Volts(o, x.f, p.From, p.To)
		return r.Value, err
	}
	unloaded, err := read(x.q.Faults)
	if err != nil {
		return "", err
	}
	sound, err := read(nil)
	if err != nil || unloaded < sagShare*sound || sound < sagShare*good.Value {
		return "", err
	}
	return fmt.Sprintf("Read it unloaded as well, at the same supply: with %s selected it is %.0f V, and sags to %.0f V under load. A sound machine goes from %.0f to %.0f V. One low reading alone may be a low supply.",
		x.c.Mode(x.c.OffMode()).Label, unloaded, with.Value, sound, good.Value), nil
}

// noProofOfDead remarks on a reading of no volts between live ends, and on the
// one that misleads most: each end of a dead load at line voltage.
func (x *taking) noProofOfDead(good, with meter.Reading, p Pair) string {
	said := x.b.NoProofOfDead(x.broken, p.From, p.To, with)
	load := x.loadAcross(p)
	if said == "" || load == circuit.None || x.b.NearZero(good) {
		return said
	}
	for _, end := range [2]circuit.TerminalID{p.From, p.To} {
		if slices.Contains(x.tracer.Way(x.broken, end).Through, load) {
			return said + fmt.Sprintf(" One feed of the %s is lost, and the voltage of the other comes through the load itself.", circuit.LowerFirst(x.label(load)))
		}
	}
	return said
}

func (x *taking) loadAcross(p Pair) circuit.BranchID {
	for _, id := range x.c.Part(x.c.Terminal(p.From).Part).Branches {
		b := x.c.Branch(id)
		if b.Role == circuit.Load && (b.A == p.From && b.B == p.To || b.A == p.To && b.B == p.From) {
			return id
		}
	}
	return circuit.None
}

func (x *taking) ohms(d *PairReading, p Pair) error {
	good, err := x.b.Ohms(x.sound, p.From, p.To)
	if err != nil {
		return err
	}
	with, err := x.b.Ohms(x.broken, p.From, p.To)
	if err != nil {
		return err
	}
	x.both(d, good.InCircuit, with.InCircuit)
	x.lifted(d, p, good, with)
	return x.advise(d, p, good.InCircuit)
}

// lifted adds the reading with a lead off, where something is then left between
// the probes: the part they are on, or the wire that runs from one to the other.
func (x *taking) lifted(d *PairReading, p Pair, good, with meter.OhmsReading) {
	between := x.between(p)
	if len(between) == 0 {
		return
	}
	sound, broken := good.Lifted, with.Lifted
	d.Lift = x.liftOf(good.At, good.Lift)
	if w := x.c.Branch(between[0]).Wire; w != circuit.None {
		m, err := x.b.Mask(x.q.Mode, between[0])
		if err != nil {
			return
		}
		sound, broken = m.GoodLifted, m.GoodLifted
		d.Lift = x.liftOf(m.At, m.Lift)
		for _, f := range x.q.Faults {
			if f.Branch == between[0] && f.Kind == circuit.Open {
				broken = m.OpenLifted
			}
		}
	}
	if d.Lift == nil {
		return
	}
	d.GoodLifted = new(shown(x.b, x.f, sound))
	if d.With != nil {
		d.WithLifted, d.DiffersLifted = new(shown(x.b, x.f, broken)), broken.Differs(sound)
	}
}
