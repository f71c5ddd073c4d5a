package desk

import (
	"context"
	"errors"
	"slices"
	"strconv"
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
	// First is what comes before any test.
	First []string
	Known []known
	// Gist is what was made of the complaint, in a line.
	Gist string
	// Suspects are the likeliest, Misfit is what fits nothing together with the rest.
	Suspects []report.Explanation
	Misfit   *report.Misfit
	// Stand says how far the search has come; empty while it goes on.
	Stand string
	// Unsaid is set where more has to be said before there is a test to make.
	Unsaid bool
	// Ends is what is noted once nothing holds the tests up any more; nil where nothing does.
	Ends *ending
	Next []proposal
	// Heard is what is open of the customer's words.
	Heard heardView
	// Wirings are those that the machine may have, Rather the likeliest where that
	// is not the one it is taken for; none where the wiring is known.
	Wirings []choose
	Rather  *choose
	// Wrong tells what of the notes the machine does not have.
	Wrong []string
	// Cause is what a repair would mend, in words; empty while none stands out.
	Cause string
	// Part is what a new one of would mend it, and Place where that is; empty where it
	// is no part.
	Part, Place string
	Proof       *proof

	shades []schematic.Shade
	told   *told // where it was worked out with the rest
}

// now is the test to be made next: of a proof the first check left, if any.
func (v *visitView) now() *proposal {
	if v.Proof != nil {
		for i := range v.Proof.Checks {
			if c := &v.Proof.Checks[i]; !c.Made && !c.Skipped {
				return &c.proposal
			}
		}
		return nil
	}
	if len(v.Next) > 0 {
		return &v.Next[0]
	}
	return nil
}

// ending is a note in words.
type ending struct{ Words, Line string }

// known is a thing noted. Note is the line that it is from, and Instead what is
// left of that line without it.
type known struct {
	Text, Note   string
	Instead      []string
	Bad, Skipped bool
}

// heardView is what was made of a customer's words.
type heardView struct {
	Questions       []questionView
	Unknown, Mended []string
	// Anew are the sentences to be said anew: of which something was not understood.
	Anew []saidView
}

// saidView is a sentence with the note that it is, and what it may be meant for.
type saidView struct {
	Words, Line, Perhaps string
	Slips                [][2]string
}

// questionView is something said that could mean several things.
type questionView struct {
	Words   string
	Choices []choiceView
	// Line is the note that it is of, None what that becomes where none is meant.
	Line, None string
}

type choiceView struct{ Label, Line string }

const (
	mostSuspects  = 8
	mostProposals = 3
)

// sayWord begins a note that holds sentences of a complaint. What each question
// about them was answered follows, by the number of the choice: 0 means that none
// is meant, and nothing that it is open.
const sayWord = "say~"

// mendedWord begins a line among the notes that says what was done in vain about
// the cause that stood out there.
const mendedWord = "mended~"

// notesOf reads what one note of an address says; before is what was noted already.
func (d *Desk) notesOf(c *circuit.Circuit, line string, before ...visit.Note) ([]visit.Note, *Heard, error) {
	words, ok := strings.CutPrefix(line, sayWord)
	if !ok {
		n, err := visit.ParseLine(line)
		return []visit.Note{n}, nil, err
	}
	words, picks := cut2(words)
	h := d.lib.hear(c, words, before...)
	if h.Problem != "" && len(h.Questions) == 0 {
		return nil, &h, errors.New(h.Problem)
	}
	notes, asked := slices.Clone(h.Notes), len(h.Questions) > 0
	for i, q := range h.Questions {
		if i >= len(picks) || picks[i] == "" {
			asked = false
			continue
		}
		if k, err := strconv.Atoi(picks[i]); err == nil && k > 0 && k <= len(q.Choices) {
			notes = append(notes, q.Choices[k-1].Notes...)
		}
	}
	if asked {
		notes = visit.Quiet(c, notes)
	}
	return notes, &h, nil
}

// cut2 parts a note's words from the answers to what was asked about them.
func cut2(s string) (words string, picks []string) {
	all := strings.Split(s, "~")
	return all[0], all[1:]
}

