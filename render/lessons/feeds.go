package lessons

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/trace"
)

// legs tells what stands between the conductors, and between which of them
// each load is connected.
func (s *subject) legs() []Step {
	names := s.conductors()
	first := Step{Head: []string{"between", "reads"}}
	for i, a := range names {
		for _, b := range names[i+1:] {
			p, q := s.c.Branch(a).B, s.c.Branch(b).B
			first.Rows = append(first.Rows, Row{[]string{s.conductor(a) + " to " + s.conductor(b), between(s.sound, p, q)},
				s.probed(s.show(s.busy, s.load), meter.Volts, p, q)})
		}
	}
	var live, dead []string
	for _, id := range names {
		volts := between(s.sound, s.c.Branch(id).B, s.c.ChassisTerminal())
		said := s.conductor(id) + " with " + volts
		if s.c.Branch(id).EMF != 0 {
			live = append(live, said)
		} else {
			dead = append(dead, said)
		}
	}
	first.Ask = "Which of these conductors are live to the bare metal?"
	first.Answer = strings.Join(live, ", ") + "; not " + strings.Join(dead, ", ") + ": it is tied to earth where the service comes in."
	second := Step{Say: "On in " + s.mode(s.busy) + ":", Head: []string{"load", "connected to", "volts", "amps", "watts"}}
	for _, id := range s.onLoads() {
		f := s.feed(id)
		if !f.Fed() {
			continue
		}
		second.Rows = append(second.Rows, Row{[]string{s.label(id), s.conductor(f.Ends[0].Source) + " and " + s.conductor(f.Ends[1].Source),
			fmt.Sprintf("%.1f", s.sound.AnyState.LoadVolts(id)), fmt.Sprintf("%.2f", cmplx.Abs(s.sound.AnyState.Amps[id])), fmt.Sprintf("%.0f", s.sound.AnyState.Watts(id))},
			s.across(s.show(s.busy, id), id)})
	}
	b, ref := s.c.Branch(s.load), s.reference()
	second.Ask = fmt.Sprintf("What does each end of the %s read to %s, and what is across it?", s.label(s.load), s.c.PlaceLabel(ref))
	second.Answer = fmt.Sprintf("%s at the one, %s at the other, %s across. What it works on is the last; the two others do not add up to it unless they swing against each other.",
		between(s.sound, b.A, ref), between(s.sound, b.B, ref), between(s.sound, b.A, b.B))
	return []Step{first, second}
}

// twoLegged finds the largest load connected between two legs.
func (s *subject) twoLegged() circuit.BranchID {
	best := circuit.BranchID(circuit.None)
	for _, id := range s.onLoads() {
		f := s.feed(id)
		if !f.Fed() || s.c.Branch(f.Ends[0].Source).EMF == 0 || s.c.Branch(f.Ends[1].Source).EMF == 0 {
			continue
		}
		if best == circuit.None || s.c.Branch(id).Watts > s.c.Branch(best).Watts {
			best = id
		}
	}
	return best
}

