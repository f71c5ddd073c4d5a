package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"legtrace/circuit"
	"legtrace/render/report"
)

const rootLong = `Legtrace reads the netlist of an electric appliance and works out how a load is
fed from both legs of its supply, which opens would leave it cold, and what it
would still get. Without a command it does so for the largest load of the
machine, by default the range that comes with it, and draws the machine.

Exit codes: 0 all is well; 1 check has findings, or tidy --check a file that
would change; 2 the command or the netlist is wrong, or the output cannot be
written; 130 interrupted.

Disconnect, lock out and prove dead before you touch anything. Local codes and
the maker's instructions come first.`

// netlistFlags say which machine.
type netlistFlags struct{ netlist string }

// outputFlags say where the report goes, and how.
type outputFlags struct {
	json bool
	file string
}

// format is that of a document where no flag names one.
func (o *outputFlags) format() report.Format {
	if o.json {
		return report.FormatJSON
	}
	return report.FormatText
}

// questionFlags say what is asked of the machine.
type questionFlags struct {
	mode, load string
	faults     []string
}

// defaultNetlist is what is traced when nothing is named.
const defaultNetlist = "catalog:range-electronic"

// tryNext ends the answer to who has asked for nothing in particular.
const tryNext = `
Try next
  legtrace page --browser   the machine in the browser: switch, break, probe
  legtrace visit            from a complaint to the part, test by test
  legtrace new mine.toml    begins a machine of your own
`

func newRoot(t *terminal) *cobra.Command {
	var n netlistFlags
	var o outputFlags
	var q questionFlags
	var drawing string
	quiet := os.Getenv("LEGTRACE_QUIET") != ""
	root := &cobra.Command{
		Use:           "legtrace",
		Short:         "How a load is fed from both legs, and what would leave it cold",
		Long:          rootLong,
		Version:       version(),
		SilenceUsage:  true,
		SilenceErrors: true,
		PersistentPreRunE: func(cmd *cobra.Command, args []string) error {
			if o.json && (cmd.Name() == "page" || cmd.Name() == "man" || cmd.Parent() != nil && cmd.Parent().Name() == "completion") {
				return fmt.Errorf("%s writes no document: leave out --json", cmd.CommandPath())
			}
			t.read = slices.Clone(args)
			for _, name := range []string{"netlist", "visit", "set"} {
				switch f := cmd.Flags().Lookup(name); {
				case f == nil:
				case f.Value.Type() == "string":
					t.read = append(t.read, f.Value.String())
				default:
					t.read = append(t.read, f.Value.(pflag.SliceValue).GetSlice()...)
				}
			}
			if !quiet && !converses(cmd) {
				t.progress = newProgress(t.err)
				cmd.SetContext(circuit.WithWork(cmd.Context(), t.progress.tell))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			if doubleClicked(os.Args[1:]) {
				t.progress.end()
				return openPage(cmd.Context(), t)
			}
			if err := overview(cmd.Context(), t, &n, &o, &q, drawing); err != nil || cmd.Flags().NFlag() > 0 {
				return err
			}
			return t.print([]byte(tryNext))
		},
	}
	root.SetOut(t.out)
	root.SetErr(t.err)
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages ", fmt.Sprintf(".FlagUsagesWrapped %d ", report.Width)))
	root.PersistentFlags().StringVarP(&n.netlist, "netlist", "n", defaultNetlist, "machine: a `FILE`, or catalog:NAME")
	root.PersistentFlags().BoolVar(&o.json, "json", false, "write a JSON document (see: legtrace help json)")
	root.PersistentFlags().BoolVar(&quiet, "quiet", quiet, "do not say how far what takes long is")
	root.Flags().StringVarP(&drawing, "output", "o", "", "`FILE` for the drawing, - for standard output (default legtrace-MACHINE-MODE.svg)")
	modeAndLoad(root, &n, &q)
	complete(root, "netlist", completeNetlist)

	root.AddCommand(
		newNew(t, &o),
		newDescribe(t, &o),
		newCheck(t, &n, &o),
		newLoads(t, &n, &o),
		newPath(t, &n, &o),
		newBreaks(t, &n, &o),
		newReadings(t, &n, &o),
		newPoints(t, &n, &o),
		newLive(t, &n, &o),
		newWarm(t, &n, &o),
		newDictionary(t, &n, &o),
		newFaults(t, &n, &o),
		newSuspects(t, &n, &o),
		newPlan(t, &n, &o),
		newVisit(t, &n, &o),
		newReport(t, &o),
		newTally(t, &o),
		newDraw(t, &n, &o),
		newCatalog(t, &o),
		newWhole(t, &n, &o),
		newCompare(t, &n, &o),
		newTidy(t, &o),
		newSchema(t, &o),
		newRingOut(t, &o),
		newPage(t, &n),
		newDrill(t, &n, &o),
		newLesson(t, &n, &o),
		newJSONHelp(t),
		newMan(),
	)
	addHelp(root, t)
	return root
}

// modeAndLoad adds the flags that choose them.
func modeAndLoad(cmd *cobra.Command, n *netlistFlags, q *questionFlags) {
	modeFlag(cmd, n, q)
	cmd.Flags().StringVarP(&q.load, "load", "l", "", "`LOAD` asked about (default the largest)")
	complete(cmd, "load", n.completing((*report.Reporter).LoadNames))
}

func modeFlag(cmd *cobra.Command, n *netlistFlags, q *questionFlags) {
	cmd.Flags().StringVarP(&q.mode, "mode", "m", "", "`MODE` selected (default the one that uses the load most)")
	complete(cmd, "mode", n.completing((*report.Reporter).ModeNames))
}

// faultFlag adds the flag for faults taken to be present.
func faultFlag(cmd *cobra.Command, n *netlistFlags, q *questionFlags) {
	cmd.Flags().StringArrayVarP(&q.faults, "fault", "f", nil,
		"a `FAULT` present: w12:open, relay:welded, w7:high=4; repeatable")
	complete(cmd, "fault", n.completeFault)
}

// outputFlag adds the flag for a file to write the report to.
func outputFlag(cmd *cobra.Command, o *outputFlags) {
	cmd.Flags().StringVarP(&o.file, "output", "o", "", "`FILE` to write instead of the terminal")
}
