package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/netlists/starter"
	"legtrace/render/report"
)

func newNew(t *terminal, o *outputFlags) *cobra.Command {
	var name string
	var force, usual bool
	given := map[string]*string{}
	cmd := &cobra.Command{
		Use:   "new FILE",
		Short: "Begin a netlist from a few questions",
		Long: `Asks a few questions in trade words and writes a commented netlist to start
from. Flags answer questions beforehand; an empty line, and the end of the
input, take the usual answer. What is written does what its modes say, and is no
machine of any maker: go through it wire by wire.

A file that is there already is left alone without --force. FILE may be - for
standard output.`,
		Args: cobra.ExactArgs(1),
		Example: `  legtrace new mine.toml
  legtrace new mine.toml --heats dryer --supply 240-4wire --usual
  printf 'oven\n240-3wire\nmechanical\n\n\n' | legtrace new mine.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			file := args[0]
			if !force && file != "-" {
				if _, err := os.Lstat(file); err == nil {
					return taken(file)
				}
			}
			a := starter.Answers{}
			for key, value := range given {
				if cmd.Flags().Changed(key) {
					a[key] = *value
				}
			}
			d := &report.Started{Document: "new", File: file, Answers: []report.Answer{}}
			byNobody, err := answer(cmd.Context(), t, cmd.InOrStdin(), a, usual)
			if err != nil {
				return err
			}
			if !cmd.Flags().Changed("name") {
				name = nameFrom(file)
			}
			text, err := starter.Write(name, a)
			if err != nil {
				return err
			}
			if file == "-" {
				return t.print(text)
			}
			if err := create(file, text, force); err != nil {
				return err
			}
			for _, key := range starter.Keys() {
				if a[key] != "" {
					d.Answers = append(d.Answers, report.Answer{Flag: key, Value: a[key], Means: starter.Means(a, key), Taken: byNobody[key]})
				}
			}
			return t.show(d, &outputFlags{json: o.json})
		},
	}
	for _, key := range starter.Keys() {
		values := starter.Values(key)
		given[key] = cmd.Flags().String(key, "", "`ANSWER`, the usual first: "+strings.Join(values, ", "))
		complete(cmd, key, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp))
	}
	cmd.Flags().StringVar(&name, "name", "", "`NAME` of the machine (default that of the file)")
	cmd.Flags().BoolVar(&force, "force", false, "replace a file that is there already")
	cmd.Flags().BoolVar(&usual, "usual", false, "ask nothing: take the usual answer where no flag gives one")
	return cmd
}

func taken(file string) error {
	return fmt.Errorf("%s is there already and was left alone: choose another name, or replace it with --force", file)
}

// answer completes the answers, asking for those that are missing, and returns
// which nobody gave.
func answer(ctx context.Context, t *terminal, in io.Reader, a starter.Answers, usual bool) (map[string]bool, error) {
	byNobody := map[string]bool{}
	var input *lines
	var wrong error
	for q, ok := starter.Next(a); ok; q, ok = starter.Next(a) {
		if err := vetAnswers(a); err != nil {
			return nil, err
		}
		line, more := "", false
		if !usual {
			t.say(question(q))
			if input == nil {
				input = readLines(in)
			}
			var err error
			if line, err = input.line(ctx); err != nil && err != io.EOF {
				return nil, err
			}
			more = err == nil
		}
		switch {
		case line != "":
			a[q.Key] = chosen(q, line)
			if wrong = vetAnswers(a); wrong != nil {
				t.say(wrong.Error())
				delete(a, q.Key)
			}
		case !more && wrong != nil:
			return nil, wrong
		default:
			a[q.Key], byNobody[q.Key] = q.Options[0].Value, !more
		}
	}
	return byNobody, vetAnswers(a)
}

// vetAnswers words what is wrong by the flag.
func vetAnswers(a starter.Answers) error {
	if err := starter.Vet(a); err != nil {
		return fmt.Errorf("--%w", err)
	}
	return nil
}

func question(q starter.Question) string {
	s := q.Ask + " An empty line means " + q.Options[0].Value + "."
	for _, o := range q.Options {
		s += "\n" + o.Value + ": " + o.Means
	}
	return s
}

// chosen returns the one option that begins as typed, or what was typed.
func chosen(q starter.Question, line string) string {
	found := ""
	for _, o := range q.Options {
		switch {
		case strings.EqualFold(o.Value, line):
			return o.Value
		case strings.HasPrefix(strings.ToLower(o.Value), strings.ToLower(line)) && found != "":
			return line
		case strings.HasPrefix(strings.ToLower(o.Value), strings.ToLower(line)):
			found = o.Value
		}
	}
	if found == "" {
		return line
	}
	return found
}

// nameFrom makes a machine's name of a file's.
func nameFrom(file string) string {
	if file == "-" {
		return ""
	}
	base := filepath.Base(file)
	base = strings.TrimSuffix(base, filepath.Ext(base))
	name := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' || r == '-' {
			return r
		}
		return '_'
	}, base)
	return name[:min(len(name), 64)]
}

// create writes a file, and without force only a new one.
func create(file string, text []byte, force bool) error {
	if force {
		return writeFile(file, text)
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, os.ErrExist) {
		return taken(file)
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", file, err)
	}
	if err = errors.Join(f.Close(), writeFile(file, text)); err != nil {
		return errors.Join(err, os.Remove(file))
	}
	return nil
}
