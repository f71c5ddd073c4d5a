package suspect

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Ask is a move whose outcome is seen, heard or felt, not read from a meter.
type Ask string

const (
	// Look at a part's ends, joints and wires.
	Look Ask = "look"
	// Press a limit's or a breaker's reset, once.
	Press Ask = "reset"
	// Swap a part that plugs in with its like.
	Swap Ask = "swap"
	// Move the harness and plugs at a part, a meter across it, supply removed.
	Move Ask = "move"
	// Listen to a relay as a mode is selected.
	Listen Ask = "listen"
	// Set a part for use that may only have been set otherwise.
	Set Ask = "set"
	// Air is looked for that does not take a limit's heat away.
	Air Ask = "air"
	// Turn by hand what a motor or a fan moves, supply removed.
	Turn Ask = "turn"
	// Thermometer, held where a mode heats: what it comes to beside what is set.
	Thermometer Ask = "thermometer"
)

// move is a row of the table of moves.
type move struct {
	// do says what to do with a part, at what it is in a mode.
	do string
	// answers are what may come of it, the last that nothing is found.
	answers []answerTo
	// minutes are besides getting there (common practice, no source).
	minutes float64
	// live says that the supply is on, inside that the part must be got at.
	live, inside bool
	// done is how it is told after, good what a sound machine shows.
	done, good string
}

type answerTo struct {
	key, words string
	// base is the chance of it where nothing is wrong there.
	base float64
}

// moves are all of them. Chances are common practice, no source: a burnt end is
// burnt in most cases before its joint opens, and is seen by whoever looks.
var moves = map[Ask]move{
	Look: {do: "Look at %s, ends and wires, for what is burnt, loose or cut", inside: true, done: "looked at", good: "nothing to see",
		answers: []answerTo{{"burnt", "burnt", 0.01}, {"loose", "loose or off", 0.01}, {"cut", "cut, broken or holed", 0.003}, {"misplaced", "a wire in the wrong place", 0.002}, {"ok", "nothing to see", 0}}},
	Press: {do: "Press the reset of %s, once, and find out why it tripped", inside: true, minutes: 1, done: "reset", good: "it had not tripped",
		answers: []answerTo{{"clicks", "it had tripped, and holds", 0.02}, {"again", "it trips again", 0.005}, {"ok", "it had not tripped", 0}}},
	Swap: {do: "Swap %s, cold, with a like one that works, and turn that on", minutes: 4, live: true, done: "put elsewhere", good: "it heats there",
		answers: []answerTo{{"dead", "dead there too", 0.03}, {"ok", "it heats there", 0}}},
	Move: {do: "Ohms across %s, supply removed, while it is worked or tapped and its wires and plugs are moved", inside: true, minutes: 2, done: "wires moved", good: "steady",
		answers: []answerTo{{"jumps", "the reading jumps", 0.03}, {"ok", "steady", 0}}},
	Listen: {do: "%[2]s and listen for the click of %[1]s", minutes: 3, live: true, done: "listened to", good: "it clicks",
		answers: []answerTo{{"silent", "no click", 0}, {"ok", "it clicks", 0}}},
	Set: {do: "See how %s is set, and set it for use: clock, manual, keys, delay, demonstration", minutes: 2, live: true, done: "set for use", good: "it was set so before",
		answers: []answerTo{{"works", "it was set otherwise, and works now", 0.002}, {"ok", "it was set so before", 0}}},
	Air: {do: "Look for what blocks the air that cools %s: lint, a crushed duct, a flap, a curtain; feel, with the machine on, how it leaves", minutes: 3, live: true, done: "its air looked at", good: "nothing blocks it",
		answers: []answerTo{{"blocked", "blocked, or little air gets away", 0.05}, {"ok", "nothing blocks it", 0}}},
	Turn: {do: "Turn by hand, supply removed, what %s moves: its drum, its blades", inside: true, minutes: 1, done: "turned by hand", good: "it turns freely",
		answers: []answerTo{{"stiff", "it binds, or does not turn", 0.01}, {"free", "a drum spins with no drag, as with its belt off", 0.01}, {"ok", "it turns freely", 0}}},
	Thermometer: {do: "%[2]s and hold a thermometer where it heats: once warm, compare the middle of its swings with what is set", minutes: 3, live: true, done: "a thermometer held to what it holds", good: "as set, within 14 K (25 F)",
		answers: []answerTo{{"hot", "too hot", 0}, {"cold", "too cool", 0}, {"ok", "as set, within 14 K (25 F)", 0}}},
}

