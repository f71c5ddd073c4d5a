package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// NextTest is a test worth making.
type NextTest struct {
	Trial    bool     `json:"trial" help:"turn on the mode and look; otherwise probes"`
	Text     string   `json:"text" help:"what to do"`
	Bring    string   `json:"bring" help:"how a trial's mode comes about: selected, waited for; else empty"`
	Ask      string   `json:"ask" help:"the move, where nothing is read from a meter; else empty"`
	Function string   `json:"function" help:"the meter's function; empty for a trial"`
	From     string   `json:"from" help:"test point or terminal of one probe; empty for a trial"`
	To       string   `json:"to" help:"and of the other"`
	Between  string   `json:"between" help:"where the probes go, in words; empty for a trial"`
	Across   string   `json:"across" help:"the part that has both its ends probed; else empty"`
	Places   []Named  `json:"places" help:"both places in words, red first"`
	Where    string   `json:"where" help:"where on the machine"`
	Mode     Mode     `json:"mode" help:"what is selected"`
	Live     bool     `json:"live" help:"the machine is on"`
	Set      string   `json:"set" help:"supply, and how knobs, doors and thermostats stand"`
	Lift     string   `json:"lift" help:"wires to take off first; empty for none"`
	Good     string   `json:"good" help:"what a sound machine reads or does"`
	Minutes  float64  `json:"minutes" help:"effort, as the visit stands"`
	Bits     float64  `json:"bits" help:"information expected"`
	Why      string   `json:"why" help:"what it distinguishes"`
	Beside   string   `json:"beside" help:"what to look at first as it comes open; empty for nothing"`
	Along    []Along  `json:"along" help:"readings that go with it: nothing else set, a probe moved"`
	Stop     string   `json:"stop" help:"what it comes to to stop here instead; empty where nothing leads"`
	Ahead    float64  `json:"ahead" help:"minutes, and what risk is worth, from here on with it made first; 0 where not worked out"`
	Outcomes []Reads  `json:"outcomes" help:"what it may show, the likeliest first"`
	Notes    []string `json:"notes" help:"what saves a part or a finger"`
	Unseen   []string `json:"unseen" help:"for a trial, what a clamp reads of the heaters that cannot be seen"`
	// Answers are what can be said of a move.
	Answers []Named `json:"answers" help:"for a move, what can be answered"`
	// Loads are what a trial watches, by name.
	Loads []Named `json:"loads" help:"for a trial, the loads to look at"`
}

// Along is a reading that goes with another.
type Along struct {
	From    string `json:"from" help:"test point or terminal of one probe"`
	To      string `json:"to" help:"and of the other"`
	Between string `json:"between" help:"where the probes go, in words"`
	Good    string `json:"good" help:"what a sound machine reads"`
}

// Reads is one outcome of a test.
type Reads struct {
	Text   string  `json:"text" help:"what is read or seen"`
	P      float64 `json:"p" help:"its probability"`
	Points []Share `json:"points_to" help:"the likeliest explanations that give it"`
}

// Share is an explanation with its probability.
type Share struct {
	Text string  `json:"text" help:"what is wrong"`
	P    float64 `json:"p" help:"its probability"`
}

// NextTest puts a proposal in words.
func (r *Reporter) NextTest(e *suspect.Engine, p *suspect.Proposal) (NextTest, error) {
	t, err := r.test(e, p.Test)
	if err != nil {
		return t, err
	}
	t.Minutes, t.Bits, t.Why, t.Stop, t.Ahead = round(p.Minutes), round(p.Bits), oneLine(p.Why), oneLine(p.Stopping()), round(p.Ahead)
	if len(p.Beside) > 0 {
		looks := each(p.Beside, func(u suspect.Test) string { return oneLine(u.Sights(r.c)) })
		t.Beside = "look at " + strings.Join(looks, ", and at ") + ", for anything burnt, loose or cut"
		if p.Live {
			t.Beside = "before that, supply off and proved dead, " + t.Beside
		} else {
			t.Beside = "as you open it, " + t.Beside
		}
	}
	for _, u := range p.Along {
		and, err := r.test(e, u)
		if err != nil {
			return t, err
		}
		t.Along = append(t.Along, Along{and.From, and.To, and.Between, and.Good})
	}
	for _, id := range e.Look(p) {
		t.Loads = append(t.Loads, r.named(id))
	}
	if p.Trial {
		t.Text = fmt.Sprintf("%s and look at %s", t.Bring, fewOf(names(t.Loads)))
		t.Unseen = r.unseen(e, p.Mode, e.Look(p))
	}
	sound, err := r.soundStates(p.Test, p.Loads)
	if err != nil {
		return t, err
	}
	for _, o := range p.Outcomes {
		x := Reads{Text: o.Reading.Range(), P: round(o.P), Points: []Share{}}
		switch {
		case p.Ask != "":
			x.Text = oneLine(o.Answer)
		case p.Trial:
			x.Text = r.statesText(p.Loads, o.States, sound, o.Trips, o.Chatters)
		}
		for _, s := range o.Suspects {
			x.Points = append(x.Points, Share{oneLine(s.Label), round(s.P)})
		}
		t.Outcomes = append(t.Outcomes, x)
	}
	return t, nil
}

