package suspect

import (
	"cmp"
	"context"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// What is likely has a step that can tell it, before what is less likely: the first few
// explanations, and any of so much.
const likelyFirst, likelyShare = 3, 0.05

// likely numbers the explanations that a sheet has to tell, the likeliest first.
func (s *sheeting) likely(set []int) (out []int32) {
	weight := map[int32]float64{}
	for _, h := range set {
		if core := s.tab.core[h]; weight[core] == 0 {
			out = append(out, core)
			weight[core] = s.tab.ps[h]
		} else {
			weight[core] += s.tab.ps[h]
		}
	}
	slices.SortStableFunc(out, func(a, b int32) int { return likelier(weight[a], weight[b]) })
	all := s.tab.weight(set)
	for i, core := range out {
		if i >= likelyFirst && weight[core] < likelyShare*all {
			return out[:i]
		}
	}
	return out
}

// untold are those of a set that are of some explanations of which a test has not read
// most of the weight bad.
func (s *sheeting) untold(cores []int32, set, left []int) []int {
	of := func(core int32, set []int) []int {
		return slices.DeleteFunc(slices.Clone(set), func(h int) bool { return s.tab.core[h] != core })
	}
	var out []int
	for _, core := range cores {
		if still := of(core, left); s.tab.weight(still) > s.tab.weight(of(core, set))/2 {
			out = append(out, still...)
		}
	}
	return out
}

// onSheet reports whether a move is a step of its own: looking is said with each panel,
// and wires are moved where something comes and goes.
func onSheet(a Ask) bool { return a != Look && a != Move }

// Outside reports whether a test needs nothing opened and no probe: at the controls, or at
// the house's panel.
func (t Test) Outside(c *circuit.Circuit) bool {
	return t.Trial || t.Ask != "" && (!moves[t.Ask].inside || len(c.PanelsTo(c.Part(t.Part).Place)) == 0)
}

// across lists what tells the likeliest contacts by themselves where no mode complained of
// does: ohms across one where a mode has it shut that is open at rest, or open that is
// shut; else, of what a coil moves, the volts across it under load (common practice, no
// source).
func (e *Engine) across() (out []Test) {
	posterior := e.Suspects(mostWeighed)
	for i, sus := range posterior {
		if i >= likelyFirst && sus.P < likelyShare {
			break
		}
		if len(sus.Causes) != 1 {
			continue
		}
		faults := sus.Causes[0].Members[0].Faults
		done := 0
		for _, f := range faults {
			if b := e.c.Branch(f.Branch); b.Role != circuit.Contact || !probeable(e.c, b) || done == mostAcross {
				continue
			}
			if t, ok := e.acrossContact(f.Branch, faults); ok && !slices.ContainsFunc(out, t.likewise) {
				out = append(out, t)
			}
			done++
		}
	}
	return out
}

// mostAcross is how many contacts of one part are read, mostWeighed how many explanations
// are looked through for likely ones.
const mostAcross, mostWeighed = 2, 12

// apart lists ohms to metal of what is suspected of touching it, its leads lifted at both
// ends: what then still reads touches metal itself, what does not leaves its leads and what
// they go to (common practice, no source).
func (e *Engine) apart() (out []Test) {
	metal := e.c.ChassisTerminal()
	if metal == circuit.None {
		return nil
	}
	for _, sus := range e.Suspects(mostWeighed) {
		if len(sus.Causes) != 1 {
			continue
		}
		f := sus.Causes[0].Members[0].Faults[0]
		if b := e.c.Branch(f.Branch); f.Kind == circuit.Grounded && b.Role == circuit.Load && probeable(e.c, b) {
			t := Test{Probes: e.ohms(b.A, metal), Mode: e.modes()[0], At: b.A}
			for _, at := range [2]circuit.TerminalID{b.A, b.B} {
				t.Lift = append(t.Lift, e.c.Terminal(at).Wires...)
			}
			out = append(out, t)
		}
	}
	return out
}

// acrossContact is the plainest test across a contact that faults read bad in.
func (e *Engine) acrossContact(id circuit.BranchID, faults []circuit.Fault) (Test, bool) {
	b, w := e.c.Branch(id), e.workers[0]
	var modes []circuit.ModeID
	upstream := e.Bench().Upstream()
	if upstream[b.A] || upstream[b.B] {
		return Test{}, false
	}
	for i := range e.c.Modes() {
		if m := circuit.ModeID(i); e.c.Mode(m).Reached != circuit.NotAtWill && !e.shorts(m) {
			modes = append(modes, m)
		}
	}
	first := e.modes()[0]
	minutes := func(m circuit.ModeID) float64 {
		if m == first {
			return 0
		}
		return trialEffort(e.c, m)
	}
	slices.SortStableFunc(modes, func(x, y circuit.ModeID) int { return cmp.Compare(minutes(x), minutes(y)) })
	differs := func(t Test) bool {
		sound, _, err := w.reading(t.Probes, t.Mode, t.Lift, nil)
		if err != nil {
			return false
		}
		bad, _, err := w.reading(t.Probes, t.Mode, t.Lift, faults)
		return err == nil && bad.Differs(sound) && !(e.Bench().NearZero(bad) && e.Bench().NearZero(sound))
	}
	for _, m := range modes {
		t := Test{Probes: e.ohms(b.A, b.B), Mode: m, At: circuit.None}
		if mask, err := e.Bench().Mask(m, id); err == nil && mask.Masked {
			t.Lift, t.At = mask.Lift, mask.At
		}
		if differs(t) {
			return t, true
		}
	}
	if e.staysOff() {
		return Test{}, false
	}
	for _, m := range e.modes() {
		if t := (Test{Probes: meter.Probes{Function: meter.Volts, P: b.A, Q: b.B}, Mode: m, Live: true, At: circuit.None}); !e.shorts(m) && differs(t) {
			return t, true
		}
	}
	return Test{}, false
}

// chooseLikely takes tests until each of what is likely is told by one, each the best of
// those that tell some.
func (s *sheeting) chooseLikely(ctx context.Context, all []int, progress *Progress, first *Test) (out, left []int, after *Progress, err error) {
	cores, left := s.likely(all), all
	for len(out) < mostMain {
		still := s.untold(cores, all, left)
		if len(still) == 0 {
			break
		}
		ranked, err := s.ranked(ctx, left, progress, out)
		if err != nil {
			return nil, nil, nil, err
		}
		at := slices.IndexFunc(ranked, func(r ranking) bool { return s.finds(r.test, still) > 0 })
		if len(out) == 0 && first != nil {
			if k := slices.IndexFunc(ranked, func(r ranking) bool { return s.tab.tests[r.test].same(*first) && s.finds(r.test, still) > 0 }); k >= 0 {
				at = k
			}
		}
		t := -1
		if at >= 0 {
			t = ranked[at].test
		} else if t = s.plainest(still, progress, out); t < 0 {
			break
		}
		out, left, progress = append(out, t), s.sound(t, left), progress.after(s.tab.e.c, s.tab.tests[t])
	}
	return out, left, progress, nil
}

// plainest is the test, of those not chosen, that reads most of a set bad for the least
// effort, -1 for none: where one explanation is left nothing more is to be learnt of it,
// but that it is so.
func (s *sheeting) plainest(set []int, progress *Progress, chosen []int) int {
	at := s.tab.ground.setup(progress)
	best, least := -1, 0.0
	for i, t := range s.tab.tests {
		if t.Trial || t.Live && s.tab.e.trips() || slices.Contains(chosen, i) || s.finds(i, set) < s.tab.weight(set)/2 {
			continue
		}
		if r := s.tab.ranking(i, 0, at); best < 0 || r.minutes+r.price < least-1e-9 {
			best, least = i, r.minutes+r.price
		}
	}
	return best
}
