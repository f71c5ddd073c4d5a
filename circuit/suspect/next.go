package suspect

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Outcome is one of the answers a test may give.
type Outcome struct {
	// Reading is set for probes; Behaviour, by [Proposal.Loads], for a trial;
	// Answer, in words, for a move.
	Reading meter.Reading
	Behaviour
	Answer string
	// P is its probability.
	P float64
	// Suspects are the most probable explanations that give it, by what to
	// call them, with their share of P.
	Suspects []Named

	cell int32
}

// Named is an explanation in words, with a probability.
type Named struct {
	Label string
	P     float64
}

// Proposal is a test worth making.
type Proposal struct {
	Test
	// Loads are what a trial watches.
	Loads    []circuit.BranchID
	Outcomes []Outcome
	// Bits is the information expected, of Entropy now.
	Bits, Entropy float64
	// Minutes is the effort; Price adds what its risk is worth avoiding.
	Minutes, Price float64
	// Score is bits per minute and price; Ahead is what the search takes from
	// here on with this test made first, in minutes and prices, a wrong part
	// included by its chance. Tests are ranked by it where it is known, above 0.
	Score, Ahead float64
	// Why says in a sentence what it would tell apart.
	Why string
	// Lead is what would be named without it, with its chance; Wrong what a wrong
	// name costs, and Stop what that comes to by its chance, in minutes.
	Lead        Named
	Wrong, Stop float64
	measured    bool // nothing else than what is listed is thought of any more
	slips       bool // readings slip often
	// Beside are looks at what the test lays open.
	Beside []Test
	// Along are readings that go with the test: where it is made, with nothing set
	// otherwise and a probe moved, that tell more once it is made.
	Along []Test
}

// Bounds of a search for the next test.
const (
	weighed = 160   // hypotheses looked at
	covered = 0.998 // of the weight, if fewer do
	// faint is the weight beside the best hypothesis's below which a hypothesis
	// earns no test of its own, once the others hold most of the weight: mostly
	// complaints told wrong. An answer that speaks for it brings it forward.
	faint = 0.02
	most  = 0.6
)

// Sure is the probability from which an explanation is named as the cause.
const Sure = 0.9

// Next proposes tests, best first, up to a number. It proposes none when no
// listed test is worth making.
func (e *Engine) Next(ctx context.Context, progress *Progress, most int) ([]Proposal, error) {
	return e.propose(ctx, progress, most, worthShare)
}

// Rest proposes tests that tell anything at all, those among them that Next lets
// be because they tell too little of what is left to learn.
func (e *Engine) Rest(ctx context.Context, progress *Progress, most int) ([]Proposal, error) {
	return e.propose(ctx, progress, most, 0)
}

func (e *Engine) propose(ctx context.Context, progress *Progress, most int, worth float64) ([]Proposal, error) {
	if e.Held() {
		return nil, nil
	}
	progress = cmp.Or(progress, NewProgress())
	tab, _, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	tab.worth, tab.any = worth, worth == 0
	return tab.proposals(ctx, tab.stage(tab.doubting(), tab.ground.setup(progress)), most)
}

// proposals are the tests that a belief makes worth most, best first.
func (tab *table) proposals(ctx context.Context, n *stage, most int) ([]Proposal, error) {
	ranked, err := tab.ranked(ctx, n)
	if err != nil {
		return nil, err
	}
	var out []Proposal
	for _, r := range ranked {
		if len(out) == most {
			break
		}
		if t := tab.tests[r.test]; !tab.any && slices.ContainsFunc(out, func(p Proposal) bool { return p.takesIn(t) || p.twin(tab.e.c, t) }) {
			continue
		}
		p := tab.proposal(r, n.set)
		tab.weighUp(&p, r, ranked, n)
		out = append(out, p)
	}
	return out, nil
}

