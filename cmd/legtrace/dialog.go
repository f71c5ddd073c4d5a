package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists/complaints"
	"legtrace/netlists/visits"
	"legtrace/render/report"
)

// dialog leads through one visit. Its stages are the complaint, the tests, the
// repair and the proof; each goes on from what the file holds.
type dialog struct {
	talk
	file  *visits.File
	job   *visit.Job
	m     *machine
	goOn  bool // the technician wants more tests than it takes
	about *suspect.Proposal
	// phrases are those of another language by the English ones, nil for English;
	// inEnglish says that English was asked for.
	phrases   map[string]string
	inEnglish bool
	// translator is of the machine that was spoken of last.
	translator *translator
	spoken     *circuit.Circuit
	hears      complaints.Listeners // once something was said
	// now, if set, is asked how long each answer took; last is when the one before
	// was given.
	now  func() time.Time
	last time.Time
}

func newDialog(t *terminal, in io.Reader, file *visits.File, job *visit.Job, m *machine) *dialog {
	return &dialog{talk: newTalk(t, in, file.Path), file: file, job: job, m: m}
}

// Ends of a dialog that are no mistakes.
var (
	errQuit = errors.New("quit")
	errDone = errors.New("done")
)

// left reports whether a conversation was ended by whoever answers.
func left(err error) bool { return errors.Is(err, errQuit) || errors.Is(err, io.EOF) }

// stopped is a conversation that an interrupt ended.
type stopped struct{ command, file string }

func (s stopped) Error() string {
	return fmt.Sprintf("interrupted; every answer is in %s, and legtrace %s %s goes on", s.file, s.command, s.file)
}

func (d *dialog) run(ctx context.Context, complaint string) error {
	d.open()
	d.keepBy(ctx)
	err := d.stages(ctx, complaint)
	switch {
	case errors.Is(err, errDone):
		d.say(0, d.phrase("Written down in %s. legtrace report %s prints it.", d.file.Path(), d.file.Path()))
		return nil
	case errors.Is(err, errQuit), errors.Is(err, io.EOF):
		d.say(0, d.phrase("Every answer is in %s; legtrace visit %s goes on.", d.file.Path(), d.file.Path()))
		return nil
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		return stopped{"visit", d.file.Path()}
	}
	return err
}

func (d *dialog) open() {
	title := d.m.Circuit.Title()
	if all := d.job.Candidates(); all != nil {
		title = d.phrase("one of %d machines, the wiring not known; the likeliest is %s (%s)", len(all), title, report.Chance(d.job.Chance()))
	}
	d.say(0, d.phrase("Visit to: %s", title))
	d.say(0, d.phrase("Kept in %s", d.file.Path()))
	d.blank()
	d.say(0, d.phrase("Caution"))
	for _, s := range report.Cautions() {
		d.say(2, d.phrase(s))
	}
	if len(d.job.Notes) > 0 {
		d.blank()
		d.say(0, d.phrase("So far"))
		for i, ev := range d.job.Engine.Evidence() {
			d.term(2, fmt.Sprint(i+1), d.m.Seen(ev))
		}
		for _, m := range d.job.Mended {
			d.say(2, report.NotMended(m))
		}
	}
	d.blank()
	d.say(0, d.phrase(`"help" says what can be answered.`))
}

func (d *dialog) stages(ctx context.Context, complaint string) error {
	if err := d.outside(ctx); err != nil {
		return err
	}
	if err := d.complaint(ctx, complaint); err != nil {
		return err
	}
	for {
		if err := d.outside(ctx); err != nil {
			return err
		}
		if d.job.Repair != nil {
			if err := d.proof(ctx); err != nil {
				return err
			}
			continue
		}
		step, err := d.job.Next(ctx, 1)
		if err != nil {
			return err
		}
		if len(step.Tests) == 0 {
			d.goOn = false
		}
		if _, asks := d.job.Asks(); asks {
			if err := d.complaint(ctx, ""); err != nil {
				return err
			}
			continue
		}
		if step.Search != visit.Searching && !d.goOn {
			if err := d.repair(ctx, step); err != nil {
				return err
			}
			continue
		}
		if err := d.test(ctx, &step.Tests[0]); err != nil {
			return err
		}
	}
}