// bothEnds compares a feed that is open beside the element, a lost leg and a
// broken element.
func (s *subject) bothEnds() []Step {
	load := s.twoLegged()
	if load == circuit.None {
		return nil
	}
	b, f := s.c.Branch(load), s.feed(load)
	ref := s.reference()
	last := f.Ends[1].Hops[len(f.Ends[1].Hops)-1].Branch
	for _, hop := range f.Ends[1].Hops {
		if s.c.Branch(hop.Branch).Role == circuit.Contact {
			last = hop.Branch
		}
	}
	leg := s.conductor(f.Ends[1].Source)
	step := Step{Say: fmt.Sprintf("The %s in %s, each end to %s, and across:", s.label(load), s.mode(s.busy), s.c.PlaceLabel(ref)),
		Head: []string{"state", "end " + s.c.Terminal(b.A).Name, "end " + s.c.Terminal(b.B).Name, "across", "watts"}}
	for _, k := range []struct {
		what string
		open circuit.BranchID
	}{
		{"sound", circuit.None},
		{s.label(last) + " open", last},
		{leg + " lost", f.Ends[1].Source},
		{s.label(load) + " open", load},
	} {
		var faults []circuit.Fault
		if k.open != circuit.None {
			faults = append(faults, open(k.open))
		}
		o := s.live(s.busy, faults...)
		step.Rows = append(step.Rows, Row{[]string{k.what, between(o, b.A, ref), between(o, b.B, ref), between(o, b.A, b.B), power(o, load)},
			s.across(s.show(s.busy, load, faults...), load)})
		if across, steady := o.LoadVolts(load).Steady(); steady && k.open == f.Ends[1].Source && across > s.bench.Nothing() {
			step.Then = fmt.Sprintf("With %s lost for the whole machine, %.0f V are left across the %s: its current goes on through whatever else is connected to %s, to neutral.", leg, across, s.label(load), leg)
		}
	}
	fed, broken := step.Rows[1].Cells, step.Rows[3].Cells
	step.Ask = fmt.Sprintf("Both ends of the %s are live, and it is cold. Which reading tells whether it is broken or has no feed?", s.label(load))
	step.Answer = fmt.Sprintf("The one across it: %s with the %s, %s with the %s. To %s its ends read %s and %s in the first case, %s and %s in the second.",
		fed[3], fed[0], broken[3], broken[0], s.c.PlaceLabel(ref), fed[1], fed[2], broken[1], broken[2])
	return []Step{step}
}

// mostLoads is how many loads a table lists.
const mostLoads = 10

// halfWorks tells what is left of each load as each conductor is lost.
func (s *subject) halfWorks() []Step {
	step := Step{Say: "Each load in a mode that turns it on, and what it is left with as a conductor is lost, in per cent of what it gets:",
		Head: []string{"load", "mode"}, Lost: map[int][]string{}}
	conductors := s.conductors()
	for _, id := range conductors {
		step.Lost[len(step.Head)] = s.show(0, circuit.None, open(id)).Faults
		step.Head = append(step.Head, s.conductor(id)+" lost")
	}
	type left struct {
		load   circuit.BranchID
		shares []float64
	}
	var all []left
	for _, id := range s.bySize() {
		mode, watts := s.onIn(id)
		if watts < 1 || len(all) == mostLoads {
			continue
		}
		l := left{load: id}
		row := Row{Cells: []string{s.label(id), s.c.Mode(mode).Label}, Show: s.show(mode, id)}
		for _, k := range conductors {
			o := s.live(mode, open(k))
			share := o.Watts(id).Most / watts
			if len(o.Tripped) > 0 || o.Chatter != nil {
				share = math.NaN()
			}
			l.shares = append(l.shares, share)
			row.Cells = append(row.Cells, strings.Replace(fmt.Sprintf("%.0f", 100*share), "NaN", "-", 1))
		}
		all = append(all, l)
		step.Rows = append(step.Rows, row)
	}
	for k := range conductors {
		works := slices.IndexFunc(all, func(l left) bool { return l.shares[k] > 0.95 && l.shares[k] < 1.05 })
		dead := slices.IndexFunc(all, func(l left) bool { return l.shares[k] < 0.05 })
		if works < 0 || dead < 0 {
			continue
		}
		var fits, others []string
		for j, id := range conductors {
			if all[works].shares[j] > 0.95 && all[works].shares[j] < 1.05 && all[dead].shares[j] < 0.05 {
				fits = append(fits, s.conductor(id))
			} else {
				others = append(others, fmt.Sprintf("without %s they get %s and %s per cent", s.conductor(id), step.Rows[works].Cells[2+j], step.Rows[dead].Cells[2+j]))
			}
		}
		step.Rows[dead].Show.Faults = s.show(0, circuit.None, open(conductors[k])).Faults
		step.Ask = fmt.Sprintf("The %s works as it should, the %s is dead. If a conductor of the supply is lost, which?", s.label(all[works].load), s.label(all[dead].load))
		step.Answer = strings.Join(fits, " or ") + "."
		if len(others) > 0 {
			step.Answer += " Of the " + s.label(all[works].load) + " and the " + s.label(all[dead].load) + ": " + strings.Join(others, "; ") + "."
		}
		step.Answer += " A part on the way of the dead one alone looks the same: measure leg to leg with the load on before either is blamed."
		return []Step{step}
	}
	return nil
}