// takesIn reports whether a test is one of several readings that a proposal has taken
// in one go, in whichever mode.
func (p *Proposal) takesIn(t Test) bool {
	t.Mode = p.Mode
	return len(p.Along) > 0 && (t.likewise(p.Test) || slices.ContainsFunc(p.Along, t.likewise))
}

// twin reports whether a test is made of the same parts in the same way, at other ends of
// them: who is there measures that too, and what else is near is something else.
func (p *Proposal) twin(c *circuit.Circuit, t Test) bool {
	if !p.Probing() || !t.Probing() || p.Probes.Function != t.Probes.Function || p.Live != t.Live || p.Mode != t.Mode {
		return false
	}
	parts := func(t Test) [2]circuit.PartID {
		a, b := c.Terminal(t.Probes.P).Part, c.Terminal(t.Probes.Q).Part
		return [2]circuit.PartID{min(a, b), max(a, b)}
	}
	return parts(p.Test) == parts(t)
}

// ranking is one test under consideration.
type ranking struct {
	test           int
	bits           float64
	minutes, price float64
	score, ahead   float64
}

// minBits is the least information worth a test; worthShare is that as a share
// of what there is to learn.
const minBits, worthShare = 0.005, 0.08

// nothing is the information of a test whose outcome is the same whatever is
// wrong, and stays so however much is learnt.
const nothing = 1e-9

// trialShare is that share for a trial, while there is a probe to put down: what
// works and what does not, the person who called has mostly said already.
const trialShare = 0.4

// rank scores every test on a belief, dropping live tests that a dead one does
// the work of.
func (tab *table) rank(n *stage) []ranking {
	all := tab.score(n)
	return slices.DeleteFunc(slices.Clone(all), func(r ranking) bool { return tab.needless(r, all, n) })
}

// ranked are the same, looked ahead from.
func (tab *table) ranked(ctx context.Context, n *stage) ([]ranking, error) {
	out := tab.rank(n)
	if tab.any || len(out) == 0 {
		return out, nil
	}
	if trial := func(r ranking) bool { return tab.tests[r.test].Trial }; tab.fed(n.set) > readNotTried && slices.ContainsFunc(out, func(r ranking) bool { return !trial(r) }) {
		out = slices.DeleteFunc(out, trial) // it is read where it comes in, not tried out
	}
	err := tab.lookAhead(ctx, out, n)
	return tab.tryFirst(tab.namedFirst(tab.markFirst(tab.glowFirst(tab.codeFirst(tab.degreesFirst(tab.buttonFirst(tab.hotFirst(tab.easyFirst(out, n), n), n), n), n), n), n), n), n), err
}

// tryFirst turns on what may not have been tried of an oven that was said to be dead: that
// takes a minute and no tool (common practice, no source).
func (tab *table) tryFirst(ranked []ranking, n *stage) []ranking {
	return tab.bring(ranked, n, func(i int) bool {
		t := tab.tests[i]
		return t.Trial && slices.ContainsFunc(tab.e.evidence, func(ev Evidence) bool {
			return ev.Symptom != nil && ev.Symptom.Untried && ev.Symptom.Mode == t.Mode && tab.e.since(ev)
		})
	})
}

// markFirst begins at what was seen burnt, wet or the like, where nothing else is amiss:
// by a look, else by what is measured of it dead (common practice, no source).
func (tab *table) markFirst(ranked []ranking, n *stage) []ranking {
	at := tab.e.marked()
	if len(at) == 0 || tab.e.speaks() {
		return ranked
	}
	of := func(t circuit.TerminalID) bool { return at[tab.e.c.Terminal(t).Part] }
	ranked = tab.bring(ranked, n, func(i int) bool {
		t := tab.tests[i]
		return t.Probing() && !t.Live && (of(t.Probes.P) || of(t.Probes.Q))
	})
	return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Look && at[tab.tests[i].Part] })
}

