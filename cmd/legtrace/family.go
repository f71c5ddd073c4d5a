package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// family reports whether the flag names a family of machines.
func (n *netlistFlags) family() bool { return strings.HasPrefix(n.netlist, netlists.FamilyPrefix) }

// familyName is what comes after the prefix.
func (n *netlistFlags) familyName() string {
	return strings.TrimPrefix(n.netlist, netlists.FamilyPrefix)
}

// errFamily is what a command says that takes one machine.
func (n *netlistFlags) errFamily() error {
	return fmt.Errorf("%s is a family of machines, and this takes one: suspects, plan, points, draw and visit take a family, and page asks which it is; else name a machine of it, as catalog:NAME", n.netlist)
}

// errOutside is what a command says of --outside with one machine.
var errOutside = errors.New("--outside is about a machine of unknown wiring: it goes with --netlist family:NAME")

// outsideFlag adds the flag for what can be seen of a machine of unknown wiring.
func outsideFlag(cmd *cobra.Command, to *[]string) {
	cmd.Flags().StringArrayVar(to, "outside", nil, "of a family, what is seen from outside: `KEY=ANSWER`, as wires=4; repeatable")
}

// members reads the candidates: those of a family, or netlists named one by one.
func members(t *terminal, names []string) ([]visit.Candidate, error) {
	if len(names) == 1 {
		return library.Members(names[0])
	}
	var out []visit.Candidate
	for _, name := range names {
		n := netlistFlags{netlist: name}
		if n.family() {
			return nil, fmt.Errorf("%s is a family by itself: name it alone, or machines one by one", name)
		}
		m, err := n.openFor(t)
		if err != nil {
			return nil, err
		}
		out = append(out, visit.Candidate{Netlist: name, Circuit: m.Circuit, Share: 1})
	}
	return out, nil
}

// complained reads what a customer says by a machine's own names, as a visit does.
func complained(c *circuit.Circuit, said string) ([]visit.Note, error) {
	notes, _, _, err := complaints.ListenTo(c).Complaint(said)
	var unclear *complaints.Unclear
	if errors.As(err, &unclear) {
		notes, _, err = unclear.Open(c)
	}
	return notes, err
}

// weighFamily weighs candidates by what the flags say.
func weighFamily(ctx context.Context, t *terminal, candidates []visit.Candidate, e *evidenceFlags) (*visit.Job, error) {
	spoken := func(c *circuit.Circuit, said string) ([]visit.Note, error) {
		notes, err := complained(c, said)
		return slices.DeleteFunc(notes, func(n visit.Note) bool { return n.Quiet != "" }), err
	}
	rec := visit.Record{Complaint: strings.Join(e.complaints, "; ")}
	for _, s := range e.outside {
		rec.Outside = append(rec.Outside, visit.Seen(s))
	}
	j, err := visit.StartFamily(ctx, candidates, spoken, rec, "")
	if err != nil || !e.given() {
		return j, err
	}
	// The likeliest may not have what was said of: the first that has reads it.
	var notes []visit.Note
	for i, c := range j.Candidates() {
		more, wrong := e.notes(&machine{Result: &netlists.Result{Circuit: c.Circuit}, Reporter: report.New(c.Circuit)})
		if wrong == nil {
			notes, err = more, nil
			if i > 0 {
				err = j.Lead(ctx, c.Netlist)
			}
			break
		}
		if i == 0 {
			err = wrong
		}
	}
	if err != nil {
		return nil, err
	}
	e.tell(t)
	return j, j.Add(ctx, notes...)
}

// likeliest takes, for a command about one machine, the likeliest of a family, and
// says which.
func (n *netlistFlags) likeliest(ctx context.Context, t *terminal, e *evidenceFlags) (*visit.Job, error) {
	j, err := n.weighed(ctx, t, e)
	if err == nil {
		n.netlist = j.Netlist()
		t.say(report.Likeliest(j))
	}
	return j, err
}

// weighed weighs the machines of a family.
func (n *netlistFlags) weighed(ctx context.Context, t *terminal, e *evidenceFlags) (*visit.Job, error) {
	candidates, err := members(t, []string{n.netlist})
	if err != nil {
		return nil, err
	}
	return weighFamily(ctx, t, candidates, e)
}

// machineFrom is the machine that leads a visit.
func machineFrom(j *visit.Job) *machine {
	return &machine{file: j.Netlist(), Result: &netlists.Result{Circuit: j.Circuit, Spec: j.Circuit.Spec()}, Reporter: report.New(j.Circuit)}
}

// openAny is openFor that takes a family too: its likeliest machine.
func (n *netlistFlags) openAny(ctx context.Context, t *terminal, e *evidenceFlags) (*machine, error) {
	switch {
	case n.family():
		if _, err := n.likeliest(ctx, t, e); err != nil {
			return nil, err
		}
	case len(e.outside) > 0:
		return nil, errOutside
	}
	return n.openFor(t)
}
