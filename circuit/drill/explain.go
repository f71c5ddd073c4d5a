package drill

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Explanation says what the hidden faults did, worked out from this circuit, and
// what the learner's tests were worth.
type Explanation struct {
	Faults []FaultStory
	Tests  []Judged
	// Best are the best plan's moves.
	Best []string
}

// FaultStory is one fault by itself.
type FaultStory struct {
	Fault string // in words
	Ref   string // as a fault is written
	Place string // where on the machine
	Mode  string // the mode told of
	Load  string // the load told of, or what the faulty feed leads to
	// ModeID and LoadID are these two; LoadID is None where Load is empty.
	ModeID circuit.ModeID
	LoadID circuit.BranchID
	// Said holds the story in sentences.
	Said []string
	// Reference is where the voltages are read to.
	Reference string
	// Feed lists the places along the feed, from one supply conductor through
	// the load to the other.
	Feed []Station
}

// Station is a place on a feed.
type Station struct {
	Place string
	// At is the terminal there, None across a load.
	At circuit.TerminalID
	// Across is set for a load: the volts are those across it.
	Across bool
	// Healthy and Faulty are volts to the reference, NaN where the place floats.
	Healthy, Faulty float64
	// Changed marks where the two part.
	Changed bool
	// Fault marks the first place beyond the fault.
	Fault bool
}

// Stories tells what each hidden fault did. Nothing is weighed for it.
func (s *Session) Stories() ([]FaultStory, error) {
	var out []FaultStory
	for _, h := range s.d.hidden {
		story, err := s.d.story(h)
		if err != nil {
			return nil, err
		}
		out = append(out, story)
	}
	return out, nil
}

// Explain tells the whole story.
func (s *Session) Explain(ctx context.Context) (*Explanation, error) {
	stories, err := s.Stories()
	if err != nil {
		return nil, err
	}
	out := &Explanation{Faults: stories}
	if out.Tests, err = s.Judge(ctx); err != nil {
		return nil, err
	}
	best, err := s.d.Best(ctx)
	if err != nil {
		return nil, err
	}
	out.Best = best.told()
	return out, nil
}

// story tells of a fault alone in the first mode in which it shows.
func (d *Drill) story(h Hidden) (FaultStory, error) {
	f := h.Cause.Faults[0]
	b := d.c.Branch(f.Branch)
	out := FaultStory{Fault: h.Cause.Label, Ref: d.c.FaultRef(f), LoadID: circuit.None}
	if b.Part != circuit.None {
		out.Place = d.c.Part(b.Part).Place
	} else {
		out.Place = d.c.DescribeWire(b.Wire)
	}
	mode, load := d.scene(h)
	out.Mode, out.ModeID = d.c.Mode(mode).Label, mode
	good, err := d.bench.Live(mode, d.faults(nil))
	if err != nil {
		return out, err
	}
	bad, err := d.bench.Live(mode, d.faults([]Hidden{h}))
	if err != nil {
		return out, err
	}
	if load == circuit.None {
		load = d.onPart(f.Branch)
	}
	if load != circuit.None {
		out.Load, out.LoadID = d.c.Label(load), load
		out.Said = append(out.Said, d.power(mode, load, good, bad))
	}
	if len(bad.Tripped) > 0 {
		out.Said = append(out.Said, fmt.Sprintf("So much current flows that %s opens, and everything behind it is dead.", circuit.LowerFirst(d.c.Label(bad.Tripped[0]))))
	}
	if bad.Chatter != nil && good.Chatter == nil {
		var names []string
		for _, id := range bad.Chatter.Contacts {
			names = append(names, "the "+circuit.LowerFirst(d.c.Label(id)))
		}
		out.Said = append(out.Said, fmt.Sprintf("In %q the machine does not settle: what moves %s is fed through what that opens.", out.Mode, circuit.List(names)))
	}
	if load == circuit.None {
		out.Said = append(out.Said, d.across(f.Branch, good, bad)...)
	} else {
		d.feed(&out, f.Branch, load, good, bad)
	}
	d.ohms(&out, mode, f)
	return out, nil
}

// scene finds the mode, and the load in it, that shows the fault: a load that
// does what it should not, or None where the machine trips.
func (d *Drill) scene(h Hidden) (circuit.ModeID, circuit.BranchID) {
	remarks := slices.DeleteFunc(d.remarks(d.looks([]Hidden{h})), func(r remark) bool { return r.how == works })
	for _, r := range remarks {
		if r.load != circuit.None || r.how == trips {
			return r.modes[0], r.load
		}
	}
	if len(remarks) == 0 {
		return 0, circuit.None // not reached: what is hidden shows
	}
	return remarks[0].modes[0], circuit.None
}

// onPart is the load a branch is, or None.
func (d *Drill) onPart(id circuit.BranchID) circuit.BranchID {
	if d.c.Branch(id).Role == circuit.Load {
		return id
	}
	return circuit.None
}

