package report

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
	"legtrace/circuit/trace"
)

// Points is a sheet of tests for a complaint, to print and work through: where
// to put the probes, what to see, what to conclude.
type Points struct {
	Head
	Load     Named     `json:"load" help:"the load the sheet is about"`
	About    string    `json:"about" help:"what is complained of"`
	Form     []Field   `json:"form" help:"what the head of the sheet asks for"`
	Known    []Known   `json:"known" help:"the complaint as it was understood, in order"`
	LockOut  []string  `json:"lock_out" help:"to make the machine safe to touch, in order"`
	Cautions []string  `json:"cautions" help:"for the whole of the work"`
	Standing *LiveMode `json:"standing" help:"what stays live with the machine switched off"`
	Meter    Meter     `json:"meter" help:"the instrument the intervals are for"`
	Suspects []Suspect `json:"suspects" help:"what may be wrong, by what was said and what commonly fails"`
	Steps    []Step    `json:"steps" help:"tests in order"`
	Hints    []string  `json:"hints" help:"what to do where a reading leaves several things"`
	LeftOver []Suspect `json:"left_over" help:"what is left when every reading is good"`
	CloseUp  []Opened  `json:"close_up" help:"what was opened, in the order to close it"`
	After    []string  `json:"after" help:"checks after the repair"`
	Minutes  float64   `json:"minutes" help:"effort, each place opened once, without the steps needed only after a bad reading"`

	Diagram  string          `json:"-"`
	Pictures map[int]Picture `json:"-"` // by number of the step that it stands before
}

// Picture is a part of the machine's diagram.
type Picture struct{ SVG, Caption string }

// Field is a line of a form: empty where it is to be filled in by hand.
type Field struct {
	Name string `json:"name" help:"what is asked for"`
	Text string `json:"text" help:"what is known of it"`
}

// Suspect is something that may be wrong.
type Suspect struct {
	Faults []string `json:"faults" help:"as --fault takes them; several where nothing distinguishes them"`
	Text   string   `json:"text" help:"in words"`
	Share  float64  `json:"share" help:"its probability at the outset"`
}

// Opened is something to be opened on the way to a place.
type Opened struct {
	Panel   string   `json:"panel" help:"what is opened"`
	Minutes float64  `json:"minutes" help:"effort"`
	Look    []string `json:"look" help:"parts behind it, to be looked at first"`
}

// Step is one test.
type Step struct {
	Number    int       `json:"number" help:"its place in the list"`
	OnlyIf    int       `json:"only_if" help:"do it only where the step of this number read bad; 0: always"`
	After     string    `json:"after" help:"which of that step's bad readings; empty where it has one, or only_if is 0"`
	Power     string    `json:"power" help:"removed, or on"`
	Trial     bool      `json:"trial" help:"turn on the mode and look; otherwise probes"`
	Mode      Mode      `json:"mode" help:"what is selected; with the supply removed, where knobs and thermostats are left"`
	SetUp     string    `json:"set_up" help:"what to do first, in words"`
	Opens     []Opened  `json:"opens" help:"what to open first, outermost first"`
	UnderLoad bool      `json:"under_load" help:"means something only while the load draws current: unloaded, a burnt contact reads good"`
	Function  string    `json:"function" help:"what the meter is set to; empty for a trial"`
	Scale     string    `json:"range" help:"the least range of the meter that shows the good reading"`
	From      Probe     `json:"from" help:"the red probe"`
	To        Probe     `json:"to" help:"the black probe"`
	Lift      *Lift     `json:"lift" help:"the lead to lift first; null where that is needless"`
	Watch     []Named   `json:"watch" help:"for a trial, what to look at"`
	Good      Shown     `json:"good" help:"what a sound machine gives"`
	GoodLive  string    `json:"good_live" help:"what to say beside a good reading of no volts between live ends; else empty"`
	IfGood    []Suspect `json:"if_good" help:"what a good reading leaves, of the last step after a bad one"`
	Bad       []Outcome `json:"bad" help:"what else it may read, and why"`
	Notes     []string  `json:"notes" help:"what saves a part or a finger"`
	Minutes   float64   `json:"minutes" help:"effort, places opened before not opened again"`
}

