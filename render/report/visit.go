package report

import (
	"context"
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/render/schematic"
)

// Visit is one job written down.
type Visit struct {
	Document   string        `json:"document" help:"which document this is"`
	Machine    Machine       `json:"machine" help:"the machine visited"`
	Date       string        `json:"date" help:"the day; empty where not given"`
	Complaint  string        `json:"complaint" help:"what the customer said"`
	Instrument string        `json:"instrument" help:"the meter in hand"`
	Celsius    float64       `json:"celsius" help:"temperature where the cold machine stands"`
	Notes      []VisitNote   `json:"notes" help:"what was seen and measured, in order"`
	Misfit     *Misfit       `json:"misfit" help:"what fits nothing together with the rest; null where all fits"`
	Verdict    *VisitVerdict `json:"verdict" help:"the cause named; null while there is none"`
	Suspects   []Explanation `json:"suspects" help:"explanations, the most probable first"`
	Others     float64       `json:"others" help:"probability of all explanations not listed"`
	Repair     string        `json:"repair" help:"what was done; empty where nothing was"`
	After      []VisitNote   `json:"after" help:"what was seen and measured after the repair"`
	Proved     bool          `json:"proved" help:"all that was seen after the repair is as a sound machine has it"`
	Cautions   []string      `json:"cautions" help:"what comes before any work"`
	Diagram    string        `json:"-"`
	Pictured   string        `json:"diagram" help:"what the page's diagram shows"`
}

// VisitNote is one thing seen or measured, or a test that was not made.
type VisitNote struct {
	Number int    `json:"number" help:"counts from 1"`
	Text   string `json:"text" help:"in words"`
	Good   string `json:"good" help:"what a sound machine reads or does; empty for a test not made"`
	Bad    bool   `json:"bad" help:"a sound machine would not do this"`
	Made   bool   `json:"made" help:"false for a test that was left out or could not be reached"`
}

// VisitVerdict is the cause named.
type VisitVerdict struct {
	Text   string  `json:"text" help:"what, and how it failed"`
	Chance float64 `json:"chance" help:"its probability, among all that was considered"`
	Place  string  `json:"place" help:"where on the machine"`
	Faults []Fault `json:"faults" help:"as the diagram has them"`
}

// VisitRecord is what a visit's file holds, names resolved.
type VisitRecord struct {
	Date, Complaint string
	Instrument      meter.Instrument
	Celsius         float64
	Notes, After    []RecordedNote
	// VerdictWords is empty while there is no verdict.
	VerdictWords  string
	VerdictChance float64
	Verdict       []circuit.Fault
	Repair        string
}

// RecordedNote is a note resolved: Evidence is nil for a test not made.
type RecordedNote struct {
	Evidence *suspect.Evidence
	Test     suspect.Test
	// Unreachable is set when a place could not be got at.
	Unreachable string
}

// Visit writes a visit down. The engine has weighed its notes.
func (r *Reporter) Visit(ctx context.Context, e *suspect.Engine, rec VisitRecord) (*Visit, error) {
	d := &Visit{Document: "visit", Machine: r.machine(), Date: rec.Date, Complaint: oneLine(rec.Complaint), Instrument: rec.Instrument.Name, Celsius: rec.Celsius,
		Repair: oneLine(rec.Repair), Suspects: []Explanation{}, Cautions: cautionLines[:]}
	if d.Celsius == 0 {
		d.Celsius = circuit.RoomCelsius
	}
	var err error
	if d.Notes, err = r.visitNotes(e, rec.Notes); err != nil {
		return nil, err
	}
	if d.After, err = r.visitNotes(e, rec.After); err != nil {
		return nil, err
	}
	d.Proved = rec.Repair != "" && len(d.After) > 0
	for _, n := range d.After {
		d.Proved = d.Proved && !n.Bad && n.Made
	}
	d.Others = 1
	for i, s := range e.Suspects(6) {
		if i > 0 && s.P < negligible {
			break
		}
		x, err := r.sized(e, s)
		if err != nil {
			return nil, err
		}
		d.Suspects = append(d.Suspects, x)
		d.Others -= s.P
	}
	d.Others = max(0, round(d.Others))
	sum := &Suspects{Known: r.known(e)}
	if err := r.misfit(ctx, e, sum, suspect.Options{Instrument: rec.Instrument, Ambient: rec.Celsius}); err != nil {
		return nil, err
	}
	d.Misfit = sum.Misfit
	if rec.VerdictWords != "" {
		v := &VisitVerdict{Text: oneLine(rec.VerdictWords), Chance: round(rec.VerdictChance), Faults: r.faults(rec.Verdict)}
		if len(rec.Verdict) > 0 {
			it := r.item(rec.Verdict[0].Branch)
			if v.Place = it.Place; v.Place == "" && it.From != "" {
				v.Place = it.From + " to " + it.To
			}
		}
		d.Verdict = v
	}
	return d, nil
}

