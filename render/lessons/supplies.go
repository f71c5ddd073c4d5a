package lessons

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// variant is the machine on another supply or hookup; nil where that makes no
// machine.
func (s *subject) variant(change func(*circuit.Spec) bool) *subject {
	spec := s.c.Spec()
	spec.Wires = slices.Clone(spec.Wires)
	spec.Modes = slices.Clone(spec.Modes)
	for i := range spec.Modes { // what they expect is of the supply as it was
		spec.Modes[i].On, spec.Modes[i].Off, spec.Modes[i].Share = nil, nil, nil
	}
	if !change(&spec) {
		return nil
	}
	c, _ := circuit.Build(spec)
	if c == nil {
		return nil
	}
	v := &subject{c: c, bench: meter.New(c, s.bench.Instrument), tracer: trace.New(c), busy: s.busy, idle: s.idle, rests: s.rests, load: s.load}
	v.bench.Tolerances = false
	if v.sound = v.live(s.busy); v.err != nil || len(c.Branches()) != len(s.c.Branches()) && c.Branch(s.load).Ref != s.c.Branch(s.load).Ref {
		id, err := c.FindBranch(s.c.Branch(s.load).Ref)
		if err != nil || v.sound == nil {
			return nil
		}
		v.load = id
	}
	return v
}

// bonded changes a hookup with an earth of its own to one whose neutral is
// strapped to the metal, where the cord lands.
func bonded(spec *circuit.Spec) bool {
	if spec.Supply.Wires == 3 || spec.Supply.System != "split-phase" && spec.Supply.System != "wye" {
		return false
	}
	spec.Supply.Wires = 3
	block := ""
	for _, p := range spec.Parts {
		if p.Kind == "terminal_block" && slices.Contains(p.Poles, "N") {
			block = p.Name
		}
	}
	earth := slices.IndexFunc(spec.Wires, func(w circuit.WireSpec) bool { return w.From == "supply.G" || w.To == "supply.G" })
	if block == "" || earth < 0 {
		return false
	}
	spec.Wires[earth].From, spec.Wires[earth].To = block+".N.out", "chassis"
	return true
}

// metal reads how the bare metal stands to earth.
func (s *subject) metal(o *settle.Outcome) string {
	t := s.c.ChassisTerminal()
	v, known := o.AnyState.ToEarth(t)
	if !known {
		return "floats"
	}
	return fmt.Sprintf("%.0f V", cmplx.Abs(v))
}

// threeFour compares the metal with an earth of its own and with the neutral for
// one, the neutral there and lost.
func (s *subject) threeFour() []Step {
	other := s.variant(bonded)
	if other == nil {
		other = s.variant(earthed)
	}
	step := Step{Head: []string{"wires", "state", "metal to earth"}}
	for _, v := range []*subject{s, other} {
		if v == nil {
			continue
		}
		mode, uses := v.neutralMode()
		if !uses {
			return nil
		}
		for _, k := range []struct {
			what   string
			faults []circuit.Fault
		}{{"sound", nil}, {"neutral lost", []circuit.Fault{open(v.c.Supply().Neutral)}}, {v.conductor(v.c.Supply().Legs[0]) + " lost", []circuit.Fault{open(v.c.Supply().Legs[0])}}} {
			row := Row{Cells: []string{fmt.Sprint(v.c.Supply().Wires), k.what, v.metal(v.live(mode, k.faults...))}}
			if v == s {
				row.Show = s.probed(s.show(mode, circuit.None, k.faults...), meter.Volts, s.c.ChassisTerminal(), s.reference())
			}
			step.Rows = append(step.Rows, row)
		}
	}
	lost := step.Rows[1].Cells
	if len(step.Rows) > 3 && s.c.Supply().Wires != 3 {
		lost = step.Rows[4].Cells
	}
	mode, _ := s.neutralMode()
	step.Say = fmt.Sprintf("In %s, the bare metal to earth outside, as the machine is, and with the other hookup:", s.mode(mode))
	step.Ask = "On three wires the neutral is lost. What does a hand on the metal meet?"
	step.Answer = fmt.Sprintf("%s, through whatever load is on: the strap makes the metal a piece of the neutral. With an earth of its own the metal keeps to earth, whatever the neutral does.", lost[2])
	return []Step{step}
}

