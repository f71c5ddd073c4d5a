package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

const drillLong = `Hides a fault in the machine and lets you find it. The customer's complaint is
worked out from what the engine says works and does not. You make moves, a line
each, on a terminal or from a script; each costs minutes, an unsafe one is
stopped and told. Name the part, and see your way beside the best plan's, and
what the fault did, with this machine's own voltages.

Level 1 hides an open part and has the customer tell everything; level 2 also
opens wires and welds contacts, and the customer says less; level 3 hides
anything that can fail. The same number gives the same drill again.`

// drillFlags say which drill.
type drillFlags struct {
	level, faults int
	number        uint64
	budget        float64
	set, task     string
	kind          string
	complaint     string
	foretell      bool
	patience      int
	sealed, word  string
}

// anyNumber is the highest number that is drawn where none is given: short
// enough to be told to others.
const anyNumber = 9999

func newDrill(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var f drillFlags
	cmd := &cobra.Command{
		Use:   "drill",
		Short: "Find a hidden fault: a complaint, a meter, minutes to spend",
		Long:  drillLong,
		Args:  cobra.NoArgs,
		Example: `  legtrace drill --netlist catalog:dryer --level 2
  legtrace drill --number 12 < moves.txt
  legtrace drill --set week1.toml --task cold-broiler --json < moves.txt`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !cmd.Flags().Changed("number") {
				f.number = 1 + rand.Uint64N(anyNumber)
			}
			if f.task != "" && f.set == "" {
				return errors.New("--task names a drill of a set: give --set as well")
			}
			for _, flag := range []string{"level", "faults", "number", "budget", "kind", "complaint", "foretell", "netlist"} {
				if f.set != "" && cmd.Flags().Changed(flag) {
					return fmt.Errorf("--%s does not go with --set: the set says it", flag)
				}
				if f.sealed != "" && flag != "netlist" && cmd.Flags().Changed(flag) {
					return fmt.Errorf("--%s does not go with --sealed: the code says it", flag)
				}
			}
			if (f.sealed == "") != (f.word == "") {
				return errors.New("--sealed and --word go together: the code of a drill, and the word it was sealed with")
			}
			var d *drill.Drill
			var name string
			err := drill.Within(cmd.Context(), f.patience, func(ctx context.Context) (err error) {
				d, name, err = f.open(ctx, t, n)
				return err
			})
			if err != nil {
				return outOf(err, f.patience)
			}
			to := t
			if o.json {
				to = &terminal{out: t.err} // standard output is the document's
			}
			dialog := &drillDialog{talk: newTalk(to, cmd.InOrStdin(), nil), s: d.Start(), reporter: report.New(d.Circuit()), name: name, patience: f.patience}
			return dialog.run(cmd.Context(), t, o)
		},
	}
	fl := cmd.Flags()
	fl.IntVar(&f.level, "level", 1, "`N` from 1 to 3: what may be hidden, how much is told")
	fl.IntVar(&f.faults, "faults", 1, fmt.Sprintf("how many are hidden: `N` from 1 to %d", drill.MaxFaults))
	fl.Uint64Var(&f.number, "number", 0, "`NUMBER` of a drill, to have it again (default any)")
	fl.Float64Var(&f.budget, "budget", 0, "`MINUTES` allowed (default as long as it takes)")
	fl.StringVar(&f.set, "set", "", "a `FILE` with a set of drills: see legtrace drill class --help")
	fl.StringVar(&f.task, "task", "", "the `DRILL` of the set (default its first)")
	fl.StringVar(&f.kind, "kind", "", "hide a fault of this `KIND`: "+strings.Join(drill.Kinds(), ", "))
	fl.StringVar(&f.complaint, "complaint", "", "what the customer is to say, as a `SENTENCE` of one load: \"the broil element does not heat\"")
	fl.BoolVar(&f.foretell, "foretell", false, "say before each reading what a good machine shows, and why")
	patienceFlag(cmd, &f.patience, drill.Patience, "work the drill and its score out in at most `N` thousand solutions each, then tell what needs none")
	fl.StringVar(&f.sealed, "sealed", "", "the `CODE` of a drill that a teacher sealed: see legtrace drill key --help")
	fl.StringVar(&f.word, "word", "", "the `WORD` it was sealed with")
	complete(cmd, "kind", cobra.FixedCompletions(drill.Kinds(), cobra.ShellCompDirectiveNoFileComp))
	complete(cmd, "level", cobra.FixedCompletions([]string{"1", "2", "3"}, cobra.ShellCompDirectiveNoFileComp))
	cmd.AddCommand(newDrillClass(t, o), newDrillKey(t, o))
	return cmd
}

// outOf says of drills that were out of patience how they get more.
func outOf(err error, patience int) error {
	if !errors.Is(err, circuit.ErrPatience) {
		return err
	}
	return fmt.Errorf("%w: it takes more than %d thousand solutions here, and was given up; --patience %d allows twice as many", err, patience, 2*patience)
}

// patienceFlag adds --patience, in thousand solutions, of which there is at least one.
func patienceFlag(cmd *cobra.Command, patience *int, usual int, what string) {
	cmd.Flags().IntVar(patience, "patience", usual, what)
	const most = 1_000_000
	cmd.PreRunE = func(*cobra.Command, []string) error {
		if *patience < 1 || *patience > most {
			return fmt.Errorf("--patience %d: give it 1 to %d", *patience, most)
		}
		return nil
	}
}

