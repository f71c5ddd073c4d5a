package report

import (
	"errors"
	"fmt"
	"math/cmplx"
	"strings"

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
	Lift       *Lift    `json:"lift" help:"the lead taken off for the lifted reading; null where there is none to take"`
	GoodLifted *Shown   `json:"good_lifted" help:"the same with the lead off; null where lifting leaves nothing between the probes"`
	With       *Shown   `json:"with_faults" help:"the same reading with the faults present; null when there are none"`
	WithLifted *Shown   `json:"with_faults_lifted" help:"and with the lead off"`
	Differs    bool     `json:"differs" help:"the faults make it read otherwise than a sound machine can"`
	Advice     []Advice `json:"advice" help:"for ohms and continuity: whether an open would show here without lifting a lead"`
	Remarks    []string `json:"remarks" help:"what the reading is often taken for and is not"`
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
		from, to := r.probe(p.From), r.probe(p.To)
		d := PairReading{From: &from, To: &to, Advice: []Advice{}, Remarks: []string{}}
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
		item := r.item(w)
		d := PairReading{Wire: &item, Advice: []Advice{}, Remarks: []string{}}
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
		s := shown(x.b, x.f, with)
		d.With, d.Differs = &s, with.Differs(good)
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
	if s := x.fedThroughItself(good, with, p); s != "" {
		d.Remarks = append(d.Remarks, s)
	}
	return nil
}

// fedThroughItself remarks on the reading that misleads most: each end of a
// dead load at line voltage to neutral.
func (x *taking) fedThroughItself(good, with meter.Reading, p Pair) string {
	load := x.loadAcross(p)
	if load == circuit.None || !x.nothing(with) || x.nothing(good) {
		return ""
	}
	neutral := x.c.Branch(x.c.Supply().Neutral).B
	v, known := x.broken.Solution.Between(p.From, neutral)
	w, knownToo := x.broken.Solution.Between(p.To, neutral)
	if !known || !knownToo || cmplx.Abs(v) < meter.HazardVolts || cmplx.Abs(w) < meter.HazardVolts {
		return ""
	}
	return fmt.Sprintf("Nothing across, yet each end of the %s stands at %.0f V to neutral: one feed is lost, and the voltage of the other comes through the load itself. Neither end is dead to touch.",
		lowerFirst(x.label(load)), cmplx.Abs(v))
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
	if x.c.Terminal(p.From).Part == x.c.Terminal(p.To).Part {
		d.Lift = x.liftOf(good.At, good.Lift)
	}
	if d.Lift != nil {
		lifted := shown(x.b, x.f, good.Lifted)
		d.GoodLifted = &lifted
		if d.With != nil {
			lifted := shown(x.b, x.f, with.Lifted)
			d.WithLifted = &lifted
			d.Differs = d.Differs || with.Lifted.Differs(good.Lifted)
		}
	}
	return x.advise(d, p, good.InCircuit)
}

// scanCap is up to how many branches a pair of probes far apart is tried for
// opens that it would not show.
const scanCap = 2000

// advise says of what is between the probes whether its open would show: of
// the part or wire with an end at each, else of whatever the reading depends
// on.
func (x *taking) advise(d *PairReading, p Pair, good meter.Reading) error {
	var between []circuit.BranchID
	for i := range x.c.Branches() {
		b := x.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Source && (b.A == p.From && b.B == p.To || b.A == p.To && b.B == p.From) {
			between = append(between, b.ID)
		}
	}
	if len(between) == 0 {
		hidden, err := x.hidden(p, good)
		if err != nil {
			return err
		}
		between = hidden
	}
	for _, id := range between {
		m, err := x.b.Mask(x.q.Mode, id)
		if err != nil {
			return err
		}
		a := Advice{Of: x.item(id), Verdict: adviceNoNeed, Through: []Item{}, Good: shown(x.b, x.f, m.Good), Open: shown(x.b, x.f, m.Open)}
		switch {
		case m.Hopeless:
			a.Verdict = adviceNoUse
		case m.Masked:
			a.Verdict, a.Lift = adviceLift, x.liftOf(m.At, m.Lift)
			a.Good, a.Open = shown(x.b, x.f, m.GoodLifted), shown(x.b, x.f, m.OpenLifted)
			a.Through = x.items(m.Through)
		}
		d.Advice = append(d.Advice, a)
	}
	return nil
}

// hidden lists what the reading passes through and whose open it would not
// show. A reading that a branch has no part in does not change at all when the
// branch is shorted or opened.
func (x *taking) hidden(p Pair, good meter.Reading) ([]circuit.BranchID, error) {
	if len(x.c.Branches()) > scanCap || good.OL {
		return nil, nil
	}
	carries, err := x.carries(p)
	if err != nil {
		return nil, err
	}
	var out []circuit.BranchID
	for _, id := range carries {
		o, err := x.b.Dead(x.q.Mode, []circuit.Fault{{Kind: circuit.Open, Branch: id}})
		if err != nil {
			return nil, err
		}
		r, err := x.b.Ohms(o, p.From, p.To)
		if err != nil {
			return nil, err
		}
		if !r.InCircuit.Differs(good) {
			out = append(out, id)
		}
	}
	return out, nil
}