// degreesFirst holds a thermometer to what was said to be off its temperature, one way
// or the other, before anything is taken apart for it; to what was said to be too hot, or too
// cool, before anything is looked at. What is dead leaves the heat uneven, and is looked for
// first (common practice, no source).
func (tab *table) degreesFirst(ranked []ranking, n *stage) []ranking {
	looks := tab.tests[ranked[0].test].Ask == Look
	said := func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && (s.Either() || looks && (s.Whole == RunsHot || s.Whole == RunsCold))
	}
	dead := func(ev Evidence) bool {
		return ev.Symptom != nil && ev.Symptom.Whole == 0 && ev.Symptom.State == circuit.Dead && tab.e.since(ev)
	}
	if !slices.ContainsFunc(tab.e.evidence, said) || slices.ContainsFunc(tab.e.evidence, dead) {
		return ranked
	}
	return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Thermometer })
}

// codeFirst measures a sensor where a code is shown that nobody read, and nothing else is
// amiss: it is what a control complains of most (common practice, no source).
func (tab *table) codeFirst(ranked []ranking, n *stage) []ranking {
	if !tab.e.heard("some_code") || slices.ContainsFunc(tab.e.evidence, func(ev Evidence) bool {
		return ev.Symptom != nil && ev.Symptom.Whole != Quiet && (ev.Symptom.Whole != 0 || ev.Symptom.State != circuit.Normal)
	}) {
		return ranked
	}
	return tab.bring(ranked, n, func(i int) bool {
		t := tab.tests[i]
		return t.Probing() && !t.Live && tab.e.senses(t.Probes.P) && tab.e.senses(t.Probes.Q)
	})
}

// senses reports whether a terminal is a sensor's.
func (e *Engine) senses(at circuit.TerminalID) bool {
	p := e.c.Terminal(at).Part
	return p != circuit.None && e.c.Part(p).Kind == circuit.KindSensor
}

// buttonFirst presses the reset of what would be measured across itself, where that tells
// anything: who has got there has the button under the thumb, and what clicks is mended
// for as long as what tripped it lets it. A drum is turned by its door before its motor or
// the switch that its belt holds is got at, a fan's blades before its winding. What works while it is touched is moved as it is
// looked at (common practice, no source).
func (tab *table) buttonFirst(ranked []ranking, n *stage) []ranking {
	t := tab.tests[ranked[0].test]
	if t.Ask == Look && tab.e.heard("touched") {
		return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Move && tab.tests[i].Part == t.Part })
	}
	if !t.Probing() || t.Live {
		return ranked
	}
	if k := tab.e.c.Terminal(t.Probes.P).Part; k != circuit.None && (tab.e.stands(k) || tab.e.c.Part(k).Kind == circuit.KindSwitch) {
		return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Turn && tab.e.stands(tab.tests[i].Part) })
	}
	p, q := tab.e.c.Terminal(t.Probes.P).Part, tab.e.c.Terminal(t.Probes.Q).Part
	if p == q && p != circuit.None && tab.e.c.Part(p).Kind == circuit.KindFan {
		return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Turn && tab.tests[i].Part == p })
	}
	return tab.bring(ranked, n, func(i int) bool { return tab.tests[i].Ask == Press && tab.tests[i].Part == p && p == q })
}

// bring puts the first test of a kind before all others: of those ranked, else of those
// that tell anything.
func (tab *table) bring(ranked []ranking, n *stage, kind func(test int) bool) []ranking {
	if k := slices.IndexFunc(ranked, func(r ranking) bool { return kind(r.test) }); k >= 0 {
		toFront(ranked, k)
	} else if k := slices.IndexFunc(n.tests, func(i int32) bool { return kind(int(i)) }); k >= 0 {
		if bits := tab.bits(int(n.tests[k]), n.set); bits > minBits {
			ranked = append(ranked, tab.ranking(int(n.tests[k]), bits, n.at))
			toFront(ranked, len(ranked)-1)
		}
	}
	return ranked
}

