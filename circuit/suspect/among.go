package suspect

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/gonum/floats"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Rival is one of several machines that the one at hand may be, with what is
// known put to its engine.
type Rival struct {
	Engine   *Engine
	Progress *Progress
	// P is the probability that it is this one.
	P float64
}

// Among weighs faults over rivals, as one mixture. What fails, and what a test
// shows, is one and the same in two of them where the part has the same name and
// fails alike. The first leads: tests and findings are in its names.
type Among []Rival

// Shared is a suspect over rivals: its P is that in all of them together.
type Shared struct {
	Suspect
	// Of is the rival by whose names it is told: the first that suspects it.
	Of int
}

// LogEvidence is the log of the probability of all that was added, by what may be
// wrong and how often.
func (e *Engine) LogEvidence() float64 { return e.mass() - e.atFirst }

// mass is the log of the total weight of an engine's hypotheses.
func (e *Engine) mass() float64 {
	logs := make([]float64, len(e.hyps))
	for i, h := range e.hyps {
		logs[i] = h.logp
	}
	return floats.LogSumExp(logs)
}

// Suspects ranks explanations over all rivals, most probable first.
func (a Among) Suspects(most int) []Shared {
	at := map[string]int{}
	var out []Shared
	for i, r := range a {
		for _, s := range r.Engine.Suspects(looked) {
			s.P *= r.P
			key := keyOf(r.Engine.c, s.Causes)
			if k, ok := at[key]; ok {
				out[k].P += s.P
				continue
			}
			at[key], out = len(out), append(out, Shared{s, i})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(most, len(out))]
}

// Finding sums up the suspects over all rivals, in the first one's names.
func (a Among) Finding() Finding {
	sum := map[string]float64{}
	for _, r := range a {
		for _, s := range r.Engine.Suspects(looked) {
			sum[keyOf(r.Engine.c, s.Causes)] += s.P * r.P
		}
	}
	c := a[0].Engine.c
	all := a[0].Engine.Suspects(looked)
	for i := range all {
		key := keyOf(c, all[i].Causes)
		all[i].P = sum[key]
		delete(sum, key) // two of one key have it together
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].P > all[j].P })
	return findingOf(c, all)
}

// Blame tells how likely each branch of the first rival is at fault, over all that
// have it. A cause that no listed test tells from others shares its explanation's
// probability with them by their priors; an explanation of two causes counts for
// both. A cause counts where it is blamed on, as in [Engine.PartChance].
func (a Among) Blame() map[circuit.BranchID]float64 {
	out, named := map[circuit.BranchID]float64{}, map[string]circuit.BranchID{}
	lead := a[0].Engine.c
	for id := range circuit.BranchID(len(lead.Branches())) {
		named[nameOf(lead, id)] = id
	}
	for i, r := range a {
		c := r.Engine.c
		for _, s := range r.Engine.Suspects(math.MaxInt) {
			for _, class := range s.Causes {
				for _, m := range class.Members {
					at, has := m.Blamed(c), true
					if i > 0 {
						at, has = named[nameOf(c, at)]
					}
					if has {
						out[at] += r.P * s.P * m.Prior / class.Prior
					}
				}
			}
		}
	}
	return out
}

// Next is [Engine.Next] over all rivals. Only what the first can be asked is
// proposed, and of that what most of the others can be asked too.
func (a Among) Next(ctx context.Context, most int) ([]Proposal, error) {
	return a.propose(ctx, most, worthShare)
}

// Rest is [Engine.Rest] over all rivals.
func (a Among) Rest(ctx context.Context, most int) ([]Proposal, error) {
	return a.propose(ctx, most, 0)
}

func (a Among) propose(ctx context.Context, most int, worth float64) ([]Proposal, error) {
	if len(a) == 1 {
		return a[0].Engine.propose(ctx, a[0].Progress, most, worth)
	}
	tab, err := a.likeliest().tabulate(ctx)
	if err != nil {
		return nil, err
	}
	tab.worth, tab.any = worth, worth == 0
	return tab.proposals(ctx, tab.stage(tab.all(), tab.ground.setup(a[0].Progress)), most)
}

// mostRivals is how many are looked at to choose a test.
const mostRivals = 6

// likeliest are the rivals that a test is chosen by, where there are many.
func (a Among) likeliest() Among {
	if len(a) <= mostRivals {
		return a
	}
	rest := slices.Clone(a[1:])
	slices.SortStableFunc(rest, func(r, s Rival) int { return cmp.Compare(s.P, r.P) })
	out := append(Among{a[0]}, rest[:mostRivals-1]...)
	total := 0.0
	for _, r := range out {
		total += r.P
	}
	for i := range out {
		out[i].P /= total
	}
	return out
}

