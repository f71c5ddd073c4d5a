package suspect

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"legtrace/circuit"
)

// Telling is something seen, heard, smelt or remembered that no solve predicts:
// a burnt end, a code, that it began after self-clean. It is weighed by the
// table of tales.
type Telling struct {
	// What is a key of the table, see [Tales].
	What string
	// Part is where it was seen, or what was replaced; None if not said.
	Part circuit.PartID
	// Joint says that a wire's end or a terminal at Part is meant, Pole which one where it
	// is of one pole of the supply.
	Joint bool
	Pole  string
	// Load is the load that it is told of; None if not said.
	Load circuit.BranchID

	// Kelvin is by how many something is off, where that was said; else 0.
	Kelvin float64

	since string // when it began, in words

	// ask is the move that it came of, and answer which of its answers it is.
	ask    Test
	answer int
	code   *declared // as the control shows it, where the netlist declares it

	feeds  map[circuit.BranchID]bool // what the load depends on
	shared map[circuit.BranchID]bool // of that, what others depend on too, where it counts
	coil   map[circuit.BranchID]bool // what moves the contact of the part told of
	sensed map[circuit.BranchID]bool // what the control of a code looks through
	bonds  map[circuit.BranchID]bool // what alone bonds the metal to neutral
	floats map[circuit.BranchID]bool // what leaves the metal to itself where it is open
}

// since is the key of when it began: the one thing told that is kept in words.
const since = "since"

// NewTelling checks what was told against the table. The part may be empty; at is [AtJoint],
// a pole of the part, or empty.
func NewTelling(c *circuit.Circuit, what, part, load, at string) (*Telling, error) {
	if err := knownTale(what); err != nil {
		return nil, err
	}
	t := &Telling{What: what, Part: circuit.None, Load: circuit.None, Joint: at != ""}
	var err error
	if part != "" {
		if t.Part, err = c.FindPart(part); err != nil {
			return nil, err
		}
	}
	if load != "" {
		if t.Load, err = c.FindLoad(load); err != nil {
			return nil, err
		}
	}
	if at != "" && at != AtJoint {
		if t.Pole = at; t.Part == circuit.None || !slices.ContainsFunc(c.Part(t.Part).Terminals, func(id circuit.TerminalID) bool { return t.atPole(c, id) }) {
			return nil, fmt.Errorf("at %q: it is %q, a pole of the part, or not said", at, AtJoint)
		}
	}
	return t, nil
}

// atPole reports whether a terminal is of the pole told of, of any where none is.
func (t *Telling) atPole(c *circuit.Circuit, id circuit.TerminalID) bool {
	if t.Pole == "" || id == circuit.None {
		return t.Pole == ""
	}
	pole, _, _ := strings.Cut(c.Terminal(id).Name, ".")
	return pole == t.Pole
}

// Words tells it back.
func (t *Telling) Words(c *circuit.Circuit) string {
	if _, ok := t.Asked(); ok {
		return t.askedWords(c)
	}
	words := tales[t.What].words
	if t.since != "" {
		words += ": " + t.since
	}
	if t.code != nil {
		words += fmt.Sprintf(", %s: %s", t.code.Text, t.code.Means)
	}
	if rowOf(c, t.What).partsNothing() {
		words += " (tells no fault from another)"
	}
	switch {
	case t.Load != circuit.None:
		return c.Label(t.Load) + ": " + words
	case t.Part == circuit.None:
		return circuit.UpperFirst(words)
	}
	where := c.Part(t.Part).Label
	if t.Pole != "" {
		where += " " + t.Pole
	}
	if t.Joint {
		where += ", at its wires"
	}
	return where + ": " + words
}