// Words of a move: what to do.
func (t Test) Words(c *circuit.Circuit) string {
	do, p := moves[t.Ask].do, c.Part(t.Part)
	switch {
	case t.Ask == Look:
		return fmt.Sprintf(do, t.Sights(c))
	case t.Ask == Thermometer && c.StoresHeat():
		return "Let hot water run over a thermometer and see what it comes to beside what is set"
	case t.Ask == Press && p.Kind.Guards():
		do = "See whether %s is off or tripped: switch it fully off and on, once"
	case strings.Contains(do, "[2]"):
		return fmt.Sprintf(do, p.Label, c.Mode(t.Mode).Bring())
	}
	return fmt.Sprintf(do, p.Label)
}

// Good is what a move shows on a sound machine.
func (t Test) Good() string { return moves[t.Ask].good }

// Answers lists what can be said of a move, by key and in words.
func (t Test) Answers() (keys, words []string) {
	for _, a := range moves[t.Ask].answers {
		keys, words = append(keys, a.key), append(words, a.words)
	}
	return keys, words
}

// NewAsk checks a move and its answer, which may be empty.
func NewAsk(c *circuit.Circuit, ask, part, mode, answer string) (Test, *Telling, error) {
	m, ok := moves[Ask(ask)]
	if !ok {
		var names []string
		for k := range moves {
			names = append(names, string(k))
		}
		slices.Sort(names)
		return Test{}, nil, fmt.Errorf("%q is no move: it is one of %s", ask, strings.Join(names, ", "))
	}
	t := Test{Ask: Ask(ask), Live: m.live, At: circuit.None}
	var err error
	if t.Part, err = c.FindPart(part); err != nil {
		return t, nil, err
	}
	if t.Mode, err = c.FindMode(mode); err != nil {
		return t, nil, err
	}
	if answer == "" {
		return t, nil, nil
	}
	said := strings.TrimSpace(answer)
	for i, a := range m.answers {
		if strings.EqualFold(said, a.key) || strings.EqualFold(said, a.words) {
			return t, &Telling{Part: t.Part, Load: circuit.None, ask: t, answer: i}, nil
		}
	}
	keys, _ := t.Answers()
	return t, nil, fmt.Errorf("%q: say one of %s", answer, strings.Join(keys, ", "))
}

// Asked is the move that it is the outcome of, if any.
func (t *Telling) Asked() (Test, bool) { return t.ask, t.ask.Ask != "" }

// clear reports whether nothing was found where it was asked for.
func (t *Telling) clear() bool {
	if t == nil {
		return false
	}
	_, ok := t.Asked()
	return ok && t.answer == len(moves[t.ask.Ask].answers)-1
}

// settles reports whether its chance comes from the settled machine.
func (t *Telling) settles() bool { return t.ask.Ask == Listen }

func (t *Telling) askedWords(c *circuit.Circuit) string {
	label := c.Part(t.ask.Part).Label
	if t.ask.Ask == Listen {
		label += " in " + c.Mode(t.ask.Mode).Label
	}
	return label + ", " + moves[t.ask.Ask].done + ": " + moves[t.ask.Ask].answers[t.answer].words
}

// base is the chance of being told so where it has nothing to do with what is
// wrong, most the largest that any fault makes it.
func (t *Telling) base(c *circuit.Circuit) float64 {
	if _, ok := t.Asked(); ok {
		return t.ask.idleChances()[t.answer]
	}
	return rowOf(c, t.What).base
}

