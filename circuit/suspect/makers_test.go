package suspect_test

import (
	"context"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// A dryer's cut-off that blew was made to by its air or by a thermostat that
// stayed closed; an oven's fuse by a cooling fan that stopped; a relay by a short
// in what it feeds.
func TestTheMakerOfAFaultIsLookedFor(t *testing.T) {
	for _, x := range []struct{ machine, mended, want, why string }{
		{"dryer", "thermal_cutoff:open", "The air of Drive motor main is blocked", "Thermal cut-off then opens"},
		{"range-electronic", "oven_limit:open", "Cooling fan does not turn", "Oven high limit then opens"},
		{"range-electronic", "bake_relay.contact:open", "Bake element", "goes through Bake relay contact"},
		{"oven-double", "control:open", "Cooling fan", "its air passes"},
	} {
		c := machine(t, x.machine)
		e := engine(t, c, suspect.Options{})
		faults, err := c.ParseFault(x.mended)
		if err != nil {
			t.Fatal(err)
		}
		tried := false
		for _, k := range suspect.Classes(c) {
			if f := k.Members[0].Faults[0]; f.Branch != faults[0].Branch || f.Kind != faults[0].Kind || len(k.Members[0].Faults) > 1 {
				continue
			}
			tried = true
			p, err := e.Proof(context.Background(), []suspect.Class{k})
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, m := range p.Makers {
				found = found || strings.HasPrefix(m.What, x.want) && strings.Contains(m.Why, x.why)
			}
			if !found {
				t.Errorf("%s: %s was made by %v", x.machine, x.mended, p.Makers)
			}
		}
		if !tried {
			t.Errorf("%s: nothing is mended by %s", x.machine, x.mended)
		}
	}
}
