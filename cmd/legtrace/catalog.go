package main

import (
	"strings"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
)

func newCatalog(t *terminal, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "catalog [NAME]",
		Short: "List the machines that come with legtrace, or print one",
		Long: `Lists the generic machines that come with legtrace. With a name it prints that
machine's netlist, to start one of your own from; with family:NAME the table of
families, which says how common each wiring is.`,
		Args: cobra.MaximumNArgs(1),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var names []string
			for _, e := range netlists.Catalog() {
				names = append(names, e.Name+"\t"+e.Title)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		Example: `  legtrace catalog
  legtrace catalog range-electronic --output mine.toml`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				d, err := listCatalog()
				if err != nil {
					return err
				}
				return t.show(d, o)
			}
			if strings.HasPrefix(args[0], netlists.FamilyPrefix) {
				return t.show(&report.Netlist{Document: "netlist", Name: args[0], Toml: string(netlists.FamilyTable())}, o)
			}
			name := strings.TrimPrefix(args[0], netlists.CatalogPrefix)
			src, err := netlists.Source(name)
			if err != nil {
				return err
			}
			return t.show(&report.Netlist{Document: "netlist", Name: name, Toml: string(src)}, o)
		},
	}
	outputFlag(cmd, o)
	return cmd
}

func listCatalog() (*report.Catalog, error) {
	d := &report.Catalog{Document: "catalog", Machines: []report.Entry{}, Families: []report.Family{}}
	families, err := netlists.Families()
	for _, f := range families {
		d.Families = append(d.Families, report.Family{Name: f.Name, Title: f.Title, Members: len(f.Members)})
	}
	for _, e := range netlists.Catalog() {
		d.Machines = append(d.Machines, report.Entry{Name: e.Name, Title: e.Title, Summary: e.Summary, Of: e.Of})
	}
	return d, err
}