// Goes says of a reading that goes with another where its probes are and what is good.
func (a Along) Goes() string { return a.Between + ": good " + a.Good }

// fewOf names three of several at most.
func fewOf(names []string) string {
	const few = 3
	if len(names) > few {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:few-1], ", "), len(names)-few+1)
	}
	return circuit.List(names)
}

// test puts a test in words, with what a sound machine makes of it.
func (r namer) test(e *suspect.Engine, s suspect.Test) (NextTest, error) {
	t := NextTest{Trial: s.Trial, Mode: r.mode(s.Mode), Live: s.Live, Places: []Named{}, Outcomes: []Reads{}, Answers: []Named{}, Loads: []Named{}, Along: []Along{}, Unseen: []string{}, Notes: each(s.Notes(r.c), oneLine)}
	if s.Trial {
		t.Bring = r.c.Mode(s.Mode).Bring()
		t.Text = t.Bring + ", and check by eye, or by heat where it cannot be seen"
		t.Where = "at the controls"
		t.Set = "supply on; " + r.setting(true, s.Mode, r.moved(s.Mode))
		t.Good = "as it should be"
		return t, nil
	}
	if s.Ask != "" {
		r.ask(&t, s)
		return t, nil
	}
	t.Function, t.From, t.To = s.Probes.Function.String(), r.c.PlaceName(s.Probes.P), r.c.PlaceName(s.Probes.Q)
	t.Places = []Named{r.place(s.Probes.P), r.place(s.Probes.Q)}
	t.Across = oneLine(r.c.Across(s.Probes.P, s.Probes.Q))
	t.Where = r.where(s.Probes.P, s.Probes.Q)
	if s.Probes.Function == meter.Amps {
		t.Where = r.clamped(s.Probes.P, s.Probes.Q)
	}
	t.Between = r.between(s.Probes.P, s.Probes.Q)
	t.Text = fmt.Sprintf("%s %s, %s", t.What(), t.Between, r.conditions(s.Live, s.Mode, nil))
	if len(s.Lift) > 0 {
		at := s.At
		if at == circuit.None {
			at = s.Probes.P
		}
		t.Lift = strings.Join(each(s.Lift, func(w circuit.WireID) string { return r.c.Wire(w).Name }), " and ") + " at " + r.place(at).Label
	}
	good, err := e.Bench().Take(s.Probes, s.Mode, s.Lift, nil)
	if err != nil {
		return t, err
	}
	t.Good = e.Bench().Range(good)
	at := r.moved(s.Mode)
	if !s.Live && len(at.byHeat) > 0 { // told where the reading tells it from a cold machine's
		if cold, err := e.Bench().Take(s.Probes, r.c.OffMode(), s.Lift, nil); err == nil && e.Bench().Range(cold) == t.Good {
			at.byHeat = nil
		}
	}
	if t.Set = r.setUp(s.Live, s.Mode, at); e.WhileItFails(s) {
		t.Set += "; the meter on before it is turned on again, read while it fails"
	}
	return t, nil
}

// unseen says what a clamp reads of the heaters among some loads that lie behind what
// is screwed on.
func (r namer) unseen(e *suspect.Engine, mode circuit.ModeID, loads []circuit.BranchID) []string {
	return each(e.Hidden(mode, loads), func(k suspect.Clamp) string {
		return fmt.Sprintf("%s: a clamp around the wire %s, LIVE, reads %s", r.label(k.Load), r.between(k.Probes.P, k.Probes.Q), k.Reading.Range())
	})
}

// ask puts a move in words.
func (r namer) ask(t *NextTest, s suspect.Test) {
	t.Ask, t.Text, t.Good = string(s.Ask), oneLine(s.Words(r.c)), s.Good()
	if t.Where = oneLine(r.c.Part(s.Part).Place); s.Ask == suspect.Thermometer {
		t.Where = "where it heats"
	}
	switch t.Set = removed; {
	case s.Live:
		t.Set = "supply on; " + r.setting(true, s.Mode, r.moved(s.Mode))
	case r.c.Part(s.Part).Kind.Guards(): // it is what turns the supply off
		t.Set = "all switched off"
	}
	keys, words := s.Answers()
	for i := range keys {
		t.Answers = append(t.Answers, Named{keys[i], words[i]})
	}
}

// What names what is done with a meter, at the head of a sentence.
func (t *NextTest) What() string {
	if t.Function == meter.Amps.String() {
		return "Clamp the wire"
	}
	return circuit.UpperFirst(t.Function)
}

// removed is how the supply stands for a test of what is dead.
const removed = "supply removed"

