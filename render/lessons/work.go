package lessons

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// legs tells what stands between the conductors, and between which of them
// each load is connected.
func (s *subject) legs() (string, error) {
	supply := s.c.Supply()
	ends := map[string]circuit.TerminalID{}
	names := []string{}
	for _, id := range append(append([]circuit.BranchID{}, supply.Legs...), supply.Neutral) {
		names = append(names, s.c.Branch(id).Name)
		ends[s.c.Branch(id).Name] = s.c.Branch(id).B
	}
	var rows [][]string
	for i, a := range names {
		for _, b := range names[i+1:] {
			rows = append(rows, []string{a + " to " + b, between(s.sound, ends[a], ends[b])})
		}
	}
	out := table([]string{"between", "reads"}, rows)
	rows = nil
	for _, id := range s.onLoads() {
		f := s.feed(id)
		if !f.Fed() {
			continue
		}
		rows = append(rows, []string{s.label(id), s.conductor(f.Ends[0].Source) + " and " + s.conductor(f.Ends[1].Source),
			fmt.Sprintf("%.1f", s.sound.AnyState.LoadVolts(id)), fmt.Sprintf("%.2f", cmplx.Abs(s.sound.AnyState.Amps[id])), fmt.Sprintf("%.0f", s.sound.AnyState.Watts(id))})
	}
	return out + "\n" + fill("On in "+s.mode(s.busy)+":") + "\n" + table([]string{"load", "connected to", "volts", "amps", "watts"}, rows), nil
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

// deadElement compares a feed that is open beside the element, a lost leg and a
// broken element.
func (s *subject) deadElement() (string, error) {
	load := s.twoLegged()
	if load == circuit.None {
		return "", nil
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
	var rows [][]string
	note := ""
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
			faults = []circuit.Fault{{Kind: circuit.Open, Branch: k.open}}
		}
		o, err := s.bench.Live(s.busy, faults)
		if err != nil {
			return "", err
		}
		rows = append(rows, []string{k.what, between(o, b.A, ref), between(o, b.B, ref), between(o, b.A, b.B), power(o, load)})
		if across, steady := o.LoadVolts(load).Steady(); steady && k.open == f.Ends[1].Source && across > 5 {
			note = fmt.Sprintf("With %s lost for the whole machine, %.0f V are left across the %s: its current goes on through whatever else is connected to %s, to neutral.", leg, across, s.label(load), leg)
		}
	}
	out := fill(fmt.Sprintf("The %s in %s, each end to %s, and across:", s.label(load), s.mode(s.busy), s.c.PlaceName(ref))) + "\n" +
		table([]string{"state", "end " + s.c.Terminal(b.A).Name, "end " + s.c.Terminal(b.B).Name, "across", "watts"}, rows)
	if note != "" {
		out += "\n" + fill(note)
	}
	return out, nil
}

// loaded puts a burnt joint in the feed and reads with the load off and on.
func (s *subject) loaded() (string, error) {
	if s.idle == circuit.None {
		return "", nil
	}
	soundOff, err := s.bench.Live(s.idle, nil)
	if err != nil {
		return "", err
	}
	joint, leg, on, err := s.joint(soundOff)
	if err != nil || on == nil {
		return "", err
	}
	off, err := s.bench.Live(s.idle, []circuit.Fault{joint})
	if err != nil {
		return "", err
	}
	j, other := s.c.Branch(joint.Branch), s.otherSide(leg)
	row := func(state string, o *settle.Outcome) []string {
		return []string{state, between(o, j.B, other), between(o, j.A, j.B), power(o, s.load)}
	}
	v, _ := on.AnyState.Between(j.A, j.B)
	amps := cmplx.Abs(on.AnyState.Amps[joint.Branch])
	return fill(fmt.Sprintf("A joint of %.0f ohms in %s, and the %s (%.1f ohms) off in %s and on in %s. Volts behind the joint, to the other side of the feed:",
		joint.Ohms, s.label(joint.Branch), s.label(s.load), real(s.c.Branch(s.load).Z), s.mode(s.idle), s.mode(s.busy))) + "\n" +
		table([]string{"state", "behind the joint", "across the joint", "watts of the load"}, [][]string{
			row("sound, load off", soundOff), row("burnt joint, load off", off), row("sound, load on", s.sound), row("burnt joint, load on", on)}) + "\n" +
		fill(fmt.Sprintf("With %.2f A through it the joint turns %.0f W to heat.", amps, amps*cmplx.Abs(v))), nil
}

// joint finds a join on the load's feed that is fed with the load off and burnt
// still lets the load work: one that carries the load's current alone if there
// is one. It returns the leg it is in and the machine with it; no outcome where
// there is none.
func (s *subject) joint(idle *settle.Outcome) (fault circuit.Fault, leg circuit.BranchID, on *settle.Outcome, err error) {
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
			o, err := s.bench.Live(s.busy, []circuit.Fault{try})
			if err != nil {
				return fault, leg, nil, err
			}
			if o.Chatter != nil || o.LeastShare(s.load) < trace.DefaultOnShare {
				continue
			}
			fault, leg, on = try, source, o
			if alone {
				return fault, leg, on, nil
			}
		}
	}
	return fault, leg, on, nil
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

// maxMasked is how many hidden opens a page lists.
const maxMasked = 3

