package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/netlists/visits"
)

// keepBy has the visit written after every answer; where that cannot be, nothing
// is lost as long as the person has not given up.
func (d *dialog) keepBy(ctx context.Context) {
	write := d.job.Keep
	d.job.Keep = func() error {
		for {
			err := write()
			if err == nil || errors.Is(err, visits.ErrChanged) {
				return err
			}
			if err := d.notKept(ctx, err); err != nil {
				return err
			}
		}
	}
}

// notKept says why the file was not written, and asks what to do about it.
func (d *dialog) notKept(ctx context.Context, why error) error {
	d.say(2, d.phrase("Not written down: %s.", why.Error()))
	if errors.Is(why, visits.ErrNotToBeWritten) {
		d.say(2, d.phrase(`"write" writes it all the same; a name, as in other.toml, keeps the visit there from now on; "quit" gives the answer up.`))
	} else {
		d.say(2, d.phrase(`Your answer is kept in mind. "again" tries once more; a name, as in other.toml, keeps the visit there from now on; "quit" gives the answer up.`))
	}
	for {
		line, err := d.ask(ctx, "keep")
		if err != nil {
			return errors.Join(err, why)
		}
		switch word := strings.ToLower(line); {
		case word == "":
		case word == "again":
			return nil
		case word == "write":
			d.file.Insist()
			return nil
		case isQuit(word):
			return fmt.Errorf("the last answer was not written down: %w", why)
		default:
			if err := d.file.Move(line); err != nil {
				d.say(2, err.Error())
				continue
			}
			d.say(2, d.phrase("Kept in %s from now on.", d.file.Path()))
			return nil
		}
	}
}
