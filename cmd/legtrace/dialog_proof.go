package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists/visits"
)

// isSave reports whether an error is about the file, not about an answer.
func isSave(err error) bool { return errors.Is(err, visits.ErrChanged) }

// repair names the cause and asks what was done about it.
func (d *dialog) repair(ctx context.Context, f suspect.Finding, more bool) error {
	d.blank()
	switch {
	case f.Sound:
		d.say(0, fmt.Sprintf("Nothing is found wrong (%.0f %%): what was seen is what a sound machine does.", 100*f.P))
	case f.Sure:
		d.say(0, fmt.Sprintf("Sure enough (%.0f %%): %s.", 100*f.P, f.Words()))
	case more:
		d.say(0, fmt.Sprintf("Likely enough (%.0f %%), and the next test would tell little: %s.", 100*f.P, f.Words()))
	default:
		d.say(0, fmt.Sprintf("No listed test tells more. What is left (%.0f %%): %s.", 100*f.P, f.Words()))
	}
	d.places(f)
	d.say(0, `What was done about it? Say it in words, as in "element replaced". Also: suspects, undo, quit`+map[bool]string{true: ", more (goes on testing)"}[more]+".")
	for {
		line, err := d.ask(ctx, "repair")
		if err != nil {
			return err
		}
		word := strings.ToLower(line)
		if isQuit(word) {
			return errQuit
		}
		switch word {
		case "":
		case "help", "h":
			d.help()
		case "suspects", "why":
			d.ranking()
		case "undo":
			return d.undo(ctx)
		case "more":
			if !more {
				d.say(2, "No listed test tells more.")
				continue
			}
			d.goOn = true
			return nil
		default:
			if f.Sound {
				d.say(2, "There is no cause to repair.")
				continue
			}
			if !inWords(line) {
				d.say(2, fmt.Sprintf(`%q: say in words what was done, as in "element replaced"`, line))
				continue
			}
			d.job.Repair = &visits.Repair{Done: line}
			return d.job.Conclude(f)
		}
	}
}

// inWords keeps an answer meant for a test from being taken for a repair.
func inWords(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) }) > 2 || len(strings.Fields(s)) > 1 || len([]rune(s)) > 5 && unicode.IsLetter([]rune(s)[0])
}

// places says where the named parts are.
func (d *dialog) places(f suspect.Finding) {
	seen := map[string]bool{}
	for _, s := range f.Any {
		for _, k := range s.Causes {
			for _, m := range k.Members {
				b := d.m.Circuit.Branch(m.Faults[0].Branch)
				text := ""
				if b.Wire != circuit.None {
					text = d.m.Circuit.Label(b.ID) + ": " + d.m.Circuit.DescribeWire(b.Wire)
				} else if p := d.m.Circuit.Part(b.Part); p.Place != "" {
					text = p.Label + ": " + p.Place
				}
				if text != "" && !seen[text] && len(seen) < 8 {
					seen[text] = true
					d.say(2, text)
				}
			}
		}
	}
}

// proof makes the checks that show the repair holds.
func (d *dialog) proof(ctx context.Context) error {
	proof, err := d.job.Proof(ctx)
	if err != nil {
		return err
	}
	d.blank()
	d.say(0, fmt.Sprintf("Repair: %s. Now prove it, by %s.", strings.TrimSuffix(d.job.Repair.Done, "."), checksWord(len(proof.Checks))))
	done := 0
	for _, n := range d.job.After {
		done = max(done, n.Step)
	}
	for i := done; i < len(proof.Checks); i++ {
		if err := d.check(ctx, i+1, &proof.Checks[i]); err != nil {
			return err
		}
	}
	return d.proved(ctx, proof)
}

func checksWord(n int) string {
	if n == 1 {
		return "one check"
	}
	return fmt.Sprintf("%d checks", n)
}