// masked lists opens that a way beside the part hides, and those it makes look
// like another part.
func (s *subject) masked() (string, error) {
	upstream := s.bench.Upstream()
	var rows [][]string
	tried, hidden := 0, 0
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Source || b.Role == circuit.Drive || upstream[b.A] || upstream[b.B] {
			continue
		}
		m, err := s.bench.Mask(s.idleOrFirst(), b.ID)
		if err != nil {
			return "", err
		}
		tried++
		if m.Open.OL || m.Good.OL || m.Hopeless {
			continue
		}
		hidden++
		if len(rows) < maxMasked {
			rows = append(rows, []string{s.label(b.ID), m.Good.String(), m.Open.String(), m.OpenLifted.String()})
		}
	}
	if hidden == 0 {
		return "", nil
	}
	return fill(fmt.Sprintf("Of %d parts and wires, %d do not read open when they are: another way lies beside them. The first:", tried, hidden)) + "\n" +
		table([]string{"part", "sound", "open, in circuit", "open, lead lifted"}, rows), nil
}

func (s *subject) idleOrFirst() circuit.ModeID {
	if s.idle == circuit.None {
		return 0
	}
	return s.idle
}

// lostNeutral compares the loads that are on with the neutral there and lost.
func (s *subject) lostNeutral() (string, error) {
	mode, uses := s.neutralMode()
	if !uses {
		return "", nil
	}
	good, err := s.bench.Live(mode, nil)
	if err != nil {
		return "", err
	}
	bad, err := s.bench.Live(mode, []circuit.Fault{{Kind: circuit.Open, Branch: s.c.Supply().Neutral}})
	if err != nil {
		return "", err
	}
	var rows [][]string
	for _, id := range s.c.Loads() {
		if good.LoadVolts(id).Most < 1 && bad.LoadVolts(id).Most < 1 {
			continue
		}
		b := s.c.Branch(id)
		rows = append(rows, []string{s.label(id), between(good, b.A, b.B), between(bad, b.A, b.B), power(good, id), power(bad, id), s.neutralEnd(b, good, bad)})
	}
	metal := s.c.ChassisTerminal()
	shock := "floating: it is at whatever touches it"
	if !bad.AnyState.Floating[metal] {
		shock = fmt.Sprintf("at %.0f V to earth", cmplx.Abs(bad.AnyState.Volts[metal]))
	}
	return fill("In "+s.mode(mode)+", with the neutral and then without:") + "\n" + table([]string{"load", "volts", "then volts", "watts", "then watts", "its neutral end, to earth"}, rows) + "\n" +
		fill(fmt.Sprintf("The bare metal is then %s.", shock)), nil
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
		bad, err := s.bench.Live(mode, []circuit.Fault{{Kind: circuit.Open, Branch: s.c.Supply().Neutral}})
		if err != nil {
			continue
		}
		n := 0
		for _, id := range s.c.Loads() {
			if d := good.AnyState.LoadVolts(id) - bad.AnyState.LoadVolts(id); d > 5 || d < -5 {
				n++
			}
		}
		if n > most {
			best, most = mode, n
		}
	}
	return best, most > 0
}

// contacts lists those on the feed of the largest load, closed and open.
func (s *subject) contacts() (string, error) {
	f := s.feed(s.load)
	held := map[circuit.BranchID]string{}
	for _, h := range f.Holds {
		held[h.Contact] = s.label(h.Mover)
		if h.Control != nil {
			held[h.Contact] = s.label(h.Control.Supply)
		}
	}
	var rows [][]string
	var relays []string
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			b := s.c.Branch(hop.Branch)
			if b.Role != circuit.Contact {
				continue
			}
			row, welded, err := s.contact(b, held[b.ID])
			if err != nil {
				return "", err
			}
			rows = append(rows, row)
			if welded != "" {
				relays = append(relays, welded)
			}
		}
	}
	if len(rows) == 0 {
		return "", nil
	}
	out := fill(fmt.Sprintf("On the feed of the %s in %s, each by itself closed, then open:", s.label(s.load), s.mode(s.busy))) + "\n" +
		table([]string{"contact", "V closed", "V open", "ohms closed", "ohms open", "held by"}, rows)
	if len(relays) > 0 {
		out += "\n" + fill("What a coil, a motor or a control holds lies open with the supply off, which says nothing of how it closes. "+strings.Join(relays, " "))
	}
	return out, nil
}

// contact reads one closed and open. A relay's cannot be read closed with the
// supply off; what it does welded is told instead.
func (s *subject) contact(b *circuit.Branch, held string) (row []string, welded string, err error) {
	stuck := []circuit.Fault{{Kind: circuit.Open, Branch: b.ID}}
	open, err := s.bench.Live(s.busy, stuck)
	if err != nil {
		return nil, "", err
	}
	closedDead, err := s.bench.Dead(s.busy, nil)
	if err != nil {
		return nil, "", err
	}
	openDead, err := s.bench.Dead(s.busy, stuck)
	if err != nil {
		return nil, "", err
	}
	closed := "-"
	if closedDead.Conducts[b.ID] {
		closed = s.bench.Quick(closedDead, meter.Ohms, b.A, b.B).String()
	} else if s.idle != circuit.None {
		weld, err := s.bench.Live(s.idle, []circuit.Fault{{Kind: circuit.Welded, Branch: b.ID}})
		if err != nil {
			return nil, "", err
		}
		welded = fmt.Sprintf("Welded, the %s gives the %s %s W in %s.", s.label(b.ID), s.label(s.load), power(weld, s.load), s.mode(s.idle))
	}
	if held == "" {
		held = "itself"
	}
	return []string{s.label(b.ID), between(s.sound, b.A, b.B), between(open, b.A, b.B), closed, s.bench.Quick(openDead, meter.Ohms, b.A, b.B).String(), held}, welded, nil
}