// earthed is the other way: the strap off, an earth on.
func earthed(spec *circuit.Spec) bool {
	if spec.Supply.Wires != 3 || spec.Supply.System != "split-phase" && spec.Supply.System != "wye" {
		return false
	}
	spec.Supply.Wires = 4
	strap := slices.IndexFunc(spec.Wires, func(w circuit.WireSpec) bool { return w.From == "chassis" || w.To == "chassis" })
	if strap < 0 {
		return false
	}
	spec.Wires[strap].From, spec.Wires[strap].To = "supply.G", "chassis"
	return true
}

// lostNeutral compares the loads that are on with the neutral there and lost.
func (s *subject) lostNeutral() []Step {
	mode, uses := s.neutralMode()
	if !uses {
		return nil
	}
	lost := open(s.c.Supply().Neutral)
	good, bad := s.live(mode), s.live(mode, lost)
	step := Step{Say: "In " + s.mode(mode) + ", with the neutral and then without:",
		Head: []string{"load", "volts", "then volts", "watts", "then watts", "its neutral end, to earth"}, Show: s.show(mode, circuit.None, lost)}
	oddest, odd := circuit.BranchID(circuit.None), 0.0
	for _, id := range s.c.Loads() {
		if good.LoadVolts(id).Most < 1 && bad.LoadVolts(id).Most < 1 {
			continue
		}
		b := s.c.Branch(id)
		if d := math.Abs(good.LoadVolts(id).Most - bad.LoadVolts(id).Most); d > odd {
			oddest, odd = id, d
		}
		step.Rows = append(step.Rows, Row{[]string{s.label(id), between(good, b.A, b.B), between(bad, b.A, b.B), power(good, id), power(bad, id), s.neutralEnd(b, good, bad)},
			s.across(s.show(mode, id, lost), id)})
	}
	metal := s.metal(bad)
	if metal == "floats" {
		step.Then = "The bare metal is then floating: it is at whatever touches it."
	} else {
		step.Then = fmt.Sprintf("The bare metal is then at %s to earth.", metal)
	}
	if oddest != circuit.None {
		b := s.c.Branch(oddest)
		step.Ask = fmt.Sprintf("The %s has %s across it in place of %s. Is the %s bad?", s.label(oddest), between(bad, b.A, b.B), between(good, b.A, b.B), s.label(oddest))
		step.Answer = fmt.Sprintf("No. It gets what the others leave it: neutral lost, it takes %s W in place of %s. Look for the neutral ahead of every load that is odd at once.", power(bad, oddest), power(good, oddest))
	}
	return []Step{step}
}

// neutralEnd tells what the end of a load that should be at neutral comes to
// with the neutral lost; "-" where neither end should be.
func (s *subject) neutralEnd(b *circuit.Branch, good, bad *settle.Outcome) string {
	for _, end := range [2]circuit.TerminalID{b.A, b.B} {
		if v, known := good.AnyState.ToEarth(end); !known || cmplx.Abs(v) >= meter.HazardVolts {
			continue
		}
		if most := s.bench.Touch(bad, end).Earth; !math.IsNaN(most) {
			return fmt.Sprintf("%.0f V", most)
		}
		return "floats"
	}
	return "-"
}

