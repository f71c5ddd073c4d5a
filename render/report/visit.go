package report

import (
	"context"
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
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
	First      []string      `json:"first" help:"what comes before any test: people may be in danger"`
	Misfit     *Misfit       `json:"misfit" help:"what fits nothing together with the rest; null where all fits"`
	Verdict    *VisitVerdict `json:"verdict" help:"the cause named; null while there is none"`
	Suspects   []Explanation `json:"suspects" help:"explanations, the most probable first"`
	Others     float64       `json:"others" help:"probability of all explanations not listed"`
	Repair     string        `json:"repair" help:"what was done; empty where nothing was"`
	Mended     []string      `json:"mended" help:"repairs made before that did not end the trouble, in order"`
	After      []VisitNote   `json:"after" help:"what was seen and measured after the repair"`
	Proved     bool          `json:"proved" help:"every check of the proof was made, and came out as a sound machine has it"`
	Proof      string        `json:"proof" help:"how far the repair is proved, in words; empty where nothing was done"`
	Astray     string        `json:"astray" help:"said where what was repaired is not what the verdict names; else empty"`
	Before     []string      `json:"before" help:"what may have made the fault, to be looked at before power is put on"`
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
	// Taken is set for what nobody saw: that the rest works, as nothing was said of it.
	Taken bool `json:"-"`
}

// VisitVerdict is the cause named.
type VisitVerdict struct {
	Text   string  `json:"text" help:"what, and how it failed"`
	Chance float64 `json:"chance" help:"its probability, among all that was considered"`
	Place  string  `json:"place" help:"where on the machine"`
	Faults []Fault `json:"faults" help:"as the diagram has them"`
}

// Visit writes a visit down.
func (r *Reporter) Visit(ctx context.Context, j *visit.Job) (*Visit, error) {
	in := j.Meter.Instrument()
	d := &Visit{Document: "visit", Machine: r.machine(), Date: j.Date, Complaint: oneLine(j.Complaint), Instrument: in.Name, Celsius: j.Ambient,
		Mended: each(j.Mended, NotMended), Cautions: cautionLines[:], First: append([]string{}, j.Engine.First()...)}
	if d.Celsius == 0 {
		d.Celsius = circuit.RoomCelsius
	}
	if j.Repair != nil {
		d.Repair = oneLine(j.Repair.Done)
	}
	var err error
	if d.Notes, err = r.visitNotes(j, j.Notes); err != nil {
		return nil, err
	}
	if d.After, err = r.visitNotes(j, j.After); err != nil {
		return nil, err
	}
	if d.Before = []string{}; d.Repair != "" && j.Verdict != nil {
		if err := r.proved(ctx, j, d); err != nil {
			return nil, err
		}
	}
	if d.Suspects, d.Others, err = Weighed(j, 6); err != nil {
		return nil, err
	}
	if d.Misfit, err = r.misfit(ctx, j.Engine, j.Options()); err != nil {
		return nil, err
	}
	if j.Verdict == nil {
		return d, nil
	}
	faults, err := j.Verdict.Faults(r.c)
	if err != nil {
		return nil, err
	}
	v := &VisitVerdict{Text: oneLine(verdictWords(r.c, j.Verdict, faults)), Chance: round(j.Verdict.Chance), Faults: r.faults(faults)}
	if len(faults) > 0 {
		v.Place = r.item(faults[0].Branch).at()
	}
	d.Verdict = v
	return d, nil
}

// proved says how far a repair is proved.
func (r *Reporter) proved(ctx context.Context, j *visit.Job, d *Visit) error {
	d.Astray = AstrayWords(r.c, j)
	p, err := j.Proof(ctx)
	if err != nil {
		d.Proof = "No proof can be worked out: " + err.Error() + "."
		return ctx.Err()
	}
	d.Proved, d.Proof = p.Proved(), ProofWords(p)
	d.Before = makers(p)
	return nil
}

// verdictWords are a verdict's own, or what its first cause is called.
func verdictWords(c *circuit.Circuit, v *visit.Verdict, faults []circuit.Fault) string {
	if v.Words == "" && len(faults) > 0 {
		return c.Describe(faults[0])
	}
	return v.Words
}

func (r *Reporter) visitNotes(j *visit.Job, notes []visit.Note) ([]VisitNote, error) {
	out := []VisitNote{}
	for i, n := range notes {
		v := VisitNote{Number: i + 1, Made: n.Made()}
		if v.Made {
			ev, err := n.Evidence(r.c)
			if err != nil {
				return nil, err
			}
			v.Text, v.Taken = r.Seen(ev), n.Quiet != ""
			if v.Good, v.Bad, err = r.Against(j.Engine, ev); err != nil {
				return nil, err
			}
		} else {
			var err error
			if v.Text, err = r.NotMade(j.Engine, n); err != nil {
				return nil, err
			}
		}
		out = append(out, v)
	}
	return out, nil
}

// NotMade says of a note that its test was left out.
func (r namer) NotMade(e *suspect.Engine, n visit.Note) (string, error) {
	test, err := n.Test(r.c)
	if err != nil {
		return "", err
	}
	t, err := r.test(e, test)
	if err != nil {
		return "", err
	}
	if n.Unreachable != "" {
		return "Out of reach at " + oneLine(n.Unreachable) + ": " + circuit.LowerFirst(t.Text), nil
	}
	return "Left out: " + circuit.LowerFirst(t.Text), nil
}

// CheckTest puts a check of a proof in words.
func (r namer) CheckTest(e *suspect.Engine, c *visit.Check) (NextTest, error) {
	t, err := r.test(e, c.Test)
	for _, id := range c.Look {
		t.Loads = append(t.Loads, r.named(id))
	}
	t.Unseen = r.unseen(e, c.Mode, c.Look)
	return t, err
}

// Against compares what was seen with a sound machine: what it would show, and
// whether this cannot be taken for it.
func (r namer) Against(e *suspect.Engine, ev suspect.Evidence) (good string, bad bool, err error) {
	j, err := visit.Judge(e, ev)
	switch {
	case err != nil:
		return "", false, err
	case j.Told:
		return "", false, nil
	case j.None:
		return "no such thing", j.Bad, nil
	case ev.Symptom != nil:
		return j.State.String(), j.Bad, nil
	}
	return j.Reading.Range(), j.Bad, nil
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
func (r *Reporter) VisitDrawing(ctx context.Context, j *visit.Job) (schematic.Drawing, string, error) {
	q := r.Complained(j.Engine)
	if j.Verdict != nil {
		var err error
		if q.Faults, err = j.Verdict.Faults(r.c); err != nil {
			return schematic.Drawing{}, "", err
		}
	}
	mode := oneLine(r.c.Mode(q.Mode).Label)
	d, _, err := r.Drawing(ctx, q, schematic.Customary)
	if err != nil {
		return d, "", err
	}
	d.Marks = nil
	if len(q.Faults) > 0 {
		d.Subtitle = fmt.Sprintf("%s, with %s", mode, oneLine(verdictWords(r.c, j.Verdict, q.Faults)))
		return d, fmt.Sprintf("The machine in %s, with what was found wrong crossed out", mode), nil
	}
	d.Subtitle = mode + ": what is suspected"
	d.Suspects = Shades(j.Among())
	return d, fmt.Sprintf("The machine in %s, suspects shaded by how likely each is", mode), nil
}