// chance is the chance of being told so with faults present: of the fault that
// makes it likeliest.
func (t *Telling) chance(c *circuit.Circuit, faults []circuit.Fault) float64 {
	if _, ok := t.Asked(); ok {
		return t.askedChance(c, faults)
	}
	row := rowOf(c, t.What)
	best, pick := row.base, math.Max
	if row.spares > 0 {
		pick = math.Min // whatever else is wrong, it speaks against the part
	}
	for i, f := range faults {
		p := t.chanceOf(c, &row, f)
		if len(faults) > 1 && t.bonds[f.Branch] { // what has its hots open too is not live
			p = row.base
		}
		if row.pole > 0 && poleOf(c, faults) {
			p = max(row.base, p*row.pole)
		}
		if best = pick(best, p); i == 0 {
			best = p
		}
	}
	if row.caused > 0 && len(faults) > 1 && best > row.base {
		best = row.caused
	}
	err := c.Mistake("customer")
	if t.Part != circuit.None {
		err = c.Mistake("looked")
	}
	return (1-err)*best + err*row.base
}

// poleOf reports whether faults are one pole open of what trips with all it has: a limit
// with a button, a breaker. It did not trip, and no button closes it.
func poleOf(c *circuit.Circuit, faults []circuit.Fault) bool {
	if len(faults) != 1 || faults[0].Kind != circuit.Open || kindOf(c, faults[0].Branch) == circuit.KindNone {
		return false
	}
	p := c.Part(c.Branch(faults[0].Branch).Part)
	return len(p.Branches) > 1 && (p.Kind.Guards() || p.HasButton())
}

func (t *Telling) chanceOf(c *circuit.Circuit, row *tale, f circuit.Fault) (p float64) {
	kind, way := kindOf(c, f.Branch), wayOf(c, f)
	if kind == circuit.KindThermostat && !c.Part(c.Branch(f.Branch).Part).LetsOff() {
		kind = circuit.KindSwitch // it works a fan, and governs no heat
	}
	near := t.near(c, f.Branch)
	switch {
	case row.undriven == 0 || t.Part == circuit.None || way == contactStuck:
	case t.coil[f.Branch]:
		return row.undriven
	case near && c.Branch(f.Branch).Role == circuit.Contact:
		return row.made
	}
	if row.spares > 0 {
		// What it was replaced for was there before its wires were off.
		if near && (c.Branch(f.Branch).Part == t.Part || way == astray) {
			return row.base * row.spares
		}
		if t.What == "no_help" && t.Part == circuit.None && renewable(kind) {
			return row.base * unnamed
		}
		return row.base
	}
	leg := c.Branch(f.Branch).Role == circuit.Source && f.Branch != c.Supply().Neutral
	if row.bonds > 0 && leg && f.Kind != circuit.Open || t.feeds != nil && !t.feeds[f.Branch] || row.metal && f.Kind == circuit.Short || row.neutral && leg {
		return row.base
	}
	if row.legs && (f.Kind != circuit.Open || !feedsLeg(c, f.Branch)) {
		return row.base
	}
	if row.when != 0 && f.Kind == circuit.Drifted && t.Load != circuit.None && c.Part(c.Branch(t.Load).Part).Kind == circuit.KindSolenoid {
		return max(row.base, marginal)
	}
	if t.shared[f.Branch] {
		defer func() { p = max(row.base, p*toldOfOne) }()
	}
	p = row.base
	switch chances := row.here; {
	case near && chances != nil:
		p = max(p, chances[way])
	case t.Part != circuit.None && overheard[t.What] && (Test{Part: t.Part}).beside(c, f.Branch):
		p = max(p, chances[way]*besideHeard)
	case t.Part == circuit.None:
		p = max(p, row.anywhere[way])
	}
	if t.What == "trips_late" && way == partShort && !kind.Heats() && kind != circuit.KindMotor {
		return max(row.base, lateCold)
	}
	if t.What == "full" && cycled(c, t.feeds) && (kind != circuit.KindCyclingSwitch || !letsGo(c, f.Branch)) {
		return row.base * fullElsewhere
	}
	if t.sensed[f.Branch] && (row.ways == nil || way == jointHigh || slices.Contains(row.ways, way)) {
		p = max(p, atSense)
	}
	switch {
	case len(t.bonds) == 0:
	case f.Kind == circuit.Open && t.bonds[f.Branch]:
		p = max(p, row.bonds)
	case f.Kind == circuit.Open && t.floats[f.Branch]:
		p = max(p, floating)
	case way == partShort:
		p = max(row.base, p*bondedTrips)
	}
	if k, ok := row.kinds[kind]; ok && (t.Part == circuit.None || near) && (row.ways == nil || slices.Contains(row.ways, way)) {
		if k < row.base {
			return k
		}
		p = max(p, k)
	}
	return p
}

