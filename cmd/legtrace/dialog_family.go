package main

import (
	"context"
	"slices"
	"strings"

	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// mostOutside is how many questions are asked of a machine's outside: more weary whoever
// stands before it, and tests tell the wirings apart as well.
const mostOutside = 4

// outside asks what can be seen of a machine of unknown wiring, as long as that
// tells more than little of it. What is wrong may be said in place of an answer.
func (d *dialog) outside(ctx context.Context) error {
	for {
		all := d.job.Questions()
		if len(all) == 0 || d.job.Repair != nil || len(d.job.Outside) >= mostOutside {
			return nil
		}
		q := all[0]
		d.blank()
		d.say(0, d.phrase("From outside: %s", d.phrase(q.Text)))
		d.field(d.phrase("say"), strings.Join(q.Answers, ", ")+d.phrase(`, or "?" where nobody knows`))
		line, err := d.ask(ctx, q.Key)
		if err != nil {
			return err
		}
		answer := strings.ToLower(line)
		switch {
		case isQuit(answer):
			return errQuit
		case answer == "undo":
			if err := d.undo(ctx); err != nil {
				return err
			}
			continue
		case answer == "":
			continue
		case answer == "help" || answer == "h":
			d.say(2, d.phrase(`Answer with one of these: %s; "?" where nobody knows; undo; quit. Or say what is wrong, in your own words: the rest is asked later.`, strings.Join(q.Answers, ", ")))
			continue
		case answer == "why":
			d.say(2, d.phrase("The wiring is not known: this tells %d likely machines apart.", d.likely()))
			continue
		case len(strings.Fields(answer)) > 1 && !slices.Contains(q.Answers, answer):
			if err := d.takeComplaint(ctx, line); err != nil {
				if isSave(err) || ctx.Err() != nil {
					return err
				}
				d.say(2, err.Error())
			}
			continue
		case answer == "?" || answer == "skip":
			answer = ""
		}
		if err := d.job.See(ctx, visit.Seen(q.Key+"="+answer)); err != nil {
			if isSave(err) || ctx.Err() != nil {
				return err
			}
			d.say(2, err.Error())
			continue
		}
		d.follow()
	}
}

// follow takes the machine that leads now, and says which that is.
func (d *dialog) follow() {
	if d.job.Circuit == d.m.Circuit {
		return
	}
	d.m, d.hears = machineFrom(d.job), nil
	d.say(2, d.phrase("Likeliest now: %s (%s).", d.m.Circuit.Title(), report.Chance(d.job.Chance())))
}

// likely counts the machines that it may be, those that hardly are left out.
func (d *dialog) likely() (n int) {
	const hardly = 0.01
	for _, c := range d.job.Candidates() {
		if c.P >= hardly {
			n++
		}
	}
	return n
}
