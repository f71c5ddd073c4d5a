package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// visit is a job under way: what was seen, what may be wrong, what to try next.
type visit struct {
	Known    []known
	Suspects []report.Explanation
	Others   float64
	// Found names the cause, or the part that holds it, once that is all but
	// certain; Likeliest does with its chance, once no test would tell more.
	Found, Likeliest string
	Misfit           string
	Next             []proposal
	// Wrong tells what of the notes the machine does not have.
	Wrong []string
	// Cause is what a repair would mend, in words; empty while none stands out.
	Cause  string
	Report *report.Visit
	Proof  *proof
	// File is the visit as a file; NoFile says why there is none.
	File, NoFile string

	engine  *suspect.Engine
	finding suspect.Finding
	noted   []noted
	shades  []schematic.Shade
}

// noted is a note resolved.
type noted struct {
	note suspect.Note
	report.RecordedNote
}

type known struct {
	Text, Note   string
	Bad, Skipped bool
}

// proposal is a test worth making.
type proposal struct {
	report.NextTest
	// Test is the test as a note, Red and Black where its probes go.
	Test, Red, Black string
}

const (
	mostSuspects  = 8
	mostProposals = 3
)

// weigh puts the notes of a state to an engine of its own.
func (b *bench) weigh(ctx context.Context, s State) (*visit, error) {
	v := &visit{}
	progress := suspect.NewProgress()
	e, err := b.take(ctx, s.Notes, progress, v)
	if err != nil {
		return nil, err
	}
	d, err := b.Suspects(ctx, e, progress, report.SuspectsOptions{Most: mostSuspects, Tests: 1})
	if err != nil {
		return nil, err
	}
	v.Suspects, v.Others, v.Found = d.Suspects, d.Others, b.found(e, d)
	if d.Misfit != nil {
		v.Misfit = d.Misfit.Known.Text
	}
	at := 0
	for i := range v.Known {
		if !v.Known[i].Skipped && at < len(d.Known) {
			v.Known[i].Text, v.Known[i].Bad = d.Known[at].Text, d.Known[at].Bad
			at++
		}
	}
	next, err := e.Next(ctx, progress, mostProposals)
	if err != nil {
		return nil, err
	}
	for i := range next {
		t, err := b.NextTest(e, &next[i])
		if err != nil {
			return nil, err
		}
		v.Next = append(v.Next, b.propose(t, next[i].Test))
	}
	if chances := e.PartChance(); len(next) == 0 && v.Found == "" && len(chances) > 0 {
		v.Likeliest = fmt.Sprintf("%s, %s", b.partOrWire(chances[0].Name), percent(chances[0].P))
	}
	v.finding = toMend(e)
	if v.finding.Close || len(next) == 0 || s.Done != "" { // else it is too early to mend anything
		v.Cause = v.finding.Words()
	}
	return v, nil
}

// take puts notes to an engine of its own.
func (b *bench) take(ctx context.Context, notes []string, progress *suspect.Progress, v *visit) (*suspect.Engine, error) {
	e, err := suspect.New(b.c, suspect.Options{})
	if err != nil {
		return nil, err
	}
	for _, text := range notes {
		n, skipped, err := readNote(text)
		if err == nil {
			err = b.note(ctx, e, progress, v, text, n, skipped)
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			v.Wrong = append(v.Wrong, err.Error())
		}
	}
	v.engine = e
	return e, nil
}

// found names what is all but certain, if anything is.
func (b *bench) found(e *suspect.Engine, d *report.Suspects) string {
	if d.Sure {
		var texts []string
		for _, c := range d.Suspects[0].Causes {
			texts = append(texts, c.Text)
		}
		return cmp.Or(strings.Join(texts, " and "), "nothing is wrong")
	}
	for _, c := range e.PartChance() {
		if c.P <= suspect.Sure {
			break
		}
		return b.partOrWire(c.Name)
	}
	return ""
}

func (b *bench) partOrWire(name string) string {
	if id, err := b.c.FindPart(name); err == nil {
		return cmp.Or(b.c.Part(id).Label, name)
	}
	return "wire " + name
}

// note puts one note to the engine. That nothing fits any more is told by the
// misfit, not as an error.
func (b *bench) note(ctx context.Context, e *suspect.Engine, p *suspect.Progress, v *visit, text string, n suspect.Note, skipped bool) error {
	test, err := testOf(b.c, n)
	if err != nil {
		return err
	}
	if skipped {
		p.Skip(b.c, test)
		words := "the trial of " + b.c.Mode(test.Mode).Label
		if !test.Trial {
			words = n.Function + " " + test.Probes.Name
		}
		v.Known = append(v.Known, known{Text: "Left out: " + words, Note: text, Skipped: true})
		v.noted = append(v.noted, noted{n, report.RecordedNote{Test: test}})
		return nil
	}
	ev, err := n.Resolve(b.c)
	if err != nil {
		return err
	}
	p.Did(b.c, test)
	if err := e.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
		return err
	}
	v.Known = append(v.Known, known{Note: text})
	v.noted = append(v.noted, noted{n, report.RecordedNote{Test: test, Evidence: &ev}})
	return nil
}

func (b *bench) propose(t report.NextTest, test suspect.Test) proposal {
	p := proposal{NextTest: t}
	if test.Trial {
		p.Test = "trial" + sep + b.c.Mode(test.Mode).Name
		return p
	}
	note := writeNote(suspect.NoteOf(b.c, test, ""))
	p.Test = note[:len(note)-len(sep)]
	p.Red, p.Black = b.ref(test.Probes.P), b.ref(test.Probes.Q)
	return p
}

func (b *bench) ref(t circuit.TerminalID) string { return b.c.Terminal(t).Ref }