// overheard is what is heard or smelt of more than a part: besideHeard is how much less
// likely it is told of one part where another is at fault that lies open with it (common
// practice, no source).
var overheard = map[string]bool{"noise": true, "smell": true}

const besideHeard = 0.3

// unnamed is how much less likely it is of any part to have failed where parts, nobody
// says which, were fitted without effect: wires, joints and the supply are left (common
// practice, no source).
const unnamed = 0.5

// renewable tells the kinds that are fitted anew on suspicion.
func renewable(k circuit.Kind) bool {
	return k != circuit.KindNone && k != circuit.KindSupply && k != circuit.KindTerminalBlock && k != circuit.KindConnector && !k.Guards()
}

// toldOfOne is the chance that one load alone is told of where what others share makes
// a device trip with any of them, or with none (common practice, no source).
const toldOfOne = 0.15

// bondedTrips is how much less likely a shock is told of where a hot touches metal that
// is bonded to neutral: that trips (common practice, no source).
const bondedTrips = 0.2

// floating is the chance of a tingle where the metal is bonded to nothing: what leaks to it
// is felt by whoever touches an earthed machine beside it (common practice, no source).
const floating = 0.2

// marginal is the chance that a valve is said to open some times, or cold alone, where what
// feeds it aged: a tired igniter lets through hardly enough (common practice, no source).
const marginal = 0.4

// near reports whether a branch is of the part told of, or a wire that lands on it; of a
// joint, only what joins. Heat, arcs and cracks that are seen on a board may be at its relays.
func (t *Telling) near(c *circuit.Circuit, id circuit.BranchID) bool {
	b := c.Branch(id)
	if t.Part == circuit.None {
		return false
	}
	fact := tales[t.What].fact
	board := (fact == "heat" || fact == "arc" || t.What == "parted") && b.Part != circuit.None && c.DrivenBy(b.Part) == t.Part
	if b.Wire == circuit.None && (b.Part == t.Part || board) {
		return (!t.Joint || b.Role == circuit.Join) && (t.atPole(c, b.A) || t.atPole(c, b.B))
	}
	if b.Wire == circuit.None {
		return false
	}
	return slices.ContainsFunc([]circuit.TerminalID{b.A, b.B}, func(at circuit.TerminalID) bool {
		return at != circuit.None && c.Terminal(at).Part == t.Part && t.atPole(c, at)
	})
}

// kindOf is the kind of part a branch is of: none for a wire.
func kindOf(c *circuit.Circuit, id circuit.BranchID) circuit.Kind {
	b := c.Branch(id)
	if b.Wire != circuit.None || b.Part == circuit.None {
		return circuit.KindNone
	}
	return c.Part(b.Part).Kind
}

func wayOf(c *circuit.Circuit, f circuit.Fault) how {
	b := c.Branch(f.Branch)
	switch {
	case f.Kind == circuit.Fed || f.Kind == circuit.Moved:
		return astray
	case f.Kind == circuit.Welded && !kindOf(c, f.Branch).Guards():
		return contactStuck
	case f.Kind == circuit.Grounded || f.Kind == circuit.Short:
		return partShort
	case f.Kind == circuit.Open && b.Role == circuit.Join:
		return jointOpen
	case f.Kind == circuit.HighResistance && b.Role == circuit.Join:
		return jointHigh
	case f.Kind == circuit.HighResistance && b.Role == circuit.Contact:
		return contactHigh
	case f.Kind == circuit.Open:
		return partOpen
	}
	return otherwise
}

