package main

import (
	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/lessons"
	"legtrace/render/report"
)

func newLesson(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "lesson [NAME | N | all]",
		Short: "Short lessons, worked on the machine at hand",
		Long: `Writes a lesson as Markdown: what it is for, the question worked on a small
circuit whose figures can be checked by hand, then on the machine, exercises, and
the answers at the end. Without a name it lists them.`,
		Args: cobra.MaximumNArgs(1),
		Example: `  legtrace lesson both-ends
  legtrace lesson all --netlist catalog:dryer --output lessons.md`,
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			names := []string{"all"}
			for _, h := range lessons.List() {
				names = append(names, h.Name)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			list, err := whichLessons(args)
			if err != nil {
				return err
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			demo, err := netlists.ReadFile(defaultNetlist)
			if err != nil {
				return err
			}
			teacher := lessons.New(m.Circuit, demo)
			var chosen []report.Lesson
			pages := ""
			for _, h := range list {
				l := report.Lesson{Number: h.Number, Name: h.Name, Title: h.Title, Minutes: h.Minutes}
				if len(args) > 0 {
					worked, err := teacher.Lesson(h.Number)
					if err != nil {
						return err
					}
					if l.Markdown, err = worked.Markdown(cmd.Context()); err != nil {
						return err
					}
					if pages != "" {
						pages += "\n"
					}
					pages += l.Markdown
				}
				chosen = append(chosen, l)
			}
			if pages == "" || o.json {
				return t.show(m.Lessons(chosen), o)
			}
			if o.file != "" && o.file != "-" {
				return t.write(o.file, []byte(pages))
			}
			return t.print([]byte(pages))
		},
	}
	outputFlag(cmd, o)
	return cmd
}

// whichLessons reads the argument; all of them where it names none.
func whichLessons(args []string) ([]lessons.Head, error) {
	if len(args) == 0 || args[0] == "all" {
		return lessons.List(), nil
	}
	h, err := lessons.Find(args[0])
	return []lessons.Head{h}, err
}