// questions are those about a line's words that are open.
func questions(line string, h *Heard) []questionView {
	words, picks := cut2(strings.TrimPrefix(line, sayWord))
	picks = append(picks, make([]string, max(0, len(h.Questions)-len(picks)))...)
	var out []questionView
	for i, q := range h.Questions {
		if picks[i] != "" {
			continue
		}
		answered := func(k int) string {
			with := slices.Clone(picks)
			with[i] = strconv.Itoa(k)
			return sayWord + words + "~" + strings.Join(with, "~")
		}
		v := questionView{Words: q.Words, Line: line, None: answered(0)}
		for k, c := range q.Choices {
			v.Choices = append(v.Choices, choiceView{c.Label, answered(k + 1)})
		}
		out = append(out, v)
	}
	return out
}

// without lists what is left of notes without one of them.
func without(c *circuit.Circuit, notes []visit.Note, at int) []string {
	left := slices.Delete(slices.Clone(notes), at, at+1)
	if notes[at].Quiet == "" {
		left = visit.Quiet(c, slices.DeleteFunc(left, func(n visit.Note) bool { return n.Quiet != "" }))
	}
	return linesOf(left)
}

// Refusal is something that a person said which cannot be noted: it leaves no
// trace in the state, and is to be said anew.
type Refusal struct{ error }

// refuse reports what was newly noted and makes no sense on the machine.
func (d *Desk) refuse(before, after State) error {
	for _, list := range [][2][]string{{before.Notes, after.Notes}, {before.After, after.After}} {
		for _, line := range list[1] {
			if slices.Contains(list[0], line) || strings.HasPrefix(line, mendedWord) {
				continue
			}
			notes, _, err := d.notesOf(d.machine.c, line)
			for i := 0; i < len(notes) && err == nil; i++ {
				if err = notes[i].Check(d.machine.c); notes[i].Mode == byHand {
					err = nil // it is of the state, and checked there
				}
			}
			if err != nil {
				return Refusal{err}
			}
		}
	}
	return nil
}

// weigh takes a visit up from a state, as far as the card of its next test. What would
// take as long once more is told with it: of several wirings, of a repair.
func (b *bench) weigh(ctx context.Context, desk *Desk, s State, file string) (*visitView, error) {
	u, err := b.upTo(ctx, desk, s.Notes)
	if err != nil {
		return nil, err
	}
	rec := u.job.Record
	defer func() { // without what is concluded from here on
		u.job.Record = rec
		desk.shelf.put(u)
	}()
	v, j := &visitView{Heard: u.heard, Wrong: slices.Clone(u.wrong)}, u.job
	j.Date, j.Complaint = day(s.Date), s.Complaint
	own := j // of this wiring alone: a file names one
	family, err := b.among(ctx, desk.lib, s, j)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		v.Wrong = append(v.Wrong, err.Error())
	}
	if err == nil && family != nil {
		b.wirings(s, family, v)
		if v.Rather == nil {
			j = family
		}
		if len(s.Notes) == 0 {
			v.shades = report.Doubts(family)
			return v, nil
		}
	}
	if v.Suspects, _, err = report.Unsized(j, mostSuspects); err != nil {
		return nil, err
	}
	if err := b.known(j, u.from, v); err != nil {
		return nil, err
	}
	step, err := j.Next(ctx, mostProposals)
	if err != nil {
		return nil, err
	}
	v.First, v.Misfit = j.Engine.First(), b.Misfit(j.Engine)
	v.Stand = report.SearchWords(b.c, step)
	var why visit.Search
	if why, v.Unsaid = j.Asks(); v.Unsaid {
		v.Ends = endOf(why)
	}
	for i := range step.Tests {
		t, err := b.NextTest(j.Engine, &step.Tests[i])
		if err != nil {
			return nil, err
		}
		p, err := b.propose(j.Engine, t, step.Tests[i].Test, step.Tests[i].Along...)
		if err != nil {
			return nil, err
		}
		v.Next = append(v.Next, p)
	}
	if !v.Unsaid && (step.Search != visit.Searching || step.Finding.Close || s.Done != "") { // else it is too early to mend anything
		mend := step.Finding.ToMend()
		v.Cause = report.FindingWords(b.c, mend)
		if id, err := b.c.FindPart(mend.Part); err == nil {
			v.Part, v.Place = b.c.Part(id).Label, b.c.Part(id).Place
		}
	}
	if s.Done != "" && v.Cause != "" {
		if err := j.Conclude(step.Finding, s.Done, desk.lib.repaired(b.c, s.Done)...); err != nil {
			return nil, err
		}
		if v.Proof, err = b.prove(ctx, j, s.After); err != nil {
			return nil, err
		}
	}
	v.shades = report.Shades(j.Among())
	if family != nil || s.Done != "" {
		v.told, err = b.tell(ctx, j, own.Record, desk.lib, file)
	}
	return v, err
}