// bySize lists the loads, those of the most watts first.
func (s *subject) bySize() []circuit.BranchID {
	out := slices.Clone(s.c.Loads())
	slices.SortStableFunc(out, func(a, b circuit.BranchID) int { return int(s.c.Branch(b).Watts - s.c.Branch(a).Watts) })
	return out
}

// onIn is the first mode in which a load is on, and what it takes there.
func (s *subject) onIn(load circuit.BranchID) (circuit.ModeID, float64) {
	for i := range s.c.Modes() {
		mode := circuit.ModeID(i)
		if o := s.live(mode); o.Chatter == nil && len(o.Tripped) == 0 && o.LeastShare(load) >= trace.DefaultOnShare {
			return mode, o.AnyState.Watts(load)
		}
	}
	return 0, 0
}

// switchVolts reads the contacts on the feed of the largest load, closed and
// open, one at a time and two at once.
func (s *subject) switchVolts() []Step {
	contacts := s.contacts()
	if len(contacts) == 0 {
		return nil
	}
	held := map[circuit.BranchID]string{}
	for _, h := range s.feed(s.load).Holds {
		held[h.Contact] = s.label(h.Mover)
		if h.Control != nil {
			held[h.Contact] = s.label(h.Control.Supply)
		}
	}
	one := Step{Say: fmt.Sprintf("On the feed of the %s in %s, each by itself closed, then open:", s.label(s.load), s.mode(s.busy)),
		Head: []string{"contact", "V closed", "V open", "ohms closed", "ohms open", "held by"}}
	var relays []string
	for _, id := range contacts {
		row, welded := s.contact(id, held[id])
		one.Rows = append(one.Rows, row)
		if welded != "" {
			relays = append(relays, welded)
		}
	}
	if len(relays) > 0 {
		one.Then = "What a coil, a motor or a control holds lies open with the supply off, which says nothing of how it closes. " + strings.Join(relays, " ")
	}
	one.Ask = fmt.Sprintf("The %s is cold, and across the %s there are %s. Is it closed?", s.label(s.load), s.label(contacts[0]), one.Rows[0].Cells[1])
	one.Answer = "Nobody knows yet."
	if len(contacts) == 1 {
		o := s.live(s.busy, open(s.load))
		b := s.c.Branch(contacts[0])
		one.Answer += fmt.Sprintf(" With the %s open instead there are %s across it too: 0 V across a contact means that it is closed, or that nothing drives a current.", s.label(s.load), between(o, b.A, b.B))
		return []Step{one}
	}
	first, second := s.c.Branch(contacts[0]), s.c.Branch(contacts[len(contacts)-1])
	two := Step{Say: fmt.Sprintf("The first and the last of them, the %s and the %s, read by a meter of 10 megohms:", s.label(first.ID), s.label(second.ID)),
		Head: []string{"open", s.label(first.ID), s.label(second.ID)}}
	for _, k := range []struct {
		what   string
		faults []circuit.Fault
	}{
		{"neither", nil}, {s.label(first.ID), []circuit.Fault{open(first.ID)}}, {s.label(second.ID), []circuit.Fault{open(second.ID)}},
		{"both", []circuit.Fault{open(first.ID), open(second.ID)}},
	} {
		o := s.live(s.busy, k.faults...)
		two.Rows = append(two.Rows, Row{[]string{k.what, s.reads(o, meter.Volts, first.A, first.B).String(), s.reads(o, meter.Volts, second.A, second.B).String()},
			s.across(s.show(s.busy, s.load, k.faults...), first.ID)})
	}
	one.Answer += fmt.Sprintf(" With the %s open instead, across the %s there are %s as well: 0 V across a contact means that it is closed, or that another one is open.",
		s.label(second.ID), s.label(first.ID), two.Rows[2].Cells[1])
	two.Ask = "Both are open. Which of the two shows the full feed?"
	two.Answer = fmt.Sprintf("%s and %s: with two open in one way do not wait for the full feed across either. Read from each contact's two sides to the other conductor instead: the live side is the one toward its leg.", two.Rows[3].Cells[1], two.Rows[3].Cells[2])
	return []Step{one, two}
}

