package lessons

import (
	"fmt"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// maxMasked is how many hidden opens a page lists.
const maxMasked = 3

// otherWay lists opens that a way beside the part hides, and those it makes look
// like another part.
func (s *subject) otherWay() []Step {
	upstream := s.bench.Upstream()
	step := Step{Head: []string{"part", "sound", "open, in circuit", "open, lead lifted"}}
	tried, hidden := 0, 0
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Source || b.Role == circuit.Drive || upstream[b.A] || upstream[b.B] {
			continue
		}
		m, err := s.bench.Mask(s.idle, b.ID)
		if err != nil {
			s.err = err
			return nil
		}
		tried++
		if m.Open.OL || m.Good.OL || m.Hopeless {
			continue
		}
		hidden++
		if hidden == 1 && len(m.Lift) > 0 {
			step.Ask = fmt.Sprintf("The %s reads %s. Is it whole, and what tells?", s.label(b.ID), m.Open)
			step.Answer = fmt.Sprintf("It is open. With %s off %s it reads %s; a whole one then reads %s.", s.c.Wire(m.Lift[0]).Name, s.c.PlaceLabel(m.At), m.OpenLifted, m.GoodLifted)
		}
		if len(step.Rows) < maxMasked {
			step.Rows = append(step.Rows, Row{[]string{s.label(b.ID), m.Good.String(), m.Open.String(), m.OpenLifted.String()},
				s.probed(s.show(s.idle, circuit.None, open(b.ID)), meter.Ohms, m.P, m.Q)})
		}
	}
	if hidden == 0 {
		return nil
	}
	step.Say = fmt.Sprintf("Of %d parts and wires, %d do not read open when they are: another way lies beside them. The first:", tried, hidden)
	return []Step{step}
}

// underLoad puts a burnt joint in the feed and reads with the load off and on,
// and with the supply off.
func (s *subject) underLoad() []Step {
	if !s.rests {
		return nil
	}
	soundOff := s.live(s.idle)
	joint, leg, on := s.joint(soundOff)
	if on == nil {
		return nil
	}
	off := s.live(s.idle, joint)
	j, other := s.c.Branch(joint.Branch), s.otherSide(leg)
	row := func(state string, o *settle.Outcome, mode circuit.ModeID, faults ...circuit.Fault) Row {
		return Row{[]string{state, between(o, j.B, other), between(o, j.A, j.B), power(o, s.load)}, s.probed(s.show(mode, s.load, faults...), meter.Volts, j.B, other)}
	}
	v, _ := on.AnyState.Between(j.A, j.B)
	amps := cmplx.Abs(on.AnyState.Amps[joint.Branch])
	live := Step{Say: fmt.Sprintf("A joint of %.0f ohms in %s, and the %s (%.1f ohms) off in %s and on in %s. Volts behind the joint, to the other side of the feed:",
		joint.Ohms, s.label(joint.Branch), s.label(s.load), real(s.c.Branch(s.load).Z), s.mode(s.idle), s.mode(s.busy)),
		Head: []string{"state", "behind the joint", "across the joint", "watts of the load"},
		Rows: []Row{row("sound, load off", soundOff, s.idle), row("burnt joint, load off", off, s.idle, joint), row("sound, load on", s.sound, s.busy), row("burnt joint, load on", on, s.busy, joint)},
		Then: fmt.Sprintf("With %.2f A through it the joint turns %.0f W to heat.", amps, amps*cmplx.Abs(v)),
		Show: s.show(s.busy, s.load, joint)}
	live.Ask = fmt.Sprintf("With the load off there are %s behind the joint. Is the feed good?", live.Rows[1].Cells[1])
	live.Answer = fmt.Sprintf("That reading cannot tell: without the joint there are %s too. With the load on it is %s in place of %s.", live.Rows[0].Cells[1], live.Rows[3].Cells[1], live.Rows[2].Cells[1])
	dead := s.dead(s.idle, joint)
	r := s.bench.Quick(dead, meter.Continuity, j.A, j.B)
	if !r.Beeps(s.bench.Instrument) {
		return []Step{live}
	}
	beep := Step{Say: fmt.Sprintf("Supply off, a continuity tester across the same joint: %s, and it beeps, as it does up to %.0f ohms.", r, s.bench.Instrument.ContinuityOhms),
		Show:   s.probed(s.show(s.idle, s.load, joint), meter.Continuity, j.A, j.B),
		Ask:    "It beeps. Is the joint good?",
		Answer: fmt.Sprintf("No. With the load on it takes %.1f V and lets %.2f A through. A beep says that a way is there, not what it can carry.", cmplx.Abs(v), amps)}
	return []Step{live, beep}
}

// joint finds a join on the load's feed that is fed with the load off and burnt
// still lets the load work: one that carries the load's current alone if there
// is one. It returns the leg it is in and the machine with it; no outcome where
// there is none.
func (s *subject) joint(idle *settle.Outcome) (fault circuit.Fault, leg circuit.BranchID, on *settle.Outcome) {
	own := cmplx.Abs(s.sound.AnyState.Amps[s.load])
	f := s.feed(s.load)
	for i := range f.Ends {
		source := f.Ends[i].Source
		if source == circuit.None || s.c.Branch(source).EMF == 0 {
			continue
		}
		for _, hop := range f.Ends[i].Hops[1:] {
			b := s.c.Branch(hop.Branch)
			alone := cmplx.Abs(s.sound.AnyState.Amps[hop.Branch]) < 1.01*own
			if b.Role != circuit.Join || idle.AnyState.Floating[b.A] || cmplx.Abs(idle.AnyState.Volts[b.A]) < meter.HazardVolts || on != nil && !alone {
				continue
			}
			try := circuit.Fault{Kind: circuit.HighResistance, Branch: hop.Branch, Ohms: meter.BurntContactOhms}
			o := s.live(s.busy, try)
			if o.Chatter != nil || o.LeastShare(s.load) < trace.DefaultOnShare {
				continue
			}
			fault, leg, on = try, source, o
			if alone {
				return fault, leg, on
			}
		}
	}
	return fault, leg, on
}

