package visits

import (
	"errors"
	"fmt"
	"math"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Check reports a note that makes no sense on the machine.
func (n Note) Check(c *circuit.Circuit) error {
	if n.Made() {
		_, err := Evidence(c, n.Seen())
		return err
	}
	_, err := n.Test(c)
	if err == nil && n.Unreachable != "" {
		_, err = suspect.FindPlace(c, n.Unreachable)
	}
	return err
}

// Evidence resolves what was seen on a machine, and refuses what no meter
// could have shown there.
func Evidence(c *circuit.Circuit, n suspect.Note) (suspect.Evidence, error) {
	ev, err := n.Resolve(c)
	if err != nil {
		return ev, err
	}
	o := ev.Reading
	if o == nil || o.OL || o.Unsteady {
		return ev, nil
	}
	if most := mostVolts(c); o.Probes.Function.Unit() == "V" && o.Value > most {
		return ev, fmt.Errorf("%q: no two places of a machine on %.4g V stand %.4g V apart; at most %.0f V is taken", n.Answer, c.Supply().Volts, o.Value, most)
	}
	return ev, nil
}

// mostVolts is more than stands anywhere on a machine: half as much again as
// its supply or, with a transformer, its largest winding.
func mostVolts(c *circuit.Circuit) float64 {
	most := c.Supply().Volts
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Secondary != circuit.None && b.TurnsRatio > 0 {
			most = math.Max(most, c.Supply().Volts/b.TurnsRatio)
		}
	}
	return 1.5 * most
}

// Test is the test that a note is about, as the engine lists it.
func (n Note) Test(c *circuit.Circuit) (suspect.Test, error) {
	mode, err := c.FindMode(n.Mode)
	if err != nil {
		return suspect.Test{}, err
	}
	if n.P == "" && n.Q == "" {
		if n.Load != "" {
			if _, err := c.FindLoad(n.Load); err != nil {
				return suspect.Test{}, err
			}
		}
		return suspect.Test{Trial: true, Mode: mode, Live: true, At: circuit.None}, nil
	}
	f, err := meter.ParseFunction(n.Function)
	if err != nil {
		return suspect.Test{}, err
	}
	p, err := suspect.FindPlace(c, n.P)
	if err != nil {
		return suspect.Test{}, err
	}
	q, err := suspect.FindPlace(c, n.Q)
	if err != nil {
		return suspect.Test{}, err
	}
	if p == q {
		return suspect.Test{}, fmt.Errorf("%w: %s", meter.ErrSameProbe, n.P)
	}
	t := suspect.Test{Probes: meter.Probes{Function: f, P: p, Q: q, Name: n.P + " to " + n.Q}, Mode: mode, Live: f.Live(), At: circuit.None}
	if n.Lifted != "" {
		if t.At, err = suspect.FindPlace(c, n.Lifted); err != nil {
			return suspect.Test{}, err
		}
		if f.Live() {
			return suspect.Test{}, errors.New("a lead is lifted with the supply off only")
		}
		t.Lift = c.Terminal(t.At).Wires
	}
	return t, nil
}

// blame names the key of a note that does not hold.
func (n Note) blame(c *circuit.Circuit) string {
	if _, err := c.FindMode(n.Mode); err != nil {
		return "mode"
	}
	if n.P == "" && n.Q == "" {
		if _, err := c.FindLoad(n.Load); err != nil {
			return "load"
		}
		return "state"
	}
	if _, err := meter.ParseFunction(n.Function); err != nil {
		return "function"
	}
	for _, place := range []struct{ key, name string }{{"p", n.P}, {"q", n.Q}, {"lifted", n.Lifted}, {"unreachable", n.Unreachable}} {
		if _, err := suspect.FindPlace(c, place.name); err != nil && (place.name != "" || len(place.key) == 1) {
			return place.key
		}
	}
	if n.P == n.Q {
		return "q"
	}
	return "answer"
}
