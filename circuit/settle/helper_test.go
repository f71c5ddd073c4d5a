package settle_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// found is what a settled machine shows: each load's share of rated power,
// which coils and drives are pulled in, and what tripped or chatters.
type found struct {
	Shares  map[string]string
	Acting  []string
	Tripped []string
	Chatter []string
}

func run(t testing.TB, c *circuit.Circuit, mode string, refs ...string) *settle.Outcome {
	t.Helper()
	id, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	o, err := settle.New(c).Run(id, circuittest.Faults(t, c, refs...))
	if err != nil {
		t.Fatal(err)
	}
	if o.AnyState.Residual > 1e-9 {
		t.Errorf("residual %g", o.AnyState.Residual)
	}
	return o
}

func find(c *circuit.Circuit, o *settle.Outcome) found {
	f := found{Shares: map[string]string{}}
	for _, id := range c.Loads() {
		least, most := fmt.Sprintf("%.3f", o.LeastShare(id)), fmt.Sprintf("%.3f", o.MostShare(id))
		if most != least {
			least += " to " + most
		}
		f.Shares[c.Branch(id).Ref] = least
	}
	for i, acting := range o.Acting {
		if acting {
			f.Acting = append(f.Acting, c.Branches()[i].Ref)
		}
	}
	for _, id := range o.Tripped {
		f.Tripped = append(f.Tripped, c.Branch(id).Ref)
	}
	if o.Chatter != nil {
		for _, id := range o.Chatter.Contacts {
			f.Chatter = append(f.Chatter, c.Branch(id).Ref)
		}
	}
	return f
}

// expect settles the machine and compares.
func expect(t *testing.T, c *circuit.Circuit, want found, mode string, faults ...string) {
	t.Helper()
	if diff := cmp.Diff(want, find(c, run(t, c, mode, faults...))); diff != "" {
		t.Errorf("mode %s, faults %v: %s", mode, faults, diff)
	}
}