// neutralMode finds the mode in which the neutral matters most: its loss
// changes the voltage of the most loads.
func (s *subject) neutralMode() (circuit.ModeID, bool) {
	best, most := circuit.ModeID(0), 0
	for i := range s.c.Modes() {
		mode := circuit.ModeID(i)
		good, err := s.bench.Live(mode, nil)
		if err != nil {
			continue
		}
		bad, err := s.bench.Live(mode, []circuit.Fault{open(s.c.Supply().Neutral)})
		if err != nil {
			continue
		}
		n := 0
		for _, id := range s.c.Loads() {
			if math.Abs(good.AnyState.LoadVolts(id)-bad.AnyState.LoadVolts(id)) > s.bench.Nothing() {
				n++
			}
		}
		if n > most {
			best, most = mode, n
		}
	}
	return best, most > 0
}

// services are those that a machine for 240 V is met on.
var services = []circuit.SupplySpec{{System: "split-phase", Volts: 240}, {System: "wye", Volts: 208}}

// wrongSupply puts the machine on the two services in turn, and a load between
// the legs on one leg and neutral.
func (s *subject) wrongSupply() []Step {
	load := s.twoLegged()
	if load == circuit.None || s.c.Branch(load).Volts < 230 {
		return nil
	}
	step := Step{Say: fmt.Sprintf("In %s, on either service:", s.mode(s.busy)), Head: []string{"load", "rated"}}
	var on []*subject
	for _, service := range services {
		v := s.variant(func(spec *circuit.Spec) bool {
			spec.Supply.System, spec.Supply.Volts = service.System, service.Volts
			return true
		})
		if v == nil {
			return nil
		}
		on = append(on, v)
		step.Head = append(step.Head, fmt.Sprintf("V at %.0f", service.Volts), fmt.Sprintf("W at %.0f", service.Volts))
	}
	for _, id := range s.onLoads() {
		b := s.c.Branch(id)
		row := Row{Cells: []string{s.label(id), fmt.Sprintf("%.0f V, %.0f W", b.Volts, b.Watts)}, Show: s.across(s.show(s.busy, id), id)}
		for _, v := range on {
			row.Cells = append(row.Cells, fmt.Sprintf("%.1f", v.sound.AnyState.LoadVolts(id)), power(v.sound, id))
		}
		step.Rows = append(step.Rows, row)
	}
	type at struct{ volts, watts float64 }
	full, less := at{on[0].sound.AnyState.LoadVolts(load), on[0].sound.AnyState.Watts(load)}, at{on[1].sound.AnyState.LoadVolts(load), on[1].sound.AnyState.Watts(load)}
	step.Ask = fmt.Sprintf("At 208 V the %s is slow, and its ohms are good. How much slower, and which part is to be changed?", s.label(load))
	step.Answer = fmt.Sprintf("None. It gets %.0f of %.0f W, %.0f per cent, the square of the voltages' ratio; to bring in the same heat it takes %.2f times as long. Loads between a leg and neutral hardly notice.", less.watts, full.watts, 100*less.watts/full.watts, full.watts/less.watts)
	// A second leg that is at the neutral's voltage: an outlet wired for 120 V.
	last := s.c.Supply().Legs[len(s.c.Supply().Legs)-1]
	at120 := s.live(s.busy, circuit.Fault{Kind: circuit.Fed, Branch: last})
	across, watts := at120.AnyState.LoadVolts(load), at120.AnyState.Watts(load)
	if across < 1 || len(at120.Tripped) > 0 {
		return []Step{step}
	}
	b := s.c.Branch(load)
	one := Step{Say: fmt.Sprintf("With neutral brought in where %s should be, as from an outlet for 120 V, %.1f V are across the %s (%.1f ohms), and it gets %.0f W.", s.conductor(last), across, s.label(load), real(b.Z), watts)}
	one.Ask = fmt.Sprintf("The %s is rated %.0f W, and is warm, no more: %.0f W. What would you measure first?", s.label(load), b.Watts, watts)
	one.Answer = fmt.Sprintf("Volts across it while it is on. %.0f V in place of %.0f says that one side of it has come to neutral: %.0f per cent of the watts. Its ohms say nothing of that.", across, full.volts, 100*watts/full.watts)
	return []Step{step, one}
}
