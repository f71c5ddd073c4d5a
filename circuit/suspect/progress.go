package suspect

import (
	"maps"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Costs of a test in minutes (common practice, no source).
const (
	trialMinutes = 2.0
	heatMinutes  = 2.0  // more, for what is felt rather than seen to come on
	waitMinutes  = 15.0 // more, for a door that locks or an oven that heats up
	againMinutes = 1.0
	// nextMinutes is a further reading at the terminals that the last was taken at,
	// nothing set otherwise: a probe is moved.
	nextMinutes = 0.5
	liftMinutes = 3.0
	// doubt is what a figure is worth over an impression, roundabout what ohms of a
	// part alone are worth over those of a way round through others, which has to be
	// worked out on the diagram; atControl those of a sensor at its control.
	doubt, roundabout, atControl = 2.0, 8.0, 2.0
	// unplain is what a test is worth over one further from what is suspected, whose
	// ends have to be found first.
	unplain = 1.0
	// LivePenalty is what avoiding one live test is worth.
	LivePenalty = 15.0
	// clampPenalty is that of a clamp, which goes around insulation: no bare metal
	// is touched. blockPenalty is that where the supply comes in, to the machine or to
	// a control: probes are clipped on there before it is restored, and wrong volts are
	// no use to look for further on.
	clampPenalty, blockPenalty = 6.0, 6.0
	// PowerMinutes is the time to lock out and prove dead, or to restore.
	PowerMinutes = 3.0
	// clipMinutes is more for a live reading behind a panel that is still on: the supply
	// goes off, and on again once the probes are clipped, by who keeps the plug in hand.
	clipMinutes = 1.0
)

// Progress is what has been opened and how the machine stands, on which the
// cost of the next test depends.
type Progress struct {
	// Opened are places that were reached, and so the panels before them are off.
	Opened map[string]bool
	// On says the machine's supply is on.
	On bool
	// Skipped lists tests that the technician will not make.
	Skipped map[string]bool
	// at is where the last reading was taken, if at a station.
	at string
	// unreachable lists places that no probe gets to.
	unreachable map[string]bool
}

// NewProgress starts a visit: nothing opened, supply on.
func NewProgress() *Progress {
	return &Progress{Opened: map[string]bool{}, On: true, Skipped: map[string]bool{}}
}

// Did notes that a test was made.
func (p *Progress) Did(c *circuit.Circuit, t Test) {
	p.On, p.at = t.Live, t.station(c)
	for _, place := range t.places(c) {
		p.Opened[place] = true
	}
}

// after is the progress once a test was made.
func (p *Progress) after(c *circuit.Circuit, t Test) *Progress {
	next := &Progress{Opened: maps.Clone(p.Opened), Skipped: p.Skipped}
	next.Did(c, t)
	return next
}

// Skip notes that a test will not be made.
func (p *Progress) Skip(c *circuit.Circuit, t Test) { p.Skipped[t.skipKey(c)] = true }

// CannotReach notes that no probe gets to a terminal, nor to anything else in
// the same place.
func (p *Progress) CannotReach(c *circuit.Circuit, t circuit.TerminalID) {
	if p.unreachable == nil {
		p.unreachable = map[string]bool{}
	}
	p.unreachable[reach(c, t)] = true
}

// allows reports whether a test can and will be made.
func (p *Progress) allows(c *circuit.Circuit, t Test) bool {
	switch {
	case p.Skipped[t.skipKey(c)]:
		return false
	case t.Ask != "":
		return !p.unreachable[c.Part(t.Part).Place]
	}
	return t.Trial || !p.unreachable[reach(c, t.Probes.P)] && !p.unreachable[reach(c, t.Probes.Q)]
}

// reach names what has to be opened up to get a probe to a terminal.
func reach(c *circuit.Circuit, t circuit.TerminalID) string {
	if place := c.PlaceOf(t); place != "" {
		return place
	}
	return c.Terminal(t).Ref
}

// Minutes returns the effort of a test and, apart from it, the price put on its
// risk. A panel is paid for when it comes off, shutting it again included, and
// so is turning the supply off or on.
func (p *Progress) Minutes(c *circuit.Circuit, t Test) (minutes, price float64) {
	g := newGround(c)
	f, s := g.effort(t), g.setup(p)
	return g.minutes(&f, s), f.priced(s)
}

// setup is how far a machine is opened up, by the numbers of a [ground].
type setup struct {
	on             bool
	places, panels uint64
	asked          uint64 // what was looked at, by the bit of the move
	station        uint16 // where the last reading was taken, by its number; 0 for none
}

// effort is what a test takes, whatever is open.
type effort struct {
	live        bool
	own, price  float64
	at          [2]spot
	panels, ask uint64
	// station is where supply comes in and how the machine is set: readings there are
	// taken in one go (common practice, no source). It is 0 for what is no such reading.
	station uint16
}

// spot is a place that a test reaches: in so many minutes the first time, the
// panels before it apart.
type spot struct {
	bit   uint64
	first float64
}

// ground numbers the places and panels that tests need. Beyond 63 of either,
// those left count as not opened yet each time.
type ground struct {
	c      *circuit.Circuit
	places map[string]uint64
	panels []float64 // minutes, opening and shutting
	asks   int
	// stations numbers where volts are read in one go.
	stations map[string]uint16
}

func newGround(c *circuit.Circuit) *ground {
	g := &ground{c: c, places: map[string]uint64{}, stations: map[string]uint16{}}
	for _, p := range c.Panels() {
		g.panels = append(g.panels, p.Minutes+p.Close)
	}
	return g
}

func (g *ground) place(name string) uint64 {
	bit, ok := g.places[name]
	if !ok && len(g.places) < 63 {
		bit = 1 << len(g.places)
		g.places[name] = bit
	}
	return bit
}

// station numbers where volts are read in one go, by its key.
func (g *ground) station(key string) uint16 {
	if key == "" {
		return 0
	}
	n, ok := g.stations[key]
	if !ok {
		n = uint16(len(g.stations) + 1)
		g.stations[key] = n
	}
	return n
}

// station names where a test takes volts that others go with at the same place, the
// machine set alike: where probes are clipped on. It is empty for other tests.
func (t Test) station(c *circuit.Circuit) string {
	if !t.Live || t.Probes.Function != meter.Volts || !t.clipped(c) {
		return ""
	}
	at := t.Probes.P
	if at == c.ChassisTerminal() {
		at = t.Probes.Q
	}
	return c.Mode(t.Mode).Name + " " + c.Part(c.Terminal(at).Part).Name
}

func (g *ground) panelsTo(place string) (set uint64) {
	for _, id := range g.c.PanelsTo(place) {
		if id < 63 {
			set |= 1 << id
		}
	}
	return set
}

// setup is how far a visit has come.
func (g *ground) setup(p *Progress) setup {
	s := setup{on: p.On, station: g.station(p.at)}
	for place := range p.Opened {
		s.places |= g.place(place)
		s.panels |= g.panelsTo(place)
	}
	return s
}

// effort works out what a test takes.
func (g *ground) effort(t Test) effort {
	f := effort{live: t.Live, station: g.station(t.station(g.c))}
	switch {
	case t.Trial:
		f.own, f.price = trialEffort(g.c, t.Mode), doubt
		return f
	case t.Ask != "":
		f.own, f.price = moves[t.Ask].minutes, doubt
		if g.asks < 63 {
			f.ask = 1 << g.asks
			g.asks++
		}
		if !moves[t.Ask].inside {
			return f
		}
	case t.Live && t.Probes.Function == meter.Amps:
		f.price = clampPenalty
	case t.Live && t.clipped(g.c):
		f.price = blockPenalty
	case t.Live:
		f.price = LivePenalty
	}
	if len(t.Lift) > 0 {
		f.own += liftMinutes
	}
	for i, place := range t.places(g.c) {
		first := againMinutes
		if to := g.panelsTo(place); to != 0 {
			f.panels |= to
		} else if t.Ask == "" {
			first = g.c.AccessMinutes([2]circuit.TerminalID{t.Probes.P, t.Probes.Q}[i])
		}
		f.at[i] = spot{g.place(place), first}
	}
	return f
}

// mending is what getting at what is wrong takes, with the supply off: the panels
// before it, of several places the first.
func (g *ground) mending(e *Engine, core []int32) (f effort) {
	if len(core) == 0 || e.set(core) || e.classes[core[0]].Members[0].Faults[0].Branch == circuit.None {
		return f // something else, or wires crossed
	}
	return g.reaching(e.c, e.classes[core[0]].Members[0].Faults[0])
}

// reaching is what getting at a fault of a machine to mend it takes: of one of a family
// beside that which the ground is of.
func (g *ground) reaching(c *circuit.Circuit, fault circuit.Fault) (f effort) {
	b := c.Branch(fault.Branch)
	for _, at := range []circuit.TerminalID{b.A, b.B} {
		part := b.Part
		if part == circuit.None && at != circuit.None {
			part = c.Terminal(at).Part
		}
		if part != circuit.None { // not the metal, nor what a control drives
			f.panels = g.panelsTo(c.Part(part).Place)
			break
		}
	}
	return f
}

// along reports whether a test goes with the reading just taken: a probe is moved.
func (f *effort) along(s setup) bool { return f.station != 0 && f.station == s.station }

// priced is what the risk of a test is worth avoiding as the machine stands: where
// probes are clipped on already most of it was taken.
func (f *effort) priced(s setup) float64 {
	if f.along(s) {
		return f.price - blockPenalty
	}
	return f.price
}

// minutes is what a test takes as the machine stands.
func (g *ground) minutes(f *effort, s setup) float64 {
	if f.along(s) {
		return nextMinutes
	}
	out := f.own
	switch {
	case f.live != s.on:
		out += PowerMinutes
	case f.live && f.panels&^s.panels != 0:
		out += clipMinutes
	}
	for _, at := range f.at {
		switch {
		case at.first == 0:
		case at.bit != 0 && s.places&at.bit != 0:
			out += againMinutes
		default:
			out += at.first
			s.places |= at.bit
		}
	}
	for left, id := f.panels&^s.panels, 0; left != 0; left, id = left>>1, id+1 {
		if left&1 != 0 {
			out += g.panels[id]
		}
	}
	return out
}

// after is how the machine stands once a test was made.
func (f *effort) after(s setup) setup {
	s.on = f.live
	s.places |= f.at[0].bit | f.at[1].bit
	s.panels |= f.panels
	s.asked |= f.ask
	s.station = f.station
	return s
}

// trialEffort is the time to bring a mode about and look.
func trialEffort(c *circuit.Circuit, mode circuit.ModeID) float64 {
	if mode == c.OffMode() && c.Mode(mode).Reached == circuit.ByHand {
		return trialMinutes / 2 // nothing to select
	}
	minutes := trialMinutes
	switch m := c.Mode(mode); {
	case m.Minutes > 0:
		minutes += m.Minutes
	case m.Reached != circuit.ByHand || waits(c, mode):
		minutes += waitMinutes
	}
	for _, x := range c.Mode(mode).Expect {
		if x.Share > 0 && c.Part(c.Branch(x.Load).Part).Kind == circuit.KindElement {
			return minutes + heatMinutes
		}
	}
	return minutes
}

// waits reports whether a mode is one that the machine has to get to by itself:
// a latch that has run, a thermostat that heat has opened.
func waits(c *circuit.Circuit, mode circuit.ModeID) bool {
	for i := range c.Parts() {
		p := &c.Parts()[i]
		if len(p.Positions) == 0 || c.Mode(mode).Position[i] == p.Rest {
			continue
		}
		if p.Kind == circuit.KindLatch || p.Kind == circuit.KindThermostat && p.Positions[p.Rest] == "closed" {
			return true
		}
	}
	return false
}

// clipped reports whether both probes are where they are clipped on before the supply
// is restored: at the terminals that it comes in by, or at metal; or at what feeds a
// control, which is proved before a new one is fitted (common practice, no source).
func (t Test) clipped(c *circuit.Circuit) bool {
	if !t.Probing() {
		return false
	}
	p, q := t.Probes.P, t.Probes.Q
	block := func(id circuit.TerminalID) bool {
		return id == c.ChassisTerminal() || c.Part(c.Terminal(id).Part).Kind == circuit.KindTerminalBlock
	}
	return block(p) && block(q) || slices.ContainsFunc(c.Loads(), func(id circuit.BranchID) bool {
		b := c.Branch(id)
		return kindOf(c, id) == circuit.KindControl && (b.A == p && b.B == q || b.A == q && b.B == p)
	})
}