// Where more than so much of a belief is that something is wrong with what feeds the
// machine, nothing is tried out (common practice, no source).
const readNotTried = 0.8

// fed is how much of a belief in what is listed is that something is wrong with what
// the machine is fed by, up to its terminals.
func (tab *table) fed(set belief) float64 {
	sum, all := 0.0, 0.0
	for _, w := range set {
		if tab.hyps[w.hyp] == somethingElse {
			continue
		}
		all += w.p
		if tab.feed[w.hyp] {
			sum += w.p
		}
	}
	return sum / max(all, 1e-9)
}

// toFront puts one of a ranking before all others.
func toFront(ranked []ranking, k int) {
	r := ranked[k]
	r.ahead = ranked[0].ahead // of all that is read there
	copy(ranked[1:k+1], ranked[:k])
	ranked[0] = r
}

// asMuch is the share of another test's information that counts as no less.
const asMuch = 0.95

// easyMargin is how little more it may come to in the end to begin with what is easy.
const easyMargin = 1.05

// easyFirst puts before a probe to anything of the machine how its air and its settings are,
// else the supply where it comes in, which may be at fault, where either comes to hardly
// more in the end (common practice, no source).
func (tab *table) easyFirst(ranked []ranking, n *stage) []ranking {
	if !tab.tests[ranked[0].test].Probing() || tab.stays {
		return ranked
	}
	for _, easy := range []func(test int) bool{
		func(i int) bool { return tab.tests[i].Ask == Air || tab.tests[i].Ask == Set },
		func(i int) bool { return tab.hot[i] && tab.fed(n.set) > leads },
	} {
		if k := slices.IndexFunc(ranked, func(r ranking) bool {
			return r.ahead > 0 && easy(r.test) && tab.weighed(r) <= easyMargin*tab.weighed(ranked[0])
		}); k >= 0 {
			toFront(ranked, k)
			break
		}
	}
	return ranked
}

// hotFirst begins readings that are taken in one go with the one from hot to hot,
// where that tells anything, be it little, and takes them with nothing switched on
// where that tells as much. Who has read a hot to neutral and stopped there goes on with
// it: what is lost reads so by way of a load. Metal that bites is not begun with so: what
// is lost or astray there shows to neutral (common practice, no source).
func (tab *table) hotFirst(ranked []ranking, n *stage) []ranking {
	station := tab.efforts[ranked[0].test].station
	if station == 0 && !tab.begun || tab.stays {
		return ranked
	}
	hot := func(test int) bool {
		at := tab.efforts[test].station
		return tab.hot[test] && at != 0 && (at == station || tab.begun)
	}
	ranked = tab.bring(ranked, n, hot)
	with := tab.tests[ranked[0].test]
	with.Mode = tab.e.c.OffMode()
	if k := slices.IndexFunc(ranked, func(r ranking) bool {
		return tab.tests[r.test].likewise(with) && r.bits >= asMuch*ranked[0].bits
	}); k >= 0 {
		toFront(ranked, k)
	}
	return ranked
}

// pick is the best of them, -1 where none is worth making.
func (tab *table) pick(n *stage) (ranking, bool) {
	all := tab.score(n)
	for _, r := range all {
		if !tab.needless(r, all, n) {
			return r, true
		}
	}
	return ranking{}, false
}

