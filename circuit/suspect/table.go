package suspect

import (
	"context"
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// table holds what every test would read under every weighed hypothesis.
type table struct {
	// missing is how likely it is that nothing in it explains what was seen.
	missing float64
	// left is the chance of what is too faint to be in it.
	left  float64
	e     *Engine
	tests []Test
	ps    []float64 // of the weighed hypotheses, normalised
	hyps  []int
	of    []*Engine // whose hypothesis each is; nil where all are e's
	core  []int32   // by weighed hypothesis: number of its explanation
	part  []int32   // and of what would be named for it, its part or itself
	// feed tells by weighed hypothesis whether it is of what feeds the machine.
	feed []bool
	away []goneFor // and for which tests it is not there
	met  []meets   // by test: how it meets what comes and goes
	// wrong is what naming a part wrongly costs in minutes, by its number.
	wrong []float64
	// mends is what getting at a part to mend it takes, by its number.
	mends []effort
	// cell[t][h] is the number of the outcome; reading[t] one per number. Of a
	// move chance[t][h] holds the chances of its outcomes; it is nil for others.
	cell     [][]int32
	chance   [][][]float64
	readings [][]meter.Reading
	// zero says of which cells that hold a floating reading some are steadily near zero.
	zero   [][]bool
	trials [][]Behaviour
	loads  []circuit.BranchID
	// absent is, by test, the outcome that there is no such place; nil where all
	// hypotheses are of one machine.
	absent []int32
	// spread[t] are the shares of a live test's or trial's outcomes under what is
	// listed: what something else shows there is not known, but that it was complained
	// of. It is nil for others.
	spread [][]float64
	// worth is the share of what there is to learn below which a test is let be.
	worth float64
	// capacity is [Engine.capacity].
	capacity float64
	// any lets trials be that tell little, too.
	any bool
	// begun says that a hot was read to something else, and not to the other hot.
	begun bool
	// stays says that power stays off while a dead test tells.
	stays bool
	room  []ranking // for a list of scores

	ground  *ground
	efforts []effort  // by test
	keys    []string  // by test, for those of equal worth
	hot     []bool    // by test: from hot to hot where the supply comes in
	around  []bool    // by test: a way round through others
	glance  []bool    // by test: a trial at no more than a glance
	proves  []float64 // by test: how far the part is suspected that it proves
}

// somethingElse is the number of a hypothesis that is none of those listed.
const somethingElse = -1

// hypothesis is the one at a row of the table.
func (tab *table) hypothesis(row int) *hypothesis {
	if tab.hyps[row] == somethingElse {
		return &hypothesis{}
	}
	return &tab.engine(int32(row)).hyps[tab.hyps[row]]
}

// engine is the one whose hypothesis is at a row of the table.
func (tab *table) engine(row int32) *Engine {
	if tab.of != nil {
		return tab.of[row]
	}
	return tab.e
}

// everything is a table with all the hypotheses in it. It is the last one's
// where nothing was learnt since and the same tests are left.
func (e *Engine) everything(ctx context.Context, progress *Progress) (*table, belief, error) {
	if e.last == nil || !slices.EqualFunc(e.last.tests, e.left(progress), Test.same) {
		var err error
		if e.last, err = e.tabulate(ctx, e.left(progress), e.faint(), e.doubted()); err != nil {
			return nil, nil, err
		}
	}
	tab := *e.last
	return &tab, tab.all(), nil
}

// faint is how faint a hypothesis may be and have a test of its own. Where readings slip
// often it is faint by one or two that slipped, as many others are.
func (e *Engine) faint() float64 {
	if e.errs.slip >= slipsOften {
		return faint * e.errs.slip
	}
	return faint
}

// left lists the tests still to be made.
func (e *Engine) left(progress *Progress) []Test {
	return slices.DeleteFunc(e.tests(), func(t Test) bool { return !progress.allows(e.c, t) })
}

// unlisted is the chance, until something was measured or found to be bad, that
// it is none of what is listed: a sentence was taken wrong, or the machine is not
// as its netlist says. A part that nobody put a probe to is not named for sure
// (common practice, no source).
const unlisted = 0.15

// mostUnlisted is the most that may be believed of it where a test is chosen: what
// is listed is looked into, however unlikely all of it is.
const mostUnlisted = 0.5

// doubted is the chance that it is something else.
func (e *Engine) doubted() float64 {
	found := []string{"burnt", "melted", "blistered", "parted", "loose"}
	for i, ev := range e.evidence {
		seen := ev.Reading != nil && e.singles[i].bad() || ev.Told != nil && (ev.Told.ask.Ask != "" && !ev.Told.clear() || slices.Contains(found, ev.Told.What))
		if seen && e.since(ev) {
			return 0
		}
	}
	if e.opt.MeterOnly || !e.speaks() && !e.accused() { // a drill hides what is listed
		return 0
	}
	return unlisted
}

// accused reports whether something was told that hardly anybody says of a sound machine.
func (e *Engine) accused() bool {
	const hardly = 0.0015
	return slices.ContainsFunc(e.singles, func(s *singles) bool {
		return s.ev.Told != nil && s.none < math.Log(hardly) && e.since(s.ev)
	})
}

// tabulate predicts tests under the hypotheses that matter: those that
// are not too faint beside the best, and one for something else, by its chance,
// that reads as a sound machine does.
func (e *Engine) tabulate(ctx context.Context, tests []Test, faint, other float64) (*table, error) {
	tab := &table{e: e, tests: tests, loads: seenLoads(e.c), worth: worthShare, capacity: e.capacity(), stays: e.staysOff()}
	sum, none, first := 0.0, 0.0, 0.0
	for _, s := range e.condensed() {
		if len(tab.hyps) == weighed || sum+none >= covered && sum > 0 || sum >= most*(1-none) && s.p < faint*first {
			break
		}
		if other > 0 && len(e.core(&e.hyps[s.hyp])) == 0 {
			none += s.p
			continue
		}
		first = max(first, s.p)
		tab.hyps, tab.ps, tab.away = append(tab.hyps, s.hyp), append(tab.ps, s.p), append(tab.away, s.away)
		sum += s.p
	}
	tab.left = max(0, 1-sum-none)
	if other > 0 {
		other = min(max(other, none), mostUnlisted)
	}
	cores, parts := map[string]int32{}, map[string]int32{}
	tab.ground = newGround(e.c)
	finding := func(name string, core []int32) int32 {
		n := numbered(parts, name)
		if int(n) == len(tab.wrong) {
			tab.wrong, tab.mends = append(tab.wrong, e.wrongPrice(name)), append(tab.mends, tab.ground.mending(e, core))
		}
		return n
	}
	upstream := e.Bench().Upstream()
	suspects := map[circuit.PartID][]int{} // rows, by a part that is at fault in them
	for i := range tab.ps {
		tab.ps[i] /= sum
		core := e.core(&e.hyps[tab.hyps[i]])
		for _, k := range core {
			b := e.c.Branch(e.classes[k].Members[0].Faults[0].Branch)
			if rows := suspects[b.Part]; b.Wire == circuit.None && (len(rows) == 0 || rows[len(rows)-1] != i) {
				suspects[b.Part] = append(rows, i)
			}
		}
		id := fmt.Sprint(core)
		tab.core, tab.feed = append(tab.core, numbered(cores, id)), append(tab.feed, e.feeds(core, upstream))
		if len(core) == 1 {
			if part := onePart(e.c, Suspect{Causes: e.classes[core[0] : core[0]+1]}); part != "" && !e.set(core) {
				id = part
			}
		}
		tab.part = append(tab.part, finding(id, core))
	}
	if other > 0 {
		id := fmt.Sprint([]int32(nil))
		tab.hyps, tab.ps, tab.away = append(tab.hyps, somethingElse), append(tab.ps, other/(1-other)), append(tab.away, 0)
		tab.core, tab.part, tab.feed = append(tab.core, numbered(cores, id)), append(tab.part, finding(id, nil)), append(tab.feed, false)
	}
	plain, around, proves := e.plain(), e.roundabout(), e.proves()
	var proved []circuit.PartID
	var legs []circuit.TerminalID
	for _, leg := range e.c.Supply().Legs {
		legs = append(legs, e.comesIn(leg))
	}
	tab.begun = e.begun(legs)
	for _, t := range tab.tests {
		f := tab.ground.effort(t)
		if t.Ask == Thermometer {
			f.own += e.watching(t.Mode)
		}
		more := around(t)
		f.price += more
		part, far := proves(t)
		tab.around, tab.proves, proved = append(tab.around, more == roundabout), append(tab.proves, far), append(proved, part)
		f.price += float64(plain(t)-'0') * unplain
		tab.hot = append(tab.hot, t.Probing() && slices.Contains(legs, t.Probes.P) && slices.Contains(legs, t.Probes.Q))
		tab.met = append(tab.met, e.meets(t))
		if tab.met[len(tab.met)-1] == failing {
			f.own += trialMinutes // on once more until it does
		}
		tab.efforts, tab.glance = append(tab.efforts, f), append(tab.glance, t.Trial && e.atAGlance(e.c.Mode(t.Mode)))
		tab.keys = append(tab.keys, string(plain(t))+t.key(e.c))
	}
	known := make([]map[circuit.BranchID]circuit.LoadState, len(tab.tests))
	for i, t := range tab.tests {
		if t.Trial {
			known[i] = e.knownStates(t.Mode)
		}
	}
	answers := make([][]answer, len(tab.hyps))
	err := e.each(ctx, len(tab.hyps), func(w *worker, h int) error {
		hyp := tab.hypothesis(h)
		type occasion struct {
			mode circuit.ModeID
			away bool
		}
		live := map[occasion]*settle.SweepOutcome{}
		row := make([]answer, len(tab.tests))
		for i, t := range tab.tests {
			on := occasion{t.Mode, tab.away[h].at(tab.met[i])}
			present := func() []circuit.Fault { return e.present(hyp, t.Mode, t.Live, on.away) }
			switch t.Ask {
			case "", Listen:
			case Thermometer:
				p, err := w.heated(t.Mode, present())
				if err != nil {
					return err
				}
				row[i].chance = e.errs.degrees(p)
				continue
			default:
				row[i].chance = e.askedOf(t, hyp)
				continue
			}
			if !t.Live || t.Probes.Function == meter.Amps {
				var err error
				if row[i].reading, _, err = w.reading(t.Probes, t.Mode, t.Lift, present()); err != nil {
					return err
				}
				continue
			}
			o, ok := live[on]
			if !ok {
				var err error
				if o, err = w.live(t.Mode, present()); err != nil {
					return err
				}
				live[on] = o
			}
			switch {
			case t.Ask == Listen:
				row[i].chance = t.clicks(e.c, o.Acting)
			case t.Trial:
				sound, err := w.sound(t.Mode)
				if err != nil {
					return err
				}
				row[i].trial = behaviour(o, sound, tab.loads, known[i]).seen(e.c, tab.loads, o, sound)
			default:
				row[i].reading = w.bench.QuickOn(o, t.Probes.Function, t.Probes.P, t.Probes.Q)
			}
		}
		answers[h] = row
		return nil
	})
	if err != nil {
		return nil, err
	}
	tab.cell, tab.zero = make([][]int32, len(tab.tests)), make([][]bool, len(tab.tests))
	tab.readings = make([][]meter.Reading, len(tab.tests))
	tab.trials = make([][]Behaviour, len(tab.tests))
	tab.chance = make([][][]float64, len(tab.tests))
	for i := range tab.tests {
		tab.number(i, answers)
	}
	for i, t := range tab.tests {
		if tab.proves[i] > 0 && t.Probing() {
			tab.proves[i] *= tab.shows(i, suspects[proved[i]])
		}
	}
	tab.spread = make([][]float64, len(tab.tests))
	for i, t := range tab.tests {
		if other == 0 || !t.Live || t.Ask != "" {
			continue
		}
		tab.spread[i] = make([]float64, max(len(tab.readings[i]), len(tab.trials[i])))
		for h, p := range tab.ps[:len(tab.ps)-1] {
			tab.spread[i][tab.cell[i][h]] += p
		}
	}
	return tab, nil
}

// answer is what a test shows under a hypothesis.
type answer struct {
	reading meter.Reading
	trial   Behaviour
	chance  []float64
}

// number numbers the outcomes of a test, those that nobody tells apart as one.
func (tab *table) number(i int, answers [][]answer) {
	t, bench := tab.tests[i], tab.e.Bench()
	if t.Ask != "" {
		tab.chance[i] = make([][]float64, len(tab.hyps))
		for h := range tab.hyps {
			tab.chance[i][h] = answers[h][i].chance
		}
		return
	}
	tab.cell[i] = make([]int32, len(tab.hyps))
	for h := range tab.hyps {
		a := answers[h][i]
		at := -1
		if t.Trial {
			if at = slices.IndexFunc(tab.trials[i], a.trial.Equal); at < 0 {
				at = len(tab.trials[i])
				tab.trials[i] = append(tab.trials[i], a.trial)
			}
		} else {
			for k, r := range tab.readings[i] {
				if !r.Differs(a.reading) || bench.NearZero(r) && bench.NearZero(a.reading) || vague(r) && a.reading.OL || r.OL && vague(a.reading) {
					at = k
					break
				}
			}
			if at < 0 {
				at = len(tab.readings[i])
				tab.readings[i] = append(tab.readings[i], a.reading)
			}
		}
		tab.cell[i][h] = int32(at)
		if !t.Trial && tab.readings[i][at].Unsteady && bench.NearZero(a.reading) {
			tab.zero[i] = append(tab.zero[i], make([]bool, max(0, at+1-len(tab.zero[i])))...)
			tab.zero[i][at] = true
		}
	}
}

// begun reports whether volts were read from a hot to something else, where the supply
// comes in or before that, and from hot to hot not.
func (e *Engine) begun(legs []circuit.TerminalID) (some bool) {
	upstream := e.Bench().Upstream()
	hot := func(t circuit.TerminalID) bool {
		return upstream[t] || slices.ContainsFunc(legs, func(leg circuit.TerminalID) bool {
			return leg != circuit.None && e.c.Terminal(leg).Part == e.c.Terminal(t).Part && e.c.Runs()[leg] == e.c.Runs()[t]
		})
	}
	for _, ev := range e.evidence {
		if ev.Reading == nil || ev.Reading.Probes.Function != meter.Volts || !e.since(ev) {
			continue
		}
		p, q := hot(ev.Reading.Probes.P), hot(ev.Reading.Probes.Q)
		if p && q {
			return false
		}
		some = some || p || q
	}
	return some
}

// feeds reports whether an explanation is of what feeds the machine alone: the house,
// whose terminals are those upstream, a cord, the terminals that it comes in by.
func (e *Engine) feeds(core []int32, upstream map[circuit.TerminalID]bool) bool {
	in := func(m Cause) bool {
		b := e.c.Branch(m.Faults[0].Branch)
		at := func(t circuit.TerminalID) bool { return t != circuit.None && upstream[t] }
		return b.Role == circuit.Source || at(b.A) || at(b.B) || kindOf(e.c, b.ID) == circuit.KindTerminalBlock
	}
	return len(core) > 0 && !slices.ContainsFunc(core, func(k int32) bool { return !slices.ContainsFunc(e.classes[k].Members, in) })
}

// shows is the share of what is suspected of a part, in some rows, that probes put to
// it tell from a sound one: what reads alike worn and new is not proved by it.
func (tab *table) shows(test int, rows []int) float64 {
	t, all, seen := tab.tests[test], 0.0, 0.0
	sound, _, err := tab.e.workers[0].reading(t.Probes, t.Mode, t.Lift, nil)
	if err != nil {
		return 1
	}
	for _, h := range rows {
		all += tab.ps[h]
		if tab.readings[test][tab.cell[test][h]].Differs(sound) {
			seen += tab.ps[h]
		}
	}
	if all == 0 {
		return 1
	}
	return seen / all
}

// vague tells ohms that may be anything, such as those into a board's own supply:
// nobody tells a board that reads open from a good one.
func vague(r meter.Reading) bool {
	const asWide = 100
	return r.Function == meter.Ohms && !r.OL && r.High > asWide*max(r.Low, 1)
}
