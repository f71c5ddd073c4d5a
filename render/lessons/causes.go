package lessons

import (
	"context"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// grounded lets the largest load touch its sheath at one point after another.
func (s *subject) grounded() []Step {
	b := s.c.Branch(s.load)
	if !s.c.CanFail(circuit.Fault{Kind: circuit.Grounded, Branch: s.load, At: 0.5}) {
		return nil
	}
	metal := s.c.ChassisTerminal()
	step := Step{Say: fmt.Sprintf("The %s touches its sheath at a point of its coil, from end %s on:", s.label(s.load), s.c.Terminal(b.A).Name),
		Head: []string{"touches at", "ohms across", "ohms to metal", "watts in " + s.c.Mode(s.busy).Label, "watts in " + s.c.Mode(s.idle).Label}}
	row := func(at string, faults ...circuit.Fault) {
		dead := s.dead(s.idle, faults...)
		step.Rows = append(step.Rows, Row{[]string{at, s.bench.Quick(dead, meter.Ohms, b.A, b.B).String(), s.bench.Quick(dead, meter.Ohms, b.A, metal).String(),
			power(s.live(s.busy, faults...), s.load), power(s.live(s.idle, faults...), s.load)}, s.probed(s.show(s.idle, s.load, faults...), meter.Ohms, b.A, metal)})
	}
	row("nowhere")
	for _, at := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
		row(fmt.Sprintf("%.0f %%", 100*at), circuit.Fault{Kind: circuit.Grounded, Branch: s.load, At: at})
	}
	sound, mid := step.Rows[0].Cells, step.Rows[3].Cells
	step.Ask = fmt.Sprintf("The %s reads %s across. Is it good?", s.label(s.load), mid[1])
	step.Answer = fmt.Sprintf("Across it reads the same whole, %s. To the bare metal it reads %s in place of %s: grounded. Always take both.", sound[1], mid[2], sound[2])
	return []Step{step}
}

// maxSets is how many ways of staying on a page lists.
const maxSets = 6

// glowsOff lists what keeps the largest load on with the machine at rest.
func (s *subject) glowsOff() []Step {
	if !s.rests {
		return nil
	}
	sets, err := s.tracer.KeepOn(context.Background(), s.idle, s.load, trace.Options{Order: 2, Share: 0.02})
	if err != nil || len(sets) == 0 {
		return nil
	}
	order := sets[0].Order()
	step := Step{Say: fmt.Sprintf("What leaves the %s on in %s; a set of two needs both:", s.label(s.load), s.mode(s.idle)), Head: []string{"what went wrong", "watts", "per cent of rated"}}
	single, watts := "", 0.0
	singles, pairs := 0, 0
	for _, set := range sets {
		if set.Order() > 1 {
			pairs++
		} else {
			singles++
		}
		if len(step.Rows) == maxSets && set.Order() > order {
			continue
		}
		if len(step.Rows) == maxSets {
			continue
		}
		var said []string
		for _, f := range set.Faults {
			said = append(said, s.says(f))
		}
		if single == "" && set.Order() == 1 {
			single, watts = said[0], set.Watts
		}
		step.Rows = append(step.Rows, Row{[]string{strings.Join(said, " and "), fmt.Sprintf("%.0f", set.Watts), fmt.Sprintf("%.0f", 100*set.Share)}, s.show(s.idle, s.load, set.Faults...)})
	}
	step.Then = fmt.Sprintf("There are %d single faults that do it, and %d pairs.", singles, pairs)
	step.Ask = fmt.Sprintf("Is one fault enough to keep the %s on?", s.label(s.load))
	if single != "" {
		step.Answer = fmt.Sprintf("Yes: %s gives it %.0f W. At less than full heat look for a ground first, at full heat for a contact that does not open.", single, watts)
	} else {
		step.Answer = "No: both sides of it are opened, and a contact in each has to fail. Where one was found welded, the other is to be looked at too."
	}
	return []Step{step}
}

// maxAlike is how many opens a page lists that leave a board with the same.
const maxAlike = 3

