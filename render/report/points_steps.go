package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

// listing turns the engine's sheet into ours.
type listing struct {
	*Reporter
	b         *meter.Bench
	sheet     *suspect.Sheet
	runs      map[string]*settle.Outcome // by mode and faults
	burntTold bool
	// opened has for each panel the steps that open it; order has all panels, as they
	// were opened.
	opened map[circuit.PanelID][]doing
	order  []circuit.PanelID
	hints  []string
	copper []string // wires that are copper on a board
	noted  map[string]bool
	// trips says that it was told to trip, tripsIn in which mode, None where that was not.
	trips   bool
	tripsIn circuit.ModeID
	// proved has what was proved dead since the supply was removed, by the panel before
	// it, with the steps that have it done.
	proved   map[string][]doing
	standing *meter.LiveParts // with the machine off
	// suspects are all that may be wrong, the likeliest first.
	suspects []suspect.Suspect
	said     map[int][]string // by step: what each of its bad outcomes is called
}

// settled settles a mode with faults once.
func (x *listing) settled(mode circuit.ModeID, faults []circuit.Fault) (*settle.Outcome, error) {
	key := fmt.Sprint(mode, faults)
	if o := x.runs[key]; o != nil {
		return o, nil
	}
	o, err := x.b.Live(mode, faults)
	x.runs[key] = o
	return o, err
}

// stillLive says what must be said beside a reading of no volts, whichever of
// the suspects gives it; none stand for a sound machine.
func (x *listing) stillLive(s *suspect.Step, r meter.Reading, any []suspect.Suspect) (string, error) {
	if !x.b.NearZero(r) {
		return "", nil
	}
	var sets [][]circuit.Fault
	for _, one := range any {
		var faults []circuit.Fault
		for _, class := range one.Causes {
			faults = append(faults, class.Members[0].Faults...)
		}
		sets = append(sets, faults)
	}
	if len(any) == 0 {
		sets = append(sets, nil)
	}
	most, live, said := 0.0, 0, map[string]bool{}
	for _, faults := range sets {
		o, err := x.settled(s.Mode, faults)
		if err != nil {
			return "", err
		}
		words := x.b.NoProofOfDead(o, s.Probes.P, s.Probes.Q, r)
		if words == "" {
			continue
		}
		live++
		said[words] = true
		most = max(most, x.b.Touch(o, s.Probes.P).Most(), x.b.Touch(o, s.Probes.Q).Most())
	}
	switch {
	case live == 0:
		return "", nil
	case live == len(sets) && len(said) == 1:
		for words := range said {
			return words, nil
		}
	}
	return fmt.Sprintf("No volts here proves neither end dead: up to %.0f V to earth, neutral or metal.", most), nil
}

func (x *listing) step(i int) (*Step, error) {
	s := &x.sheet.Steps[i]
	d := &Step{Number: i + 1, Power: "removed", Trial: s.Trial, Ask: string(s.Ask), Outside: s.Outside(x.c), Waits: s.Awaited(x.c), Mode: x.mode(s.Mode), Bring: x.c.Mode(s.Mode).Bring(), Opens: []Opened{}, Watch: []Named{}, IfGood: []Suspect{},
		Bad: []Outcome{}, Notes: []string{}, Minutes: s.Minutes, From: Probe{Wires: []string{}, Colours: []string{}}, To: Probe{Wires: []string{}, Colours: []string{}}}
	if s.Live {
		d.Power = "on"
	}
	for _, left := range s.IfGood {
		if len(left.Causes) > 0 {
			d.IfGood = append(d.IfGood, x.suspected(left))
		}
	}
	var err error
	switch {
	case s.Ask != "":
		err = x.move(i, d, s)
	case s.Trial:
		err = x.trial(i, d, s)
	default:
		err = x.probing(i, d, s)
	}
	if err != nil {
		return nil, err
	}
	if s.OnlyIf != circuit.None {
		d.OnlyIf = s.OnlyIf + 1
		if before := &x.sheet.Steps[s.OnlyIf]; len(before.Bad) > 1 {
			d.After = x.said[s.OnlyIf][s.After]
		}
	}
	d.Before, d.Opens = x.before(i), x.open(i)
	d.Dead = x.proof(i, x.together(i))
	d.SetUp = d.setUp()
	return d, nil
}

