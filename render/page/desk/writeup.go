package desk

import (
	"context"
	"math"
	"time"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

// Record is a visit by the machine's own names, for a file of it.
type Record struct {
	// Date is the day, as 2026-05-01, or empty.
	Date, Complaint string
	// Notes is what was seen before the repair, After what was seen since.
	Notes, After []Noted
	// Causes is the verdict: each "this | that" where no test told, and "this +
	// that" for faults that are one cause. It is empty while nothing was done.
	Causes []string
	// Words say the verdict, Chance is its probability.
	Words  string
	Chance float64
	// Done is what was done about it.
	Done string
}

// Noted is a note of a record.
type Noted struct {
	suspect.Note
	// Step is shared by what was answered at once.
	Step int
	// Skipped says that the test was not made.
	Skipped bool
}

// writeUp adds to a visit what is written down of it: the report, the proof of
// the repair and the file.
func (b *bench) writeUp(ctx context.Context, s State, v *visit, write func(*circuit.Circuit, Record) ([]byte, error)) error {
	rec := report.VisitRecord{Date: day(s.Date), Complaint: s.Complaint, Instrument: meter.DefaultInstrument()}
	for _, n := range v.noted {
		rec.Notes = append(rec.Notes, n.RecordedNote)
	}
	file := Record{Date: rec.Date, Complaint: s.Complaint, Notes: numbered(v.noted)}
	if f := v.finding; s.Done != "" && len(f.Mended()) > 0 {
		rec.VerdictWords, rec.VerdictChance, rec.Verdict, rec.Repair = f.Words(), f.P, shownFaults(f), s.Done
		file.Words, file.Chance, file.Causes, file.Done = f.Words(), math.Round(f.P*1e4)/1e4, f.Causes(b.c), s.Done
		var err error
		if v.Proof, err = b.prove(ctx, v, s.After); err != nil {
			return err
		}
		for _, n := range v.Proof.noted {
			rec.After = append(rec.After, n.RecordedNote)
		}
		file.After = v.Proof.after
	}
	var err error
	if v.Report, err = b.Reporter.Visit(ctx, v.engine, rec); err != nil {
		return err
	}
	if write == nil {
		return nil
	}
	text, err := write(b.c, file)
	if err != nil {
		v.NoFile = err.Error()
	}
	v.File = string(text)
	return nil
}

// numbered gives notes their steps: what was noted of one mode's loads in a row
// was one look.
func numbered(notes []noted) []Noted {
	var out []Noted
	step := 0
	for i, n := range notes {
		if i == 0 || n.note.Load == "" || notes[i-1].note.Load == "" || n.note.Mode != notes[i-1].note.Mode {
			step++
		}
		out = append(out, Noted{Note: n.note, Step: step, Skipped: n.Evidence == nil})
	}
	return out
}

// day keeps a date, and nothing else that an address may hold in its place.
func day(s string) string {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return ""
	}
	return s
}