// open makes the drill that the flags name, and says how to have it again.
func (f *drillFlags) open(ctx context.Context, t *terminal, n *netlistFlags) (*drill.Drill, string, error) {
	if f.set != "" {
		return f.ofSet(ctx)
	}
	if f.level < 1 || f.faults < 1 {
		return nil, "", errors.New("--level and --faults start at 1")
	}
	m, err := n.openFor(t)
	if err != nil {
		return nil, "", err
	}
	if f.sealed != "" {
		seal, err := drill.NewSeal(f.word)
		if err != nil {
			return nil, "", err
		}
		d, err := seal.Open(m.Circuit, f.sealed)
		return d, "A drill that was set, on: " + m.Circuit.Title(), err
	}
	opt := drill.Options{Level: drill.Level(f.level), Faults: f.faults, Number: f.number, Budget: f.budget, Kind: f.kind, Foretell: f.foretell}
	if err := f.complainOf(m.Circuit, &opt); err != nil {
		return nil, "", err
	}
	d, err := drill.New(ctx, m.Circuit, opt)
	if err != nil {
		return nil, "", err
	}
	return d, fmt.Sprintf("Drill %d, level %d, on: %s", f.number, f.level, m.Circuit.Title()), nil
}

// complainOf takes the load that a sentence tells of, and how it is.
func (f *drillFlags) complainOf(c *circuit.Circuit, opt *drill.Options) error {
	if f.complaint == "" {
		return nil
	}
	notes, _, _, err := complaints.ListenTo(c).Complaint(f.complaint)
	if err != nil {
		return err
	}
	for _, n := range notes {
		if n.Load == "" {
			continue
		}
		id, err := c.FindLoad(n.Load)
		if err != nil {
			return err
		}
		opt.Load = c.Branch(id).Ref
		opt.State, err = circuit.ParseLoadState(n.State)
		return err
	}
	return fmt.Errorf("--complaint %q tells of no load of this machine", f.complaint)
}

func (f *drillFlags) ofSet(ctx context.Context) (*drill.Drill, string, error) {
	set, err := netlists.ReadDrills(f.set)
	if err != nil {
		return nil, "", err
	}
	at := 0
	if f.task != "" {
		at = slices.IndexFunc(set.Tasks, func(t drill.Task) bool { return t.Name == f.task })
	}
	if at < 0 {
		var names []string
		for _, t := range set.Tasks {
			names = append(names, t.Name)
		}
		return nil, "", fmt.Errorf("the set has no drill %q: it has %v", f.task, names)
	}
	task := set.Tasks[at]
	d, err := task.Drill(ctx)
	return d, fmt.Sprintf("%s: drill %s, on: %s", set.Title, task.Name, task.Circuit.Title()), err
}

func newDrillClass(t *terminal, o *outputFlags) *cobra.Command {
	format, patience := formatFlags{of: (*report.Class)(nil)}, 0
	cmd := &cobra.Command{
		Use:   "class SET ANSWERS",
		Short: "Run a class's answers through a set of drills, to a table",
		Long: `Plays the answers of a class on a teacher's set of drills and writes what came
of each. A set is TOML:

  title = "Week 1"
  [[drill]]
  name = "cold-broiler"
  machine = "catalog:range-electronic"
  level = 1
  number = 20
  budget = 60

A drill may also have kind = "sensor" for a fault of that kind, load =
"broil_element" for a complaint of that load, hide = ["sensor:open"] for what you
want hidden, and foretell = true to have each reading foretold.

Answers are TOML:

  [[answer]]
  learner = "A"
  drill = "cold-broiler"
  moves = ["off", "prove", "dead", "ohms broil_1 broil_2", "name broil_element"]

or CSV, where the name ends in .csv: the columns learner, drill and moves, the
moves apart by semicolons.`,
		Args:    cobra.ExactArgs(2),
		Example: `  legtrace drill class week1.toml answers.csv --format csv --output marks.csv`,
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := format.chosen(cmd, o)
			if err != nil {
				return err
			}
			set, err := netlists.ReadDrills(args[0])
			if err != nil {
				return err
			}
			answers, err := netlists.ReadDrillAnswers(args[1])
			if err != nil {
				return err
			}
			rows, err := drill.Run(cmd.Context(), set.Tasks, answers, patience)
			if err != nil {
				return outOf(err, patience)
			}
			d := report.NewClass(set.Title, rows)
			return t.deliver(d, f, o)
		},
	}
	format.add(cmd)
	patienceFlag(cmd, &patience, drill.Patience, "work each out in at most `N` thousand solutions, else give up")
	outputFlag(cmd, o)
	return cmd
}

func newDrillKey(t *terminal, o *outputFlags) *cobra.Command {
	word, patience := "", 0
	cmd := &cobra.Command{
		Use:   "key SET",
		Short: "The answers to a set of drills, for the teacher",
		Long: `Writes for each drill of a set what is hidden, where, what the customer says and
how the best plan goes. With --word each also gets a code that tells nothing to a
learner: the drill opens with the word alone, and the page that serves a class
has it (legtrace page --word). Whoever has word and code can give up and be told.`,
		Args:    cobra.ExactArgs(1),
		Example: `  legtrace drill key week1.toml --word "three blue lamps"`,
		RunE: func(cmd *cobra.Command, args []string) error {
			var seal *drill.Seal
			if word != "" {
				var err error
				if seal, err = drill.NewSeal(word); err != nil {
					return err
				}
			}
			set, err := netlists.ReadDrills(args[0])
			if err != nil {
				return err
			}
			keys, err := drill.Keys(cmd.Context(), set.Tasks, patience)
			if err != nil {
				return outOf(err, patience)
			}
			d, err := report.NewDrillKey(set.Title, keys, seal)
			if err != nil {
				return err
			}
			return t.show(d, o)
		},
	}
	patienceFlag(cmd, &patience, drill.Patience, "work each out in at most `N` thousand solutions, else give up")
	cmd.Flags().StringVar(&word, "word", "", "a `WORD` to seal each drill with, of at least six letters")
	outputFlag(cmd, o)
	return cmd
}