func (r *Reporter) visitNotes(e *suspect.Engine, notes []RecordedNote) ([]VisitNote, error) {
	out := []VisitNote{}
	for i, n := range notes {
		v := VisitNote{Number: i + 1, Made: n.Evidence != nil}
		if v.Made {
			v.Text = r.evidence(*n.Evidence)
			var err error
			if v.Good, v.Bad, err = r.Against(e, *n.Evidence); err != nil {
				return nil, err
			}
		} else {
			t, err := r.test(e, n.Test)
			if err != nil {
				return nil, err
			}
			v.Text = "Left out: " + lowerFirst(t.Text)
			if n.Unreachable != "" {
				v.Text = "Out of reach at " + n.Unreachable + ": " + lowerFirst(t.Text)
			}
		}
		out = append(out, v)
	}
	return out, nil
}

// Against compares what was seen with a sound machine: what it would show, and
// whether this cannot be taken for it.
func (r *Reporter) Against(e *suspect.Engine, ev suspect.Evidence) (good string, bad bool, err error) {
	if s := ev.Symptom; s != nil {
		if s.Load == circuit.None {
			return "no such thing", true, nil
		}
		sound, err := r.SoundState(s.Mode, s.Load)
		if err != nil {
			return "", false, err
		}
		return sound.String(), s.State.Meant(sound.On()) != sound, nil
	}
	o := ev.Reading
	sound, err := r.soundReading(e, o)
	if err != nil {
		return "", false, err
	}
	low, high := e.Bench().Instrument.Spread(o.Probes.Function, o.Value)
	seen := meter.Reading{Function: o.Probes.Function, Value: o.Value, Low: low, High: high, OL: o.OL, Unsteady: o.Unsteady}
	if o.Unsteady {
		return sound.Range(), !sound.Unsteady, nil
	}
	return sound.Range(), seen.Differs(sound), nil
}

func (r *Reporter) soundReading(e *suspect.Engine, o *suspect.Observation) (meter.Reading, error) {
	bench := e.Bench()
	run := bench.Dead
	if o.Probes.Function.Live() {
		run = bench.Live
	}
	out, err := run(o.Mode, nil)
	if err != nil {
		return meter.Reading{}, err
	}
	for _, w := range o.Lift {
		out.Conducts[r.c.Wire(w).Branch] = false
	}
	return bench.Quick(out, o.Probes.Function, o.Probes.P, o.Probes.Q), nil
}

// Complained asks about the first load that was seen misbehaving, in the mode
// where it did, or about the machine's largest.
func (r *Reporter) Complained(e *suspect.Engine) Question {
	q, err := r.Ask("", "", nil, Feeding)
	if err != nil {
		q = Question{Mode: 0, Load: circuit.None}
	}
	for i, ev := range e.Evidence() {
		if s := ev.Symptom; s != nil && s.Load != circuit.None && e.Speaks(i) {
			q.Mode, q.Load, q.Notes = s.Mode, s.Load, nil
			break
		}
	}
	return q
}

// VisitDrawing prepares the machine's diagram in the mode of the complaint:
// the verdict's fault crossed out or, while there is none, the suspects
// shaded.
func (r *Reporter) VisitDrawing(ctx context.Context, e *suspect.Engine, rec VisitRecord) (schematic.Drawing, string, error) {
	q := r.Complained(e)
	q.Faults = rec.Verdict
	mode := oneLine(r.c.Mode(q.Mode).Label)
	d, _, err := r.Drawing(ctx, q, schematic.IEC)
	if err != nil {
		return d, "", err
	}
	d.Marks = nil
	if len(rec.Verdict) > 0 {
		d.Subtitle = fmt.Sprintf("%s, with %s", mode, oneLine(rec.VerdictWords))
		return d, fmt.Sprintf("The machine in %s, with what was found wrong crossed out", mode), nil
	}
	d.Subtitle = mode + ": what is suspected"
	d.Suspects = Shades(e)
	return d, fmt.Sprintf("The machine in %s, suspects shaded by how likely each is", mode), nil
}