// tiny is less than any chance of being told something.
const tiny = 1e-9

// weighTold weighs what was told under every class, member by member: members
// that no probe tells apart a burnt end does, so that each member's share of
// its class changes with it.
func (e *Engine) weighTold(ev Evidence) *singles {
	n := len(e.classes)
	// Of one fact what leads counts in full, the rest by again: a telling that leads from
	// now on takes back what that before it had more.
	own, more, lead := 1.0, 0.0, e.toldBefore(ev.Told)
	weight := own
	if lead != nil {
		if weight, own = again, again; ev.Told.leads(e.c, lead) {
			own, more = 1, 1-again
		}
	}
	if e.toldSo(ev.Told) {
		weight, own, more = 0, 0, 0
	}
	s := &singles{ev: ev, logs: make([][]float64, n), usual: make([]float64, n), none: own * math.Log(ev.Told.idle(e.c)), most: ev.Told.idle(e.c)}
	if more > 0 {
		s.none -= more * math.Log(max(lead.idle(e.c), tiny))
	}
	for i := range e.classes {
		cl := &e.classes[i]
		sum, total := 0.0, 0.0
		chances, before := e.chancesTold(ev.Told, i), []float64(nil)
		if more > 0 {
			before = e.chancesTold(lead, i)
		}
		for k, m := range cl.Members {
			s.most = max(s.most, chances[k])
			if chances[k] = math.Pow(chances[k], own); before != nil {
				chances[k] /= math.Pow(max(before[k], tiny), more)
			}
			sum, total = sum+m.Prior*chances[k], total+m.Prior
		}
		s.usual[i] = math.Log(sum / total)
		s.logs[i] = cl.sizes.onOccasion(s.usual[i], ev.Told.when(), math.Pow(thenTold, weight))
		if ev.Told.code != nil && ev.Told.code.through[cl.Members[0].Faults[0].Branch] {
			for k, p := range e.bySize(ev.Told, cl.sizes) {
				s.logs[i][k], s.most = own*math.Log(p), max(s.most, p)
			}
		}
		if ev.Told.when() == whenHot && e.neverStarts(ev.Told.Load, cl.Members[0].Faults) {
			for k, c := range cl.sizes.cells {
				if c.occasion.when == always {
					s.logs[i][k] = min(s.logs[i][k], s.none) // it stands still from the first
				}
			}
		}
		if ev.Told.lit() && e.leftDark(cl) {
			less := weight * math.Log(deadShows)
			s.usual[i] += less
			for k, c := range cl.sizes.cells {
				if c.occasion.when != comesAndGoes {
					s.logs[i][k] += less
				}
			}
		}
		members := make([]Cause, len(cl.Members))
		for k, m := range cl.Members {
			m.Prior *= chances[k] * total / sum
			members[k] = m
		}
		sort.SliceStable(members, func(a, b int) bool { return members[a].Prior > members[b].Prior })
		cl.Members = members
	}
	return s
}

// deadShows is how much less likely a code, or that the display flashes, is told of where
// it is dark all the time: it was another's, or from before (common practice, no source).
const deadShows = 0.01

// leftDark reports whether a class leaves the display dark while all is off, or in the
// first mode that has it lit; one that cannot be settled is not known to.
func (e *Engine) leftDark(cl *Class) bool {
	mode := e.c.OffMode()
	if shows := e.c.Controls(); len(shows) > 0 && !expects(e.c, mode, shows[0].Supply) {
		mode = circuit.ModeID(max(0, slices.IndexFunc(e.c.Modes(), func(m circuit.Mode) bool { return expects(e.c, m.ID, shows[0].Supply) })))
	}
	dark, err := e.workers[0].darkens(mode, cl.Members[0].Faults)
	return dark && err == nil
}

// when is the occasion that a telling is of, if of any.
func (t *Telling) when() when {
	if t.ask.Ask == Move && !t.clear() {
		return comesAndGoes
	}
	return tales[t.What].when
}

