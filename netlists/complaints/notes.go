package complaints

import (
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// states are what of a load is a state that the engine solves for; the others
// are weighed by the table of what is told.
var states = map[string]circuit.LoadState{"normal": circuit.Normal, "dead": circuit.Dead, "weak": circuit.Weak,
	"hot": circuit.TooMuch, "on": circuit.StaysOn}

// onOccasion are ways to come and go: the load was dead at times.
var onOccasion = map[string]bool{"intermittent": true, "fails_hot": true, "fails_cold": true, "touched": true, "quits": true}

// Notes writes statements as a visit notes them.
func Notes(c *circuit.Circuit, said []Statement) ([]visit.Note, error) {
	return (&Heard{Statements: said}).notes(c)
}

// notes writes what was understood. What is asked about is none of "the rest".
func (h *Heard) notes(c *circuit.Circuit) ([]visit.Note, error) {
	var out []visit.Note
	said, mentioned := h.Statements, map[circuit.BranchID]bool{}
	for _, s := range said {
		if mentioned[s.Load] = true; s.About == OfWhole && s.Mode != circuit.None { // "trips on left front, all else works"
			for _, x := range c.Mode(s.Mode).Expect {
				mentioned[x.Load] = mentioned[x.Load] || x.Share > 0
			}
		}
	}
	for _, q := range h.Questions {
		for _, choice := range q.Choices {
			for _, s := range choice.Statements {
				mentioned[s.Load] = true
			}
		}
	}
	replaced := circuit.PartID(circuit.None)
	anyOf, first := map[int][]visit.Note{}, []int{}
	for i := range said {
		s := &said[i]
		if s.What == "replaced" && s.Part != circuit.None {
			replaced = s.Part
		}
		if s.What == "no_help" && s.Part == circuit.None {
			s.Part = replaced
		}
		if s.What == "no_help" && s.Part == circuit.None && len(said) > 1 && !h.exchanged() {
			continue // "turned the dial up, no difference": no part was renewed
		}
		if s.What == "trips" && slices.ContainsFunc(said, func(by Statement) bool {
			return by.What == "once" && by.clause >= s.clause || by.What == "storm" && by.clause == s.clause && s.happened
		}) {
			continue // "tripped once and held": it does not now
		}
		if h.endsItself(c, s) {
			continue
		}
		if s.What == "trips" && s.Mode == circuit.None && slices.ContainsFunc(said, func(by Statement) bool { return by.What == "hums" && by.Load != circuit.None }) {
			out = append(out, visit.Note{Told: "trips_stalled"})
			continue
		}
		if s.What == "no_click" && s.Part != circuit.None && slices.ContainsFunc(said, func(by Statement) bool { return by.What == "coil_fed" && by.Part == s.Part }) {
			out = append(out, visit.Note{Told: "found_bad", Part: c.Part(s.Part).Name}) // what is fed and does not pull is open
		}
		again := func(by Statement) bool {
			return by.What == "failed_again" || by.What == "reset" || by.What == "no_help"
		}
		if s.What == "smell" && slices.ContainsFunc(said, func(by Statement) bool {
			return by.What == "on" && by.Load != circuit.None && c.Branch(by.Load).Part == s.Part
		}) {
			anywhere := *s
			anywhere.Part = circuit.None // what stays on smells of all that it heats
			s = &anywhere
		}
		if s.grounds(c, said) {
			bad := *s
			bad.What, bad.Mode = "shorted", circuit.None
			s = &bad
		}
		if s.What == "replaced" && slices.ContainsFunc(said, func(by Statement) bool { return by.What == "failed_again" && by.Part == s.Part }) {
			continue // it did not hold
		}
		if s.What == "works_again" && slices.ContainsFunc(said[:i], func(by Statement) bool { return by.What == "replaced" && by.Part != circuit.None }) && !slices.ContainsFunc(said, again) {
			continue // what was put in cured it, and nothing comes and goes
		}
		if s.What == "replaced" && s.Part != circuit.None && slices.ContainsFunc(said[i:], func(by Statement) bool { return by.What == "works_again" }) && !slices.ContainsFunc(said, again) {
			cure := *s
			cure.What = "like_works_here"
			s = &cure
		}
		if s.What == "off_by" && s.Amount == 0 && slices.ContainsFunc(said, func(by Statement) bool {
			return by.What == "off_by" && (by.Amount != 0 && (s.side == "" || s.side == "above" == (by.Amount > 0)) || s.side == "" && by.side != "")
		}) {
			continue // by how much was said: one fact
		}
		if s.About == OfPlace && s.Part != circuit.None && slices.ContainsFunc(said, func(by Statement) bool {
			return by.About == OfPlace && by.What == s.What && by.clause == s.clause && by.Part != circuit.None && c.DrivenBy(by.Part) == s.Part
		}) {
			continue // "burnt on the board at the bake relay" is one place
		}
		if limit := theLimit(c); s.What == "reset" && s.popped && limit != circuit.None && slices.ContainsFunc(said[i+1:], func(by Statement) bool {
			return by.clause > s.clause && (by.What == "dead" || by.What == "no_help" || by.What == "all_dead")
		}) {
			out = append(out, visit.Note{Told: "found_good", Part: c.Part(limit).Name})
			continue // "clicked, still no hot water": it is closed now
		}
		if n, first, ok := s.lukewarm(c, said); ok {
			if first {
				out = append(out, n)
			}
			continue
		}
		notes, err := note(c, s, mentioned)
		if err != nil {
			return nil, err
		}
		s.untried(c, said, notes)
		if s.Any != 0 {
			if anyOf[s.Any] == nil {
				first = append(first, s.Any)
			}
			if s.What == "weak" { // of several the one that is dead makes less of the heat there
				dead := *s
				dead.What = "dead"
				more, err := ofLoad(c, &dead)
				if err != nil {
					return nil, err
				}
				notes = append(notes, more...)
			}
			// How one of several comes and goes is of none of them for sure.
			anyOf[s.Any] = append(anyOf[s.Any], slices.DeleteFunc(notes, func(n visit.Note) bool { return n.State == "" })...)
			continue
		}
		out = append(out, notes...)
	}
	for _, k := range first {
		if len(anyOf[k]) > 0 {
			out = append(out, visit.AnyOf(anyOf[k]))
		}
	}
	lacks := func(n visit.Note) int {
		if n.Slow || n.Told == "runs_cold" {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(out, func(a, b visit.Note) int { return lacks(a) - lacks(b) }) // what "works" means depends on it
	return out, nil
}

// exchanged reports whether a part was said to be renewed, or something done to the wires.
func (h *Heard) exchanged() bool {
	return slices.ContainsFunc(h.Statements, func(s Statement) bool { return slices.Contains(renewals, s.What) }) ||
		slices.ContainsFunc(h.Questions, func(q Question) bool { return slices.Contains(renewals, q.What) })
}

// renewals are what may be without effect and tells of parts then.
var renewals = []string{"replaced", "failed_again", "mended", "new_cord", "repair", "swapped"}

// endsItself reports whether it tells no more than the rest that something stops: what stands
// still and hums opens its protector, what gets too hot is shut down for it, and a control
// that shows a code has ended what it heats.
func (h *Heard) endsItself(c *circuit.Circuit, s *Statement) bool {
	if s.What != "quits" || s.Load == circuit.None {
		return false
	}
	heats := heats(c, s.Load)
	return slices.ContainsFunc(h.Statements, func(by Statement) bool {
		return by.What == "hums" && by.Load == s.Load || by.What == "off_by" && by.side == "above" && !heats || by.What == "code" && heats || by.What == "slow" && heats && len(c.Controls()) > 0 && by.clause <= s.clause && by.clause+1 >= s.clause
	}) || heats && slices.ContainsFunc(h.Questions, func(q Question) bool { return q.What == "code" })
}

// note writes one statement.
func note(c *circuit.Circuit, s *Statement, mentioned map[circuit.BranchID]bool) ([]visit.Note, error) {
	switch {
	case s.About == OfLoad:
		return ofLoad(c, s)
	case s.About == OfWhole:
		return ofWhole(c, s, mentioned)
	}
	if s.What == "reads" {
		return reading(c, s)
	}
	n := told(c, s)
	if n.Told == "" {
		return nil, nil
	}
	if s.What == "good_elsewhere" && s.Part != circuit.None {
		fed, err := fedElsewhere(c, s)
		return append(fed, n), err
	}
	if load := loadOf(c, s.Part); s.What == "failed_again" && load != circuit.None {
		dead, err := symptom(c, load, circuit.Dead, circuit.None)
		return []visit.Note{dead, n}, err
	}
	return []visit.Note{n}, nil
}

// reading notes what a meter showed between a part's two terminals.
func reading(c *circuit.Circuit, s *Statement) ([]visit.Note, error) {
	ends := c.Part(s.Part).Terminals
	if s.From != s.To {
		ends = []circuit.TerminalID{s.From, s.To}
	}
	n := visit.Note{Function: s.Unit, P: c.PlaceName(ends[0]), Q: c.PlaceName(ends[1]), Answer: s.hedge.answer(s.Amount), Mode: c.Mode(0).Name}
	if off := c.OffMode(); off != circuit.None {
		n.Mode = c.Mode(off).Name
	}
	if s.Mode != circuit.None {
		n.Mode = c.Mode(s.Mode).Name
	}
	own := c.Terminal(ends[0]).Part == s.Part && len(c.Part(s.Part).Terminals) == 2
	sheath := own && ends[1] == c.ChassisTerminal()
	between := s.From != s.To && c.Terminal(ends[0]).Part == s.Part && c.Terminal(ends[1]).Part == s.Part && loadOf(c, s.Part) != circuit.None // a winding of several
	if insulated := s.Amount >= 1e6 && c.Part(s.Part).Kind.Heats(); sheath && (s.apart || insulated) || (own || between) && math.IsInf(s.Amount, 1) {
		n.Lifted = c.Part(s.Part).Name // megohms are read so, and what is open in circuit is open by itself; across its ends ohms may be of a section with others
	}
	return []visit.Note{n}, n.Check(c)
}

// loadOf is the first load of a part, else None.
func loadOf(c *circuit.Circuit, part circuit.PartID) circuit.BranchID {
	for _, load := range c.Loads() {
		if part != circuit.None && c.Branch(load).Part == part {
			return load
		}
	}
	return circuit.None
}

// fedElsewhere notes that the place is fed where a part was put and works: that of one
// of its kind where it was not said which.
func fedElsewhere(c *circuit.Circuit, s *Statement) ([]visit.Note, error) {
	var fed []visit.Note
	for _, load := range c.Loads() {
		b := c.Branch(load)
		if b.Part == circuit.None || b.Part == s.Part || c.Part(b.Part).Kind != c.Part(s.Part).Kind || s.there != "" && b.Ref != s.there {
			continue
		}
		n, err := symptom(c, load, circuit.Normal, circuit.None)
		if err != nil {
			return nil, err
		}
		fed = append(fed, n)
	}
	if len(fed) > 1 {
		fed = []visit.Note{visit.AnyOf(fed)}
	}
	return fed, nil
}

func told(c *circuit.Circuit, s *Statement) visit.Note {
	n := visit.Note{Told: s.What}
	if s.Load != circuit.None {
		n.Load = c.Branch(s.Load).Ref
	}
	if s.Part != circuit.None {
		n.Part = c.Part(s.Part).Name
	}
	if s.Joint {
		n.At = "joint"
	}
	if s.Pole != "" && s.Part != circuit.None {
		n.At = s.Pole
	}
	switch s.What {
	case "since":
		n.Answer = s.Words
	case "reset":
		if limit := theLimit(c); s.popped && limit != circuit.None {
			return visit.Note{Told: "found_bad", Part: c.Part(limit).Name}
		}
	case "unpopped":
		if limit := theLimit(c); limit != circuit.None {
			return visit.Note{Told: "found_good", Part: c.Part(limit).Name}
		}
		return visit.Note{}
	}
	return n
}

// theLimit is the one limit that a machine has, else None.
func theLimit(c *circuit.Circuit) circuit.PartID {
	limit := circuit.PartID(circuit.None)
	for i := range c.Parts() {
		if c.Parts()[i].Kind != circuit.KindLimit {
			continue
		}
		if limit != circuit.None {
			return circuit.None
		}
		limit = circuit.PartID(i)
	}
	return limit
}

func symptom(c *circuit.Circuit, load circuit.BranchID, state circuit.LoadState, mode circuit.ModeID) (visit.Note, error) {
	name := ""
	if mode != circuit.None {
		name = c.Mode(mode).Name
	}
	return visit.Symptom(c, c.Branch(load).Ref, state.String(), name)
}

// startOf is the mode, of a button that is held, that a mode is started by; else None.
func startOf(c *circuit.Circuit, mode string) circuit.ModeID {
	if id, err := c.FindMode(mode); err == nil {
		if start := c.Mode(id).After; start != circuit.None && c.Mode(start).Brief {
			return start
		}
	}
	return circuit.None
}

// clockwork is the motor that ends what another does once its time is up: a timer's. It is
// None where there is none.
func clockwork(c *circuit.Circuit, drive circuit.BranchID) circuit.BranchID {
	for _, load := range c.Loads() {
		b := c.Branch(load)
		if c.Branch(drive).Start != circuit.None && c.Part(b.Part).Kind == circuit.KindMotor && b.Part != c.Branch(drive).Part {
			return load
		}
	}
	return circuit.None
}

// neverEnds notes of a drum that does not stop that it turns, and does so in Off, or that
// the timer stands still: nobody says which.
func neverEnds(c *circuit.Circuit, s *Statement, timer circuit.BranchID) ([]visit.Note, error) {
	on, err := symptom(c, s.Load, circuit.StaysOn, circuit.None)
	if err != nil {
		return nil, err
	}
	turns, err := symptom(c, s.Load, circuit.Normal, s.Mode)
	if err != nil {
		return nil, err
	}
	still, err := ofLoad(c, &Statement{About: OfLoad, What: "dead", Load: timer, Mode: s.Mode})
	return []visit.Note{turns, visit.AnyOf(append(still, on))}, err
}

func ofLoad(c *circuit.Circuit, s *Statement) ([]visit.Note, error) {
	if timer := clockwork(c, s.Load); states[s.What] == circuit.StaysOn && timer != circuit.None && (s.Mode == circuit.None || uses(c, s.Mode, s.Load)) {
		return neverEnds(c, s, timer)
	}
	if states[s.What] == circuit.StaysOn && s.Mode != circuit.None && s.Mode == c.OffMode() && heats(c, s.Load) {
		return []visit.Note{{Mode: c.Mode(s.Mode).Name, SomeOn: true, Load: c.Branch(s.Load).Ref}}, nil // it was said to be off: not only too hot
	}
	if state, ok := states[s.What]; ok {
		mode := s.Mode
		if state == circuit.Dead && mode != circuit.None && !uses(c, mode, s.Load) {
			if mode = laterIn(c, mode, s.Load); heats(c, s.Load) && !heatsIn(c, mode) {
				mode = circuit.None // nothing heats there: "front room warm, the far heater is cold"
			} // else "the timer does not advance in automatic": once it is hot
		}
		n, err := symptom(c, s.Load, state, mode)
		if rest := restsIn(c, s.Load); err == nil && mode == circuit.None && state == circuit.StaysOn && rest != circuit.None && c.Mode(rest).Name != n.Mode {
			other, err := symptom(c, s.Load, state, rest) // with all off, or as long as it is hot
			return []visit.Note{visit.AnyOf([]visit.Note{n, other})}, err
		}
		if err != nil || mode != circuit.None || state != circuit.Dead {
			return []visit.Note{n}, err
		}
		// Nobody says in which of two settings a dial stands still.
		first, err := c.FindMode(n.Mode)
		if err != nil {
			return nil, err
		}
		if later := onceHot(c, s.Load, first); later != circuit.None {
			other, err := symptom(c, s.Load, state, later)
			return []visit.Note{visit.AnyOf([]visit.Note{n, other})}, err
		}
		return []visit.Note{n}, nil
	}
	n := visit.Note{Told: s.What, Load: c.Branch(s.Load).Ref}
	switch {
	case s.What == "slow":
		n, err := symptom(c, s.Load, circuit.Weak, s.Mode)
		if part := c.Branch(s.Load).Part; part != circuit.None && c.Part(part).Kind == circuit.KindSurfaceElement {
			return []visit.Note{n}, err // what heats there alone heats less, and is not dead
		}
		return []visit.Note{{Mode: n.Mode, Slow: true}}, err
	case s.What == "off_by" && s.Amount < 0:
		n.Told, n.Answer = "runs_cold", s.kelvin(c)
	case s.What == "off_by" && s.Amount > 0 && s.side != "":
		n.Told, n.Answer = "runs_hot", s.kelvin(c)
	case onOccasion[s.What]:
		dead, err := symptom(c, s.Load, circuit.Dead, s.Mode)
		if start := startOf(c, dead.Mode); err == nil && s.held && start != circuit.None {
			starts, err := symptom(c, s.Load, circuit.Normal, start)
			return []visit.Note{starts, dead}, err
		}
		return []visit.Note{dead, n}, err
	}
	return []visit.Note{n}, nil
}

// restsIn is the mode in which a lamp that tells of heat goes out for a while, as what it
// tells of is satisfied; None for any other load.
func restsIn(c *circuit.Circuit, load circuit.BranchID) circuit.ModeID {
	if c.Part(c.Branch(load).Part).Kind != circuit.KindLamp {
		return circuit.None
	}
	for _, m := range c.Modes() {
		if m.Cycles != circuit.None && uses(c, m.ID, load) && !uses(c, m.Cycles, load) {
			return m.Cycles
		}
		if m.Reached != circuit.ByWaiting || m.ID == c.OffMode() || uses(c, m.ID, load) {
			continue
		}
		if slices.ContainsFunc(c.Modes(), func(o circuit.Mode) bool {
			return o.ID != c.OffMode() && uses(c, o.ID, load) && setAlike(c, &o, &m) && heatsIn(c, o.ID) && !heatsIn(c, m.ID)
		}) {
			return m.ID
		}
	}
	return circuit.None
}

// setAlike reports whether all that a hand sets stands alike in two modes.
func setAlike(c *circuit.Circuit, a, b *circuit.Mode) bool {
	for i, at := range a.Position {
		if at != b.Position[i] && c.Part(circuit.PartID(i)).Kind != circuit.KindThermostat {
			return false
		}
	}
	return true
}

// kelvin writes by how many of them something is off. Degrees alone are those of
// the country whose supply it is.
func (s *Statement) kelvin(c *circuit.Circuit) string {
	k := math.Abs(s.Amount)
	if s.Unit == "fahrenheit" || s.Unit == "degrees" && slices.Contains([]string{"split-phase", "wye"}, c.Supply().System) {
		k *= 5. / 9
	}
	if k == 0 || k > 1000 {
		return ""
	}
	return fmt.Sprintf("%.3g K", k)
}
