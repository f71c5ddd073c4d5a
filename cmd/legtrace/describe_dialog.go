package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"legtrace/netlists"
	"legtrace/netlists/describe"
)

// description is a machine being written down on a terminal, or from a script.
type description struct {
	talk
	file    string
	begun   bool
	text    []byte
	past    [][]byte        // the text before each line
	known   map[string]bool // what the check said before
	unsaved error           // why the file was not written
}

func (d *description) run(ctx context.Context) error {
	d.open(ctx)
	err := d.lines(ctx)
	switch {
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		return stopped{"describe", d.file}
	case !errors.Is(err, errQuit) && !errors.Is(err, io.EOF):
		return err
	case d.unsaved != nil:
		return fmt.Errorf("the last lines were not written down: %w", d.unsaved)
	}
	d.say(0, fmt.Sprintf("Every line is in %s. legtrace check %s goes through it once more.", d.file, d.file))
	return nil
}

func (d *description) open(ctx context.Context) {
	how := "Goes on with "
	if d.begun {
		how = "Begun: "
	}
	d.say(0, how+d.file)
	d.blank()
	d.say(0, "Caution")
	d.say(2, "The list is a description, not the machine. Lock out and prove dead before you trace a wire.")
	d.blank()
	d.say(0, `A line a wire: FROM COLOUR GAUGE TO. "help" says what else a line may be, "undo" takes one back, "quit" ends; nothing is lost.`)
	d.known = map[string]bool{}
	for _, f := range d.findings(ctx, false) {
		d.known[knownBy(f)] = true
	}
}

func (d *description) lines(ctx context.Context) error {
	for {
		line, err := d.ask(ctx, "line")
		if err != nil {
			return err
		}
		d.pull()
		switch word := strings.ToLower(line); {
		case word == "":
		case isQuit(word) || word == "done":
			return errQuit
		case word == "help" || word == "?":
			d.help()
		case word == "undo":
			d.undo(ctx)
		case word == "list":
			d.list()
		case word == "check":
			d.known = map[string]bool{}
			d.check(ctx, true)
		default:
			if err := d.enter(ctx, line); err != nil {
				return err
			}
		}
	}
}

// enter takes a line, asking for the parts that it names for the first time.
func (d *description) enter(ctx context.Context, line string) error {
	for {
		after, said, err := describe.Enter(d.file, d.text, line)
		var unknown *describe.Unknown
		switch {
		case errors.As(err, &unknown):
			if left, err := d.part(ctx, unknown); err != nil || left {
				return err
			}
		case err != nil:
			d.refuse(err)
			return nil
		default:
			d.accept(ctx, after, said)
			return nil
		}
	}
}

// part asks what a new part is, and reports whether the line is left out.
func (d *description) part(ctx context.Context, unknown *describe.Unknown) (left bool, err error) {
	d.say(2, unknown.Error())
	for {
		answer, err := d.ask(ctx, unknown.Part)
		if err != nil {
			return true, err
		}
		word, _, _ := strings.Cut(answer, " ")
		switch {
		case isQuit(word):
			return true, errQuit
		case word == "" || word == "undo":
			d.say(2, "The line is left out.")
			return true, nil
		case word == "help" || describe.Kind(word) == "":
			d.say(2, "A kind and its ratings, or nothing to leave the line out. The kinds: "+describe.Kinds()+".")
			continue
		}
		after, said, err := describe.Enter(d.file, d.text, unknown.Part+": "+answer)
		if err == nil {
			d.accept(ctx, after, said)
			return false, nil
		}
		d.refuse(err)
	}
}

func (d *description) refuse(err error) {
	for _, s := range strings.Split(err.Error(), "\n") {
		d.say(2, s)
	}
}

func (d *description) accept(ctx context.Context, after []byte, said []string) {
	d.past = append(d.past, d.text)
	d.text = after
	for _, s := range said {
		d.say(2, s)
	}
	d.push()
	d.check(ctx, false)
}

func (d *description) undo(ctx context.Context) {
	if len(d.past) == 0 {
		d.say(2, "Nothing is left to take back.")
		return
	}
	d.text = d.past[len(d.past)-1]
	d.past = d.past[:len(d.past)-1]
	d.say(2, "Taken back.")
	d.push()
	d.check(ctx, false)
}

// pull takes what an editor changed in the file meanwhile.
func (d *description) pull() {
	text, err := netlists.Text(d.file)
	if err != nil || d.unsaved != nil || bytes.Equal(text, d.text) {
		return // a file that is gone is written again
	}
	d.past = append(d.past, d.text)
	d.text = text
	d.say(2, d.file+" was changed meanwhile, and is taken as it is now.")
}

func (d *description) push() {
	if d.unsaved = writeFile(d.file, d.text); d.unsaved != nil {
		d.say(2, "Not written down: "+d.unsaved.Error()+". It is kept in mind and written with the next line.")
	}
}

// check says what is found now and was not found before, or else all that is.
// Ends without a wire are left out as long as the machine grows.
func (d *description) check(ctx context.Context, all bool) {
	now := map[string]bool{}
	for _, f := range d.findings(ctx, all) {
		if now[knownBy(f)] = true; !d.known[knownBy(f)] {
			d.term(2, "-", f.Error())
		}
	}
	if d.known = now; all && len(now) == 0 {
		d.say(2, "Nothing found wrong.")
	}
}

// knownBy is what a finding is known by: its place and figures move with every line.
func knownBy(f netlists.Error) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, f.Message)
}

// findings is what check finds of the text.
func (d *description) findings(ctx context.Context, all bool) netlists.Errors {
	r, err := netlists.ReadFull(d.file, d.text)
	var slips netlists.Errors
	if errors.As(err, &slips) {
		return slips
	}
	c, err := machineOf(d.file, r).check(ctx, &auditFlags{})
	if err != nil {
		_ = errors.As(err, &slips) // every mode shorts the supply
		return slips
	}
	found := c.Growing(len(r.Warnings))
	if all {
		found = append(c.Findings[:len(r.Warnings):len(r.Warnings)], found...)
	}
	for _, f := range found {
		at := netlists.Position{File: f.At.File, Line: f.At.Line, Column: f.At.Column}
		slips = append(slips, netlists.Error{Position: at, Message: f.Message, Hint: f.Hint})
	}
	return slips
}

func (d *description) help() {
	for _, h := range describe.Help {
		if h.Form != "" {
			d.say(2, h.Form)
		}
		d.say(4, h.Means)
	}
	d.say(2, "list, check, undo, quit")
	d.say(4, "what is written down; all that is to be looked into; a line taken back; the end")
}

func (d *description) list() {
	spec, _, err := netlists.Parse(d.file, d.text)
	if err != nil {
		d.refuse(err)
		return
	}
	for _, s := range describe.List(spec) {
		d.say(2, s)
	}
}