// carries lists what joins and contacts lie on a loop-free way between the
// probes: those whose open, or a high resistance in which, changes how the two
// are joined once every other parallel one is open too.
func (x *taking) carries(p Pair) ([]circuit.BranchID, error) {
	at := map[circuit.TerminalID][]circuit.BranchID{}
	for i := range x.c.Branches() {
		b := x.c.Branch(circuit.BranchID(i))
		if !x.sound.Conducts[i] || b.Role != circuit.Join && b.Role != circuit.Contact || b.A == circuit.None || b.B == circuit.None {
			continue
		}
		at[b.A], at[b.B] = append(at[b.A], b.ID), append(at[b.B], b.ID)
	}
	on := map[circuit.BranchID]bool{}
	visited := map[circuit.TerminalID]bool{}
	steps := 0
	var walk func(t circuit.TerminalID, way []circuit.BranchID)
	walk = func(t circuit.TerminalID, way []circuit.BranchID) {
		if steps++; steps > scanCap*10 {
			return
		}
		if t == p.To {
			for _, id := range way {
				on[id] = true
			}
			return
		}
		visited[t] = true
		for _, id := range at[t] {
			b := x.c.Branch(id)
			far := b.A
			if far == t {
				far = b.B
			}
			if !visited[far] {
				walk(far, append(way[:len(way):len(way)], id))
			}
		}
		visited[t] = false
	}
	walk(p.From, nil)
	var out []circuit.BranchID
	for i := range x.c.Branches() {
		if on[circuit.BranchID(i)] {
			out = append(out, circuit.BranchID(i))
		}
	}
	return out, nil
}

func (d *Readings) text(p *page) {
	p.title(d.Head, "What the meter reads in "+d.Mode.Label)
	p.para(0, d.setUp())
	for i := range d.Readings {
		d.Readings[i].text(p, len(d.Faults) > 0)
	}
	p.cautions()
	p.notes(d.Head)
}

// setUp says how the meter and the machine are set.
func (d *Readings) setUp() string {
	f, _ := meter.ParseFunction(d.Function)
	s := strings.ToUpper(functionWords[f][:1]) + functionWords[f][1:]
	switch f {
	case meter.Ohms, meter.Continuity:
		s += ": " + removedWords(d.Mode.Label)
	default:
		s += ": supply on, live work."
	}
	s += " Meter: " + d.Meter.Name + "."
	if !d.Tolerances {
		s += " Intervals hold the meter's own error only."
	}
	return s
}

// removedWords say how a machine is left for ohms.
func removedWords(mode string) string {
	return "supply removed, locked out and proved dead; every coil let go; knobs and thermostats as in " + mode + "."
}

func (d *PairReading) text(p *page, faults bool) {
	if d.Wire != nil {
		p.heading("Clamp around wire " + d.Wire.Ref)
		p.para(2, strings.TrimSpace(fmt.Sprintf("%s, %s to %s", wireLook(*d.Wire), d.Wire.From, d.Wire.To)))
	} else {
		p.heading(d.From.name() + " to " + d.To.name())
		p.term(2, 7, "red", d.From.where())
		p.term(2, 7, "black", d.To.where())
	}
	rows := [][]string{{"sound", d.Good.Shows + d.Good.sounds(), d.Good.Range, ""}}
	lifted := ""
	if d.Lift != nil {
		rows[0][0] = "sound, in circuit"
		rows = append(rows, []string{"sound, lead lifted", d.GoodLifted.Shows + d.GoodLifted.sounds(), d.GoodLifted.Range, ""})
		lifted = ", in circuit"
	}
	if faults {
		rows = append(rows, []string{"broken" + lifted, d.With.Shows + d.With.sounds(), d.With.Range, d.tells(p, d.With, &d.Good)})
		if d.WithLifted != nil {
			rows = append(rows, []string{"broken, lead lifted", d.WithLifted.Shows + d.WithLifted.sounds(), d.WithLifted.Range, d.tells(p, d.WithLifted, d.GoodLifted)})
		}
	}
	p.table(2, []column{{title: "", width: 19}, {title: "Nominal", width: 22}, {title: "Between", width: 22}, {title: ""}}, rows)
	if len(d.Good.Why) > 0 {
		p.term(2, 7, "why", strings.Join(d.Good.Why, "; "))
	}
	for _, a := range d.Advice {
		p.term(2, 7, "lift", a.sentence(p))
	}
	if len(d.Advice) == 0 && d.From != nil && d.Good.Unit == "ohms" {
		p.term(2, 7, "lift", p.good.Sprint("no need:")+" no open between these probes is hidden by another way round.")
	}
	if d.Lift != nil {
		p.term(2, 7, "", "The lifted reading is with "+d.Lift.sentence()+" taken off.")
	}
	for _, s := range d.Remarks {
		p.term(2, 7, "note", s)
	}
}

func (d *PairReading) tells(p *page, with, good *Shown) string {
	if d.Differs && !(with.Range == good.Range && with.Shows == good.Shows) {
		return p.bad.Sprint("differs")
	}
	return "as good"
}

func (a *Advice) sentence(p *page) string {
	of := lowerFirst(a.Of.Label)
	switch a.Verdict {
	case adviceNoUse:
		return p.bad.Sprint("no use:") + fmt.Sprintf(" %s reads %s sound and %s open, lead lifted or not; only a live test tells.", of, a.Good.Range, a.Open.Range)
	case adviceLift:
		s := p.bad.Sprint("lift a lead:") + fmt.Sprintf(" an open in %s would not show in circuit", of)
		if len(a.Through) > 0 {
			s += ", hidden by the way round through " + partsAndWires(a.Through)
		}
		if a.Lift != nil {
			s += ". Take off " + a.Lift.sentence()
		}
		return s + fmt.Sprintf("; good is then %s, open %s.", a.Good.Range, a.Open.Range)
	}
	return p.good.Sprint("no need:") + fmt.Sprintf(" an open in %s reads %s in circuit.", of, a.Open.Range)
}