// complaint asks until something is known.
func (d *dialog) complaint(ctx context.Context, given string) error {
	for {
		if given != "" {
			err := d.takeComplaint(ctx, given)
			if err == nil || ctx.Err() != nil || errors.Is(err, visits.ErrChanged) || left(err) {
				return err
			}
			d.say(2, err.Error())
		}
		why, asks := d.job.Asks()
		if len(d.job.Engine.Evidence()) > 0 && !asks {
			return nil
		}
		d.blank()
		if asks {
			d.dangers()
			d.say(0, d.phrase(report.Asks(why)))
		}
		d.say(0, d.phrase(`What does it do, since when, what happened before, what have you tried? Say it in your own words, as much as you know, or as "LOAD STATE in MODE": "broil element dead in broil"; several apart by ";". "legtrace help complaint" lists what can be said. An empty line asks these one by one.`))
		line, err := d.ask(ctx, "complaint")
		if err != nil {
			return err
		}
		switch word := d.word(line); {
		case isQuit(word):
			return errQuit
		case word == "help":
			d.help()
			given = ""
			continue
		case word == "skip":
			d.job.Anyway = true
			return nil
		case word == "":
			d.job.Anyway = true
			return d.oneByOne(ctx)
		}
		given = line
	}
}

// nought are answers to the parts of the first question after its first that tell nothing.
var nought = []string{"nothing", "none", "no", "nope", "-", "?", "don't know", "dont know", "no idea", "not sure"}

// oneByOne asks the parts of the first question, each of which an empty line skips.
func (d *dialog) oneByOne(ctx context.Context) error {
	for i, part := range []struct{ asks, prompt string }{
		{d.phrase("What does it do, or not do?"), d.phrase("does")}, {d.phrase("Since when?"), d.phrase("since")},
		{d.phrase("What happened before?"), d.phrase("before")}, {d.phrase("What have you tried?"), d.phrase("tried")},
	} {
		d.say(0, part.asks+" "+d.phrase("An empty line skips it."))
		for {
			line, err := d.ask(ctx, part.prompt)
			if err != nil {
				return err
			}
			switch word := d.word(line); {
			case isQuit(word):
				return errQuit
			case word == "help":
				d.help()
				continue
			case word == "" || word == "skip" || i > 0 && slices.Contains(nought, word):
			default:
				if err := d.takeComplaint(ctx, line); err != nil {
					if ctx.Err() != nil || isSave(err) || left(err) {
						return err
					}
					if part.prompt == d.phrase("since") { // "3 weeks": kept as it was said
						if err := d.job.Add(ctx, visit.Note{Told: "since", Answer: line}); err != nil {
							return err
						}
						break
					}
					d.say(2, err.Error())
					continue
				}
			}
			break
		}
	}
	return nil
}

// takeComplaint keeps the words whatever they are, then weighs them.
func (d *dialog) takeComplaint(ctx context.Context, said string) error {
	if d.job.Complaint == "" {
		d.job.Complaint = said
	} else if !strings.Contains(d.job.Complaint, said) {
		d.job.Complaint += "; " + said
	}
	if err := d.job.Keep(); err != nil {
		return err
	}
	notes, heard, in, err := d.listeners().Complaint(said, d.job.Notes...)
	var unclear *complaints.Unclear
	if err != nil && !errors.As(err, &unclear) {
		return err
	}
	if d.phrases == nil && in.Name == complaints.Spanish().Name && len(heard.Statements)+len(heard.Questions) > 0 && !d.inEnglish {
		d.phrases = spanish() // as the customer speaks
	}
	for _, s := range heard.Statements {
		d.say(2, d.phrase("Understood: %s.", in.Tell(d.m.Circuit, s)))
	}
	unknown, other, leave := heard.Unknown, "", error(nil)
	if unclear != nil {
		var meant []int
		if meant, other, leave = d.which(ctx, unclear); ctx.Err() != nil {
			return leave
		}
		for i, k := range meant {
			if k >= 0 {
				for _, s := range unclear.Heard.Questions[i].Choices[k].Statements {
					d.say(2, d.phrase("Understood: %s.", in.Tell(d.m.Circuit, s)))
				}
			}
		}
		var open []string
		notes, open, err = unclear.Answered(d.m.Circuit, meant)
		switch {
		case err != nil && (leave != nil || other == ""):
			return cmp.Or(leave, err)
		case err == nil:
			unknown = open
		}
	}
	if len(unknown) > 0 {
		d.say(2, d.phrase("Not understood: %s. Say it again in other words if it matters.", strings.Join(unknown, " ")))
	}
	if heard.Perhaps != "" {
		d.say(2, d.phrase("Is it meant that %q?", heard.Perhaps))
	}
	if len(notes) > 0 || other == "" {
		leave = cmp.Or(d.learn(ctx, notes...), leave)
	}
	if leave != nil || other == "" {
		return leave
	}
	return d.takeComplaint(ctx, other)
}