// score lists tests worth making, those that tell most for their cost first, and
// leaves in the stage those that tell anything. The list stands until another is made.
func (tab *table) score(n *stage) []ranking {
	out := tab.room[:0]
	uncertain := tab.uncertainty(n.set)
	least := max(minBits, tab.worth*uncertain*tab.capacity)
	probes := false
	still := make([]int32, 0, len(n.tests))
	for _, i := range n.tests {
		f := &tab.efforts[i]
		if f.ask&n.at.asked != 0 {
			continue
		}
		bits := tab.bits(int(i), n.set)
		if bits > nothing {
			still = append(still, i)
		}
		if bits < least && !(f.along(n.at) && bits >= minBits) {
			continue
		}
		out = append(out, tab.ranking(int(i), bits, n.at))
		probes = probes || tab.tests[i].Probing()
	}
	n.tests = still
	if !tab.any && probes { // trials that tell little
		out = slices.DeleteFunc(out, func(r ranking) bool {
			return tab.tests[r.test].Trial && !tab.glance[r.test] && r.bits < trialShare*uncertain
		})
	}
	if tab.stays {
		out = tab.deadFirst(out, n)
	}
	if tab.e.scarred() && !slices.ContainsFunc(out, func(r ranking) bool { return !tab.tests[r.test].Live }) {
		for _, i := range still { // what tells little, and may be done dead
			if bits := tab.bits(int(i), n.set); !tab.tests[i].Live && bits >= minBits {
				out = append(out, tab.ranking(int(i), bits, n.at))
			}
		}
		out = tab.deadFirst(out, n)
	}
	slices.SortStableFunc(out, func(a, b ranking) int { return tab.before(a, b, b.score, a.score) })
	tab.room = out
	return out
}

// deadFirst leaves live tests out while a dead one tells: power is not given back to
// metal that bites, nor to heat that nobody asked for or that nothing ends. But a neutral
// that is lost upstream no dead test shows: volts in the quietest mode, between probes
// that are clipped on before, are read where they tell more than any, and where hardly
// anything but the feed is left; not where it trips, nor where something burnt (common
// practice, no source).
func (tab *table) deadFirst(all []ranking, n *stage) []ranking {
	dead, quiet, trips := 0.0, tab.e.quietest(), tab.e.trips() || tab.e.scarred()
	safe := func(r ranking) bool {
		t := tab.tests[r.test]
		return t.Live && t.clipped(tab.e.c) && t.Mode == quiet && !trips || t.Ask == Thermometer
	}
	if tab.fed(n.set) > readNotTried && slices.ContainsFunc(all, safe) {
		return slices.DeleteFunc(all, func(r ranking) bool { return !safe(r) })
	}
	for _, r := range all {
		if !tab.tests[r.test].Live {
			dead = max(dead, r.bits)
		}
	}
	if dead == 0 {
		return all
	}
	return slices.DeleteFunc(all, func(r ranking) bool { return tab.tests[r.test].Live && !(safe(r) && r.bits > dead) })
}

// ranking is a test that tells so much, with what it costs as the machine stands.
func (tab *table) ranking(test int, bits float64, at setup) ranking {
	f := &tab.efforts[test]
	minutes, price := tab.ground.minutes(f, at), f.priced(at)
	return ranking{test: test, bits: bits, minutes: minutes, price: price, score: bits / (minutes + price)}
}

// before orders tests by a figure and, where it is the same, by their names, so
// that the order of the file is nothing to it.
func (tab *table) before(a, b ranking, x, y float64) int {
	const alike = 1e-9
	if math.Abs(x-y) > alike*(math.Abs(x)+math.Abs(y)) {
		return cmp.Compare(x, y)
	}
	return cmp.Compare(tab.keys[a.test], tab.keys[b.test])
}

// needless reports whether a live probing tells nothing that a single test with
// the supply off, or without a probe, does not tell too. Who reads there already moves
// a probe, and need not switch off for it.
func (tab *table) needless(r ranking, all []ranking, n *stage) bool {
	t := tab.tests[r.test]
	return t.Live && t.Probing() && !tab.efforts[r.test].along(n.at) && slices.ContainsFunc(all, func(s ranking) bool {
		u := tab.tests[s.test]
		return (!u.Live || u.Trial) && s.bits >= r.bits-1e-9 && tab.refines(s.test, r.test, n.set)
	})
}

