package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"legtrace/render/report"
)

// talk is a conversation in lines, on a terminal or from a script.
type talk struct {
	t    *terminal
	in   *lines
	echo bool          // the answers of a script are shown after the prompt
	kept func() string // where what was answered is kept, to end a sentence
}

// newTalk begins one whose answers are kept in a file; it may have none.
func newTalk(t *terminal, in io.Reader, file func() string) talk {
	return talk{t: t, in: readLines(in), echo: !isTerminal(in), kept: func() string {
		if file == nil {
			return ""
		}
		return "; what was answered before is in " + file()
	}}
}

// ask prompts and waits for a line.
func (d *talk) ask(ctx context.Context, prompt string) (string, error) {
	if err := d.t.print([]byte(prompt + "> ")); err != nil {
		return "", err
	}
	line, err := d.in.line(ctx)
	switch {
	case err != nil:
		d.blank()
		if err != io.EOF && ctx.Err() == nil {
			err = fmt.Errorf("cannot read the answer: %w%s", err, d.kept())
		}
		return "", err
	case len(line) > longest:
		d.say(2, "that is too long a line")
		return d.ask(ctx, prompt)
	case d.echo:
		return line, d.t.print([]byte(escape(line) + "\n"))
	}
	return line, nil
}

func (d *talk) blank() { _ = d.t.print([]byte("\n")) }

func (d *talk) say(indent int, s string) {
	for _, line := range report.Wrap(escape(s), report.Width-indent) {
		_ = d.t.print([]byte(strings.Repeat(" ", indent) + line + "\n"))
	}
}

// term writes text beside a short term, later lines under the first.
func (d *talk) term(indent int, term, s string) {
	left := strings.Repeat(" ", indent) + term + " "
	for _, line := range report.Wrap(escape(s), report.Width-len(left)) {
		_ = d.t.print([]byte(left + line + "\n"))
		left = strings.Repeat(" ", len(left))
	}
}

// field is a term in a column that lines up.
func (d *talk) field(name, s string) {
	if s != "" {
		d.term(2, fmt.Sprintf("%-6s", name), s)
	}
}