// tabulate makes one table of all: its rows are the hypotheses of each rival, its
// tests those of the first.
func (a Among) tabulate(ctx context.Context) (*table, error) {
	lead := a[0].Engine
	first, _, err := lead.everything(ctx, a[0].Progress)
	if err != nil {
		return nil, err
	}
	tabs := []*table{first}
	at := [][]int{nil} // by rival and test: which of its table it is, or -1
	for _, r := range a[1:] {
		var tests []Test
		var of []int
		for _, t := range first.tests {
			u, ok := t.on(lead.c, r.Engine.c)
			if !ok {
				of = append(of, -1)
				continue
			}
			of, tests = append(of, len(tests)), append(tests, u)
		}
		tab, err := r.Engine.tabulate(ctx, tests, faint, 0)
		if err != nil {
			return nil, err
		}
		tabs, at = append(tabs, tab), append(at, of)
	}
	out := &table{e: lead, loads: first.loads, worth: first.worth, capacity: first.capacity, stays: lead.staysOff(), ground: first.ground}
	cores, parts := map[string]int32{}, map[string]int32{}
	out.missing = a.condense(tabs)
	for i, tab := range tabs {
		out.left += a[i].P * tab.left
	}
	for i, tab := range tabs {
		e := a[i].Engine
		for h, hyp := range tab.hyps {
			core := e.core(tab.hypothesis(h))
			var causes []Class
			for _, k := range core {
				causes = append(causes, e.classes[k])
			}
			id := keyOf(e.c, causes)
			out.hyps, out.of = append(out.hyps, hyp), append(out.of, e)
			out.ps = append(out.ps, a[i].P*tab.ps[h])
			out.core, out.feed = append(out.core, numbered(cores, id)), append(out.feed, tab.feed[h])
			if part := onePart(e.c, Suspect{Causes: causes}); part != "" && !e.set(core) {
				id = part
			}
			part := numbered(parts, id)
			if int(part) == len(out.wrong) {
				out.wrong, out.mends = append(out.wrong, e.wrongPrice(id)), append(out.mends, out.ground.mending(e, core))
			}
			out.part = append(out.part, part)
		}
	}
	for t := range first.tests {
		has := a[0].P
		for i := 1; i < len(a); i++ {
			if at[i][t] >= 0 {
				has += a[i].P
			}
		}
		if has >= 0.5 {
			a.join(out, tabs, at, t)
		}
	}
	return out, nil
}

// condense leaves out the faintest hypotheses of tables that are to be one, and
// that it is something else: a wiring more is that already. It tells how likely it is
// that nothing in them explains what was seen.
func (a Among) condense(tabs []*table) (missing float64) {
	for i, tab := range tabs {
		if n := len(tab.hyps) - 1; n > 0 && tab.hyps[n] == somethingElse {
			missing += a[i].P * tab.e.mistaken()
			slim := *tab
			slim.hyps, slim.ps = tab.hyps[:n], tab.ps[:n]
			tabs[i] = &slim
		}
	}
	var ps []float64
	for i, tab := range tabs {
		for _, p := range tab.ps {
			ps = append(ps, -a[i].P*p)
		}
	}
	slices.Sort(ps)
	least, sum := 0.0, 0.0
	for i, p := range ps {
		if sum -= p; i >= weighed || sum >= covered {
			least = -p
			break
		}
	}
	for i, tab := range tabs {
		n := len(tab.ps)
		for n > 1 && tab.ps[n-1]*a[i].P < least {
			n--
		}
		slim := *tab
		slim.hyps, slim.ps = tab.hyps[:n], tab.ps[:n]
		tabs[i] = &slim
	}
	return missing
}

func numbered(of map[string]int32, name string) int32 {
	if _, ok := of[name]; !ok {
		of[name] = int32(len(of))
	}
	return of[name]
}

