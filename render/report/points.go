package report

import (
	"context"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
	"legtrace/circuit/trace"
	"legtrace/circuit/visit"
)

// Points is a sheet of tests for a complaint, to print and work through: where
// to put the probes, what to see, what to conclude.
type Points struct {
	Head
	Load     Named     `json:"load" help:"the load the sheet is about"`
	About    string    `json:"about" help:"what is complained of"`
	Form     []Field   `json:"form" help:"what the head of the sheet asks for"`
	Known    []Known   `json:"known" help:"the complaint as it was understood, in order"`
	Wiring   []string  `json:"wiring" help:"where the wiring is not known: which it is of, how sure that is, what others have otherwise"`
	LockOut  []string  `json:"lock_out" help:"to make the machine safe to touch, in order"`
	Cautions []string  `json:"cautions" help:"for the whole of the work"`
	Standing *LiveMode `json:"standing" help:"what stays live with the machine switched off"`
	Meter    Meter     `json:"meter" help:"the instrument the intervals are for"`
	Suspects []Suspect `json:"suspects" help:"what may be wrong, by what was said and what commonly fails"`
	Steps    []Step    `json:"steps" help:"tests in order"`
	Hints    []string  `json:"hints" help:"what to do where a reading leaves several things"`
	LeftOver []Suspect `json:"left_over" help:"what is left when every reading is good"`
	NoMeter  []string  `json:"no_meter" help:"what makes such a complaint and no meter shows"`
	Repair   []string  `json:"repair" help:"to tick off before anything is mended or closed, where the last step had the supply on"`
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
	Maybe   bool     `json:"maybe" help:"an earlier step, made only after a bad reading, opens it too"`
}

// Step is one test.
type Step struct {
	Number    int       `json:"number" help:"its place in the list"`
	OnlyIf    int       `json:"only_if" help:"do it only where the step of this number read bad; 0: always"`
	After     string    `json:"after" help:"which of that step's bad readings; empty where it has one, or only_if is 0"`
	Power     string    `json:"power" help:"removed, or on"`
	Trial     bool      `json:"trial" help:"turn on the mode and look; otherwise probes"`
	Ask       string    `json:"ask" help:"the move, where nothing is read from a meter and no mode is tried; else empty"`
	Do        string    `json:"do" help:"a move in words; else empty"`
	Outside   bool      `json:"outside" help:"nothing is opened for it: at the controls, or at the house's panel"`
	Waits     bool      `json:"waits" help:"a trial of what comes by waiting, when all else was read"`
	Mode      Mode      `json:"mode" help:"what is selected; with the supply removed, where knobs and thermostats are left"`
	Bring     string    `json:"bring" help:"how its mode comes about: selected, waited for"`
	SetUp     string    `json:"set_up" help:"what to do first, in words"`
	Before    []string  `json:"before" help:"to tick off first, where the supply is turned off or on for this step and those after it"`
	Opens     []Opened  `json:"opens" help:"what to open first, outermost first, the supply removed"`
	Dead      []string  `json:"dead" help:"to tick off once that is open, before anything there is touched: proof that it is dead"`
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
	// Family is the visit to a machine of unknown wiring that the sheet is for, or nil.
	Family *visit.Job
}

// FormFields are what the head of a sheet asks for.
var FormFields = []string{"complaint", "customer", "model", "serial", "date", "technician", "meter", "checked"}

// formTitles say them in words.
var formTitles = map[string]string{"complaint": "Customer says", "customer": "Customer", "model": "Model", "serial": "Serial no.", "date": "Date", "technician": "Technician",
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
	d := &Points{Head: r.head("points", q), About: r.about(e), Form: r.form(b, opt), Known: r.known(e), Wiring: []string{}, LockOut: r.lockOut(), Cautions: slices.Concat(e.First(), sheetCautions[:]),
		Meter: instrument(b.Instrument), Suspects: []Suspect{}, Steps: []Step{}, Hints: []string{}, LeftOver: []Suspect{}, NoMeter: r.unmetered(e), Repair: []string{}, CloseUp: []Opened{}, After: []string{}}
	if q.Load != circuit.None {
		d.Load = r.named(q.Load)
	}
	standing, err := b.LiveParts(r.c.OffMode(), nil)
	if err != nil {
		return nil, err
	}
	d.Standing = r.liveParts(standing)
	suspects := e.Suspects(math.MaxInt)
	for _, s := range suspects {
		if s.P >= negligible {
			d.Suspects = append(d.Suspects, r.suspected(s))
		}
	}
	x := &listing{Reporter: r, b: b, sheet: sheet, suspects: suspects, standing: standing, runs: map[string]*settle.Outcome{}, opened: map[circuit.PanelID][]doing{}, noted: map[string]bool{}, said: map[int][]string{}}
	for _, ev := range e.Evidence() {
		if ev.Symptom != nil && ev.Symptom.Trips {
			x.trips, x.tripsIn = true, ev.Symptom.Mode
		}
	}
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
	if opt.Family != nil {
		if err := d.unsure(x, opt); err != nil {
			return nil, err
		}
	}
	d.Hints = append(d.Hints, x.hints...)
	if len(x.copper) > 0 {
		d.Hints = append(d.Hints, copperHint+circuit.List(x.copper)+".")
	}
	for _, s := range sheet.Left {
		if len(s.Causes) > 0 && s.P >= negligible {
			d.LeftOver = append(d.LeftOver, r.suspected(s))
		}
	}
	if n := len(sheet.Steps); n > 0 && x.state(n-1) == "on" {
		d.Repair = x.locked()
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
