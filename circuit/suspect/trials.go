package suspect

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// canTry reports whether a mode is one to try out: it can be brought about, and
// some load that is noticed is used in it with the fewest others. Who says that heat
// is full whatever its knob says has turned it through all its positions; how warm a
// thing gets no glance tells, nor is what gets too hot turned on for one; what a new cord
// or outlet feeds may be fed wrong, and is read before it is tried.
func (e *Engine) canTry(m *circuit.Mode) bool {
	if m.Reached == circuit.NotAtWill || e.runsAway() || e.tooHot() || e.heard("full", "too_much", "new_cord", "kitchen") {
		return false
	}
	if m.ID == e.c.OffMode() {
		return true
	}
	if e.heard("runs_hot") { // hearsay, where nothing is known of what gets warm
		return false
	}
	on := func(m *circuit.Mode) (n int) {
		for _, x := range m.Expect {
			if x.Share > 0 {
				n++
			}
		}
		return n
	}
	for _, x := range m.Expect {
		if x.Share <= 0 || !noticed(e.c, x.Load) {
			continue
		}
		best := true
		for i := range e.c.Modes() {
			other := e.c.Mode(circuit.ModeID(i))
			used := expects(e.c, other.ID, x.Load)
			better := on(other) < on(m) || on(other) == on(m) && other.Name < m.Name
			best = best && !(used && other.ID != m.ID && better && other.Reached <= m.Reached)
		}
		if best {
			return true
		}
	}
	return len(m.Expect) == 0
}

// atAGlance reports whether a mode is brought about by hand from rest, nothing that heats
// is used in it, and nothing else either that is in a mode of which something wrong was
// told, which whoever called has seen: a drum's lamp lights as its door is opened, whether
// the drum turns or not.
func (e *Engine) atAGlance(m *circuit.Mode) bool {
	for at := m; ; at = e.c.Mode(at.After) {
		if at.Reached != circuit.ByHand || at.Minutes > 0 {
			return false
		}
		if at.After == circuit.None {
			break
		}
	}
	any := false
	for _, x := range m.Expect {
		if x.Share <= 0 {
			continue
		}
		if kindOf(e.c, x.Load).Heats() || slices.ContainsFunc(e.modes(), func(mode circuit.ModeID) bool { return expects(e.c, mode, x.Load) }) {
			return false
		}
		any = any || noticed(e.c, x.Load)
	}
	return any
}

// runsAway reports whether something was told of that is not to be switched on
// again to see: heat that was not asked for, a trip, a shock, what burns or melts,
// a neutral that is lost and lets what is made for 120 V have more.
func (e *Engine) runsAway() bool {
	return e.neverEnds() || e.heard("shock", "trips_late", "trips_stalled", "lights_bright") || e.heard(scars...) || e.trips()
}

// neverEnds reports whether something was told to be on that should not be.
func (e *Engine) neverEnds() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && (s.Whole == SomeOn || s.State == circuit.StaysOn)
	})
}

// staysOff reports whether power is not given back while a dead test tells: metal that
// bites, heat that nobody asked for or that nothing ends, what trips at once, what left
// a mark (common practice, no source).
func (e *Engine) staysOff() bool {
	return e.heard("shock", "trips_late") || e.neverEnds() || e.tooHot() || e.trips() || e.scarred()
}

// scars are what is told of a place, or not where, that is looked at and measured dead
// before power is given back: it may burn on (common practice, no source).
var scars = []string{"burnt", "melted", "sparks", "smell", "blistered", "bare", "wet", "once"}

// marks are what is seen, smelt or heard at a place: beside whatever else is wrong it may
// be a fault of its own, or an old one.
var marks = append([]string{"discoloured", "loose", "parted", "feels_hot", "noise"}, scars...)

// marked lists the parts at which something was seen, since the last repair.
func (e *Engine) marked() map[circuit.PartID]bool {
	out := map[circuit.PartID]bool{}
	for _, ev := range e.evidence {
		if ev.Told != nil && ev.Told.Part != circuit.None && slices.Contains(marks, ev.Told.What) && e.since(ev) {
			out[ev.Told.Part] = true
		}
	}
	return out
}

// scarred reports whether any was told, since the last repair.
func (e *Engine) scarred() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Told != nil && slices.Contains(scars, ev.Told.What) && e.since(ev)
	})
}

// trips reports whether it was told to trip, and not after minutes.
func (e *Engine) trips() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Symptom != nil && ev.Symptom.Trips && e.since(ev) })
}

