package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

func newSuspects(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var e evidenceFlags
	var candidates []string
	var opt report.SuspectsOptions
	order := 2
	cmd := &cobra.Command{
		Use:   "suspects [VISIT]",
		Short: "What may be wrong, and which test to make next",
		Long: `Weighs every single fault and every pair of faults by what was seen, from the
file of a visit or from flags, and proposes the tests that tell most for their
minutes. With two netlists or more it weighs which wiring the machine has.

` + evidenceLong,
		Args: cobra.MaximumNArgs(1),
		Example: `  legtrace suspects --complaint "broil element dead in broil" --works bake_element=bake
  legtrace suspects --dead broil_element --reading "ohms broil_1 broil_2 = 16.8"
  legtrace suspects kitchen.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if opt.Most < 1 || opt.Tests < 1 {
				return errors.New("--most and --tests start at 1")
			}
			switch {
			case len(args) > 0 && (e.given() || cmd.Flags().Changed("netlist")):
				return errors.New("a visit's file holds all there is: leave out --netlist and what was seen")
			case len(args) > 0 && cmd.Flags().Changed("order"):
				return errors.New("--order does not go with a visit's file")
			case len(args) > 0:
				return suspectsOfVisit(cmd.Context(), t, o, args[0], opt)
			case !e.given():
				return errors.New(`say what was seen, as in --complaint "broil element dead in broil", or name a visit's file`)
			case len(candidates) > 1:
				return wirings(cmd.Context(), t, o, candidates, &e, order, opt)
			case len(candidates) == 1:
				n.netlist = candidates[0]
			}
			return suspectsOfFlags(cmd.Context(), t, n, o, &e, order, opt)
		},
	}
	evidenceFlag(cmd, n, &e)
	cmd.Flags().StringArrayVarP(&candidates, "netlist", "n", nil, "machine: a `FILE`, or catalog:NAME; repeat it where it is\nnot known which wiring the machine has")
	complete(cmd, "netlist", completeNetlist)
	cmd.Flags().IntVar(&order, "order", order, "most faults taken together: `N` from 1 to 3")
	cmd.Flags().IntVar(&opt.Most, "most", 12, "list at most `N` suspects")
	cmd.Flags().IntVar(&opt.Tests, "tests", 3, "propose at most `N` tests")
	outputFlag(cmd, o)
	return cmd
}

func suspectsOfVisit(ctx context.Context, t *terminal, o *outputFlags, file string, opt report.SuspectsOptions) error {
	_, job, m, err := openVisit(ctx, file)
	if err != nil {
		return err
	}
	opt.Engine = job.Options()
	d, err := m.Suspects(ctx, job.Engine, job.Progress, opt)
	if err != nil {
		return err
	}
	return t.show(d, o)
}

func suspectsOfFlags(ctx context.Context, t *terminal, n *netlistFlags, o *outputFlags, e *evidenceFlags, order int, opt report.SuspectsOptions) error {
	m, err := n.openFor(t)
	if err != nil {
		return err
	}
	opt.Engine = suspect.Options{Order: order}
	engine, err := m.weighWithin(ctx, t, e, &opt.Engine)
	if err != nil {
		return err
	}
	d, err := m.Suspects(ctx, engine, suspect.NewProgress(), opt)
	if err != nil {
		return err
	}
	return t.show(d, o)
}

// weighWithin is weigh for as long as patience lasts. Then it says so, and weighs
// single faults alone.
func (m *machine) weighWithin(ctx context.Context, t *terminal, e *evidenceFlags, opt *suspect.Options) (*suspect.Engine, error) {
	bound, stop := within(ctx, 1000*e.patience)
	defer stop()
	engine, err := m.weigh(bound, e, *opt)
	e.tell(t)
	if opt.Order == 1 || context.Cause(bound) != errPatience {
		return engine, err
	}
	t.warn(fmt.Sprintf("several faults at once take more than %d thousand solutions here: what follows is of single faults; --patience %d allows twice as many", e.patience, 2*e.patience))
	opt.Order = 1
	return m.weigh(ctx, e, *opt)
}

// weigh makes an engine that knows what the flags say.
func (m *machine) weigh(ctx context.Context, e *evidenceFlags, opt suspect.Options) (*suspect.Engine, error) {
	engine, err := suspect.New(m.Circuit, opt)
	if err != nil {
		return nil, err
	}
	return engine, m.teach(ctx, engine, e)
}

// teach adds what the flags say to what an engine knows.
func (m *machine) teach(ctx context.Context, engine *suspect.Engine, e *evidenceFlags) error {
	notes, err := e.notes(m)
	if err != nil {
		return err
	}
	for _, n := range notes {
		ev, err := n.Evidence(m.Circuit)
		if err != nil {
			return err
		}
		if err := engine.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return err
		}
	}
	return nil
}

// wirings weighs candidate netlists. What was seen is read by the names of the
// first.
func wirings(ctx context.Context, t *terminal, o *outputFlags, candidates []string, e *evidenceFlags, order int, opt report.SuspectsOptions) error {
	var circuits []*circuit.Circuit
	var first *machine
	for _, name := range candidates {
		m, err := (&netlistFlags{netlist: name}).openFor(t)
		if err != nil {
			return err
		}
		if first == nil {
			first = m
		}
		circuits = append(circuits, m.Circuit)
	}
	notes, err := e.notes(first)
	if err != nil {
		return err
	}
	e.tell(t)
	w, err := suspect.NewWirings(circuits, suspect.Options{Order: order})
	if err != nil {
		return err
	}
	fits := true
	for _, n := range notes {
		err := w.Add(ctx, n.Seen())
		if err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return fmt.Errorf("what was seen must have the same names in all candidates: %w", err)
		}
		fits = err == nil
	}
	d, err := report.NewWirings(ctx, w, candidates, fits, opt.Tests)
	if err != nil {
		return err
	}
	return t.show(d, o)
}