// refines reports whether test a tells apart all that test b does.
func (tab *table) refines(a, b int, set belief) bool {
	if tab.chance[a] != nil || tab.chance[b] != nil {
		return false
	}
	to := make([]int32, tab.outcomesOf(a))
	for _, w := range set {
		x, y := tab.cell[a][w.hyp], tab.cell[b][w.hyp]+1
		if to[x] != 0 && to[x] != y {
			return false
		}
		to[x] = y
	}
	return true
}

// proposal dresses a ranking up with its outcomes and a reason.
func (tab *table) proposal(r ranking, set belief) Proposal {
	t := tab.tests[r.test]
	p := Proposal{Test: t, Bits: r.bits, Entropy: tab.e.Entropy(), Minutes: r.minutes, Price: r.price, Score: r.score, Ahead: r.ahead}
	if t.Trial {
		p.Loads = tab.loads
	}
	total := set.total()
	for _, b := range tab.split(r.test, set) {
		if tab.absent != nil && b.cell == tab.absent[r.test] {
			continue
		}
		o := Outcome{cell: b.cell, P: b.p / total, Suspects: tab.names(b.set)}
		switch {
		case t.Trial:
			o.Behaviour = tab.trials[r.test][b.cell]
		case t.Ask != "":
			o.Answer = moves[t.Ask].answers[b.cell].words
		default:
			o.Reading = tab.readings[r.test][b.cell]
		}
		p.Outcomes = append(p.Outcomes, o)
	}
	slices.SortStableFunc(p.Outcomes, func(a, b Outcome) int { return likelier(a.P, b.P) })
	p.Why = tab.why(p.Outcomes, r.test, set)
	return p
}

// names lists the most probable explanations of a belief.
func (tab *table) names(set belief) []Named {
	total, occasions := set.total(), tab.occasions(set)
	var out []Named
	index := map[int32]int{}
	for _, w := range set {
		if at, ok := index[tab.core[w.hyp]]; ok {
			out[at].P += w.p / total
			continue
		}
		index[tab.core[w.hyp]] = len(out)
		label := tab.label(w.hyp)
		if when := occasions[tab.core[w.hyp]]; when != "" {
			label += ", " + when
		}
		out = append(out, Named{label, w.p / total})
	}
	slices.SortStableFunc(out, func(a, b Named) int {
		if by := likelier(a.P, b.P); by != 0 {
			return by
		}
		return strings.Compare(a.Label, b.Label)
	})
	return out[:min(4, len(out))]
}

// noneOfThese labels what is explained by no part of the netlist.
var noneOfThese = Suspect{Mistaken: true}.Words()

// label says what a row of the table puts wrong.
func (tab *table) label(row int32) string {
	e := tab.engine(row)
	core := e.core(tab.hypothesis(int(row)))
	if len(core) == 0 && e.speaks() {
		return noneOfThese
	}
	return e.label(core)
}

// likelier puts what is likelier first. What a sum's last digits alone tell apart,
// which are not the same on every kind of computer, is as likely.
func likelier(p, q float64) int { return cmp.Compare(math.Round(q*1e9), math.Round(p*1e9)) }

// label says what a set of classes puts wrong.
func (e *Engine) label(classes []int32) string {
	if len(classes) == 0 {
		return "nothing wrong"
	}
	var parts []string
	for _, k := range classes {
		parts = append(parts, e.classes[k].Members[0].Label)
	}
	return strings.Join(parts, " and ")
}

// Look lists the loads of a trial whose behaviour tells anything: those that
// differ between outcomes and are not known yet.
func (e *Engine) Look(p *Proposal) []circuit.BranchID {
	known := e.knownStates(p.Mode)
	var tell, unknown []circuit.BranchID
	for i, id := range p.Loads {
		if known[id] != 0 {
			continue
		}
		unknown = append(unknown, id)
		if slices.ContainsFunc(p.Outcomes, func(o Outcome) bool { return o.States[i] != p.Outcomes[0].States[i] }) {
			tell = append(tell, id)
		}
	}
	if len(tell) == 0 {
		return unknown
	}
	return tell
}