// power tells what the load gets, healthy and now.
func (d *Drill) power(mode circuit.ModeID, load circuit.BranchID, good, bad *settle.Outcome) string {
	return fmt.Sprintf("In %q the %s should get %.0f V and %.0f W; it gets %.0f V and %.0f W.", d.c.Mode(mode).Label, circuit.LowerFirst(d.c.Label(load)),
		good.AnyState.LoadVolts(load), good.AnyState.Watts(load), bad.AnyState.LoadVolts(load), bad.AnyState.Watts(load))
}

// feed walks the feed that the fault is on: the load's own, or one that holds a
// contact of it.
func (d *Drill) feed(out *FaultStory, fault, load circuit.BranchID, good, bad *settle.Outcome) {
	tracer := trace.New(d.c)
	from := good
	if good.LeastShare(load) < circuit.OnShare {
		from = bad // on though it should be off: the way is there with the fault only
	}
	f := tracer.Feed(from, load)
	whole := *f
	if !holds(f, fault) {
		for _, hold := range f.Holds {
			if !holds(hold.Feed, fault) && !senses(hold, fault) {
				continue
			}
			out.Said = append(out.Said, d.held(hold, good, bad)...)
			if holds(hold.Feed, fault) {
				whole = *hold.Feed
				out.Load, out.LoadID = d.c.Label(whole.Load), whole.Load
			}
			break
		}
	}
	reference := d.reference()
	out.Reference = d.c.PlaceLabel(reference)
	volts := func(o *settle.Outcome, t circuit.TerminalID) float64 {
		v, fixed := o.AnyState.Between(t, reference)
		if !fixed {
			return math.NaN()
		}
		return cmplx.Abs(v)
	}
	station := func(t circuit.TerminalID) Station {
		s := Station{Place: d.c.PlaceLabel(t), At: t, Healthy: volts(good, t), Faulty: volts(bad, t)}
		s.Changed = apart(s.Healthy, s.Faulty)
		return s
	}
	var stations []Station
	for _, hop := range whole.Ends[0].Hops {
		s := station(hop.To)
		s.Fault = hop.Branch == fault
		stations = append(stations, s)
	}
	across := Station{At: circuit.None, Place: "across " + circuit.LowerFirst(d.c.Label(whole.Load)), Across: true, Fault: whole.Load == fault,
		Healthy: good.AnyState.LoadVolts(whole.Load), Faulty: bad.AnyState.LoadVolts(whole.Load)}
	across.Changed = apart(across.Healthy, across.Faulty)
	stations = append(stations, across)
	back := whole.Ends[1].Hops
	for i := len(back) - 1; i >= 0; i-- {
		s := station(back[i].To)
		// Walked backward, the fault lies before the hop's own start.
		s.Fault = i+1 < len(back) && back[i+1].Branch == fault || i == 0 && back[i].Branch == fault
		stations = append(stations, s)
	}
	out.Feed = d.thin(stations)
	out.Said = append(out.Said, d.across(fault, good, bad)...)
	out.Said = append(out.Said, d.bothEnds(&whole, bad)...)
}

// apart reports whether two voltages differ by more than the supply's wire
// drops.
func apart(a, b float64) bool {
	if math.IsNaN(a) || math.IsNaN(b) {
		return math.IsNaN(a) != math.IsNaN(b)
	}
	return math.Abs(a-b) > 2+0.03*a
}

// holds reports whether a branch is on a feed.
func holds(f *trace.Feed, id circuit.BranchID) bool {
	if f.Load == id {
		return true
	}
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			if hop.Branch == id {
				return true
			}
		}
	}
	return false
}

func senses(h trace.Hold, id circuit.BranchID) bool {
	for _, p := range h.Senses {
		for _, b := range p.Branches {
			if b == id {
				return true
			}
		}
	}
	return h.Mover == id
}

// held tells how the fault reaches the load through what holds a contact of
// its feed.
func (d *Drill) held(h trace.Hold, good, bad *settle.Outcome) []string {
	contact := circuit.LowerFirst(d.c.Label(h.Contact))
	if h.Control == nil {
		return []string{fmt.Sprintf("The fault is not on its feed. The %s is held by %s, which should get %.0f V and gets %.0f V.", contact,
			circuit.LowerFirst(d.c.Label(h.Mover)), good.AnyState.LoadVolts(h.Mover), bad.AnyState.LoadVolts(h.Mover))}
	}
	control := d.c.Part(h.Control.Part)
	out := []string{fmt.Sprintf("The fault is not on its feed. The %s closes only while the %s drives it.", contact, circuit.LowerFirst(control.Label))}
	for i := range d.c.Controls() {
		if &d.c.Controls()[i] != h.Control {
			continue
		}
		for j, sense := range h.Control.Senses {
			is, should := bad.Controls[i].Senses[j], good.Controls[i].Senses[j]
			if !is.Demanded || is.OK || !should.OK {
				continue
			}
			now := "open"
			if is.Connected {
				now = fmt.Sprintf("%.0f ohms", is.Ohms)
			}
			out = append(out, fmt.Sprintf("For that it must see %.0f to %.0f ohms between its pins %s and %s: %.0f ohms on a sound machine, %s on this one.",
				sense.MinOhms, sense.MaxOhms, d.c.Terminal(sense.Pin1).Name, d.c.Terminal(sense.Pin2).Name, should.Ohms, now))
		}
	}
	return out
}