// contact reads one closed and open. A relay's cannot be read closed with the
// supply off; what it does welded is told instead.
func (s *subject) contact(id circuit.BranchID, held string) (row Row, welded string) {
	b := s.c.Branch(id)
	openLive, closedDead, openDead := s.live(s.busy, open(id)), s.dead(s.busy), s.dead(s.busy, open(id))
	closed := "-"
	if closedDead.Conducts[id] {
		closed = s.bench.Quick(closedDead, meter.Ohms, b.A, b.B).String()
	} else if s.rests {
		weld := s.live(s.idle, circuit.Fault{Kind: circuit.Welded, Branch: id})
		welded = fmt.Sprintf("Welded, the %s gives the %s %s W in %s.", s.label(id), s.label(s.load), power(weld, s.load), s.mode(s.idle))
	}
	if held == "" {
		held = "itself"
	}
	return Row{[]string{s.label(id), between(s.sound, b.A, b.B), between(openLive, b.A, b.B), closed, s.bench.Quick(openDead, meter.Ohms, b.A, b.B).String(), held},
		s.across(s.show(s.busy, s.load, open(id)), id)}, welded
}

// place walks the feed of the largest load and says where each stretch of it can
// be reached, and where the quickest.
func (s *subject) place() []Step {
	runs := s.c.Runs()
	minutes := func(t circuit.TerminalID) float64 { return s.c.AccessMinutes(t) }
	step := Step{Say: fmt.Sprintf("Stretches of wire on the feed of the %s, in the order of the diagram. On one stretch every place reads the same:", s.label(s.load)),
		Head: []string{"on the diagram", "where it is", "minutes", "quickest", "minutes"}}
	var gain float64
	seen := map[int32]bool{}
	f := s.feed(s.load)
	walk := append([]trace.Hop{}, f.Ends[0].Hops...)
	for i := len(f.Ends[1].Hops) - 1; i >= 0; i-- {
		walk = append(walk, f.Ends[1].Hops[i])
	}
	for _, hop := range walk {
		b := s.c.Branch(hop.Branch)
		if b.Role != circuit.Contact {
			continue
		}
		at := hop.To
		if seen[runs[at]] || s.c.PlaceOf(at) == "" {
			continue
		}
		seen[runs[at]] = true
		best := at
		for t := range s.c.Terminals() {
			if id := circuit.TerminalID(t); runs[t] == runs[at] && s.c.Terminal(id).Part != circuit.None && s.c.PlaceOf(id) != "" && minutes(id) < minutes(best) {
				best = id
			}
		}
		step.Rows = append(step.Rows, Row{[]string{s.c.PlaceLabel(at), s.c.PlaceOf(at), fmt.Sprintf("%.0f", minutes(at)), s.c.PlaceLabel(best), fmt.Sprintf("%.0f", minutes(best))},
			s.probed(s.show(s.busy, s.load), meter.Volts, at, s.reference())})
		if d := minutes(at) - minutes(best); d > gain {
			gain = d
			r := s.reads(s.sound, meter.Volts, at, s.reference())
			step.Ask = fmt.Sprintf("You want the volts at %s. Which place takes the least time, and does it read the same?", s.c.PlaceLabel(at))
			step.Answer = fmt.Sprintf("%s (%s): %.0f minutes in place of %.0f. Nothing but wire lies between the two, so both read %s to %s, as long as that wire is whole.",
				s.c.PlaceLabel(best), s.c.PlaceOf(best), minutes(best), minutes(at), r, s.c.PlaceLabel(s.reference()))
		}
	}
	if gain == 0 {
		return nil
	}
	return []Step{step}
}
