package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
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
minutes. With a family, as family:range, or two netlists or more, it weighs which
wiring the machine has along with what is wrong: see legtrace help family.

` + evidenceLong,
		Args: cobra.MaximumNArgs(1),
		Example: `  legtrace suspects --complaint "broil element dead in broil" --works bake_element=bake
  legtrace suspects --dead broil_element --reading "ohms broil_1 broil_2 = 16.8"
  legtrace suspects kitchen.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if opt.Most < 1 || opt.Tests < 1 {
				return errors.New("--most and --tests start at 1")
			}
			several := len(candidates) > 1 || len(candidates) == 1 && strings.HasPrefix(candidates[0], netlists.FamilyPrefix)
			switch ordered := cmd.Flags().Changed("order"); {
			case len(args) > 0 && (e.given() || len(candidates) > 0):
				return errors.New("a visit's file holds all there is: leave out --netlist and what was seen")
			case len(args) > 0 && ordered:
				return errors.New("--order does not go with a visit's file")
			case len(args) > 0:
				return suspectsOfVisit(cmd.Context(), t, o, args[0], opt)
			case several && ordered:
				return errors.New("--order goes with one machine")
			case several:
				return wirings(cmd.Context(), t, o, candidates, &e, opt)
			case len(e.outside) > 0:
				return errOutside
			case !e.given():
				return errors.New(`say what was seen, as in --complaint "broil element dead in broil", or name a visit's file`)
			case len(candidates) == 1:
				n.netlist = candidates[0]
			}
			return suspectsOfFlags(cmd.Context(), t, n, o, &e, order, opt)
		},
	}
	evidenceFlag(cmd, n, &e)
	cmd.Flags().StringArrayVarP(&candidates, "netlist", "n", nil, "machine: a `FILE`, catalog:NAME, or family:NAME where it is not known which; or repeat it for each that it may be")
	complete(cmd, "netlist", completeNetlist)
	cmd.Flags().IntVar(&order, "order", order, "most faults taken together: `N` from 1 to 3")
	cmd.Flags().IntVar(&opt.Most, "most", 12, "list at most `N` suspects")
	cmd.Flags().IntVar(&opt.Tests, "tests", 3, "propose at most `N` tests")
	outputFlag(cmd, o)
	return cmd
}

func suspectsOfVisit(ctx context.Context, t *terminal, o *outputFlags, file string, opt report.SuspectsOptions) error {
	f, job, m, err := openVisit(ctx, t, file)
	if err != nil {
		return err
	}
	if f.Family() != "" {
		if _, job, _, err = (&visitFlags{}).start(ctx, t, f, m); err != nil {
			return err
		}
		d, err := report.NewWirings(ctx, job, opt)
		if err != nil {
			return err
		}
		return t.show(d, o)
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
	d.Tell(e.told)
	return t.show(d, o)
}

// weighWithin is weigh for as long as patience lasts. Then it says so, and weighs
// single faults alone.
func (m *machine) weighWithin(ctx context.Context, t *terminal, e *evidenceFlags, opt *suspect.Options) (*suspect.Engine, error) {
	bound, stop := circuit.Within(ctx, 1000*e.patience)
	defer stop()
	engine, err := m.weigh(bound, e, *opt)
	e.tell(t)
	if opt.Order == 1 || context.Cause(bound) != circuit.ErrPatience {
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

// wirings weighs candidate netlists.
func wirings(ctx context.Context, t *terminal, o *outputFlags, names []string, e *evidenceFlags, opt report.SuspectsOptions) error {
	candidates, err := members(t, names)
	if err != nil {
		return err
	}
	j, err := weighFamily(ctx, t, candidates, e)
	if err != nil {
		return err
	}
	d, err := report.NewWirings(ctx, j, opt)
	if err != nil {
		return err
	}
	return t.show(d, o)
}