// Outcome is a reading that is not good.
type Outcome struct {
	Reading  Shown     `json:"reading" help:"what it reads"`
	Words    string    `json:"words" help:"the same in a few words"`
	Left     []Suspect `json:"left" help:"those that give it, as this step comes to be done"`
	Conclude string    `json:"conclude" help:"what it means, in words"`
	Then     int       `json:"then" help:"the step to go on with; 0: none tells more"`
	Live     string    `json:"live" help:"what to say beside no volts between ends that are, or may be, live; else empty"`
	Joint    bool      `json:"joint" help:"a burnt joint or contact that conducts, rather than an open"`
}

// SheetOptions set up a sheet of tests.
type SheetOptions struct {
	MeterOptions
	// Form has what is known of the head, by name in lower case: see [FormFields].
	Form map[string]string
}

// FormFields are what the head of a sheet asks for.
var FormFields = []string{"customer", "model", "serial", "date", "technician", "meter", "checked"}

// formTitles say them in words.
var formTitles = map[string]string{"customer": "Customer says", "model": "Model", "serial": "Serial no.", "date": "Date", "technician": "Technician",
	"meter": "Meter", "checked": "Its last check"}

// Complain makes an engine that knows that a load is dead in a mode.
func (r *Reporter) Complain(ctx context.Context, q Question, opt MeterOptions) (*suspect.Engine, error) {
	out, err := r.sound(q.Mode)
	if err != nil {
		return nil, err
	}
	if !circuit.JudgeLoad(out, out, q.Load).On() {
		return nil, trace.ErrNotEnergised
	}
	set := suspect.Options{Order: 1, Instrument: opt.Instrument}
	if opt.Celsius != nil {
		set.Ambient = *opt.Celsius
	}
	e, err := suspect.New(r.c, set)
	if err != nil {
		return nil, err
	}
	return e, e.Add(ctx, suspect.Evidence{Symptom: &suspect.Symptom{Mode: q.Mode, Load: q.Load, State: circuit.Dead}})
}

// Points makes the sheet of tests for what an engine knows.
func (r *Reporter) Points(ctx context.Context, e *suspect.Engine, opt SheetOptions) (*Points, error) {
	b, err := r.newBench(opt.MeterOptions)
	if err != nil {
		return nil, err
	}
	sheet, err := e.Sheet(ctx)
	if err != nil {
		return nil, err
	}
	q := r.Complained(e)
	q.Notes = nil
	d := &Points{Head: r.head("points", q), About: r.about(e), Form: r.form(b, opt), Known: r.known(e), LockOut: r.lockOut(), Cautions: sheetCautions[:],
		Meter: instrument(b.Instrument), Suspects: []Suspect{}, Steps: []Step{}, Hints: []string{}, LeftOver: []Suspect{}, CloseUp: []Opened{}, After: []string{}}
	if q.Load != circuit.None {
		d.Load = r.named(q.Load)
	}
	standing, err := b.LiveParts(r.c.OffMode(), nil)
	if err != nil {
		return nil, err
	}
	d.Standing = r.liveParts(standing)
	for _, s := range e.Suspects(math.MaxInt) {
		if s.P >= negligible {
			d.Suspects = append(d.Suspects, r.suspected(s))
		}
	}
	x := &listing{Reporter: r, b: b, sheet: sheet, runs: map[string]*settle.Outcome{}, opened: map[circuit.PanelID]bool{}, waits: circuit.None, noted: map[circuit.PartID]bool{}}
	for i := range sheet.Steps {
		step, err := x.step(i)
		if err != nil {
			return nil, err
		}
		d.Steps = append(d.Steps, *step)
		if step.OnlyIf == 0 {
			d.Minutes += step.Minutes
		}
	}
	d.Hints = append(d.Hints, x.hints...)
	if len(x.copper) > 0 {
		d.Hints = append(d.Hints, copperHint+list(x.copper)+".")
	}
	for _, s := range sheet.Left {
		if len(s.Causes) > 0 && s.P >= negligible {
			d.LeftOver = append(d.LeftOver, r.suspected(s))
		}
	}
	d.CloseUp = x.closeUp()
	if d.After, err = x.after(q, d); err != nil {
		return nil, err
	}
	return d, nil
}