// which asks what of a sentence may mean several things, and gives what is meant by each:
// below zero where it is left open or said in other words, which are read next. What was
// understood is not lost by an end of the answers.
func (d *dialog) which(ctx context.Context, u *complaints.Unclear) (meant []int, other string, err error) {
	for _, q := range u.Heard.Questions {
		at := complaints.LeftOpen
		switch {
		case other != "":
			at = complaints.Dropped
		case len(q.Choices) > 0 && err == nil:
			d.say(2, d.phrase("%q could be:", q.Words))
			for i, c := range q.Choices {
				d.term(4, fmt.Sprint(i+1), c.Label)
			}
			var line string
			line, err = d.ask(ctx, d.phrase("which, or skip"))
			switch word := strings.ToLower(strings.TrimSpace(line)); {
			case err != nil, word == "skip", word == "":
			case isQuit(word):
				err = errQuit
			default:
				if at = q.Choose(word); at < 0 {
					at, other = complaints.Dropped, line
				}
			}
		}
		meant = append(meant, at)
	}
	return meant, other, err
}

// listeners know what is said of the machine that leads.
func (d *dialog) listeners() complaints.Listeners {
	if d.hears == nil {
		d.hears = complaints.ListenTo(d.m.Circuit)
	}
	return d.hears
}

// learn writes notes down, weighs them, and says what they did.
func (d *dialog) learn(ctx context.Context, notes ...visit.Note) error {
	if d.now != nil && len(notes) > 0 {
		now := d.now()
		if !d.last.IsZero() {
			notes[0].Minutes = max(0, math.Round(10*now.Sub(d.last).Minutes())/10)
		}
		d.last = now
	}
	before := d.job.Suspects(looked)
	if err := d.job.Add(ctx, notes...); err != nil {
		return err
	}
	d.follow()
	d.explain(before)
	return nil
}

// test proposes a test and takes its answer.
func (d *dialog) test(ctx context.Context, p *suspect.Proposal) error {
	n, err := d.m.NextTest(d.job.Engine, p)
	if err != nil {
		return err
	}
	d.about = p
	d.propose(n)
	if p.Trial {
		return d.trial(ctx, p, n)
	}
	for {
		line, err := d.ask(ctx, n.Function+n.Ask)
		if err != nil {
			return err
		}
		switch did, err := d.command(ctx, line, p, &n); {
		case err != nil || did == moved:
			return err
		case did == said || line == "":
			continue
		}
		notes, err := visit.Answers(d.m.Circuit, p, d.answerTo(&n, line))
		if err != nil {
			d.say(2, err.Error())
			continue
		}
		return d.learn(ctx, notes...)
	}
}

// trial asks what each load that matters does.
func (d *dialog) trial(ctx context.Context, p *suspect.Proposal, n report.NextTest) error {
	loads, of := d.job.Engine.Look(p), d.job.Circuit
	step := d.job.NextStep()
	for len(loads) > 0 {
		line, err := d.ask(ctx, n.Mode.Name)
		if err != nil {
			return err
		}
		switch did, err := d.command(ctx, line, p, &n); {
		case err != nil || did == moved:
			return err
		case did == said:
			continue
		}
		notes, err := visit.Trial(d.job.Engine, p.Mode, loads, line)
		if err != nil {
			d.say(2, err.Error())
			continue
		}
		if len(notes) == 0 {
			continue
		}
		for i := range notes {
			notes[i].Step = step
		}
		if err := d.learn(ctx, notes...); err != nil {
			return err
		}
		if notes[0].Load == "" || d.job.Circuit != of {
			return nil
		}
		if loads = loads[len(notes):]; len(loads) > 0 {
			d.say(2, d.phrase("And %s?", visit.Labels(d.m.Circuit, loads)))
		}
	}
	return nil
}
