package report

import (
	"errors"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// UnsoundError is returned when a mode trips the protection of a machine in
// which nothing is broken: the netlist describes a short between supply
// conductors.
type UnsoundError struct {
	Mode circuit.ModeID
	// Path locates the mode in the netlist.
	Path    string
	Label   string
	Tripped []string
	// Through names the wires and parts that carry the short, from one supply
	// conductor to the other.
	Through []string
	// Overload names the load whose own current it is, where it is no short.
	Overload string
}

func (e *UnsoundError) Error() string {
	if e.Overload != "" {
		return fmt.Sprintf("mode %q overloads the supply: with nothing broken %s trips %s", e.Label, e.Overload, circuit.List(e.Tripped))
	}
	s := fmt.Sprintf("mode %q shorts the supply: with nothing broken it trips %s", e.Label, circuit.List(e.Tripped))
	if len(e.Through) > 0 {
		s += "; the short goes through " + strings.Join(e.Through, ", ")
	}
	return s
}

// Hint says what to do about it.
func (e *UnsoundError) Hint() string {
	switch {
	case e.Overload != "":
		return "check its volts and watts"
	case len(e.Through) > 0:
		return "check these against the machine"
	}
	return ""
}

// shortShare is the share of the largest current from which a branch counts as
// carrying a short.
const shortShare = 0.5

// unsound describes a mode that trips the protection of a sound machine.
func (r *Reporter) unsound(out *settle.Outcome) *UnsoundError {
	m := r.c.Mode(out.Mode)
	e := &UnsoundError{Mode: out.Mode, Path: "modes." + m.Name, Label: oneLine(m.Label)}
	for _, id := range out.Tripped {
		e.Tripped = append(e.Tripped, r.label(id))
	}
	for _, id := range r.shortPath(out) {
		e.Through = append(e.Through, r.label(id))
		if b := r.c.Branch(id); b.Role == circuit.Load {
			e.Overload = fmt.Sprintf("%s, %s W at %g V,", r.label(id), watts(b.Watts), b.Volts)
		}
	}
	return e
}

// shortPath puts back what tripped and follows the large current through the
// contacts and parts that carry it, from one conductor to the other.
func (r *Reporter) shortPath(out *settle.Outcome) []circuit.BranchID {
	in := r.engine.Input(out)
	in.Conducts = slices.Clone(in.Conducts)
	for _, id := range out.Tripped {
		in.Conducts[id] = true
	}
	sol, err := out.Solver().Solve(in)
	var short *phasor.ShortError
	if errors.As(err, &short) {
		return short.Path
	}
	if err != nil {
		return nil
	}
	var largest float64
	for _, a := range sol.Amps {
		largest = max(largest, cmplx.Abs(a))
	}
	carries := map[circuit.BranchID]bool{}
	var at circuit.TerminalID = circuit.None
	for i, a := range sol.Amps {
		id := circuit.BranchID(i)
		b := r.c.Branch(id)
		if cmplx.Abs(a) < shortShare*largest || b.Role == circuit.Drive {
			continue
		}
		if b.Role == circuit.Source {
			if at == circuit.None {
				at = b.B
			}
			continue
		}
		carries[id] = true
	}
	if at == circuit.None {
		return nil
	}
	return r.walk(carries, at)
}

// walk puts branches into the order in which they are met from a terminal.
// What cannot be reached comes last, in the netlist's order.
func (r namer) walk(branches map[circuit.BranchID]bool, at circuit.TerminalID) []circuit.BranchID {
	left := make([]circuit.BranchID, 0, len(branches))
	for i := range r.c.Branches() {
		if branches[circuit.BranchID(i)] {
			left = append(left, circuit.BranchID(i))
		}
	}
	var out []circuit.BranchID
	for len(left) > 0 {
		found := -1
		for i, id := range left {
			if b := r.c.Branch(id); b.A == at || b.B == at {
				found = i
				break
			}
		}
		if found < 0 {
			return append(out, left...)
		}
		b := r.c.Branch(left[found])
		at = b.Other(at)
		out = append(out, b.ID)
		left = append(left[:found], left[found+1:]...)
	}
	return out
}
