package heat

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Above returns when a body first was as warm as celsius, in minutes; NaN where
// it never was. Between two minutes it is taken to warm evenly.
func (r *Run) Above(body circuit.BodyID, celsius float64) float64 {
	list := r.Bodies[body].Celsius
	for i, t := range list {
		switch {
		case t < celsius:
		case i == 0:
			return 0
		default:
			before := list[i-1]
			return float64(i-1) + (celsius-before)/(t-before)
		}
	}
	return nowhere
}

// Acted returns when a part that heat works first left its rest, or a control
// first let off heat, in minutes; NaN where it did not.
func (r *Run) Acted(part circuit.PartID) float64 {
	for _, e := range r.Events {
		if e.Part == part && e.Acts {
			return e.Minutes
		}
	}
	return nowhere
}

// Compare is a question's run beside that of the sound machine.
type Compare struct{ Sound, Now *Run }

// Compare follows the question, and the same with nothing broken and all air
// passing.
func (m *Model) Compare(q Question) (*Compare, error) {
	sound := q
	sound.Faults, sound.Air = nil, nil
	a, err := m.Run(sound)
	if err != nil {
		return nil, err
	}
	b, err := m.Run(q)
	if err != nil {
		return nil, err
	}
	return &Compare{Sound: a, Now: b}, nil
}

// Slower returns how many times as long a body takes to come to temperature as
// in a sound machine: 1 for no longer, positive infinity where it never does;
// NaN where the sound machine does not either.
func (c *Compare) Slower(body circuit.BodyID) float64 {
	sound, now := c.Sound.Bodies[body].Reached, c.Now.Bodies[body].Reached
	switch {
	case math.IsNaN(sound):
		return nowhere
	case math.IsNaN(now):
		return math.Inf(1)
	case sound == 0:
		return 1
	}
	return now / sound
}

// Off returns by how many kelvin the body settles warmer than in a sound
// machine, negative where cooler.
func (c *Compare) Off(body circuit.BodyID) float64 {
	return c.Now.Bodies[body].Mean - c.Sound.Bodies[body].Mean
}

// Fans lists the fans whose air cools a body, in netlist order.
func (m *Model) Fans() []circuit.BranchID {
	var out []circuit.BranchID
	for _, load := range m.c.Loads() {
		if slices.ContainsFunc(m.c.Bodies(), func(b circuit.Body) bool { return b.Fan == load }) {
			out = append(out, load)
		}
	}
	return out
}

// FindAir reads a fan and the share of its air that passes.
func (m *Model) FindAir(fan string, share float64) (circuit.BranchID, error) {
	id, err := m.c.FindLoad(fan)
	if err != nil {
		return id, err
	}
	if fans := m.Fans(); !slices.Contains(fans, id) {
		names := []string{}
		for _, f := range fans {
			names = append(names, m.c.Part(m.c.Branch(f).Part).Name)
		}
		if len(names) == 0 {
			names = append(names, "none")
		}
		return id, fmt.Errorf("%s cools no body of the netlist; fans that do: %s", m.c.Label(id), strings.Join(names, ", "))
	}
	if !(share >= 0 && share <= 1) {
		return id, fmt.Errorf("a share of the air from 0 to 1, not %g", share)
	}
	return id, nil
}