// idle is the chance of being told so where nothing is wrong with the circuit.
func (t *Telling) idle(c *circuit.Circuit) float64 {
	return max(t.base(c), tales[t.What].sound)
}

func (t *Telling) most() float64 {
	switch {
	case t.clear():
		return 1
	case t.ask.Ask == Look:
		return 0.5
	case t.ask.Ask != "":
		return 0.97
	}
	return tales[t.What].most(t.Part != circuit.None)
}

// askedChance is the chance of the answer with faults present.
func (t *Telling) askedChance(c *circuit.Circuit, faults []circuit.Fault) float64 {
	return t.ask.shown(c, faults)[t.answer]
}

// worthAsking is the chance that something is wrong at a part from which a move
// there is thought of.
const worthAsking = 0.02

// asks lists the moves worth thinking of: by what is suspected of each part.
func (e *Engine) asks(mode circuit.ModeID) []Test {
	joints, own := e.suspicion()
	unset, blocked := e.innocent()
	seized, opened := e.blamedParts(circuit.Seized), e.blamedParts(circuit.Open)
	out := e.unmeasured()
	add := func(a Ask, part circuit.PartID) {
		t := Test{Ask: a, Part: part, Mode: mode, Live: moves[a].live, At: circuit.None}
		if !t.Live {
			t.Mode = e.modes()[0]
		}
		if !slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Told != nil && e.since(ev) && ev.Told.answers(e.c, t) }) {
			out = append(out, t)
		}
	}
	hot, loose := e.runsAway(), e.comesAndGoes()
	// A control that names what it sees keeps its relays off by itself, and what gets too hot
	// is driven or clicks all the same (common practice, no source).
	listens := !hot && !e.dark() && !e.heard("intermittent", "touched", "sensor", "latch", "some_code", "runs_hot") && !e.silent()
	heardOf := map[circuit.PartID]bool{} // by control: one of its relays is listened to
	summed := map[string]float64{}
	looked := map[string]circuit.PartID{} // the part most suspected of what is looked at in one
	for i := range e.c.Parts() {
		p := e.c.Part(circuit.PartID(i))
		if p.Place == "" || p.Kind == circuit.KindSupply || p.Kind.Guards() {
			continue
		}
		within := laidOpen(e.c, p.Place)
		at, ok := looked[within]
		switch more := joints[p.ID] + own[p.ID] - joints[at] - own[at]; {
		case !ok, more > 1e-9, more > -1e-9 && p.Name < e.c.Part(at).Name:
			looked[within] = p.ID
		}
		summed[within] += joints[p.ID] + own[p.ID]
	}
	for i := range e.c.Parts() {
		p := e.c.Part(circuit.PartID(i))
		if p.Kind == circuit.KindSupply {
			continue
		}
		within := laidOpen(e.c, p.Place)
		if at, ok := looked[within]; ok && at == p.ID && summed[within] >= worthAsking {
			add(Look, p.ID) // by what is suspected of all that it takes in
		}
		if control := e.controlOf(p); control != circuit.None && !heardOf[control] && joints[p.ID]+own[p.ID] < worthAsking && own[control] >= worthAsking && listens && e.pulls(p, mode) {
			heardOf[control] = true
			add(Listen, p.ID) // any that it drives tells whether it does
		}
		if !hot && unset[p.ID] >= worthAsking {
			add(Set, p.ID) // what it drives is at fault then, not itself
		}
		if !hot && blocked[p.ID] >= worthAsking {
			add(Air, p.ID)
		}
		if seized[p.ID] >= worthAsking || p.Kind == circuit.KindFan && seized[p.ID] >= worthAsking/4 || e.stands(p.ID) && e.unbelted(own) >= worthAsking {
			add(Turn, p.ID)
		}
		if joints[p.ID]+own[p.ID] < worthAsking {
			continue
		}
		if !p.Kind.Guards() {
			if within == "" {
				add(Look, p.ID)
			}
			if loose {
				add(Move, p.ID)
			}
		}
		switch {
		case hot:
		case p.Kind.Guards() && opened[p.ID] >= worthAsking && !e.carries(p) && !e.heard("trips_late"), p.HasButton() && own[p.ID] >= worthAsking && !e.heard("works_again") && !e.heard("reset"): // nor what was pressed already
			add(Press, p.ID)
		}
		if !hot && own[p.ID] >= worthAsking && e.plugsIn(p) {
			add(Swap, p.ID)
		}
		if listens && p.Kind == circuit.KindRelay && e.pulls(p, mode) && !e.clicksCold(p) {
			add(Listen, p.ID)
		}
	}
	return out
}