// words tell a bad outcome in a few words.
func (x *listing) words(s *suspect.Step, o suspect.Shown) string {
	if s.Ask != "" {
		return o.Answer
	} else if s.Trial {
		return x.statesText(s.Loads, o.States, s.Good.States, o.Trips, o.Chatters)
	}
	switch {
	case x.b.NearZero(o.Reading) && !x.b.NearZero(s.Good.Reading) && s.Good.Reading.Low > 0 && s.Good.Reading.Low < x.b.Nothing():
		return "below " + bandEnd(s.Good.Reading.Low) + " " + o.Reading.Function.Unit()
	case x.b.NearZero(o.Reading), noAmps(o.Reading):
		return "near 0 " + o.Reading.Function.Unit()
	case o.Dead:
		return "near 0 " + o.Reading.Function.Unit() + ", or floating (stray voltage)"
	case o.Reading.Unsteady:
		return "floating (stray voltage)"
	case !s.Live && onlyJoints(o.Any) && o.Reading.Value > s.Good.Reading.High:
		return "above good"
	}
	return o.Reading.Range()
}

// onlyJoints reports whether it is all joints that conduct badly, more or less.
func onlyJoints(any []suspect.Suspect) bool {
	return !slices.ContainsFunc(any, func(s suspect.Suspect) bool {
		return len(s.Causes) != 1 || s.Causes[0].Members[0].Faults[0].Kind != circuit.HighResistance
	})
}

// trial tells what to look at.
func (x *listing) trial(i int, d *Step, s *suspect.Step) error {
	var does []string
	for k, id := range s.Loads {
		if slices.ContainsFunc(s.Bad, func(o suspect.Shown) bool { return o.States[k] != s.Good.States[k] }) {
			d.Watch = append(d.Watch, x.named(id))
			does = append(does, x.label(id)+" "+s.Good.States[k].String())
		}
	}
	good := "as it should be"
	if len(does) > 0 {
		good += ": " + strings.Join(does, ", ")
	}
	d.Good = Shown{Shows: good, Range: good, Why: []string{}}
	return x.outcomes(i, d, s, func(o suspect.Shown) Shown { return Shown{Shows: "", Range: "", Why: []string{}} })
}

// move tells what is looked at, listened to or pressed.
func (x *listing) move(i int, d *Step, s *suspect.Step) error {
	d.Do, d.From.Place = oneLine(s.Words(x.c)), oneLine(x.c.Part(s.Part).Place)
	d.Good, d.Notes = Shown{Shows: s.Good.Answer, Range: s.Good.Answer, Why: []string{}}, x.notes(s)
	return x.outcomes(i, d, s, func(o suspect.Shown) Shown { return Shown{Why: []string{}} })
}

// probing tells where the probes go and what they find.
func (x *listing) probing(i int, d *Step, s *suspect.Step) error {
	d.Function, d.From, d.To, d.Lift = s.Probes.Function.String(), x.probe(s.Probes.P), x.probe(s.Probes.Q), x.liftOf(s.At, s.Lift)
	good, err := x.goodReading(s)
	if err != nil {
		return err
	}
	s.Good.Reading = good // so that what is bad begins where it ends
	d.Good = shown(x.b, s.Probes.Function, good)
	if d.GoodLive, err = x.stillLive(s, good, nil); err != nil {
		return err
	}
	if d.Good.Range = x.b.Range(good); x.b.NearZero(good) {
		d.Good.Why = []string{}
	}
	if !s.Live && good.Low <= 0 && good.High < meter.WornContactOhms {
		// Wire and contacts alone lie between, whatever the probes' own parts.
		d.Good.Why = slices.DeleteFunc(d.Good.Why, func(w string) bool {
			return !strings.HasPrefix(w, "clean contacts") && !strings.HasPrefix(w, "instrument")
		})
	}
	d.Notes = x.notes(s)
	if err := x.outcomes(i, d, s, func(o suspect.Shown) Shown { return shown(x.b, s.Probes.Function, o.Reading) }); err != nil {
		return err
	}
	if s.Must && !s.Live && len(d.Bad) == 0 {
		words := "anything but OL"
		if !good.OL {
			words = fmt.Sprintf("below %s %s", meter.Figure(good.Low), good.Function.Unit())
		}
		d.Bad = append(d.Bad, Outcome{Reading: Shown{Why: []string{}}, Words: words, Left: []Suspect{}, Conclude: betweenWords})
	}
	if err := x.burnt(d, s, good); err != nil {
		return err
	}
	d.Scale = x.scale(good)
	return nil
}

// betweenWords say what a short reads that nothing suspected gives (common practice, no
// source).
const betweenWords = "what lies between is shorted or touches metal: lift the leads here one at a time, and follow the one that clears it"

// sagVolts is what a burnt joint takes at least that is told from the house's own sag
// (common practice, no source).
const sagVolts = 10

// goodReading is the good reading of a step by the meter in hand.
func (x *listing) goodReading(s *suspect.Step) (meter.Reading, error) {
	if s.Live {
		o, err := x.settled(s.Mode, nil)
		if err != nil {
			return meter.Reading{}, err
		}
		return x.b.Read(o, s.Probes.Function, s.Probes.P, s.Probes.Q)
	}
	return x.b.Take(s.Probes, s.Mode, s.Lift, nil)
}