// boardInVain lists what leaves a load cold although its board is good.
func (s *subject) boardInVain() []Step {
	at := -1
	var hold trace.Hold
	for _, h := range s.feed(s.load).Holds {
		if h.Control == nil {
			continue
		}
		for i := range s.c.Controls() {
			if &s.c.Controls()[i] == h.Control {
				at, hold = i, h
			}
		}
		break
	}
	if at < 0 {
		return nil
	}
	board := s.c.Part(hold.Control.Part)
	name := circuit.LowerFirst(board.Label)
	if name == "" {
		name = board.Name
	}
	sees := func(o *settle.Outcome) string {
		if !o.Controls[at].Powered {
			return "dark"
		}
		var out []string
		for i, is := range o.Controls[at].Senses {
			if !is.Demanded {
				continue
			}
			ohms := "open"
			if is.Connected {
				ohms = fmt.Sprintf("%.0f ohms", is.Ohms)
			}
			if !is.OK {
				ohms += ", refused"
			}
			out = append(out, strings.ReplaceAll(hold.Control.Senses[i].Name, "_", " ")+" "+ohms)
		}
		if len(out) == 0 {
			return "-"
		}
		return strings.Join(out, ", ")
	}
	step := Step{Say: fmt.Sprintf("Single opens that leave the %s cold in %s, and what the %s has to work with:", s.label(s.load), s.mode(s.busy), name),
		Head: []string{"open", "board's supply", "what it sees", "is it the board"}}
	outside, inside := 0, 0
	listed := map[string]int{}
	var dark, blind string
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		f := open(b.ID)
		if !s.c.CanFail(f) || b.ID == s.load {
			continue
		}
		o := s.live(s.busy, f)
		if o.Chatter != nil || o.LeastShare(s.load) >= trace.DefaultOnShare {
			continue
		}
		own := b.Part == hold.Control.Part || b.Part != circuit.None && s.c.Part(b.Part).Spec.DrivenBy == board.Name
		if own {
			inside++
		} else {
			outside++
		}
		volts, saw := fmt.Sprintf("%.0f V", o.Controls[at].Volts), sees(o)
		if alike := fmt.Sprint(own, volts, saw); listed[alike] == maxAlike {
			continue
		} else {
			listed[alike]++
		}
		switch {
		case own:
		case saw == "dark" && dark == "":
			dark = s.label(b.ID)
		case strings.Contains(saw, "refused") && blind == "":
			blind = s.label(b.ID)
		}
		step.Rows = append(step.Rows, Row{[]string{s.label(b.ID), volts, saw, map[bool]string{true: "yes", false: "no"}[own]}, s.show(s.busy, s.load, f)})
	}
	if outside == 0 {
		return nil
	}
	step.Then = fmt.Sprintf("Of %d single opens that do it, %d are of the board and %d are not.", inside+outside, inside, outside)
	step.Ask = fmt.Sprintf("What has to be measured at the %s itself before it is blamed?", name)
	step.Answer = fmt.Sprintf("Its supply, while it should drive: sound %.0f V, and it needs %.0f.", s.sound.Controls[at].Volts, hold.Control.MinVolts)
	if blind != "" {
		step.Answer += fmt.Sprintf(" What it senses, at its own pins: sound %s; with the %s open it refuses, and is right.", sees(s.sound), blind)
	}
	if dark != "" {
		step.Answer += fmt.Sprintf(" With the %s open it is dark, and good.", dark)
	}
	step.Answer += " Only a board that has both and does not close its relay is bad."
	return []Step{step}
}

// maxTells is how many causes a page lists for each device.
const maxTells = 5

