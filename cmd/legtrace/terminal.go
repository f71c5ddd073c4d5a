package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"unicode"

	"legtrace/netlists"
	"legtrace/netlists/wholefile"
	"legtrace/render/report"
)

// How we speak to the person:
//
//   - A report goes to standard output, or to the file of --output, whole or
//     not at all. Everything else goes to standard error.
//   - Nothing is wider than 80 columns, but for what cannot be broken.
//   - What is wrong is a sentence that names what was found and, where we can
//     tell, what was expected. Errors in a file come first with their place.
//   - Colour only repeats what words say, and only on a terminal without
//     NO_COLOR.
//   - No control character of a file, a name or an argument reaches the
//     terminal.
//   - We never ask questions and never wait for an answer, but for new,
//     describe, visit and drill.
//   - What takes over a second says how far it is, on standard error; see
//     progress.go.
type terminal struct {
	out, err io.Writer
	colour   bool
	progress *progress // nil where none is shown
	read     []string  // files that the command reads: it writes over none of them
}

// fail says what went wrong.
func (t *terminal) fail(err error) {
	var list netlists.Errors
	if errors.As(err, &list) {
		for _, line := range strings.Split(list.Error(), "\n") {
			t.say(line)
		}
		return
	}
	t.say("legtrace: " + err.Error())
}

// warn says what does not stop the command.
func (t *terminal) warn(s string) { t.say("legtrace: warning: " + s) }

// say writes to standard error, later lines indented.
func (t *terminal) say(s string) {
	defer t.progress.aside()()
	indent := ""
	for _, part := range strings.Split(s, "\n") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		for _, line := range report.Wrap(escape(strings.ReplaceAll(part, "\t", " ")), report.Width-len(indent)) {
			fmt.Fprintln(t.err, indent+line)
			indent = "    "
		}
	}
}

// escape makes whatever is not printable visible.
func escape(s string) string {
	if strings.IndexFunc(s, hidden) < 0 {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if !hidden(r) {
			b.WriteRune(r)
			continue
		}
		quoted := strconv.QuoteRune(r)
		b.WriteString(quoted[1 : len(quoted)-1])
	}
	return b.String()
}

func hidden(r rune) bool { return r != '\u00a0' && !unicode.IsPrint(r) }

// show writes a document where the flags say.
func (t *terminal) show(d report.Document, o *outputFlags) error {
	return t.deliver(d, o.format(), o)
}

// deliver is show in a format.
func (t *terminal) deliver(d report.Document, f report.Format, o *outputFlags) error {
	toFile := o.file != "" && o.file != "-"
	var b bytes.Buffer
	if err := report.Write(&b, d, f, t.colour && !toFile); err != nil {
		return err
	}
	if toFile {
		return t.write(o.file, b.Bytes())
	}
	return t.print(b.Bytes())
}

// write is writeFile for what a command makes of what it reads.
func (t *terminal) write(name string, data []byte) error {
	if err := t.spare(name); err != nil {
		return err
	}
	return writeFile(name, data)
}

// spare refuses to write over what is read, or what that starts from.
func (t *terminal) spare(name string) error {
	for _, read := range t.read {
		for _, file := range netlists.Chain(read) {
			if same(name, file) {
				return fmt.Errorf("%s is read by this command: choose another name to write to", name)
			}
		}
	}
	return nil
}

func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && x.Mode().IsRegular() && os.SameFile(x, y)
}

// print writes to standard output.
func (t *terminal) print(data []byte) error {
	defer t.progress.aside()()
	if _, err := t.out.Write(data); err != nil {
		return fmt.Errorf("cannot write the report: %w", err)
	}
	return nil
}

// writeFile replaces a file as a whole: a reader finds the old one or the new
// one. What is not a file, such as a pipe, is written to.
func writeFile(name string, data []byte) error {
	info, err := os.Stat(name)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("cannot write %s: it is a folder", name)
	case err == nil && !info.Mode().IsRegular():
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return fmt.Errorf("cannot write: %w", err)
		}
		_, err = f.Write(data)
		if err = errors.Join(err, f.Close()); err != nil {
			return fmt.Errorf("cannot write: %w", err)
		}
		return nil
	}
	if err := wholefile.Write(name, data, 0o666); err != nil {
		return fmt.Errorf("cannot write %s: %w", name, err)
	}
	return nil
}