// tried reports whether a mode was looked at: every visible load's behaviour in
// it is known, or something wrong was told of it, which is not asked again. So
// was every mode of a machine of which nothing comes on, and one whose heat is
// known from another: nobody turns on a burner to hear again that it is weak.
func (e *Engine) tried(mode circuit.ModeID) bool {
	for i, ev := range e.evidence {
		s := ev.Symptom
		if s != nil && s.Mode == mode && (e.singles[i].bad() || s.Whole != 0 && s.Whole != Quiet) && !e.oneOfSeveral(s) {
			return true
		}
	}
	if e.dark() || e.heatKnown(mode) {
		return true
	}
	known := e.knownStates(mode)
	for _, load := range seenLoads(e.c) {
		if known[load] == 0 {
			return false
		}
	}
	return true
}

// oneOfSeveral reports whether too little heat was told of where several things make it:
// that one of them is cold shows at a glance, and nobody has said so.
func (e *Engine) oneOfSeveral(s *Symptom) bool {
	if s.Whole != Slow && s.Whole != RunsCold || e.c.StoresHeat() {
		return false
	}
	sound, err := e.sound(s.Mode)
	if err != nil {
		return false
	}
	n := 0
	for _, load := range e.c.Loads() {
		if e.c.Part(e.c.Branch(load).Part).Kind.Heats() && sound.LeastShare(load) >= faintlyOn {
			n++
		}
	}
	return n > 1
}

// coldBefore reports whether something that heats in what a mode comes after was told
// to be dead or weak: nothing comes of waiting then.
func (e *Engine) coldBefore(mode circuit.ModeID) bool {
	after := e.c.Mode(mode).After
	return after != circuit.None && slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && e.since(ev) && s.Load != circuit.None && (s.State == circuit.Dead || s.State == circuit.Weak) && e.c.Part(e.c.Branch(s.Load).Part).Kind.Heats() &&
			expects(e.c, after, s.Load)
	})
}

// expects reports whether a load is to be on in a mode.
func expects(c *circuit.Circuit, mode circuit.ModeID, load circuit.BranchID) bool {
	return slices.ContainsFunc(c.Mode(mode).Expect, func(x circuit.Expectation) bool { return x.Load == load && x.Share > 0 })
}

// heatKnown reports whether it is known of all that heats in a mode, from this
// mode or others where it should, how it behaves.
func (e *Engine) heatKnown(mode circuit.ModeID) bool {
	sound, err := e.sound(mode)
	if err != nil {
		return false
	}
	told := map[circuit.BranchID]bool{}
	for _, ev := range e.evidence {
		s := ev.Symptom
		if s == nil || s.Untried || !e.since(ev) {
			continue
		}
		there, err := e.sound(e.at(s.Mode))
		if err != nil {
			return false
		}
		// Where it should do less, or nothing, it did not show what it does here.
		tells := func(load circuit.BranchID) {
			told[load] = told[load] || s.Mode == circuit.None || there.LeastShare(load) >= 0.9*sound.LeastShare(load)
		}
		switch {
		case s.Whole == Slow: // of all that heats there
			for _, load := range e.c.Loads() {
				if there.LeastShare(load) >= circuit.OnShare {
					tells(load)
				}
			}
		case s.Load != circuit.None && s.State != circuit.Off && s.State != circuit.StaysOn:
			tells(s.Load)
		}
	}
	any := false
	for _, load := range e.c.Loads() {
		if e.c.Part(e.c.Branch(load).Part).Kind.Heats() && sound.LeastShare(load) >= circuit.OnShare {
			if !told[load] {
				return false
			}
			any = true
		}
	}
	return any
}

// knownStates gathers how loads were seen to behave in a mode; a control that shows a
// code is lit.
func (e *Engine) knownStates(mode circuit.ModeID) map[circuit.BranchID]circuit.LoadState {
	known := map[circuit.BranchID]circuit.LoadState{}
	for _, ev := range e.evidence {
		if shows := e.c.Controls(); ev.Told != nil && ev.Told.lit() && len(shows) > 0 && expects(e.c, mode, shows[0].Supply) && e.since(ev) {
			known[shows[0].Supply] = circuit.Normal
		}
		if s := ev.Symptom; s != nil && s.Mode == mode && s.Load != circuit.None && !s.Untried && e.since(ev) {
			known[s.Load] = s.State
		}
	}
	return known
}