// Dead reports whether the supply is off for the test, and proved to be.
func (t *NextTest) Dead() bool { return strings.HasPrefix(t.Set, removed) }

// setUp says how the machine stands for a reading: supply, knobs, doors.
func (r namer) setUp(live bool, mode circuit.ModeID, at moved) string {
	if live {
		return "supply on, " + oneLine(r.c.Mode(mode).Label) + "; " + r.setting(true, mode, at)
	}
	return removed + "; " + r.setting(false, mode, at)
}

// moved is what stands otherwise in a mode than at rest: knobs and doors, and what
// heat moves. Ohms depend on it as much as volts do.
type moved struct{ byHand, byHeat []string }

func (r namer) moved(mode circuit.ModeID) (out moved) {
	for i := range r.c.Parts() {
		p := r.c.Part(circuit.PartID(i))
		if at := r.c.Mode(mode).Position[i]; len(p.Positions) > 1 && at != p.Rest {
			at := " at " + strings.ReplaceAll(oneLine(p.Positions[at]), "_", " ")
			if p.Kind == circuit.KindThermostat { // heat moves it, or a knob on it
				at = strings.Replace(at, " at ", " ", 1)
			} else if p.Kind == circuit.KindDoorSwitch { // open is the door, or the contact
				at = strings.Replace(at, " at ", " contact ", 1)
			}
			if p.Acts > 0 && len(p.Positions) == 2 {
				out.byHeat = append(out.byHeat, oneLine(p.Label)+at+" by heat")
			} else {
				out.byHand = append(out.byHand, oneLine(p.Label)+at)
			}
		}
	}
	return out
}

// setting says how knobs and doors stand, and what heat has moved: where the machine
// runs in a mode selected by hand, that comes by itself.
func (r namer) setting(live bool, mode circuit.ModeID, at moved) string {
	out, rest := at.byHand, "off, shut and cold, connectors in place"
	if live && len(at.byHeat) > 0 && r.c.Mode(mode).Reached == circuit.ByHand {
		rest = "off and shut, connectors in place; once warm, " + circuit.List(at.byHeat)
	} else {
		out = append(out, at.byHeat...)
	}
	switch {
	case len(out) > 0:
		return circuit.List(out) + "; all else " + rest
	case live && mode != r.c.OffMode():
		return "all else " + rest
	}
	return "all " + rest
}

// where names the terminals in full and tells their places.
func (r namer) where(p, q circuit.TerminalID) string {
	one, two := r.c.PlaceName(p), r.c.PlaceName(q)
	at, and := oneLine(r.c.PlaceOf(p)), oneLine(r.c.PlaceOf(q))
	if at == and && at != "" {
		return fmt.Sprintf("%s and %s; both %s", one, two, at)
	}
	for _, x := range []struct {
		text  *string
		place string
	}{{&one, at}, {&two, and}} {
		if x.place != "" {
			*x.text += " (" + x.place + ")"
		}
	}
	return one + " and " + two
}

// clamped names the wire by its ends, and the place of the one where the clamp goes.
func (r namer) clamped(p, q circuit.TerminalID) string {
	s := fmt.Sprintf("the wire at %s that goes to %s", r.c.PlaceName(p), r.c.PlaceName(q))
	if at := oneLine(r.c.PlaceOf(p)); at != "" {
		s += " (" + at + ")"
	}
	return s
}

// place names where a probe goes, as it is typed and as it is read.
func (r namer) place(t circuit.TerminalID) Named {
	return Named{r.c.PlaceName(t), oneLine(r.c.PlaceLabel(t))}
}

// soundState is how a load behaves in a mode of a sound machine.
func (r *Reporter) soundState(mode circuit.ModeID, load circuit.BranchID) (circuit.LoadState, error) {
	out, err := r.sound(mode)
	if err != nil {
		return 0, err
	}
	return circuit.JudgeLoad(out, out, load), nil
}

func (r *Reporter) soundStates(t suspect.Test, loads []circuit.BranchID) ([]circuit.LoadState, error) {
	var out []circuit.LoadState
	if !t.Trial {
		return nil, nil
	}
	for _, id := range loads {
		s, err := r.soundState(t.Mode, id)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// statesText says in what a trial's outcome differs from a sound machine's.
func (r namer) statesText(loads []circuit.BranchID, is, sound []circuit.LoadState, trips, chatters bool) string {
	var said []string
	if trips {
		said = append(said, "trips")
	}
	if chatters {
		said = append(said, "a relay chatters")
	}
	for i, s := range is {
		if i < len(sound) && s != sound[i] && !trips {
			said = append(said, r.label(loads[i])+" "+s.String())
		}
	}
	switch {
	case len(said) == 0:
		return "as it should be"
	case len(said) > 4:
		return fmt.Sprintf("%s and %d more", strings.Join(said[:3], ", "), len(said)-3)
	}
	return strings.Join(said, ", ")
}