// across tells what stands across the failed branch, and what a bad joint turns
// to heat.
func (d *Drill) across(fault circuit.BranchID, good, bad *settle.Outcome) []string {
	b := d.c.Branch(fault)
	if b.Role == circuit.Drive || b.Role == circuit.Load {
		return nil
	}
	if b.Role == circuit.Source {
		return []string{fmt.Sprintf("At %s a sound machine has %s to %s; this one has %s.", d.c.PlaceLabel(b.B), d.to(good, b.B), d.c.PlaceLabel(d.reference()), d.to(bad, b.B))}
	}
	between := func(o *settle.Outcome) string {
		v, fixed := o.AnyState.Between(b.A, b.B)
		if !fixed {
			return "a floating reading, stray voltage"
		}
		return fmt.Sprintf("%.0f V", cmplx.Abs(v))
	}
	out := []string{fmt.Sprintf("Across the %s a sound machine has %s; this one has %s: %s on one side, %s on the other, to %s.", circuit.LowerFirst(d.c.Label(fault)),
		between(good), between(bad), d.to(bad, b.A), d.to(bad, b.B), d.c.PlaceLabel(d.reference()))}
	v, fixed := bad.AnyState.Between(b.A, b.B)
	amps := cmplx.Abs(bad.AnyState.Amps[fault])
	if watts := amps * cmplx.Abs(v); fixed && watts > 1 {
		out = append(out, fmt.Sprintf("It carries %.1f A and turns %.0f W to heat where it sits.", amps, watts))
	}
	return out
}

// to is the voltage from a terminal to the reference, in words.
func (d *Drill) to(o *settle.Outcome, t circuit.TerminalID) string {
	v, fixed := o.AnyState.Between(t, d.reference())
	if !fixed {
		return "floating"
	}
	return fmt.Sprintf("%.0f V", cmplx.Abs(v))
}

// bothEnds tells what both ends of a load that is dead stand at.
func (d *Drill) bothEnds(f *trace.Feed, bad *settle.Outcome) []string {
	a, okA := bad.AnyState.Between(f.Ends[0].Terminal, d.reference())
	b, okB := bad.AnyState.Between(f.Ends[1].Terminal, d.reference())
	across := bad.AnyState.LoadVolts(f.Load)
	if !okA || !okB || across >= d.bench.Nothing() || cmplx.Abs(a) < meter.HazardVolts || cmplx.Abs(b) < meter.HazardVolts {
		return nil
	}
	return []string{fmt.Sprintf("Both ends of the %s stand at %.0f V and %.0f V, and across it there are %.0f V: neither end tells that it is dead.",
		circuit.LowerFirst(d.c.Label(f.Load)), cmplx.Abs(a), cmplx.Abs(b), across)}
}

// thin leaves out places where nothing happens and that no point is listed at.
func (d *Drill) thin(stations []Station) []Station {
	var out []Station
	for i, s := range stations {
		beside := i+1 < len(stations) && stations[i+1].Fault
		edge := i == 0 || i == len(stations)-1
		if s.Across || s.Fault || beside || s.At != circuit.None && d.c.PointAt(s.At) != nil || edge {
			out = append(out, s)
		}
	}
	return out
}

// ohms tells what the failed branch reads by itself with the supply off.
func (d *Drill) ohms(out *FaultStory, mode circuit.ModeID, f circuit.Fault) {
	b := d.c.Branch(f.Branch)
	upstream := d.bench.Upstream()
	if b.Role == circuit.Source || b.Role == circuit.Drive || upstream[b.A] || upstream[b.B] {
		return
	}
	read := func(faults []circuit.Fault) (meter.OhmsReading, bool) {
		o, err := d.bench.Dead(mode, faults)
		if err != nil {
			return meter.OhmsReading{}, false
		}
		r, err := d.bench.Ohms(o, b.A, b.B)
		return r, err == nil
	}
	good, ok := read(nil)
	bad, too := read([]circuit.Fault{f})
	if !ok || !too {
		return
	}
	out.Said = append(out.Said, fmt.Sprintf("With the supply off, %s to %s reads %s on a sound machine and %s on this one.",
		d.c.PlaceLabel(b.A), d.c.PlaceLabel(b.B), good.InCircuit, bad.InCircuit))
	if f.Kind == circuit.Open && len(bad.Lift) > 0 && !bad.InCircuit.OL {
		out.Said = append(out.Said, fmt.Sprintf("Other ways round hide the open; with the leads off %s it reads %s.", d.c.PlaceLabel(bad.At), bad.Lifted))
	}
	if f.Kind == circuit.Grounded {
		o, err := d.bench.Dead(mode, []circuit.Fault{f})
		if err != nil {
			return
		}
		r := d.bench.Quick(o, meter.Ohms, b.A, d.c.ChassisTerminal())
		out.Said = append(out.Said, fmt.Sprintf("%s to the bare metal reads %s.", d.c.PlaceLabel(b.A), r))
	}
}
