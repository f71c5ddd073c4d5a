package visit

import (
	"context"
	"errors"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// GoOn takes up the search again after a repair that did not end the trouble:
// what was seen before it holds of the machine as it was then, and what was
// seen since of the machine with the repair in it.
func (j *Job) GoOn(ctx context.Context) error {
	if j.Verdict == nil || j.Repair == nil {
		return errors.New("no repair was made to go on from")
	}
	was, before := j.Record, j.NextStep()-1
	j.Mended = append(j.Mended, Mended{Step: before, Causes: j.Verdict.Causes, Words: j.Verdict.Words, Done: j.Repair.Done, Parts: j.Repair.Parts})
	for _, n := range j.After {
		n.Step = before + max(n.Step, 1)
		j.Notes = append(j.Notes, n)
	}
	j.Verdict, j.Repair, j.After = nil, nil, nil
	if err := j.keepOr(was); err != nil {
		return err
	}
	return j.weighAll(ctx)
}

// mendedBefore lists the repairs before an answer, for the engine.
func (j *Job) mendedBefore(step int) ([]suspect.Mend, error) {
	var out []suspect.Mend
	for _, m := range j.Mended {
		if m.Step >= step {
			break
		}
		replaced, err := m.replaced(j.Circuit)
		if err != nil {
			return nil, err
		}
		out = append(out, replaced)
	}
	return out, nil
}

// forgetMended drops the repairs after which no answer is left.
func (j *Job) forgetMended() {
	last := 0
	for _, n := range j.Notes {
		last = max(last, n.Step)
	}
	j.Mended = slices.DeleteFunc(slices.Clone(j.Mended), func(m Mended) bool { return m.Step >= last })
}

// Astray reports whether a repair of parts, as far as its words name any, leaves
// alone all that a finding may be: none of it is in them, or a wire at one of them.
func (j *Job) Astray(f suspect.Finding, parts []circuit.PartID) (bool, error) {
	if len(parts) == 0 {
		return false, nil
	}
	named, err := Mended{Causes: f.ToMend().Causes(j.Circuit)}.replaced(j.Circuit)
	if err != nil {
		return false, err
	}
	return !slices.ContainsFunc(named, func(id circuit.BranchID) bool {
		b := j.Circuit.Branch(id)
		if slices.Contains(parts, b.Part) || b.Part != circuit.None && slices.ContainsFunc(parts, func(id circuit.PartID) bool {
			return j.Circuit.Part(b.Part).Spec.DrivenBy == j.Circuit.Part(id).Name
		}) { // what sits on a board goes with it
			return true
		}
		return b.Wire != circuit.None && slices.ContainsFunc([]circuit.TerminalID{b.A, b.B}, func(t circuit.TerminalID) bool {
			return slices.Contains(parts, j.Circuit.Terminal(t).Part)
		})
	}), nil
}

// replaced are the branches that a repair took away: those of every cause that
// it may have been, and where that lies in a part of the machine's own, all of
// the part; where other parts were repaired, those.
func (m Mended) replaced(c *circuit.Circuit) (suspect.Mend, error) {
	var out suspect.Mend
	for _, name := range m.Parts {
		id, err := c.FindPart(name)
		if err != nil {
			return nil, err
		}
		out = append(out, c.Part(id).Branches...)
	}
	if len(m.Parts) > 0 {
		slices.Sort(out)
		return out, nil
	}
	for _, cause := range m.Causes {
		for _, one := range strings.Split(cause, suspect.Either) {
			faults, err := parseCause(c, one)
			if err != nil {
				return nil, err
			}
			for _, f := range faults {
				out = append(out, f.Branch)
				b := c.Branch(f.Branch)
				if b.Part == circuit.None || b.Role == circuit.Join || b.Role == circuit.Source || c.Part(b.Part).Kind.Guards() {
					continue
				}
				out = append(out, c.Part(b.Part).Branches...)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}