// endOf is what ends that tests are held up.
func endOf(why visit.Search) *ending {
	for _, t := range suspect.Tales() {
		if t.What == report.Ends(why) {
			return &ending{circuit.UpperFirst(t.Words), visit.Note{Told: t.What}.Line()}
		}
	}
	return nil
}

// origin is the line that a note is from, and what is left of it without the note.
type origin struct {
	line    string
	instead []string
}

// take puts the notes of more lines to a visit.
func (b *bench) take(ctx context.Context, desk *Desk, u *underWay, lines []string) error {
	j := u.job
	for _, line := range lines {
		var notes []visit.Note
		var h *Heard
		var err error
		if done, is := strings.CutPrefix(line, mendedWord); is {
			if err = j.Conclude(j.Engine.Finding(), done, desk.lib.repaired(b.c, done)...); err == nil {
				err = j.GoOn(ctx)
			}
		} else if notes, h, err = desk.notesOf(b.c, line, j.Notes...); err == nil {
			for i := range notes {
				notes[i].Step = stepAfter(j, notes[i])
			}
			err = j.Add(ctx, notes...)
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		u.lines = append(u.lines, line)
		if err != nil {
			u.wrong = append(u.wrong, err.Error())
			continue
		}
		if h != nil {
			u.heard.Questions = append(u.heard.Questions, questions(line, h)...)
			if words, picks := cut2(strings.TrimPrefix(line, sayWord)); len(picks) == 0 && len(h.Unknown) > 0 {
				u.heard.Anew = append(u.heard.Anew, saidView{words, line, h.Perhaps, h.Slips})
			}
			u.heard.Unknown, u.heard.Mended = append(u.heard.Unknown, h.Unknown...), append(u.heard.Mended, h.Mended...)
		}
		for i := range notes {
			o := origin{line: line}
			if h != nil {
				o.instead = without(b.c, notes, i)
			}
			u.from = append(u.from, o)
		}
	}
	return nil
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
func (b *bench) known(j *visit.Job, from []origin, v *visitView) error {
	at, repairs := 0, 0
	v.Gist = b.Gist(j.Engine.Evidence())
	for i, n := range j.Notes {
		for ; repairs < len(j.Mended) && j.Mended[repairs].Step < n.Step; repairs++ {
			m := j.Mended[repairs]
			v.Known = append(v.Known, known{Text: report.NotMended(m), Note: mendedWord + m.Done})
		}
		k := known{Note: from[i].line, Instead: from[i].instead, Skipped: !n.Made()}
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

// stateOf is the state that a visit's record leads to.
func stateOf(r visit.Record) State {
	s := State{Complaint: r.Complaint, Date: day(r.Date)}
	repairs := r.Mended
	for _, n := range r.Notes {
		for len(repairs) > 0 && repairs[0].Step < n.Step {
			s.Notes, repairs = append(s.Notes, mendedWord+repairs[0].Done), repairs[1:]
		}
		s.Notes = append(s.Notes, n.Line())
	}
	for _, m := range repairs {
		s.Notes = append(s.Notes, mendedWord+m.Done)
	}
	if r.Repair != nil {
		s.Done = r.Repair.Done
	}
	for _, n := range r.After {
		s.After = append(s.After, n.Line())
	}
	return s
}

// day keeps a date, and nothing else that an address may hold in its place.
func day(s string) string {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return ""
	}
	return s
}