// setUp says how the machine stands.
func (d *Step) setUp() string {
	switch {
	case d.Ask != "" && d.Outside:
		return ""
	case d.Ask != "":
		return "Supply removed and locked out, proved dead."
	case d.Trial:
		return "Supply on, " + d.Mode.Label + " selected."
	case d.Power == "removed":
		return "Supply removed and locked out, proved dead; knobs and thermostats as in " + d.Mode.Label + "."
	case d.UnderLoad:
		return "Supply on, " + d.Mode.Label + " selected and the load on: read while it draws current."
	}
	return "Supply on, " + d.Mode.Label + " selected."
}

// outcomes joins bad readings that a person takes for one and lead nowhere else, and
// those beside each other that mean the same: whatever is read has a row.
func (x *listing) outcomes(i int, d *Step, s *suspect.Step, of func(suspect.Shown) Shown) error {
	rows := x.rows(s)
	if len(rows) > mostBad { // the likeliest come first
		last := &rows[mostBad-1]
		last.words = elseWords
		for _, r := range rows[mostBad:] {
			last.of = append(last.of, r.of...)
		}
		rows = rows[:mostBad]
	}
	x.said[i] = make([]string, len(s.Bad))
	for _, r := range rows {
		out := Outcome{Reading: of(s.Bad[r.of[0]]), Words: r.words, Left: []Suspect{}, Then: r.then + 1}
		for _, k := range r.of[1:] { // as wide as all of them
			if more := of(s.Bad[k]); out.Reading.Low != nil && more.Low != nil && out.Reading.High != nil && more.High != nil {
				out.Reading.Low, out.Reading.High = new(min(*out.Reading.Low, *more.Low)), new(max(*out.Reading.High, *more.High))
				out.Reading.Range = r.words
			}
		}
		var any []suspect.Suspect
		for _, k := range r.of {
			o := s.Bad[k]
			x.said[i][k] = r.words
			any = append(any, o.Any...)
			if !s.Probing() || out.Live != "" {
				continue
			}
			var err error
			if out.Live, err = x.stillLive(s, o.Reading, o.Any); err != nil {
				return err
			}
		}
		for _, one := range any {
			out.Left = append(out.Left, x.suspected(one))
		}
		if out.Conclude = x.anyOf(any); out.Then == 0 {
			x.hint(any)
		}
		d.Bad = append(d.Bad, out)
	}
	return nil
}

// mostBad is how many bad readings a step tells of: the last for all the rest.
const (
	mostBad   = 4
	elseWords = "anything else"
)

// burnt adds what a burnt contact or joint in a leg makes of a live reading,
// which unloaded reads like a good one; the first step that shows it and is always
// made has it.
func (x *listing) burnt(d *Step, s *suspect.Step, good meter.Reading) error {
	if !s.Live || x.b.NearZero(good) {
		return nil
	}
	low := math.Inf(1)
	var reading meter.Reading
	for _, leg := range x.c.Supply().Legs {
		o, err := x.settled(s.Mode, []circuit.Fault{{Kind: circuit.HighResistance, Branch: leg, Ohms: meter.BurntContactOhms}})
		if err != nil {
			return fmt.Errorf("mode %q cannot be worked out with a burnt joint: %w", x.c.Mode(s.Mode).Name, err)
		}
		r, err := x.b.Read(o, s.Probes.Function, s.Probes.P, s.Probes.Q)
		if err != nil {
			return err
		}
		if r.Jumps || r.Value < low && !reading.Jumps {
			low, reading = r.Value, r
		}
	}
	unit, words := s.Probes.Function.Unit(), ""
	switch {
	case reading.Jumps:
		words = reading.String() + " as relays chatter"
	case low >= good.Value*0.95:
		return nil
	case reading.High < good.Low:
		words = fmt.Sprintf("low, near %.0f %s", low, unit)
	case good.Value-low < sagVolts:
		return nil
	default: // the house's own volts differ by as much
		words = fmt.Sprintf("%.0f %s or more below what it reads with nothing on", (good.Value-low)/2, unit)
	}
	d.UnderLoad = true
	if x.burntTold || s.OnlyIf != circuit.None {
		return nil
	}
	x.burntTold = true
	d.Bad = append(d.Bad, Outcome{Reading: shown(x.b, s.Probes.Function, reading), Words: words, Left: []Suspect{}, Joint: true,
		Conclude: fmt.Sprintf("a burnt joint or contact in a leg (here of %.0f ohms), which reads right with nothing on and sags under load: with the supply removed look for heat marks at every joint from the breaker to here", meter.BurntContactOhms)})
	return nil
}
