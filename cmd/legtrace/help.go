package main

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"github.com/fatih/color"
	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/netlists/visits"
	"legtrace/render/lessons"
	"legtrace/render/report"
)

//go:embed help/*.md
var helpFiles embed.FS

// helpPage is a page that legtrace help prints: of a command, at length, or of
// a subject that is no command.
type helpPage struct{ name, text string }

// helpPages are all of them, as Markdown.
func helpPages() []helpPage {
	list := []helpPage{{"format", netlists.FormatPage()}, {"visit-file", visits.FormatPage()}}
	files, err := fs.Glob(helpFiles, "help/*.md")
	if err != nil {
		panic(err) // the pattern is wrong
	}
	for _, file := range files {
		text, err := helpFiles.ReadFile(file)
		if err != nil {
			panic(err) // it is embedded
		}
		list = append(list, helpPage{strings.TrimSuffix(path.Base(file), ".md"), string(text)})
	}
	return list
}

// title is a page's first line.
func (p helpPage) title() string {
	first, _, _ := strings.Cut(p.text, "\n")
	return strings.TrimPrefix(first, "# ")
}

// addHelp puts the pages behind legtrace help: those of no command are listed as
// topics, those of a command are printed instead of its flags, which --help has.
func addHelp(root *cobra.Command, t *terminal) {
	root.InitDefaultHelpCmd()
	help, _, err := root.Find([]string{"help"})
	if err != nil {
		panic(err) // it was added just now
	}
	help.Short = "A command or a subject at length, with examples"
	flags := help.Run
	lesson, _, err := root.Find([]string{"lesson"})
	if err != nil {
		panic(err) // it was added just now
	}
	atLength := map[string]helpPage{}
	for _, p := range helpPages() {
		cmd, _, err := root.Find([]string{p.name})
		if err == nil && cmd != root {
			atLength[p.name] = p
			cmd.Long += "\n\nAt length, with examples: legtrace help " + p.name
			continue
		}
		topic := &cobra.Command{Use: p.name, Short: p.title()}
		topic.SetHelpFunc(func(*cobra.Command, []string) { p.print(t, "") })
		root.AddCommand(topic)
	}
	help.Run = nil
	help.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 1 {
			if p, ok := atLength[args[0]]; ok {
				p.print(t, fmt.Sprintf("\nIts flags: legtrace %s --help\n", p.name))
				return nil
			}
			for _, l := range lessons.List() {
				if l.Name == args[0] {
					return lesson.RunE(cmd, args)
				}
			}
		}
		flags(cmd, args)
		return nil
	}
}

// print writes the page as text: Markdown without what a terminal has no use
// for.
func (p helpPage) print(t *terminal, end string) {
	bold := color.New(color.Bold)
	if t.colour {
		bold.EnableColor()
	} else {
		bold.DisableColor()
	}
	var b strings.Builder
	fenced := false
	for line := range strings.Lines(p.text) {
		switch {
		case strings.HasPrefix(line, "```"):
			fenced = !fenced
		case fenced:
			b.WriteString(line)
		case strings.HasPrefix(line, "<!--"):
		case strings.HasPrefix(line, "#"):
			b.WriteString(bold.Sprint(strings.TrimLeft(strings.TrimSuffix(line, "\n"), "# ")) + "\n")
		default:
			b.WriteString(line)
		}
	}
	_ = t.print([]byte(b.String() + end)) // a page that nobody can read is no error to tell them
}

func newJSONHelp(t *terminal) *cobra.Command {
	cmd := &cobra.Command{Use: "json", Short: "Fields of the JSON documents"}
	cmd.SetHelpFunc(func(*cobra.Command, []string) { _ = report.FieldGuide(t.out, t.colour) })
	return cmd
}
