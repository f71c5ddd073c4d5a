package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legtrace/circuit/visit"
	"legtrace/netlists/visits"
)

const visitLong = `Leads through a visit: asks for the complaint, proposes the test that tells most
for its minutes and risk, takes what was read, says what that did to the
suspects, and names the part when it is sure. Then it asks what was done, and
for the checks that prove it.

Every answer is written to FILE at once. Started again on the same file, by
default one named after the machine and the day, it goes on where it was. It
reads lines and writes lines, on a terminal or without one.

Where the wiring is not known, --netlist family:range asks what can be seen from
outside, and weighs all ranges of the catalog along with what is wrong.

Answers: a figure ("0.2", "118 V", "1.08k"), "OL", "skip", "can't reach",
"undo", "why", "suspects", "quit", "help".`

func newVisit(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var v visitFlags
	var language string
	var clock bool
	cmd := &cobra.Command{
		Use:   "visit [FILE]",
		Short: "Lead through a visit, test by test, to the part",
		Long:  visitLong,
		Args:  cobra.MaximumNArgs(1),
		Example: `  legtrace visit
  legtrace visit kitchen.toml --complaint "broil element dead in broil"
  legtrace visit kitchen.toml < answers.txt`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.json {
				return errors.New("a visit is a conversation and has no JSON: legtrace report --json writes it down")
			}
			if v.date == "" {
				v.date = time.Now().Format(time.DateOnly)
			}
			v.machineGiven, v.ambientGiven = cmd.Flags().Changed("netlist"), cmd.Flags().Changed("ambient")
			if len(args) > 0 {
				v.file = args[0]
			}
			if v.file == "-" {
				return errors.New("a visit is kept in a file, which - is not: name one")
			}
			file, job, m, err := v.open(cmd.Context(), t, n)
			if err != nil {
				return err
			}
			d := newDialog(t, cmd.InOrStdin(), file, job, m)
			if err := d.speak(language); err != nil {
				return err
			}
			if clock {
				d.now = time.Now
			}
			return d.run(cmd.Context(), v.complaint)
		},
	}
	f := cmd.Flags()
	f.StringVar(&v.complaint, "complaint", "", "what is wrong, a `SENTENCE`: see legtrace suspects --help")
	outsideFlag(cmd, &v.outside)
	f.StringVar(&v.date, "date", "", "`DAY` of a new visit, as 2026-05-01 (default today)")
	f.StringVar(&language, "language", "", "`CODE` of the language to ask in, en or es (default the system's)")
	f.Float64Var(&v.ambient, "ambient", 0, "`CELSIUS` where the cold machine stands (default 21.1)")
	f.BoolVar(&clock, "clock", false, "write down the minutes that each answer took, for legtrace tally")
	f.BoolVar(&v.mended, "netlist-mended", false, "the netlist was mended since the visit was begun: take it as it is now")
	return cmd
}

// visitFlags say which visit.
type visitFlags struct {
	file, complaint, date              string
	outside                            []string
	ambient                            float64
	mended, machineGiven, ambientGiven bool
}

// open starts a visit, or takes up the one in the file.
func (v *visitFlags) open(ctx context.Context, t *terminal, n *netlistFlags) (*visits.File, *visit.Job, *machine, error) {
	if v.file == "" {
		name := n.familyName()
		if !n.family() {
			m, err := n.open()
			if err != nil {
				return nil, nil, nil, err
			}
			name = m.Circuit.Name()
		}
		v.file = fmt.Sprintf("visit-%s-%s.toml", strings.TrimSuffix(filepath.Base(name), ".toml"), v.date)
	}
	if _, err := os.Stat(v.file); errors.Is(err, fs.ErrNotExist) {
		return v.begin(ctx, t, n)
	}
	read := visits.Open
	if v.mended {
		read = visits.Rebase
	}
	f, r, err := read(v.file)
	if err != nil {
		return nil, nil, nil, err
	}
	m := machineOf(f.Netlist(), r)
	if v.machineGiven {
		if err := v.sameMachine(f, n); err != nil {
			return nil, nil, nil, err
		}
	}
	if v.ambientGiven {
		f.Ambient = v.ambient
		if err := f.Save(); err != nil {
			return nil, nil, nil, err
		}
	}
	if len(v.outside) > 0 {
		return nil, nil, nil, errors.New("--outside is for a new visit: this one asks, and takes \"undo\"")
	}
	return v.start(ctx, t, f, m)
}

// sameMachine refuses a machine, or a family, that a visit is not to.
func (v *visitFlags) sameMachine(f *visits.File, n *netlistFlags) error {
	same := n.familyName() == f.Family()
	if !n.family() {
		given, err := n.open()
		if err != nil {
			return err
		}
		print, err := visits.Fingerprint(given.Spec)
		if err != nil {
			return err
		}
		same = print == f.Machine.Fingerprint
	}
	if !same {
		return fmt.Errorf("%s is a visit to %s, not to %s: leave out --netlist, or name another file", v.file, f.Netlist(), n.netlist)
	}
	return nil
}

// start takes a visit up; the machine is the likeliest where it is one of a family.
func (v *visitFlags) start(ctx context.Context, t *terminal, f *visits.File, m *machine) (*visits.File, *visit.Job, *machine, error) {
	if f.Family() == "" {
		job, err := visits.Start(ctx, f, m.Circuit)
		return f, job, m, err
	}
	candidates, err := members(t, []string{f.Family()})
	if err != nil {
		return nil, nil, nil, err
	}
	job, err := visits.StartFamily(ctx, f, candidates, complained)
	if err != nil {
		return nil, nil, nil, err
	}
	return f, job, machineFrom(job), nil
}

func (v *visitFlags) begin(ctx context.Context, t *terminal, n *netlistFlags) (*visits.File, *visit.Job, *machine, error) {
	named := n.netlist
	if n.family() {
		j, err := n.weighed(ctx, t, &evidenceFlags{outside: v.outside})
		if err != nil {
			return nil, nil, nil, err
		}
		n = &netlistFlags{netlist: j.Netlist()}
	} else if len(v.outside) > 0 {
		return nil, nil, nil, errOutside
	}
	m, err := n.openFor(t)
	if err != nil {
		return nil, nil, nil, err
	}
	f, err := visits.New(v.file, n.netlist, m.Result)
	if err != nil {
		return nil, nil, nil, err
	}
	f.Date, f.Ambient = v.date, v.ambient
	if family := (&netlistFlags{netlist: named}); family.family() {
		f.OfFamily(family.familyName())
		for _, s := range v.outside {
			f.Outside = append(f.Outside, visit.Seen(s))
		}
	}
	if err := f.Check(); err != nil {
		return nil, nil, nil, err
	}
	if err := f.Save(); err != nil {
		return nil, nil, nil, err
	}
	return v.start(ctx, t, f, m)
}

// openVisit reads a visit with its machine, and weighs what it holds.
func openVisit(ctx context.Context, t *terminal, file string) (*visits.File, *visit.Job, *machine, error) {
	f, r, err := visits.Open(file)
	if err != nil {
		return nil, nil, nil, err
	}
	t.read = append(t.read, f.Netlist())
	job, err := visits.Start(ctx, f, r.Circuit)
	return f, job, machineOf(f.Netlist(), r), err
}
