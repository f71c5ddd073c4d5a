package drill

import (
	"errors"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// What a move takes in minutes, besides what [suspect.Progress.Minutes] says
// (common practice, no source). Off, proving and testing dead come to
// [suspect.PowerMinutes] together, and so do on and proving.
const (
	ProveMinutes = 1.0
	DeadMinutes  = 1.0
	OffMinutes   = suspect.PowerMinutes - ProveMinutes - DeadMinutes
	// StoppedMinutes is what it costs to be stopped before an unsafe act.
	StoppedMinutes = 2.0
	OnMinutes      = suspect.PowerMinutes - ProveMinutes
	// WrongPartMinutes is fetching and fitting a part that was not at fault.
	WrongPartMinutes = 30.0
)

// End is how a session stands.
type End string

// Ends of a session.
const (
	Open     End = "not found" // so far
	Found    End = "found"
	GaveUp   End = "gave up"
	TimeIsUp End = "time is up"
)

// ErrOver is returned by [Session.Play] once the drill has ended.
var ErrOver = errors.New("the drill is over")

// Step is a move that was made, or stopped.
type Step struct {
	Move    Move
	Text    string // the move as [Parse] reads it
	Minutes float64
	// Said tells what came of it.
	Said []string
	// Reading is what the instrument showed, for a reading that was taken.
	Reading *meter.Reading
	// Live is set for probing with the supply on.
	Live bool
	// Unsafe is set for a move that was stopped.
	Unsafe *Unsafe
	// Foretold is set for a reading that was foretold.
	Foretold *Foretold
	// Wrong is set where a part was named that is not at fault.
	Wrong bool
	// Evidence is what the step tells the engine.
	Evidence []suspect.Evidence
}

// test reports whether the step looked for the fault.
func (s *Step) test() bool { return s.Unsafe == nil && (s.Move.Verb == Try || s.Move.Verb == Read) }

// Session is one learner's way through a drill.
type Session struct {
	d        *Drill
	mode     circuit.ModeID
	proved   bool // the meter, since the supply was last turned
	dead     bool // the machine was shown dead since the supply went off
	lifted   []lead
	progress *suspect.Progress
	minutes  float64
	named    []string // parts named rightly
	found    []bool   // by hidden fault
	end      End
	steps    []Step
	expects  *Move    // what a good machine was said to read
	weighed  *weighed // if it was done
}

// lead is a wire's end taken off.
type lead struct {
	wire circuit.WireID
	at   circuit.TerminalID
}

// Start begins a session: supply on, nothing selected, nothing opened.
func (d *Drill) Start() *Session {
	return &Session{d: d, progress: suspect.NewProgress(), found: make([]bool, len(d.hidden)), end: Open}
}

// Drill returns what the session is about.
func (s *Session) Drill() *Drill { return s.d }

// End returns how the session stands.
func (s *Session) End() End { return s.end }

// Minutes returns what was spent.
func (s *Session) Minutes() float64 { return s.minutes }

// Steps returns what was done, in order.
func (s *Session) Steps() []Step { return s.steps }

// Expects reports whether what a good machine reads was said for the next
// reading.
func (s *Session) Expects() bool { return s.expects != nil }

// On reports whether the supply is on; Mode what is selected; Lifted which
// wires are off.
func (s *Session) On() bool             { return s.progress.On }
func (s *Session) Mode() circuit.ModeID { return s.mode }
func (s *Session) Proved() bool         { return s.proved }
func (s *Session) Lifted() []circuit.WireID {
	var out []circuit.WireID
	for _, l := range s.lifted {
		out = append(out, l.wire)
	}
	return out
}

// Left returns how many faults are still to be named.
func (s *Session) Left() int {
	n := 0
	for _, found := range s.found {
		if !found {
			n++
		}
	}
	return n
}

// Play makes a move. A move that cannot be made as things stand is an error
// and costs nothing; an unsafe one is a step that was stopped.
func (s *Session) Play(m Move) (*Step, error) {
	if s.end != Open {
		return nil, ErrOver
	}
	step := Step{Move: m, Text: m.Write(s.d.c)}
	if err := s.check(m); err != nil {
		return nil, err
	}
	unsafe, err := s.danger(m)
	if err != nil {
		return nil, err
	}
	if step.Unsafe = unsafe; unsafe != nil {
		step.Said, step.Minutes = unsafe.Said, StoppedMinutes
	} else if err := s.make(m, &step); err != nil {
		return nil, err
	}
	s.minutes += step.Minutes
	s.steps = append(s.steps, step)
	if s.end == Open && s.d.opt.Budget > 0 && s.minutes > s.d.opt.Budget {
		s.end = TimeIsUp
	}
	return &s.steps[len(s.steps)-1], nil
}

// check refuses what makes no sense as things stand.
func (s *Session) check(m Move) error {
	switch {
	case m.Verb == Try && !s.On():
		return errors.New("the supply is off: nothing will work until it is on")
	case m.Verb == Off && !s.On():
		return errors.New("the supply is off already")
	case m.Verb == On && s.On():
		return errors.New("the supply is on already")
	case m.Verb == TestDead && s.On():
		return errors.New("the supply is on: take it off and lock it out first")
	case m.Verb == Lift && s.off(m) == len(m.Wires):
		return errors.New("those leads are off already")
	case m.Verb == Refit && s.off(m) == 0:
		return errors.New("none of those leads is off")
	case m.Verb == Read && s.d.opt.Foretell && s.expects == nil:
		return errors.New(`say first what a good one would read, and why: "expect 240 fed"`)
	case m.Verb == Name && slices.Contains(s.named, m.Named):
		return fmt.Errorf("%s was named already, and rightly", m.Named)
	}
	return nil
}

// off counts the wires of a move that are off.
func (s *Session) off(m Move) int {
	n := 0
	for _, w := range m.Wires {
		if slices.Contains(s.Lifted(), w) {
			n++
		}
	}
	return n
}

// unproved has the meter to be proved again, now that the supply was turned, and
// says so where it was.
func (s *Session) unproved(step *Step) {
	if s.proved {
		step.Said = append(step.Said, "Prove the meter once more before the next test.")
	}
	s.proved = false
}

// make carries a move out.
func (s *Session) make(m Move, step *Step) error {
	switch m.Verb {
	case Try:
		return s.try(m.Mode, step)
	case Off:
		step.Minutes, step.Said = OffMinutes, []string{"The supply is off at the breaker, and locked out."}
		s.unproved(step)
		s.progress.On, s.dead = false, false
	case On:
		step.Minutes, step.Said = OnMinutes, []string{"The supply is on."}
		s.unproved(step)
		s.progress.On, s.dead = true, false
	case Prove:
		step.Minutes, step.Said = ProveMinutes, []string{"The meter reads a known source as it should."}
		s.proved = true
	case TestDead:
		return s.testDead(step)
	case Read:
		return s.read(m, step)
	case Expect:
		s.expect(m, step)
	case Lift:
		s.lift(m, step)
	case Refit:
		s.refit(m, step)
	case Name:
		s.name(m.Named, step)
	case GiveUp:
		s.end = GaveUp
	}
	return nil
}

// try selects a mode and says what is seen.
func (s *Session) try(mode circuit.ModeID, step *Step) error {
	step.Minutes = suspect.TrialMinutes
	s.mode = mode
	is := s.d.lookWith(mode, s.faults())
	if !is.known {
		return fmt.Errorf("mode %q cannot be worked out with these faults", s.d.c.Mode(mode).Name)
	}
	step.Said = s.seen(is)
	if len(s.lifted) > 0 {
		return nil // the engine is not told of a machine with leads off
	}
	add := func(sy suspect.Symptom) {
		sy.Mode = mode
		step.Evidence = append(step.Evidence, suspect.Evidence{Symptom: &sy})
	}
	switch {
	case is.trips:
		add(suspect.Symptom{Load: circuit.None, Trips: true})
		return nil
	case is.chatters:
		add(suspect.Symptom{Load: circuit.None, Chatters: true})
	}
	for k, load := range suspect.SeenLoads(s.d.c) {
		add(suspect.Symptom{Load: load, State: is.states[k]})
	}
	return nil
}

// seen puts what a mode does in words.
func (s *Session) seen(is look) []string {
	d := s.d
	if is.trips {
		return []string{circuit.UpperFirst(d.trippedWord(is.tripped)) + "."}
	}
	var out []string
	if is.chatters {
		out = append(out, "A relay buzzes and clicks on and off.")
	}
	for k, load := range suspect.SeenLoads(d.c) {
		if how, said := behaviourOf(is.states[k]); said {
			verb := anyVerb[how]
			if own, ok := verbs[d.c.Part(d.c.Branch(load).Part).Kind]; ok {
				verb = own[how]
			}
			out = append(out, "The "+circuit.LowerFirst(d.c.Label(load))+" "+verb+".")
		}
	}
	if is.metal >= meter.HazardVolts {
		out = append(out, fmt.Sprintf("The bare metal stands at %.0f V to the neutral point: keep off it.", is.metal))
	}
	if len(out) == 0 {
		out = []string{"Nothing is on, and nothing should be."}
	}
	return out
}

// faults returns what is wrong with the machine as it stands, leads off
// included.
func (s *Session) faults() []circuit.Fault {
	out := s.d.faults(s.d.hidden)
	for _, l := range s.lifted {
		out = append(out, circuit.Fault{Kind: circuit.Open, Branch: s.d.c.Wire(l.wire).Branch})
	}
	return out
}

func (s *Session) lift(m Move, step *Step) {
	var names []string
	step.Minutes = suspect.LiftMinutes + s.reach(m.At)
	for _, w := range m.Wires {
		if !slices.Contains(s.Lifted(), w) {
			s.lifted = append(s.lifted, lead{w, m.At})
			names = append(names, s.d.c.Wire(w).Name)
		}
	}
	step.Said = []string{fmt.Sprintf("Off %s, marked: %s.", s.d.c.PlaceLabel(m.At), circuit.List(names))}
}

// refit puts leads back where they came off, whichever end of a wire was named:
// the minutes of it are in those of lifting.
func (s *Session) refit(m Move, step *Step) {
	var back []string
	s.lifted = slices.DeleteFunc(s.lifted, func(l lead) bool {
		mine := slices.Contains(m.Wires, l.wire)
		if mine {
			back = append(back, fmt.Sprintf("%s on %s", s.d.c.Wire(l.wire).Name, s.d.c.PlaceLabel(l.at)))
		}
		return mine
	})
	step.Said = []string{"Back as before: " + circuit.List(back) + "."}
}

// reach is the effort to get to a place, and opens it.
func (s *Session) reach(t circuit.TerminalID) float64 {
	place := s.d.c.PlaceOf(t)
	if s.progress.Opened[place] {
		return suspect.AgainMinutes
	}
	s.progress.Opened[place] = true
	return s.d.c.AccessMinutes(t)
}

// name checks a part against the hidden faults.
func (s *Session) name(named string, step *Step) {
	for i, h := range s.d.hidden {
		if s.found[i] || !slices.Contains(s.d.names(h), named) {
			continue
		}
		s.found[i] = true
		s.named = append(s.named, named)
		step.Said = []string{"Right: " + s.d.verdict(h, named) + "."}
		switch left := s.Left(); left {
		case 0:
			s.end = Found
		case 1:
			step.Said = append(step.Said, "One more is hidden. The first stays in until it is found.")
		default:
			step.Said = append(step.Said, fmt.Sprintf("%d more are hidden. This one stays in until they are found.", left))
		}
		return
	}
	step.Wrong, step.Minutes = true, WrongPartMinutes
	step.Said = []string{fmt.Sprintf("No. A new one is fitted in place of %s, and the complaint stays.", s.d.called(named))}
}

// called is a part or wire as people call it.
func (d *Drill) called(named string) string {
	if id, err := d.c.FindPart(named); err == nil {
		return "the " + circuit.LowerFirst(d.c.Part(id).Label)
	}
	return "wire " + named
}

// names lists what may be named for a hidden fault: its own part or wire, and
// those that no listed test point tells from it.
func (d *Drill) names(h Hidden) []string {
	out := d.partsOf(h.Cause)
	for _, m := range h.Class.Members {
		out = append(out, d.partsOf(m)...)
	}
	return out
}

func (d *Drill) partsOf(cause suspect.Cause) []string {
	var out []string
	for _, f := range cause.Faults {
		b := d.c.Branch(f.Branch)
		if b.Wire != circuit.None {
			out = append(out, d.c.Wire(b.Wire).Name)
		} else {
			out = append(out, d.c.Part(b.Part).Name)
		}
	}
	return out
}

// verdict says what was wrong, and that another of its run was named where it
// was.
func (d *Drill) verdict(h Hidden, named string) string {
	if slices.Contains(d.partsOf(h.Cause), named) {
		return circuit.LowerFirst(h.Cause.Label)
	}
	return fmt.Sprintf("%s and %s read the same at every listed point, and whoever looks along that run finds %s", named, d.partsOf(h.Cause)[0], circuit.LowerFirst(h.Cause.Label))
}