// fuseTells lists which faults open each thing that opens by current, and which
// make heat that nothing switches off.
func (s *subject) fuseTells() []Step {
	steps := s.overCurrent()
	var warm []Row
	for _, id := range s.contacts() {
		p := s.c.Part(s.c.Branch(id).Part)
		if !slices.Contains([]circuit.Kind{circuit.KindThermalFuse, circuit.KindLimit}, p.Kind) {
			continue
		}
		o := s.live(s.busy, open(id))
		warm = append(warm, Row{[]string{s.label(id), fmt.Sprintf("%.1f", cmplx.Abs(s.sound.AnyState.Amps[id])), power(o, s.load)}, s.show(s.busy, s.load, open(id))})
	}
	if len(warm) == 0 || !s.rests {
		return steps
	}
	step := Step{Say: "These open by heat, not by current, so that no short explains them:", Head: []string{"opens by heat", "amps through it, sound", "then watts of the " + s.label(s.load)}, Rows: warm}
	sets, err := s.tracer.KeepOn(context.Background(), s.idle, s.load, trace.Options{Order: 1, Share: 0.02})
	var said []string
	if err == nil {
		for _, set := range sets[:min(3, len(sets))] {
			said = append(said, s.says(set.Faults[0]))
		}
	}
	step.Ask = fmt.Sprintf("The %s has opened. What made it hot, and what comes before a new one?", warm[0].Cells[0])
	step.Answer = "Heat that was not switched off, or air that did not move, or the thing itself by age."
	if len(said) > 0 {
		step.Answer += fmt.Sprintf(" Of single faults these keep the %s on in %s: %s.", s.label(s.load), s.mode(s.idle), strings.Join(said, "; "))
	}
	step.Answer += " Find which before a new one goes in, or the new one goes too."
	return append(steps, step)
}

// overCurrent lists, for what opens by current, the single faults that open it.
func (s *subject) overCurrent() []Step {
	type cause struct {
		fault circuit.Fault
		mode  circuit.ModeID
	}
	opens := map[circuit.PartID][]cause{}
	var order []circuit.PartID
	tried := 0
	for _, f := range meter.SingleFaults(s.c) {
		if f.Kind != circuit.Short && f.Kind != circuit.Grounded && f.Kind != circuit.Welded {
			continue
		}
		tried++
		var parts []circuit.PartID
		for _, mode := range []circuit.ModeID{s.busy, s.idle} {
			for _, id := range s.live(mode, f).Tripped {
				if part := s.c.Branch(id).Part; part != circuit.None && s.c.Part(part).Kind != circuit.KindSupply && !slices.Contains(parts, part) {
					parts = append(parts, part)
					if opens[part] == nil {
						order = append(order, part)
					}
					opens[part] = append(opens[part], cause{f, mode})
				}
			}
		}
	}
	if len(order) == 0 {
		return nil
	}
	var out []Step
	for _, part := range order[:min(2, len(order))] {
		p := s.c.Part(part)
		name := circuit.LowerFirst(p.Label)
		if name == "" {
			name = p.Name
		}
		step := Step{Say: fmt.Sprintf("Of %d single shorts, welds and grounds, %d open the %s (%s). The first:", tried, len(opens[part]), name, opensAt(p)), Head: []string{"what went wrong", "in mode"}}
		for _, k := range opens[part][:min(maxTells, len(opens[part]))] {
			step.Rows = append(step.Rows, Row{[]string{s.says(k.fault), s.c.Mode(k.mode).Label}, s.show(k.mode, circuit.None, k.fault)})
		}
		k := opens[part][0]
		o := s.dead(k.mode, k.fault)
		b := s.c.Branch(k.fault.Branch)
		q := b.B
		if k.fault.Kind == circuit.Grounded {
			q = s.c.ChassisTerminal()
		}
		tells := "too much current flowed"
		if p.Kind == circuit.KindRCD {
			tells = "what went out did not come back"
		}
		step.Ask = fmt.Sprintf("The %s has opened. Is a new one, or closing it again, the repair?", name)
		step.Answer = fmt.Sprintf("It tells that %s, not where. Supply off, before a new one goes in: with %s, %s to %s reads %s, and a sound machine %s.",
			tells, s.says(k.fault), s.c.PlaceLabel(b.A), s.c.PlaceLabel(q), s.bench.Quick(o, meter.Ohms, b.A, q), s.bench.Quick(s.dead(k.mode), meter.Ohms, b.A, q))
		out = append(out, step)
	}
	return out
}

// opensAt is the current that opens a part, or the one that does not come back.
func opensAt(p *circuit.Part) string {
	if p.Kind == circuit.KindRCD {
		return fmt.Sprintf("%g mA", 1000*p.Spec.ResidualAmps)
	}
	return fmt.Sprintf("%g A", p.Spec.Amps)
}