// modes lists the modes in which something was seen that a sound machine does
// not do, oldest first, else the first that does anything; then Off.
func (e *Engine) modes() []circuit.ModeID {
	if e.tripping != nil && e.c.StoresHeat() {
		return []circuit.ModeID{e.c.OffMode()} // it is hot again
	}
	var out []circuit.ModeID
	have := map[circuit.ModeID]bool{}
	add := func(m circuit.ModeID) {
		if m != circuit.None && !have[m] && len(out) < 2 {
			have[m] = true
			out = append(out, m)
		}
	}
	for i := range e.evidence {
		if s := e.evidence[i].Symptom; s != nil && e.singles[i].bad() {
			add(e.at(s.Mode))
		}
	}
	for i := range e.c.Modes() {
		if len(out) == 0 && i == len(e.c.Modes())-1 || len(e.c.Mode(circuit.ModeID(i)).Expect) > 0 && len(out) == 0 && i > 0 {
			add(circuit.ModeID(i))
		}
	}
	if e.c.Mode(0).Reached == circuit.ByHand || e.tooHot() {
		add(0)
	}
	if m := e.quietest(); e.heard("shock") && !have[m] {
		out = append(out, m)
	}
	return out
}

// quietest is the mode in which the fewest loads are on, of those in which one draws
// through the neutral: a lamp, a clock, a control. It is Off where nothing does.
func (e *Engine) quietest() circuit.ModeID {
	best, least := e.c.OffMode(), 0
	half := e.c.Supply().Volts / 2
	for i := range e.c.Modes() {
		m := e.c.Mode(circuit.ModeID(i))
		on, draws := 0, false
		for _, x := range m.Expect {
			if x.Share > 0 {
				on++
				draws = draws || e.c.Branch(x.Load).Volts <= half
			}
		}
		if draws && m.Reached == circuit.ByHand && (least == 0 || on < least) {
			best, least = m.ID, on
		}
	}
	return best
}

// tooHot reports whether it was said that the machine gets too hot: it stands then
// as when all is warm.
func (e *Engine) tooHot() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Symptom != nil && (ev.Symptom.Whole == RunsHot || ev.Symptom.State == circuit.StaysOn) && e.since(ev)
	})
}

// seenLoads lists the loads a person sees working, for trials.
func seenLoads(c *circuit.Circuit) []circuit.BranchID {
	var out []circuit.BranchID
	for _, id := range c.Loads() {
		switch c.Part(c.Branch(id).Part).Kind {
		case circuit.KindRelay, circuit.KindTransformer, circuit.KindResistor, circuit.KindSolenoid:
		default:
			out = append(out, id)
		}
	}
	return out
}

// Behaviour is what a trial shows: how each of some loads behaves, and what the
// machine as a whole does.
type Behaviour struct {
	States          []circuit.LoadState
	Trips, Chatters bool
}

// dim is the share of what a load should get below which it is plain to see that it
// is weak, and faint that below which nobody sees that it is on (common practice,
// no source).
const dim, faintlyOn = 0.6, 0.1

// seen is what a person sees of a behaviour at a glance: that something is on or
// dead, not that it gets somewhat less or more; of a display or a clock, no more
// than that.
func (b Behaviour) seen(c *circuit.Circuit, loads []circuit.BranchID, is, sound circuit.Powered) Behaviour {
	for i, id := range loads {
		k, s, share := c.Part(c.Branch(id).Part).Kind, b.States[i], is.LeastShare(id)
		switch {
		case s == circuit.TooMuch, s == circuit.Weak && (k == circuit.KindControl || k == circuit.KindMotor || share >= dim*sound.LeastShare(id)):
			b.States[i] = circuit.Normal
		case s == circuit.StaysOn && is.MostShare(id) < faintlyOn:
			b.States[i] = circuit.Off
		}
	}
	return b
}

// Equal reports whether two trials of the same loads showed the same.
func (b Behaviour) Equal(o Behaviour) bool {
	return b.Trips == o.Trips && b.Chatters == o.Chatters && slices.Equal(b.States, o.States)
}

// behaviour tells what a trial would show. What is known already is taken as it
// was seen: it is not looked at again.
func behaviour(is *settle.SweepOutcome, sound circuit.Powered, loads []circuit.BranchID, known map[circuit.BranchID]circuit.LoadState) Behaviour {
	b := Behaviour{Trips: len(is.Tripped) > 0, Chatters: is.Chatter() != nil}
	for _, id := range loads {
		state, ok := known[id]
		if !ok {
			state = circuit.JudgeLoad(is, sound, id)
		}
		b.States = append(b.States, state)
	}
	return b
}