// limitTold is the chance that a load whose limiter cycles is said to come and go
// (common practice, no source).
const limitTold = 0.6

// trippedTold is the chance that a limit is said to have tripped where it gets too hot
// (common practice, no source).
const trippedTold = 0.5

// cycledTold is the same of a limit that closes by itself: it is rarely found open (common
// practice, no source).
const cycledTold = 0.15

// windingTold is the chance that a motor is said to stop by itself, or to fail hot, where
// its own protector opens; nobody takes that for the breaker (common practice, no source).
const windingTold = 0.9

// windingGuard reports whether a fault is a motor's own protector open.
func windingGuard(c *circuit.Circuit, f circuit.Fault) bool {
	return f.Kind == circuit.Open && kindOf(c, f.Branch) == circuit.KindLimit && c.GuardsWinding(c.Branch(f.Branch).Part)
}

// blockedTold are the chances of what is told of the air way where a limit opens
// because the air is blocked (common practice, no source).
var blockedTold = map[string]float64{"lint": 0.5, "air_clear": 0.1}

// thenTold is how many times as likely something is said to come and go, or to
// fail hot, where it does, as where it is there always (common practice, no
// source).
const thenTold = 30

// onOccasion spreads the log likelihood of a class over its cells: what is told of
// an occasion speaks for those that are there on such a one, so many times.
func (s *sizes) onOccasion(log float64, w when, times float64) []float64 {
	out := slices.Repeat([]float64{log}, len(s.cells))
	mean := 0.0
	on := func(c cell) bool {
		return c.occasion.when == w || c.occasion.when == limited && (w == comesAndGoes || w == whenHot)
	}
	for _, c := range s.cells {
		if on(c) {
			mean += c.share * (times - 1)
		}
	}
	if mean == 0 || w == 0 {
		return out
	}
	for k, c := range s.cells {
		if out[k] -= math.Log1p(mean); on(c) {
			out[k] += math.Log(times)
		}
	}
	return out
}

// lateCold is how often what gets no warmer by itself, as a chafed wire, trips the breaker
// after minutes and not at once (common practice, no source).
const lateCold = 0.03

// feedsLeg reports whether a branch is of one hot leg, from the house to the block that the
// machine's own wires begin at.
func feedsLeg(c *circuit.Circuit, id circuit.BranchID) bool {
	b := c.Branch(id)
	hot := func(at circuit.TerminalID) bool {
		if at == circuit.None || c.Terminal(at).Part == circuit.None {
			return at == circuit.None
		}
		kind, name := c.Part(c.Terminal(at).Part).Kind, c.Terminal(at).Name
		return slices.Contains([]circuit.Kind{circuit.KindSupply, circuit.KindBreaker, circuit.KindConnector, circuit.KindTerminalBlock}, kind) && (strings.HasPrefix(name, "L1") || strings.HasPrefix(name, "L2"))
	}
	return hot(b.A) && hot(b.B)
}

// fullElsewhere is how much less often a burner is said to know full heat only, where its
// switch lets go, than other things are said for nothing (common practice, no source).
const fullElsewhere = 0.2

// letsGo reports whether a contact of a cycling switch opens as it idles: what has full
// heat only is stuck there, and not at the contact that stays on with the knob.
func letsGo(c *circuit.Circuit, id circuit.BranchID) bool {
	b := c.Branch(id)
	p := c.Part(b.Part)
	on, idle := slices.Index(p.Positions, "on"), slices.Index(p.Positions, "idle")
	return on < 0 || idle < 0 || b.Rule.Closed[on] && !b.Rule.Closed[idle]
}

// toldOf is the weight of a set of classes: of the one that makes it likeliest.
func (s *singles) toldOf(h *hypothesis) float64 {
	if len(h.classes) == 0 {
		return s.none
	}
	best, told := s.single(h, 0), s.ev.Told
	for at := range h.classes {
		if told.spares() {
			best = min(best, s.single(h, at))
		} else {
			best = max(best, s.single(h, at))
		}
	}
	return best
}