// about says in a few words what is complained of.
func (r *Reporter) about(e *suspect.Engine) string {
	for i, ev := range e.Evidence() {
		if ev.Symptom != nil && (e.Speaks(i) || ev.Symptom.Whole != 0 && ev.Symptom.Whole != suspect.Quiet) {
			return r.Seen(ev)
		}
	}
	for _, ev := range e.Evidence() {
		return r.Seen(ev)
	}
	return "nothing said yet"
}

// form is the head of the sheet.
func (r *Reporter) form(b *meter.Bench, opt SheetOptions) []Field {
	var out []Field
	for _, name := range FormFields {
		text := oneLine(opt.Form[name])
		if name == "meter" && text == "" && b.Instrument != meter.DefaultInstrument() {
			text = b.Instrument.Name
		}
		out = append(out, Field{formTitles[name], text})
	}
	return out
}

// suspected puts an explanation in words.
func (r namer) suspected(s suspect.Suspect) Suspect {
	out := Suspect{Faults: []string{}, Text: r.anyOf([]suspect.Suspect{s}), Share: round(s.P)}
	for _, class := range s.Causes {
		for _, m := range class.Members {
			for _, f := range m.Faults {
				out.Faults = append(out.Faults, r.c.FaultRef(f))
			}
		}
	}
	return out
}

// wayWords say how a group of parts or wires may have failed.
var wayWords = map[circuit.FaultKind]string{circuit.Open: "open", circuit.HighResistance: "burnt or loose joint", circuit.Grounded: "touching metal",
	circuit.Welded: "stuck closed", circuit.Short: "shorted"}

// anyOf tells explanations, any of which holds, in one clause for each way to
// fail.
func (r namer) anyOf(list []suspect.Suspect) string {
	items := map[string][]Item{}
	var order, others []string
	for _, s := range list {
		if len(s.Causes) == 0 {
			continue
		}
		class := s.Causes[0]
		words, known := wayWords[class.Members[0].Faults[0].Kind]
		if len(s.Causes) > 1 || len(class.Members[0].Faults) > 1 || !known {
			if said := oneLine(s.Words()); !slices.Contains(others, said) {
				others = append(others, said)
			}
			continue
		}
		if items[words] == nil {
			order = append(order, words)
		}
		for _, it := range r.itemsOf(class) {
			if !slices.Contains(items[words], it) {
				items[words] = append(items[words], it)
			}
		}
	}
	var out []string
	for _, words := range order {
		shown, more := items[words], ""
		if n := len(shown) - mostItems; n > 0 {
			shown, more = shown[:mostItems], fmt.Sprintf(" and %d more", n)
		}
		out = append(out, words+": "+partsAndWires(shown)+more)
	}
	out = append(out, others...)
	if more := len(out) - mostClauses; more > 0 {
		out = append(out[:mostClauses:mostClauses], fmt.Sprintf("%d less likely", more))
	}
	return strings.Join(out, "; or ")
}

// itemsOf lists the members of a class; the run of a supply conductor goes by
// the conductor's name.
func (r namer) itemsOf(class suspect.Class) []Item {
	var out []Item
	for _, m := range class.Members {
		it := r.item(m.Faults[0].Branch)
		if it.Kind == "supply" && len(class.Members) > 1 {
			it.Label = r.c.Branch(m.Faults[0].Branch).Name + " between the house and here"
			return []Item{it}
		}
		out = append(out, it)
	}
	return out
}