// carries reports whether a part feeds what was told to work.
func (e *Engine) carries(p *circuit.Part) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		if s == nil || s.Load == circuit.None || s.State != circuit.Normal || !e.since(ev) {
			return false
		}
		fed, err := e.dependsOn(s.Load)
		return err == nil && slices.ContainsFunc(p.Branches, func(id circuit.BranchID) bool { return fed[id] })
	})
}

// clicksCold reports whether a relay serves what was told to work until it is hot: to
// listen to it, cold, tells nothing.
func (e *Engine) clicksCold(p *circuit.Part) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Told != nil && ev.Told.when() == whenHot && e.since(ev) && slices.ContainsFunc(p.Branches, func(id circuit.BranchID) bool { return ev.Told.feeds[id] })
	})
}

// silent reports whether of several relays no click was heard: that was listened to.
func (e *Engine) silent() bool {
	of := map[circuit.PartID]bool{}
	for _, ev := range e.evidence {
		if ev.Told != nil && ev.Told.What == "no_click" && e.since(ev) {
			of[ev.Told.Part] = true
		}
	}
	return len(of) > 1
}

// controlOf is the control that drives a relay on its board, None for any other part.
func (e *Engine) controlOf(p *circuit.Part) circuit.PartID {
	if p.Kind == circuit.KindRelay {
		for _, id := range p.Branches {
			if e.c.Branch(id).Role == circuit.Drive {
				return e.c.ControlOf(id).Part
			}
		}
	}
	return circuit.None
}

// pulls reports whether a relay of a sound machine pulls in in a mode.
func (e *Engine) pulls(p *circuit.Part, mode circuit.ModeID) bool {
	if slices.ContainsFunc(e.c.Mode(mode).Drives, func(d circuit.BranchID) bool { return e.c.Branch(d).Part == p.ID }) {
		return true
	}
	sound, err := e.sound(mode)
	return err == nil && slices.ContainsFunc(p.Branches, func(id circuit.BranchID) bool {
		return e.c.Branch(id).Role == circuit.Load && sound.LeastShare(id) > 0.5
	})
}

// answers reports whether what was told is the outcome of a move, or says as much.
func (t *Telling) answers(c *circuit.Circuit, m Test) bool {
	if a, ok := t.Asked(); ok {
		same := a.Part == m.Part || m.Ask == Look && c.Part(m.Part).Place != "" && laidOpen(c, c.Part(a.Part).Place) == laidOpen(c, c.Part(m.Part).Place)
		return a.Ask == m.Ask && same && (!m.Live || a.Mode == m.Mode)
	}
	if m.Ask == Air && blockedTold[t.What] > 0 {
		return true
	}
	if t.Part != m.Part {
		return false
	}
	switch m.Ask {
	case Look:
		// Where several ends meet, it is still to be seen which.
		several := !t.Joint && (len(c.Part(t.Part).Branches) > 2 || c.Part(t.Part).Kind == circuit.KindControl)
		return slices.Contains([]string{"burnt", "melted", "loose", "parted", "blistered"}, t.What) && !several
	case Swap:
		return slices.Contains([]string{"good_elsewhere", "like_works_here", "like_dead_here"}, t.What)
	case Listen:
		return t.What == "click" || t.What == "no_click" || t.What == "coil_unfed"
	case Turn:
		return t.What == "stiff" || t.What == "pushed"
	}
	return false
}