// otherSide is where the other conductor of the load's feed comes in.
func (s *subject) otherSide(leg circuit.BranchID) circuit.TerminalID {
	f := s.feed(s.load)
	for i := range f.Ends {
		if source := f.Ends[i].Source; source != leg && source != circuit.None {
			return s.c.Branch(source).B
		}
	}
	return s.reference()
}

// jointOhms are those of a joint as it goes, from a clean one on.
var jointOhms = []float64{0.02, 0.1, 0.25, 0.5, 1, 2, meter.BurntContactOhms}

// burntBlock heats the joint where the supply lands, or the first on the feed.
func (s *subject) burntBlock() []Step {
	joint := circuit.BranchID(circuit.None)
	for _, end := range s.feed(s.load).Ends {
		for _, hop := range end.Hops[1:] {
			b := s.c.Branch(hop.Branch)
			block := b.Part != circuit.None && s.c.Part(b.Part).Kind == circuit.KindTerminalBlock
			if b.Role == circuit.Join && (joint == circuit.None || block && s.c.Branch(joint).Part == circuit.None) {
				joint = hop.Branch
			}
		}
	}
	if joint == circuit.None {
		return nil
	}
	b := s.c.Branch(joint)
	step := Step{Say: fmt.Sprintf("The joint is at %s, in %s, and gets worse:", s.label(joint), s.mode(s.busy)),
		Head: []string{"ohms of the joint", "amps", "volts lost in it", "watts in it", "watts of the " + s.label(s.load)}}
	hot := -1
	for i, ohms := range jointOhms {
		f := circuit.Fault{Kind: circuit.HighResistance, Branch: joint, Ohms: ohms}
		o := s.live(s.busy, f)
		amps := cmplx.Abs(o.AnyState.Amps[joint])
		v, _ := o.AnyState.Between(b.A, b.B)
		heat := amps * cmplx.Abs(v)
		if hot < 0 && heat > 60 {
			hot = i
		}
		step.Rows = append(step.Rows, Row{[]string{fmt.Sprintf("%g", ohms), fmt.Sprintf("%.1f", amps), fmt.Sprintf("%.2f", cmplx.Abs(v)), fmt.Sprintf("%.0f", heat), power(o, s.load)},
			s.across(s.show(s.busy, s.load, f), joint)})
	}
	if hot < 0 {
		return nil
	}
	cells := step.Rows[hot].Cells
	step.Ask = fmt.Sprintf("From which line on does the joint get more heat than a lamp of 60 W, and would anyone notice at the %s?", s.label(s.load))
	step.Answer = fmt.Sprintf("At %s ohms: %s W in a few millimetres of metal, while the %s still gets %s of %s W. The block burns long before the complaint comes.", cells[0], cells[3], s.label(s.load), cells[4], power(s.sound, s.load))
	return []Step{step}
}

// maxStray is how many floating places a page lists.
const maxStray = 3

// stray reads places that hang on nothing, on both functions of the meter.
func (s *subject) stray() []Step {
	step := Step{Head: []string{"state", "between", "volts", "low impedance"}}
	tried := []circuit.BranchID{circuit.None}
	tried = append(append(tried, s.contacts()...), s.conductors()...)
	ref := s.reference()
	for _, id := range tried {
		var faults []circuit.Fault
		state := "sound"
		if id != circuit.None {
			faults = append(faults, open(id))
			state = s.says(faults[0])
		}
		o := s.live(s.idle, faults...)
		b := s.c.Branch(s.load)
		for _, t := range []circuit.TerminalID{b.A, b.B} {
			high, low := s.reads(o, meter.Volts, t, ref), s.reads(o, meter.LowZVolts, t, ref)
			at := s.c.PlaceLabel(t) + " to " + s.c.PlaceLabel(ref)
			same := slices.ContainsFunc(step.Rows, func(r Row) bool { return r.Cells[1] == at && r.Cells[2] == high.String() })
			if !high.Unsteady || low.Unsteady || same || len(step.Rows) == maxStray {
				continue
			}
			step.Rows = append(step.Rows, Row{[]string{state, at, high.String(), low.String()},
				s.probed(s.show(s.idle, s.load, faults...), meter.Volts, t, ref)})
			break
		}
	}
	if len(step.Rows) == 0 {
		return nil
	}
	step.Say = fmt.Sprintf("In %s, at the %s, with a meter of %.0f megohms and with its low-impedance function of %.0f kilohms:", s.mode(s.idle), s.label(s.load), s.bench.Instrument.InputOhms/1e6, s.bench.Instrument.LowZOhms/1e3)
	cells := step.Rows[0].Cells
	step.Ask = fmt.Sprintf("The meter shows some volts from %s. Is that a leg?", cells[1])
	step.Answer = fmt.Sprintf("On low impedance it falls to %s: no. A place tied to nothing picks something up (%s), which tells nothing. A leg behind a good joint keeps its volts on either function.", cells[3], cells[2])
	return []Step{step}
}
