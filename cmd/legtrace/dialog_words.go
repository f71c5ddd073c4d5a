package main

import (
	"context"
	"fmt"
	"strings"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// looked is how many suspects are compared before and after an answer.
const looked = 200

var helpLines = []string{
	`a figure: 118, 118 V, 0.2, 1.08k, or OL for open; "floating" for stray voltage that wanders`,
	`for a trial: ok, or a letter for each load asked about: ` + visit.Letters() + `; or trips, chatters`,
	`skip: leave this test out, or this question`,
	`can't reach [PLACE]: no test at that place; without one, where this test needs most opened`,
	`not there: the machine has no such place; where its wiring is not known, that tells of it`,
	`undo: take the last answer back`,
	`why: what each outcome would mean`,
	`suspects: what is suspected now`,
	`seen: SENTENCE: something else was noticed, as in "seen: bake element normal in bake"`,
	`reading: READING: something else was measured, as in "reading: ohms broil_1 broil_2 = 17"`,
	`quit: leave; nothing is lost`,
}

func (d *dialog) help() {
	d.say(2, d.phrase("Answer with one of these:"))
	for _, s := range helpLines {
		d.term(4, "-", d.phrase(s))
	}
}

// did tells what became of a line.
type did int

const (
	answered did = iota // it is no command: an answer to the test
	said                // the same test is still to be answered
	moved               // another test is to be proposed
)

// command does what is no answer to a test.
func (d *dialog) command(ctx context.Context, line string, p *suspect.Proposal, n *report.NextTest) (did, error) {
	line = reachInEnglish(line)
	word := strings.ToLower(line)
	switch {
	case isQuit(word):
		return moved, errQuit
	case word == "help" || word == "h":
		d.help()
	case word == "why":
		d.why(n)
	case word == "suspects":
		d.ranking()
	case word == "undo":
		return moved, d.undo(ctx)
	case word == "skip":
		note := visit.About(d.m.Circuit, p.Test)
		note.Skipped = true
		return moved, d.job.Add(ctx, note)
	case strings.HasPrefix(word, "can't reach"), strings.HasPrefix(word, "cant reach"), strings.HasPrefix(word, "cannot reach"):
		return d.cannotReach(ctx, strings.TrimSpace(line[strings.Index(word, "reach")+len("reach"):]), p)
	case word == "not there":
		if err := d.job.Absent(ctx, p.Test); err != nil {
			return moved, err
		}
		d.follow()
		return moved, nil
	case strings.HasPrefix(word, "seen:"):
		return d.volunteered(ctx, d.takeComplaint, line[len("seen:"):])
	case strings.HasPrefix(word, "reading:"):
		return d.volunteered(ctx, d.takeReading, line[len("reading:"):])
	default:
		return answered, nil
	}
	return said, nil
}

func isQuit(word string) bool { return word == "quit" || word == "q" || word == "exit" }

func (d *dialog) volunteered(ctx context.Context, take func(context.Context, string) error, words string) (did, error) {
	err := take(ctx, strings.TrimSpace(words))
	if err != nil && ctx.Err() == nil && !isSave(err) && !left(err) {
		d.say(2, err.Error())
		return said, nil
	}
	return moved, err
}

func (d *dialog) takeReading(ctx context.Context, words string) error {
	if !strings.Contains(words, "=") {
		return d.takeComplaint(ctx, words) // "240 at rest and 190 with the oven on"
	}
	n, err := visit.Reading(d.m.Circuit, words, d.m.Circuit.Mode(d.about.Mode).Name)
	if err != nil {
		return err
	}
	return d.learn(ctx, n)
}

func (d *dialog) cannotReach(ctx context.Context, place string, p *suspect.Proposal) (did, error) {
	if p.Trial {
		d.say(2, d.phrase(`a trial needs no probe: "skip" leaves it out`))
		return said, nil
	}
	c := d.m.Circuit
	if place == "" {
		place = d.job.Reach(p.Test)
	}
	note := visit.About(c, p.Test)
	note.Unreachable = place
	if err := note.Check(c); err != nil {
		d.say(2, err.Error())
		return said, nil
	}
	if err := d.job.Add(ctx, note); err != nil {
		return moved, err
	}
	where := place
	if at, err := c.FindPlace(place); err == nil && c.PlaceOf(at) != "" {
		where += " (" + c.PlaceOf(at) + ")"
	}
	d.say(2, d.phrase("No test is proposed at %s any more.", where))
	return moved, nil
}

func (d *dialog) undo(ctx context.Context) error {
	taken, err := d.job.Undo(ctx)
	if err != nil {
		if isSave(err) || ctx.Err() != nil {
			return err
		}
		d.say(2, err.Error())
		return nil
	}
	d.goOn = false
	d.follow()
	if len(taken) == 0 {
		d.say(2, d.phrase("Taken back: %s.", d.phrase("what was seen from outside")))
		return nil
	}
	var said []string
	for _, n := range taken {
		if !n.Made() {
			said = append(said, d.phrase("a test left out"))
			continue
		}
		ev, err := n.Evidence(d.m.Circuit)
		if err != nil {
			return err
		}
		said = append(said, d.m.Seen(ev))
	}
	d.say(2, d.phrase("Taken back: %s.", strings.Join(said, "; ")))
	return d.complaint(ctx, "")
}

// propose says what to do next.
func (d *dialog) propose(n report.NextTest) {
	d.blank()
	how := d.phrase("supply removed, locked out, proved dead")
	switch {
	case n.Trial, n.Ask != "" && n.Live:
		how = d.phrase("no probing")
	case n.Live:
		how = d.phrase("LIVE: qualified people only, probes one hand at a time")
	}
	d.dangers()
	d.say(0, d.phrase("Next: %s", d.testText(&n)))
	if !n.Trial {
		d.field(d.phrase("where"), n.Where)
		d.field(d.phrase("how"), how)
	}
	d.field(d.phrase("set"), n.Set)
	if n.Lift != "" {
		d.field(d.phrase("lift"), d.phrase("take off wire %s first, and put it back after", n.Lift))
	}
	if n.Trial {
		var names []string
		for _, l := range n.Loads {
			names = append(names, l.Label)
		}
		d.field(d.phrase("look"), d.phrase(`%s ("ok", or a letter for each: n w d m o h ?)`, strings.Join(names, ", ")))
	} else {
		d.field(d.phrase("good"), n.Good)
	}
	for _, a := range n.Along {
		d.field(d.phrase("then"), a.Goes())
	}
	if len(n.Along) > 0 {
		d.field(d.phrase("say"), d.phrase("all of it in this order, apart by commas, or one at a time"))
	}
	d.besides(&n)
	var answers []string
	for _, a := range n.Answers {
		if d.phrases != nil {
			answers = append(answers, d.says(a.Label))
			continue
		}
		answers = append(answers, a.Ref+": "+a.Label)
	}
	d.field(d.phrase("say"), strings.Join(answers, "; "))
	d.field(d.phrase("why"), n.Why)
	if n.Beside != "" {
		d.field(d.phrase("also"), n.Beside)
	}
	if n.Stop != "" {
		d.field(d.phrase("or"), n.Stop)
	}
	d.field(d.phrase("takes"), d.phrase("about %.0f min", max(1, n.Minutes)))
}

// dangers says what comes before any test, where people are in danger.
func (d *dialog) dangers() {
	for _, words := range d.job.Engine.First() {
		d.say(0, d.phrase(words))
	}
}

// besides says what a clamp reads of what cannot be seen, and what saves a part.
func (d *dialog) besides(n *report.NextTest) {
	for _, s := range n.Unseen {
		d.field(d.phrase("unseen"), s)
	}
	for _, s := range n.Notes {
		d.field(d.phrase("mind"), s)
	}
}

func (d *dialog) why(n *report.NextTest) {
	for _, o := range n.Outcomes {
		if o.P < 0.005 {
			continue
		}
		var points []string
		for _, s := range o.Points {
			points = append(points, fmt.Sprintf("%s %.0f %%", d.says(s.Text), 100*s.P))
		}
		d.say(2, d.phrase("%s (%.0f %%): %s", o.Text, 100*o.P, strings.Join(points, ", ")))
	}
}

func (d *dialog) ranking() {
	for i, s := range d.job.Suspects(10) {
		if i > 0 && s.P < 0.005 {
			break
		}
		d.term(2, fmt.Sprintf("%3.0f %%", 100*s.P), s.Words())
	}
	d.say(2, d.phrase("Not considered: at most %.1f %%.", 100*d.job.Engine.LeftOut()))
}

// explain says what an answer did to the suspects.
func (d *dialog) explain(before []suspect.Suspect) {
	if why, asks := d.job.Asks(); asks && why == visit.Unsaid {
		return // nothing that was said points to anything
	}
	was := map[string]float64{}
	for _, s := range before {
		was[s.Words()] = s.P
	}
	now := map[string]bool{}
	after := d.job.Suspects(looked)
	for _, s := range after {
		now[s.Words()] = s.P >= 0.01
	}
	out := 0
	for _, s := range before {
		if s.P >= 0.01 && !now[s.Words()] {
			out++
		}
	}
	d.misfit()
	if out > 0 {
		d.say(2, d.phrase("Rules out %d of the likelier suspects.", out))
	}
	for i, s := range after[:min(3, len(after))] {
		if i > 0 && s.P < 0.03 {
			break
		}
		words := s.Words()
		change := ""
		if p, ok := was[words]; ok && len(d.job.Engine.Evidence()) > 1 {
			change = d.phrase(" (was %.0f %%)", 100*p)
		}
		d.term(2, fmt.Sprintf("%3.0f %%", 100*s.P), d.says(words)+change)
	}
}

func (d *dialog) misfit() {
	m := d.m.Misfit(d.job.Engine)
	if m == nil {
		return
	}
	for _, sentence := range m.Sentences(d.phrase) {
		d.say(2, sentence)
	}
	d.say(2, d.phrase("Else it is a third fault, or a netlist that does not match the machine. legtrace suspects %s tells more.", d.file.Path()))
}