// stands reports whether a motor that needs a start, as one that turns a drum does, was told
// not to run.
func (e *Engine) stands(id circuit.PartID) bool {
	return e.c.Part(id).Kind == circuit.KindMotor && slices.ContainsFunc(e.c.Part(id).Branches, func(b circuit.BranchID) bool {
		return e.c.Branch(b).Start != circuit.None && slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
			return ev.Symptom != nil && ev.Symptom.Whole == 0 && ev.Symptom.Load == b && ev.Symptom.State != circuit.Normal
		})
	})
}

// unbelted is how far a switch is suspected that a belt may hold closed: whoever turns the
// drum feels whether it is on.
func (e *Engine) unbelted(own map[circuit.PartID]float64) (sum float64) {
	for id, share := range own {
		if id != circuit.None && e.c.Part(id).Kind == circuit.KindSwitch {
			sum += share
		}
	}
	return sum
}

// suspicion sums up by part how far it, and the joints and wires on it, are
// suspected.
func (e *Engine) suspicion() (joints, own map[circuit.PartID]float64) {
	joints, own = map[circuit.PartID]float64{}, map[circuit.PartID]float64{}
	weight := make([]float64, len(e.classes))
	ps := e.posterior()
	for i, core := range e.cores() {
		for _, k := range core {
			weight[k] += ps[i]
		}
	}
	for k, w := range weight {
		if w < 1e-4 {
			continue
		}
		for _, m := range e.classes[k].Members {
			share := w * m.Prior / e.classes[k].Prior
			for _, f := range m.Faults[:1] {
				b := e.c.Branch(f.Branch)
				if b.Wire == circuit.None {
					own[b.Part] += share
					continue
				}
				for _, at := range [2]circuit.TerminalID{b.A, b.B} {
					joints[e.c.Terminal(at).Part] += share
				}
			}
		}
	}
	return joints, own
}

// innocent sums up by part how far nothing is wrong but how it is set, and how far nothing
// but what keeps its air away.
func (e *Engine) innocent() (unset, blocked map[circuit.PartID]float64) {
	unset, blocked = map[circuit.PartID]float64{}, map[circuit.PartID]float64{}
	ps := e.posterior()
	for i, core := range e.cores() {
		if len(core) != 1 {
			continue
		}
		m := &e.classes[core[0]].Members[0]
		id, err := e.c.FindPart(m.Part)
		switch {
		case err != nil:
		case m.setting:
			unset[id] += ps[i]
		case m.airless:
			blocked[airAt(e.c, m.Faults[0])] += ps[i]
		}
	}
	return unset, blocked
}

// dark reports whether it was said that nothing comes on.
func (e *Engine) dark() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Symptom != nil && ev.Symptom.Whole == AllDead && e.since(ev)
	})
}

// heard reports whether something of a kind was told.
func (e *Engine) heard(what ...string) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Told != nil && slices.Contains(what, ev.Told.What) })
}

// comesAndGoes reports whether something was told that a loose joint does.
func (e *Engine) comesAndGoes() bool {
	return e.heard("intermittent", "touched", "works_again", "fails_hot", "fails_cold")
}

// plugsIn reports whether a part is a surface unit held by a socket alone, of
// which the machine has another.
func (e *Engine) plugsIn(p *circuit.Part) bool {
	socket := func(p *circuit.Part) bool {
		if p.Kind != circuit.KindSurfaceElement || len(p.Branches) != 1 {
			return false
		}
		for _, at := range p.Terminals {
			wires := e.c.Terminal(at).Wires
			if len(wires) != 1 {
				return false
			}
			w := e.c.Wire(wires[0])
			if w.Colour != "" || e.c.Part(e.c.Terminal(w.Other(at)).Part).Kind != circuit.KindConnector {
				return false
			}
		}
		return true
	}
	if !socket(p) {
		return false
	}
	for i := range e.c.Parts() {
		if q := e.c.Part(circuit.PartID(i)); q.ID != p.ID && socket(q) {
			return true
		}
	}
	return false
}
