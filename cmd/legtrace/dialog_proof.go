package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists/visits"
	"legtrace/render/report"
)

// isSave reports whether an error is about the file, not about an answer.
func isSave(err error) bool { return errors.Is(err, visits.ErrChanged) }

// repair names the cause and asks what was done about it.
func (d *dialog) repair(ctx context.Context, step visit.Step) error {
	f, more := step.Finding, len(step.Tests) > 0
	d.blank()
	d.say(0, report.SearchWords(d.m.Circuit, step))
	d.places(f)
	if d.job.Candidates() != nil {
		d.say(0, d.phrase("Taken for: %s (%s).", d.m.Circuit.Title(), report.Chance(d.job.Chance())))
	}
	d.say(0, d.phrase(`What was done about it? Say it in words, as in "element replaced". Also: suspects, undo, quit%s.`, map[bool]string{true: d.phrase(", more (goes on testing)")}[more]))
	first := "" // what was done, where that is not what was named
	for {
		line, err := d.ask(ctx, "repair")
		if err != nil {
			return err
		}
		word := strings.ToLower(line)
		if isQuit(word) {
			return errQuit
		}
		if word == "only" && first != "" {
			return d.job.Conclude(f, first, d.repaired(first)...)
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
				d.say(2, d.phrase("No listed test tells more."))
				continue
			}
			d.goOn = true
			return nil
		default:
			if len(f.ToMend().Any) == 0 {
				d.say(2, d.phrase("There is no cause to repair."))
				continue
			}
			if !inWords(line) {
				d.say(2, d.phrase(`%q: say in words what was done, as in "element replaced"`, line))
				continue
			}
			if first != "" {
				line = first + ", " + line
			}
			parts := d.repaired(line)
			switch astray, err := d.job.Astray(f, parts); {
			case err != nil:
				return err
			case astray:
				first = line
				d.say(2, d.phrase("%s: that is not what was named (%s). Was that mended too? Say what else was done, or \"only\" if that was all.", report.PartsWords(d.m.Circuit, parts), f.ToMend().Words()))
				continue
			}
			return d.job.Conclude(f, line, parts...)
		}
	}
}

// repaired are the parts that words of what was done may mean.
func (d *dialog) repaired(words string) []circuit.PartID { return d.listeners().Repaired(words) }

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
				for i, f := range m.Faults {
					if text := d.place(f.Branch); text != "" && (i == 0 || f.Kind == circuit.Moved) && !seen[text] && len(seen) < 8 {
						seen[text] = true
						d.say(2, text)
					}
				}
			}
		}
	}
}

// place says where a wire runs, or a part is.
func (d *dialog) place(id circuit.BranchID) string {
	c, b := d.m.Circuit, d.m.Circuit.Branch(id)
	if b.Wire != circuit.None {
		return c.Label(id) + ": " + c.DescribeWire(b.Wire)
	}
	if p := c.Part(b.Part); p.Place != "" {
		return p.Label + ": " + p.Place
	}
	return ""
}

// proof makes the checks that show the repair holds. It returns errDone where
// it does; where it does not, the search goes on.
func (d *dialog) proof(ctx context.Context) error {
	proof, err := d.job.Proof(ctx)
	if err != nil {
		return err
	}
	d.blank()
	d.say(0, d.phrase("Repair: %s. Now prove it, by %s.", strings.TrimSuffix(d.job.Repair.Done, "."), checksWord(len(proof.Checks))))
	if before := report.BeforePower(proof); len(before) > 0 && len(d.job.After) == 0 {
		d.say(0, d.phrase("Before power is put on:"))
		for _, s := range before {
			d.term(2, "-", s)
		}
	}
	for i := range proof.Checks {
		if proof.Checks[i].Made {
			continue
		}
		if proof.Bad { // the search tells better what to try next
			break
		}
		if err := d.check(ctx, proof, i); err != nil {
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
func (d *dialog) check(ctx context.Context, proof *visit.Proof, at int) error {
	c, step := &proof.Checks[at], at+1
	n, err := d.m.CheckTest(d.job.Engine, c)
	if err != nil {
		return err
	}
	d.blank()
	d.say(0, d.phrase("Check %d: %s", step, n.Text))
	d.field(d.phrase("set"), n.Set)
	if c.Trial {
		d.field(d.phrase("look"), d.phrase(`%s ("ok", or a letter for each: n w d m o h ?)`, visit.Labels(d.m.Circuit, c.Look)))
	} else {
		d.field(d.phrase("where"), n.Where)
		d.field(d.phrase("good"), n.Good)
	}
	d.besides(&n)
	for {
		prompt := n.Function
		if c.Trial {
			prompt = n.Mode.Name
		}
		line, err := d.ask(ctx, prompt)
		if err != nil {
			return err
		}
		notes, err := d.checked(c, line)
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
		if err := proof.Judge(); err != nil {
			return err
		}
		d.judged(&proof.Checks[at])
		return nil
	}
}

func (d *dialog) checked(c *visit.Check, line string) ([]visit.Note, error) {
	note := visit.About(d.m.Circuit, c.Test)
	word := strings.ToLower(line)
	if isQuit(word) {
		return nil, errQuit
	}
	switch word {
	case "":
		return nil, nil
	case "skip":
		note.Skipped = true
		return []visit.Note{note}, nil
	case "help", "h":
		d.help()
		return nil, nil
	}
	if c.Trial {
		notes, err := visit.Trial(d.job.Engine, c.Mode, c.Look, line)
		if err == nil && len(notes) > 0 && notes[0].Load != "" && len(notes) < len(c.Look) {
			return nil, fmt.Errorf("%q: a letter for each of %s", line, visit.Labels(d.m.Circuit, c.Look))
		}
		return notes, err
	}
	note.Answer = line
	return []visit.Note{note}, note.Check(d.m.Circuit)
}

// judged says what the answer to a check comes to.
func (d *dialog) judged(c *visit.Check) {
	switch {
	case c.Bad:
		for _, a := range c.Answers {
			if a.Bad {
				d.say(2, d.phrase("Not as it should be: %s.", d.m.Seen(*a.Evidence)))
			}
		}
		if s := report.PointsTo(c); s != "" {
			d.say(2, s)
		}
	case c.Skipped:
		d.say(2, d.phrase("Left out."))
	default:
		d.say(2, d.phrase("Good."))
	}
}

// proved sums a proof up.
func (d *dialog) proved(ctx context.Context, proof *visit.Proof) error {
	d.blank()
	d.say(0, report.ProofWords(proof))
	if proof.Bad {
		if err := d.job.GoOn(ctx); err != nil {
			return err
		}
		d.goOn = false
		d.ranking()
		d.say(0, d.phrase("What was read before the repair still counts. The search goes on."))
		return nil
	}
	if s := report.Unproved(proof); s != "" {
		d.say(0, s)
	}
	return errDone
}