// check asks for one check of a proof.
func (d *dialog) check(ctx context.Context, step int, c *suspect.Check) error {
	p := suspect.Proposal{Test: c.Test, Loads: c.Loads}
	n, err := d.m.NextTest(d.job.Engine, &p)
	if err != nil {
		return err
	}
	var loads []circuit.BranchID
	if c.Trial {
		n.Loads = nil
		for i, id := range c.Loads {
			if i < len(c.States) && c.States[i].On() {
				loads = append(loads, id)
			}
		}
	}
	d.blank()
	d.say(0, fmt.Sprintf("Check %d: %s", step, n.Text))
	if c.Trial {
		d.field("look", d.loadList(loads)+` ("ok", or a letter for each: n w d m o ?)`)
	} else {
		d.field("where", n.Where)
		d.field("good", n.Good)
	}
	for {
		prompt := n.Function
		if c.Trial {
			prompt = n.Mode.Name
		}
		line, err := d.ask(ctx, prompt)
		if err != nil {
			return err
		}
		notes, err := d.checked(c, loads, line)
		switch {
		case errors.Is(err, errQuit):
			return err
		case err != nil:
			d.say(2, err.Error())
			continue
		case len(notes) == 0:
			continue
		}
		for i := range notes {
			notes[i].Step = step
		}
		if err := d.job.AddAfter(notes...); err != nil {
			return err
		}
		return d.judge(notes, c)
	}
}

func (d *dialog) checked(c *suspect.Check, loads []circuit.BranchID, line string) ([]visits.Note, error) {
	note := visits.Note{Mode: d.m.Circuit.Mode(c.Mode).Name}
	if !c.Trial {
		note = visits.NoteOf(suspect.NoteOf(d.m.Circuit, c.Test, ""))
	}
	word := strings.ToLower(line)
	if isQuit(word) {
		return nil, errQuit
	}
	switch word {
	case "":
		return nil, nil
	case "skip":
		note.Skipped = true
		return []visits.Note{note}, nil
	case "help", "h":
		d.help()
		return nil, nil
	}
	if c.Trial {
		notes, err := d.seen(c.Mode, loads, line)
		if err == nil && len(notes) > 0 && !notes[0].Trips && !notes[0].Chatters && len(notes) < len(loads) {
			return nil, fmt.Errorf("%q: a letter for each of %s", line, d.loadList(loads))
		}
		return notes, err
	}
	note.Answer = line
	return []visits.Note{note}, note.Check(d.m.Circuit)
}

// judge says whether a check came out as a sound machine has it.
func (d *dialog) judge(notes []visits.Note, c *suspect.Check) error {
	bad := false
	for _, n := range notes {
		if !n.Made() {
			d.say(2, "Left out.")
			return nil
		}
		ev, err := visits.Evidence(d.m.Circuit, n.Seen())
		if err != nil {
			return err
		}
		_, wrong, err := d.m.Against(d.job.Engine, ev)
		if err != nil {
			return err
		}
		if wrong {
			bad = true
			d.say(2, "Not as it should be: "+d.m.Seen(ev)+".")
		}
	}
	if !bad {
		d.say(2, "Good.")
		return nil
	}
	var points []string
	for _, s := range c.Shows {
		points = append(points, s.Label)
	}
	if len(points) > 0 {
		d.say(2, "It would point to "+strings.Join(points, ", ")+".")
	}
	return nil
}

// proved sums a proof up.
func (d *dialog) proved(ctx context.Context, proof *suspect.Proof) error {
	d.blank()
	good, out := true, 0
	for _, n := range d.job.After {
		if !n.Made() {
			out++
			continue
		}
		ev, err := visits.Evidence(d.m.Circuit, n.Seen())
		if err != nil {
			return err
		}
		_, bad, err := d.m.Against(d.job.Engine, ev)
		if err != nil {
			return err
		}
		good = good && !bad
	}
	switch {
	case !good:
		d.say(0, "The repair is not proved: something is still wrong. By what was seen since, it may be")
		e, err := d.job.Afresh(ctx)
		if err != nil {
			return err
		}
		for _, s := range e.Suspects(4) {
			d.term(2, fmt.Sprintf("%3.0f %%", 100*s.P), s.Words())
		}
		d.say(0, "Begin another visit with it.")
	case out > 0:
		d.say(0, fmt.Sprintf("Good as far as it was checked; %d left out.", out))
	default:
		d.say(0, "Proved: all is as it should be.")
	}
	if len(proof.Unproved) > 0 {
		var names []string
		for i, u := range proof.Unproved {
			if i == 4 {
				names = append(names, fmt.Sprintf("and %d more", len(proof.Unproved)-i))
				break
			}
			names = append(names, u.Label)
		}
		d.say(0, "Not shown by any check, should it be there as well: "+strings.Join(names, ", ")+".")
	}
	return errDone
}
