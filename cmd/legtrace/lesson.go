package main

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"legtrace/render/lessons"
	"legtrace/render/report"
)

func newLesson(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "lesson [N | all]",
		Short: "Six short lessons, worked on the machine at hand",
		Long: `Writes a lesson as Markdown: two legs and a neutral, dead elements, loaded
tests, readings that lie, a lost neutral, limits and relays. Each is worked on a
small circuit whose figures can be checked by hand, then on the machine. Without
a number it lists them.`,
		Args: cobra.MaximumNArgs(1),
		Example: `  legtrace lesson 2
  legtrace lesson all --netlist catalog:dryer --output lessons.md`,
		RunE: func(_ *cobra.Command, args []string) error {
			which, err := whichLesson(args)
			if err != nil {
				return err
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			all, err := lessons.All(m.Circuit)
			if err != nil {
				return err
			}
			var chosen []report.Lesson
			pages := ""
			for _, l := range all {
				switch {
				case len(args) == 0:
					chosen = append(chosen, report.Lesson{Number: l.Number, Title: l.Title})
				case which == 0 || which == l.Number:
					chosen = append(chosen, report.Lesson{Number: l.Number, Title: l.Title, Markdown: l.Markdown})
					if pages != "" {
						pages += "\n"
					}
					pages += l.Markdown
				}
			}
			if pages == "" || o.json {
				return t.show(m.Lessons(chosen), o)
			}
			if o.file != "" && o.file != "-" {
				return writeFile(o.file, []byte(pages))
			}
			return t.print([]byte(pages))
		},
	}
	outputFlag(cmd, o)
	return cmd
}

// whichLesson reads the argument; 0 means all.
func whichLesson(args []string) (int, error) {
	if len(args) == 0 || args[0] == "all" {
		return 0, nil
	}
	which, err := strconv.Atoi(args[0])
	if err != nil || which < 1 || which > lessons.Count {
		return 0, fmt.Errorf("lesson %q: it goes from 1 to %d, or all", args[0], lessons.Count)
	}
	return which, nil
}
