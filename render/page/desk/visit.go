package desk

import (
	"context"
	"strings"
	"time"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// visitView is a job under way: what was seen, what may be wrong, what to try
// next.
type visitView struct {
	Known    []known
	Suspects []report.Explanation
	Others   float64
	// Stand says how far the search has come; empty while it goes on.
	Stand  string
	Misfit string
	Next   []proposal
	// Wrong tells what of the notes the machine does not have.
	Wrong []string
	// Cause is what a repair would mend, in words; empty while none stands out.
	Cause  string
	Report *report.Visit
	Proof  *proof
	// File is the visit as a file; NoFile says why there is none.
	File, NoFile string

	shades []schematic.Shade
}

type known struct {
	Text, Note   string
	Bad, Skipped bool
}

// proposal is a test worth making.
type proposal struct {
	report.NextTest
	// Test is the line of a note on it, without the answer; Red and Black are
	// where its probes go.
	Test, Red, Black string
	// Reach are the places of its probes by name, to say that one is out of reach.
	Reach []string
}

const (
	mostSuspects  = 8
	mostProposals = 3
)

// sayWord begins a note that holds sentences of a complaint.
const sayWord = "say~"

// mendedWord begins a line among the notes that says what was done in vain about
// the cause that stood out there.
const mendedWord = "mended~"

// notesOf reads what one note of an address says.
func notesOf(c *circuit.Circuit, line string) ([]visit.Note, error) {
	if words, ok := strings.CutPrefix(line, sayWord); ok {
		return visit.Complaint(c, words)
	}
	n, err := visit.ParseLine(line)
	return []visit.Note{n}, err
}

// weigh takes a visit up from a state.
func (b *bench) weigh(ctx context.Context, s State, write func(*circuit.Circuit, visit.Record) ([]byte, error)) (*visitView, error) {
	v := &visitView{}
	j, err := visit.Start(ctx, b.c, visit.Record{Date: day(s.Date), Complaint: s.Complaint})
	if err != nil {
		return nil, err
	}
	lines, err := b.take(ctx, j, s.Notes, v)
	if err != nil {
		return nil, err
	}
	d, err := b.Suspects(ctx, j.Engine, j.Progress, report.SuspectsOptions{Most: mostSuspects, Tests: 1})
	if err != nil {
		return nil, err
	}
	v.Suspects, v.Others = d.Suspects, d.Others
	if d.Misfit != nil {
		v.Misfit = d.Misfit.Known.Text
	}
	if err := b.known(j, lines, v); err != nil {
		return nil, err
	}
	step, err := j.Next(ctx, mostProposals)
	if err != nil {
		return nil, err
	}
	v.Stand = report.Stand(b.c, step)
	for i := range step.Tests {
		t, err := b.NextTest(j.Engine, &step.Tests[i])
		if err != nil {
			return nil, err
		}
		v.Next = append(v.Next, b.propose(t, step.Tests[i].Test))
	}
	if step.Stand != visit.Searching || step.Finding.Close || s.Done != "" { // else it is too early to mend anything
		v.Cause = step.Finding.ToMend().Words()
	}
	if s.Done != "" && v.Cause != "" {
		if err := j.Conclude(step.Finding, s.Done); err != nil {
			return nil, err
		}
		if v.Proof, err = b.prove(ctx, j, s.After); err != nil {
			return nil, err
		}
	}
	v.shades = report.Shades(j.Engine)
	return v, b.writeUp(ctx, j, v, write)
}

// take puts notes to a job, and tells by note of the job which line gave it.
func (b *bench) take(ctx context.Context, j *visit.Job, lines []string, v *visitView) ([]string, error) {
	var from []string
	for _, line := range lines {
		var notes []visit.Note
		var err error
		if done, is := strings.CutPrefix(line, mendedWord); is {
			if err = j.Conclude(j.Engine.Finding(), done); err == nil {
				err = j.GoOn(ctx)
			}
		} else if notes, err = notesOf(b.c, line); err == nil {
			for i := range notes {
				notes[i].Step = stepAfter(j, notes[i])
			}
			err = j.Add(ctx, notes...)
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			v.Wrong = append(v.Wrong, err.Error())
			continue
		}
		for range notes {
			from = append(from, line)
		}
	}
	return from, nil
}

// stepAfter numbers a note: what was noted of one mode's loads in a row was one
// look.
func stepAfter(j *visit.Job, n visit.Note) int {
	if len(j.Notes) > 0 {
		last := j.Notes[len(j.Notes)-1]
		repaired := len(j.Mended) > 0 && j.Mended[len(j.Mended)-1].Step >= last.Step
		if n.Load != "" && last.Load != "" && n.Mode == last.Mode && !repaired {
			return last.Step
		}
	}
	return j.NextStep()
}

// known says what was noted.
func (b *bench) known(j *visit.Job, lines []string, v *visitView) error {
	at, repairs := 0, 0
	for i, n := range j.Notes {
		for ; repairs < len(j.Mended) && j.Mended[repairs].Step < n.Step; repairs++ {
			m := j.Mended[repairs]
			v.Known = append(v.Known, known{Text: report.NotMended(m), Note: mendedWord + m.Done})
		}
		k := known{Note: lines[i], Skipped: !n.Made()}
		if n.Made() {
			k.Text, k.Bad = b.Seen(j.Engine.Evidence()[at]), j.Engine.Speaks(at)
			at++
		} else {
			var err error
			if k.Text, err = b.NotMade(j.Engine, n); err != nil {
				return err
			}
		}
		v.Known = append(v.Known, k)
	}
	return nil
}

func (b *bench) propose(t report.NextTest, test suspect.Test) proposal {
	p := proposal{NextTest: t, Test: visit.About(b.c, test).Without()}
	if !test.Trial {
		p.Red, p.Black = b.ref(test.Probes.P), b.ref(test.Probes.Q)
		p.Reach = []string{b.c.PlaceName(test.Probes.P), b.c.PlaceName(test.Probes.Q)}
	}
	return p
}

func (b *bench) ref(t circuit.TerminalID) string { return b.c.Terminal(t).Ref }

// writeUp adds to a visit its report, and its file.
func (b *bench) writeUp(ctx context.Context, j *visit.Job, v *visitView, write func(*circuit.Circuit, visit.Record) ([]byte, error)) error {
	var err error
	if v.Report, err = b.Reporter.Visit(ctx, j); err != nil || write == nil {
		return err
	}
	text, err := write(b.c, j.Record)
	if err != nil {
		v.NoFile = err.Error()
	}
	v.File = string(text)
	return nil
}

// day keeps a date, and nothing else that an address may hold in its place.
func day(s string) string {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return ""
	}
	return s
}
