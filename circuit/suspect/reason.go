package suspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Pays reports whether the test is worth more than naming what leads now.
func (p *Proposal) Pays() bool { return p.Ahead < p.Stop }

// Enough reports whether what leads is likely enough to be named: something was
// measured or found that speaks for it, and the test takes more than it saves.
func (p *Proposal) Enough() bool { return p.measured && p.Lead.P >= nearly && !p.Pays() }

// Proves reports whether what is sure is named only once the test was made: where
// readings slip often, or nothing but what was told speaks for it, while it pays.
func (p *Proposal) Proves() bool { return (p.slips || !p.measured) && p.Ahead > 0 && p.Pays() }

// Stopping says what it comes to to name what leads at once, and with the test made
// first; it is empty where nothing leads.
func (p *Proposal) Stopping() string {
	const leads = 0.5
	if p.Lead.P < leads || p.Ahead == 0 {
		return ""
	}
	const even = 0.15
	then := "the test pays"
	switch {
	case math.Abs(p.Ahead-p.Stop) < even*p.Stop:
		then = "they are about even"
	case !p.Pays():
		then = "the test does not pay"
	}
	return fmt.Sprintf("%s at once: right in %.0f of 100, and a wrong one costs %.0f min. That is %.0f min on average, with getting at it; with this test first, %.0f. So %s",
		p.Lead.Label, 100*p.Lead.P, p.Wrong, p.Stop, p.Ahead, then)
}

// weighUp says of a proposal why it is made live, what naming what leads would come
// to instead, and what it lays open.
func (tab *table) weighUp(p *Proposal, r ranking, ranked []ranking, n *stage) {
	share, part := tab.leading(n.set)
	stop, _ := tab.stopping(n)
	// Of the cases that the table leaves out, a new part cures none.
	p.Lead.P, p.Wrong = share*(1-tab.missing)*(1-tab.left), tab.wrong[part]
	p.Stop = stop/n.set.total() + tab.missing*p.Wrong
	if p.Ahead > 0 { // what is too faint costs as much either way
		p.Stop, p.Ahead = p.Stop+tab.left*p.Wrong, p.Ahead+tab.left*p.Wrong
	}
	most := 0.0
	for _, w := range n.set {
		if tab.part[w.hyp] == part && w.p > most {
			most, p.Lead.Label = w.p, tab.remedy(w.hyp)
		}
	}
	if p.Live && p.Probing() && p.Why != "" {
		p.Why += "; " + tab.whyLive(r, ranked)
	}
	p.measured, p.slips = !slices.Contains(tab.hyps, somethingElse), tab.e.errs.slip >= slipsOften
	p.Beside = tab.beside(r, n)
	p.Along = tab.along(r.test, n)
}

// remedy is what is done about what a row puts wrong: a new part, a control's too where it
// runs what nobody asked for, or what it is. A thermostat out of calibration may have a
// screw, and is off by as much where its bulb is out of its clips (common practice, no
// source).
func (tab *table) remedy(row int32) string {
	var s Suspect
	e := tab.engine(row)
	for _, k := range e.core(tab.hypothesis(int(row))) {
		s.Causes = append(s.Causes, e.classes[k])
	}
	if why, fine := strings.CutPrefix(s.Words(), nothingWrong); fine {
		return "Take it that nothing is wrong (" + why + ")"
	}
	name := onePart(e.c, s)
	if len(s.Causes) == 1 {
		m := s.Causes[0].Members[0]
		name = cmp.Or(name, m.Part)
		if f := m.Faults[0]; f.Kind == circuit.Drifted && e.c.Branch(f.Branch).Role == circuit.Contact {
			return "Set " + circuit.LowerFirst(e.c.Part(e.c.Branch(f.Branch).Part).Label) + " right, its bulb looked at first, or fit a new one where it cannot be set"
		}
	}
	if id, err := e.c.FindPart(name); err == nil && (onePart(e.c, s) != "" || e.c.Part(id).Kind == circuit.KindControl) {
		return "Fit a new " + circuit.LowerFirst(e.c.Part(id).Label)
	}
	return "Mend " + tab.label(row)
}