// mostClauses is how many ways to fail are told, mostItems how many parts and
// wires that may have failed in one of them.
const mostClauses, mostItems = 4, 6

// listing turns the engine's sheet into ours.
type listing struct {
	*Reporter
	b         *meter.Bench
	sheet     *suspect.Sheet
	runs      map[string]*settle.Outcome // by mode and faults
	burntTold bool
	// opened are the panels opened by steps that are always made; order has all,
	// as they were opened.
	opened map[circuit.PanelID]bool
	order  []circuit.PanelID
	// aside are those opened by the steps that wait for step waits to read bad.
	aside  map[circuit.PanelID]bool
	waits  int
	hints  []string
	copper []string // wires that are copper on a board
	noted  map[circuit.PartID]bool
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
	d := &Step{Number: i + 1, Power: "removed", Trial: s.Trial, Mode: x.mode(s.Mode), Opens: []Opened{}, Watch: []Named{}, IfGood: []Suspect{},
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
	if s.Trial {
		err = x.trial(d, s)
	} else {
		err = x.probing(d, s)
	}
	if err != nil {
		return nil, err
	}
	if s.OnlyIf != circuit.None {
		d.OnlyIf = s.OnlyIf + 1
		if before := &x.sheet.Steps[s.OnlyIf]; len(before.Bad) > 1 {
			d.After = x.words(before, before.Bad[s.After])
		}
	}
	d.SetUp = d.setUp()
	return d, nil
}

// words tell a bad outcome in a few words.
func (x *listing) words(s *suspect.Step, o suspect.Shown) string {
	if s.Trial {
		return x.statesText(s.Loads, o.States, s.Good.States, o.Trips, o.Chatters)
	}
	switch {
	case x.b.NearZero(o.Reading):
		return "near 0 " + o.Reading.Function.Unit()
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
func (x *listing) trial(d *Step, s *suspect.Step) error {
	d.Good = Shown{Shows: "as it should be", Range: "as it should be", Why: []string{}}
	for k, id := range s.Loads {
		if slices.ContainsFunc(s.Bad, func(o suspect.Shown) bool { return o.States[k] != s.Good.States[k] }) {
			d.Watch = append(d.Watch, x.named(id))
		}
	}
	return x.outcomes(d, s, func(o suspect.Shown) Shown { return Shown{Shows: "", Range: "", Why: []string{}} })
}

// probing tells where the probes go and what they find.
func (x *listing) probing(d *Step, s *suspect.Step) error {
	d.Function, d.From, d.To, d.Lift = s.Probes.Function.String(), x.probe(s.Probes.P), x.probe(s.Probes.Q), x.liftOf(s.At, s.Lift)
	good, err := x.goodReading(s)
	if err != nil {
		return err
	}
	d.Good = shown(x.b, s.Probes.Function, good)
	if d.GoodLive, err = x.stillLive(s, good, nil); err != nil {
		return err
	}
	if x.b.NearZero(good) {
		d.Good.Range, d.Good.Why = "near 0 "+d.Good.Unit, []string{}
	}
	if !s.Live && good.Low <= 0 && good.High < meter.WornContactOhms {
		// Wire and contacts alone lie between, whatever the probes' own parts.
		d.Good.Why = slices.DeleteFunc(d.Good.Why, func(w string) bool {
			return !strings.HasPrefix(w, "clean contacts") && !strings.HasPrefix(w, "instrument")
		})
	}
	d.Opens = x.open(s)
	d.Notes = x.notes(s)
	if err := x.outcomes(d, s, func(o suspect.Shown) Shown { return shown(x.b, s.Probes.Function, o.Reading) }); err != nil {
		return err
	}
	if err := x.burnt(d, s, good); err != nil {
		return err
	}
	d.Scale = scale(good, s.Bad)
	return nil
}

// goodReading is the good reading of a step by the meter in hand.
func (x *listing) goodReading(s *suspect.Step) (meter.Reading, error) {
	if s.Live {
		o, err := x.settled(s.Mode, nil)
		if err != nil {
			return meter.Reading{}, err
		}
		return x.b.Volts(o, s.Probes.Function, s.Probes.P, s.Probes.Q)
	}
	o, err := x.b.Dead(s.Mode, nil)
	if err != nil {
		return meter.Reading{}, err
	}
	for _, w := range s.Lift {
		o.Conducts[x.c.Wire(w).Branch] = false
	}
	r, err := x.b.Ohms(o, s.Probes.P, s.Probes.Q)
	return r.InCircuit, err
}

// setUp says how the machine stands.
func (d *Step) setUp() string {
	switch {
	case d.Trial:
		return "Supply on, " + d.Mode.Label + " selected."
	case d.Power == "removed":
		return "Supply removed and locked out, proved dead; knobs and thermostats as in " + d.Mode.Label + "."
	case d.UnderLoad:
		return "Supply on, " + d.Mode.Label + " selected and the load on: read while it draws current."
	}
	return "Supply on, " + d.Mode.Label + " selected."
}

// outcomes joins bad readings that a person takes for one and lead nowhere else.
func (x *listing) outcomes(d *Step, s *suspect.Step, of func(suspect.Shown) Shown) error {
	type key struct {
		words string
		then  int
	}
	at := map[key]int{}
	var any [][]suspect.Suspect
	for _, o := range s.Bad {
		k := key{x.words(s, o), o.Then}
		i, seen := at[k]
		if !seen {
			i = len(d.Bad)
			at[k] = i
			d.Bad = append(d.Bad, Outcome{Reading: of(o), Words: k.words, Left: []Suspect{}})
			any = append(any, nil)
			if o.Then != circuit.None {
				d.Bad[i].Then = o.Then + 1
			}
		}
		any[i] = append(any[i], o.Any...)
		if s.Trial {
			continue
		}
		live, err := x.stillLive(s, o.Reading, o.Any)
		if err != nil {
			return err
		}
		if d.Bad[i].Live == "" {
			d.Bad[i].Live = live
		}
	}
	if len(d.Bad) > mostBad { // the likeliest come first
		d.Bad[mostBad-1].Words = elseWords
		for i := range d.Bad[mostBad:] {
			any[mostBad-1] = append(any[mostBad-1], any[mostBad+i]...)
		}
		d.Bad = d.Bad[:mostBad]
	}
	for i := range d.Bad {
		for _, one := range any[i] {
			d.Bad[i].Left = append(d.Bad[i].Left, x.suspected(one))
		}
		d.Bad[i].Conclude = x.anyOf(any[i])
		if d.Bad[i].Then == 0 {
			x.hint(any[i])
		}
	}
	return nil
}

// mostBad is how many bad readings a step tells of: the last for all the rest.
const (
	mostBad   = 4
	elseWords = "anything else"
)

// burnt adds what a burnt contact or joint in a leg makes of a live reading,
// which unloaded reads like a good one; the first step that shows it has it.
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
		r, err := x.b.Volts(o, s.Probes.Function, s.Probes.P, s.Probes.Q)
		if err != nil {
			return err
		}
		if r.Jumps || r.Value < low && !reading.Jumps {
			low, reading = r.Value, r
		}
	}
	words := fmt.Sprintf("low, near %.0f %s", low, s.Probes.Function.Unit())
	if reading.Jumps {
		words = reading.String() + " as relays chatter"
	} else if low >= good.Value*0.95 {
		return nil
	}
	d.UnderLoad = true
	if x.burntTold {
		return nil
	}
	x.burntTold = true
	d.Bad = append(d.Bad, Outcome{Reading: shown(x.b, s.Probes.Function, reading), Words: words, Left: []Suspect{}, Joint: true,
		Conclude: fmt.Sprintf("a burnt joint or contact in a leg (here of %.0f ohms), which reads right with nothing on and sags under load: with the supply removed look for heat marks at every joint from the breaker to here", meter.BurntContactOhms)})
	return nil
}
