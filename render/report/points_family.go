package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// Others than the likeliest wiring are told of from such a share, so many at most.
const otherShare, mostOthers = 0.05, 3

// unsure says on the paper which wiring it is of, how sure that is and what is to be looked
// at to narrow it, and at each step what it reads good where the machine is wired
// otherwise.
func (d *Points) unsure(x *listing, opt SheetOptions) error {
	j := opt.Family
	d.Wiring = append(d.Wiring, fmt.Sprintf("This sheet is of %s, the likeliest (%s). What is good and bad, and which wire is where, holds for that.", oneLine(j.Netlist()), Chance(j.Chance())))
	doubts := make([][]string, len(d.Steps))
	for _, c := range others(j) {
		d.Wiring = append(d.Wiring, fmt.Sprintf("It may be %s (%s): %s.", oneLine(c.Netlist), Chance(c.P), oneLine(Differs(j.Circuit, c.Circuit))))
		if Differs(j.Circuit, c.Circuit) == anotherMachine {
			continue // no place of it is the same
		}
		b, err := New(c.Circuit).newBench(opt.MeterOptions)
		if err != nil {
			return err
		}
		for i := range d.Steps {
			if s := &x.sheet.Steps[i]; s.Probing() {
				if words := x.goodElsewhere(b, s); words != "" {
					doubts[i] = append(doubts[i], fmt.Sprintf("in %s (%s) %s", oneLine(c.Netlist), Chance(c.P), words))
				}
			}
		}
	}
	for i, words := range doubts {
		if len(words) > 0 {
			d.Steps[i].Notes = append(d.Steps[i].Notes, "not sure: "+strings.Join(words, "; "))
		}
	}
	if q := j.Questions(); len(q) > 0 {
		d.Wiring = append(d.Wiring, fmt.Sprintf("To be seen from outside, first of all: %s %s: ______", oneLine(q[0].Text), strings.Join(q[0].Answers, " or ")))
	}
	return nil
}

// others are the candidates worth telling of beside the likeliest.
func others(j *visit.Job) []visit.Candidate {
	var out []visit.Candidate
	for _, c := range j.Candidates() {
		if c.Circuit != j.Circuit && c.P >= otherShare && len(out) < mostOthers {
			out = append(out, c)
		}
	}
	return out
}

// goodElsewhere tells what a step reads good on another machine, where that is not the
// same.
func (x *listing) goodElsewhere(b *meter.Bench, s *suspect.Step) string {
	there := b.Circuit()
	find := func(t circuit.TerminalID) (circuit.TerminalID, error) { return there.FindTerminal(x.c.Terminal(t).Ref) }
	probes := s.Probes
	var err error
	var mode circuit.ModeID
	if probes.P, err = find(s.Probes.P); err == nil {
		if probes.Q, err = find(s.Probes.Q); err == nil {
			mode, err = there.FindMode(x.c.Mode(s.Mode).Name)
		}
	}
	if err != nil {
		return "there is no such place"
	}
	var lift []circuit.WireID
	for _, w := range s.Lift {
		id, err := there.FindWire(x.c.Wire(w).Name)
		if err != nil {
			return ""
		}
		lift = append(lift, id)
	}
	good, err := b.Take(probes, mode, lift, nil)
	if err == nil && good.Differs(s.Good.Reading) {
		return "good is " + b.Range(good)
	}
	if moved := x.wiredOtherwise(there, s.Probes); len(moved) > 0 {
		return "the wires there are not " + circuit.List(moved)
	}
	return ""
}

// wiredOtherwise lists the wires at the probes that go elsewhere on another machine.
func (r namer) wiredOtherwise(there *circuit.Circuit, p meter.Probes) (out []string) {
	for _, t := range [2]circuit.TerminalID{p.P, p.Q} {
		for _, id := range r.c.Terminal(t).Wires {
			w := r.c.Wire(id)
			other, err := there.FindWire(w.Name)
			ends := func(c *circuit.Circuit, w *circuit.Wire) string {
				return c.Terminal(w.From).Ref + " " + c.Terminal(w.To).Ref
			}
			if err != nil || ends(there, there.Wire(other)) != ends(r.c, w) {
				out = append(out, w.Name)
			}
		}
	}
	return out
}
