package main

import (
	"context"
	"strings"

	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// outside asks what can be seen of a machine of unknown wiring, as long as that
// tells more than little of it.
func (d *dialog) outside(ctx context.Context) error {
	for {
		all := d.job.Questions()
		if len(all) == 0 || d.job.Repair != nil {
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