// whyLive says why a test is made with the supply on.
func (tab *table) whyLive(r ranking, ranked []ranking) string {
	const asMuch = 0.9
	for _, s := range ranked {
		if t := tab.tests[s.test]; !t.Live && t.Probing() && s.bits >= asMuch*r.bits {
			return "live, as a dead test that tells as much takes longer"
		}
	}
	return "live, as no dead test tells as much"
}

// Readings that go with one: so many at most, each that tells so many bits more.
const mostAlong, bitsAlong = 2, 0.02

// along lists readings that are taken in one go with a test and tell more than it
// does, those first that tell most: hot to hot, each hot to neutral.
func (tab *table) along(test int, n *stage) []Test {
	f := &tab.efforts[test]
	if f.station == 0 {
		return nil
	}
	var out []Test
	left := tab.split(test, n.set)
	for range mostAlong {
		best, most := -1, bitsAlong*n.set.total()
		for i := range tab.tests {
			if !tab.efforts[i].along(f.after(n.at)) || i == test || slices.ContainsFunc(out, tab.tests[i].likewise) {
				continue
			}
			bits := 0.0
			for _, b := range left {
				bits += b.p * tab.bits(i, b.set)
			}
			if bits > most*(1+1e-9) {
				best, most = i, bits
			}
		}
		if best < 0 {
			break
		}
		out = append(out, tab.tests[best])
		var finer []branch
		for _, b := range left {
			finer = append(finer, tab.split(best, b.set)...)
		}
		left = finer
	}
	return out
}

// beside lists looks at what a test lays open and that is suspected, the panels
// being off for it.
func (tab *table) beside(r ranking, n *stage) []Test {
	f := &tab.efforts[r.test]
	opens, after := f.panels&^n.at.panels, f.after(n.at)
	var out []Test
	for i, t := range tab.tests {
		g := &tab.efforts[i]
		if t.Ask == Look && i != r.test && g.panels&opens != 0 && g.panels&^after.panels == 0 && g.ask&n.at.asked == 0 {
			out = append(out, t)
		}
	}
	return out
}

// why writes the reason for a test from its two likeliest outcomes: how many of
// the likely causes give the first, and the likeliest of each.
func (tab *table) why(outcomes []Outcome, test int, set belief) string {
	if len(outcomes) < 2 {
		return ""
	}
	a, b := outcomes[0], outcomes[1]
	// What gives either outcome is named on the side that it speaks for more.
	weighs := func(o Outcome, label string) float64 {
		for _, n := range o.Suspects {
			if n.Label == label {
				return o.P * n.P
			}
		}
		return 0
	}
	lead := func(o, other Outcome) string {
		var names []string
		for _, n := range o.Suspects {
			if n.Label != noneOfThese && len(names) < 2 && !slices.Contains(names, n.Label) && o.P*n.P >= weighs(other, n.Label) {
				names = append(names, n.Label)
			}
		}
		if len(names) == 0 {
			return "all else"
		}
		return strings.Join(names, " or ")
	}
	one, two := lead(a, b), lead(b, a)
	if one == two {
		return ""
	}
	apart := fmt.Sprintf("in %.0f of 100 it speaks for %s, else for %s", 100*a.P, one, two)
	if on, of := tab.causesOn(a, test, set); on > 0 && on < of && of > 2 {
		return fmt.Sprintf("the likelier outcome leaves %d of the %d likely causes; %s", on, of, apart)
	}
	return apart
}

// causesOn counts the likely causes that mostly give an outcome, and all of them.
func (tab *table) causesOn(o Outcome, test int, set belief) (on, of int) {
	const likely = 0.02
	all, given := map[int32]float64{}, map[int32]float64{}
	for _, w := range set {
		if tab.hyps[w.hyp] == somethingElse {
			continue
		}
		k := tab.core[w.hyp]
		all[k] += w.p
		tab.outcomes(test, w, func(cell int32, p float64) {
			if cell == o.cell {
				given[k] += p
			}
		})
	}
	for k, p := range all {
		if p < likely*set.total() {
			continue
		}
		if of++; given[k] > p/2 {
			on++
		}
	}
	return on, of
}