// join adds a test of the first table, with what it shows in all of them. Whoever
// puts it to a machine that does not have such a place learns that: an outcome by
// itself.
func (a Among) join(out *table, tabs []*table, at [][]int, t int) {
	first := tabs[0]
	test := first.tests[t]
	bench := first.e.Bench()
	var readings []meter.Reading
	var trials []Behaviour
	var row []int32
	var chance [][]float64
	answers := int32(len(moves[test.Ask].answers))
	for i, tab := range tabs {
		u := t
		if i > 0 {
			u = at[i][t]
		}
		for h := range tab.hyps {
			k := -1
			switch {
			case u < 0 && test.Ask != "":
				chance = append(chance, make([]float64, answers+1))
				chance[len(chance)-1][answers] = 1
			case u < 0:
			case test.Ask != "":
				chance = append(chance, append(slices.Clone(tab.chance[u][h]), 0))
			case test.Trial:
				b := a.seenAs(tab, i, u, h, test.Mode)
				if k = slices.IndexFunc(trials, b.Equal); k < 0 {
					k, trials = len(trials), append(trials, b)
				}
			default:
				r := tab.readings[u][tab.cell[u][h]]
				k = slices.IndexFunc(readings, func(o meter.Reading) bool {
					return !o.Differs(r) || bench.NearZero(o) && bench.NearZero(r)
				})
				if k < 0 {
					k, readings = len(readings), append(readings, r)
				}
			}
			row = append(row, int32(k))
		}
	}
	absent := answers
	if test.Ask == "" {
		absent = int32(max(len(readings), len(trials)))
	}
	for h := range row {
		if row[h] < 0 {
			row[h] = absent
		}
	}
	// Room for the outcome that is none.
	if test.Trial {
		trials = append(trials, Behaviour{})
	} else {
		readings = append(readings, meter.Reading{})
	}
	out.tests, out.efforts, out.keys = append(out.tests, test), append(out.efforts, first.efforts[t]), append(out.keys, first.keys[t])
	out.around, out.proves, out.hot = append(out.around, first.around[t]), append(out.proves, first.proves[t]), append(out.hot, first.hot[t])
	out.glance = append(out.glance, first.glance[t])
	out.cell, out.chance, out.absent = append(out.cell, row), append(out.chance, chance), append(out.absent, absent)
	out.spread = append(out.spread, nil)
	out.readings, out.trials = append(out.readings, readings), append(out.trials, trials)
}

// seenAs is what a trial of a rival shows, load by load of the first: one that the
// rival does not have does as a sound machine's.
func (a Among) seenAs(tab *table, rival, test, h int, mode circuit.ModeID) Behaviour {
	b := tab.trials[test][tab.cell[test][h]]
	if rival == 0 {
		return b
	}
	e := a[0].Engine
	out := Behaviour{Trips: b.Trips, Chatters: b.Chatters}
	sound, err := e.sound(mode)
	for _, id := range seenLoads(e.c) {
		state := circuit.Off
		if err == nil {
			state = circuit.JudgeLoad(sound, sound, id)
		}
		if other, err := tab.e.c.FindLoad(e.c.Branch(id).Ref); err == nil {
			if k := slices.Index(tab.loads, other); k >= 0 {
				state = b.States[k]
			}
		}
		out.States = append(out.States, state)
	}
	return out
}

// on is a test of one machine on another that has the parts it is about, by name.
func (t Test) on(from, to *circuit.Circuit) (Test, bool) {
	u := t
	mode, err := to.FindMode(from.Mode(t.Mode).Name)
	switch {
	case err == nil:
		u.Mode = mode
	case t.Live || t.Trial:
		return u, false
	default:
		u.Mode = to.OffMode() // with the supply off the knobs matter little
	}
	if t.Ask != "" {
		part := from.Part(t.Part)
		u.Part, err = to.FindPart(part.Name)
		return u, err == nil && to.Part(u.Part).Kind == part.Kind
	}
	if t.Trial {
		return u, true
	}
	for _, at := range []*circuit.TerminalID{&u.Probes.P, &u.Probes.Q, &u.At} {
		if *at == circuit.None {
			continue
		}
		if *at, err = to.FindTerminal(from.Terminal(*at).Ref); err != nil {
			return u, false
		}
	}
	if len(t.Lift) > 0 {
		u.Lift = to.Terminal(u.At).Wires
	}
	return u, true
}

// keyOf names what is wrong alike in all machines that have those parts: parts by
// name, wires by where they end.
func keyOf(c *circuit.Circuit, causes []Class) string {
	var out []string
	for _, k := range causes {
		for _, f := range k.Members[0].Faults {
			out = append(out, fmt.Sprint(nameOf(c, f.Branch), " ", f.Kind))
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// nameOf is what a branch goes by in all machines that have it.
func nameOf(c *circuit.Circuit, id circuit.BranchID) string {
	b := c.Branch(id)
	if b.Wire == circuit.None {
		return b.Ref
	}
	w := c.Wire(b.Wire)
	ends := []string{c.Terminal(w.From).Ref, c.Terminal(w.To).Ref}
	slices.Sort(ends)
	return strings.Join(ends, " ")
}
