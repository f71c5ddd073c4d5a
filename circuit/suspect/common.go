package suspect

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// commonCauses lists what shows as several faults at once and is one cause.
func commonCauses(c *circuit.Circuit) []Cause {
	var out []Cause
	for i := range c.Parts() {
		p := &c.Parts()[i]
		out = append(out, stuck(c, p)...)
		out = append(out, worked(c, p)...)
		out = append(out, poles(c, p)...)
	}
	return slices.Concat(out, house(c), strap(c), cooked(c), stalled(c), worn(c), fine(c))
}

// cookedShare is how often what guards against heat has opened for good by the time
// that a fan which cools its place is found dead (common practice, no source).
const cookedShare = 0.3

// cooked lists the fans whose air keeps a fuse, or a limit that stays open, from its
// heat, dead with that open: two faults and one cause.
func cooked(c *circuit.Circuit) []Cause {
	guards := map[circuit.BranchID][]*circuit.Part{}
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		opens := p.Kind == circuit.KindThermalFuse || p.Kind == circuit.KindLimit && !p.Returns
		if !opens || p.Acts <= 0 || p.Body == circuit.None || c.Bodies()[p.Body].Fan == circuit.None {
			continue
		}
		if fan := c.Bodies()[p.Body].Fan; kindOf(c, fan) == circuit.KindFan { // where a drum's motor stands the heat does too
			guards[fan] = append(guards[fan], p)
		}
	}
	var out []Cause
	for _, fan := range slices.Sorted(maps.Keys(guards)) {
		for _, p := range guards[fan] {
			for _, still := range stills(c, fan) {
				cause := Cause{Faults: still.Faults, Label: still.Label + ", " + p.Label + " opened by the heat", Prior: still.Prior * cookedShare / float64(len(guards[fan]))}
				for _, id := range p.Branches {
					cause.Faults = append(cause.Faults, circuit.Fault{Kind: circuit.Open, Branch: id})
				}
				out = append(out, cause)
			}
		}
	}
	return out
}

// stalledShare is how often a dead fan has been noticed by what it cools: an element
// that comes and goes by its limit (common practice, no source).
const stalledShare = 0.5

// stalled lists the fans whose air keeps a limit that resets by itself from an
// element's heat, dead, and the limit opening and closing for it.
func stalled(c *circuit.Circuit) []Cause {
	var out []Cause
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		if p.Kind != circuit.KindLimit || !p.Returns || len(p.Branches) != 1 || !byElement(c, p.Body) && !aroundElement(c, p.Body) {
			continue
		}
		fan := c.Bodies()[p.Body].Fan
		if fan == circuit.None || kindOf(c, fan) != circuit.KindFan { // no drum turns, no heat
			continue
		}
		for _, still := range stills(c, fan) {
			out = append(out, Cause{Faults: append(slices.Clone(still.Faults), circuit.Fault{Kind: circuit.Open, Branch: p.Branches[0]}),
				Label: still.Label + ", " + p.Label + " opens and closes for want of its air", Prior: still.Prior * stalledShare, cycles: byElement(c, p.Body), hot: !byElement(c, p.Body), lasts: still.Faults})
		}
	}
	return out
}

// stills are the ways in which a fan of its own does not turn.
func stills(c *circuit.Circuit, fan circuit.BranchID) []Cause {
	return []Cause{single(c, circuit.Fault{Kind: circuit.Open, Branch: fan}), single(c, circuit.Fault{Kind: circuit.Seized, Branch: fan})}
}

// nothingWrong begins the label of what looks like a fault and is none.
const nothingWrong = "Nothing is wrong: "

// worn lists the elements of one body that lost section together, where the netlist says
// that they do.
func worn(c *circuit.Circuit) []Cause {
	share := c.Way("worn")
	if share == 0 {
		return nil
	}
	var out []Cause
	for i := range c.Bodies() {
		body := &c.Bodies()[i]
		var thin []circuit.Fault
		for _, load := range c.Loads() {
			if body.Heats[load] > 0 && kindOf(c, load) == circuit.KindElement {
				thin = append(thin, circuit.Fault{Kind: circuit.Drifted, Branch: load, Factor: usualAged})
			}
		}
		if len(thin) > 1 {
			out = append(out, Cause{Faults: thin, Label: fmt.Sprintf("All %d elements worn, with too many ohms", len(thin)), Prior: c.Prior(circuit.KindElement) * share})
		}
	}
	return out
}

// fine lists what looks like a fault and is none.
func fine(c *circuit.Circuit) []Cause {
	guarded := slices.ContainsFunc(c.Branches(), func(b circuit.Branch) bool { return b.Residual > 0 })
	var out []Cause
	add := func(p *circuit.Part, way, why string, faults ...circuit.Fault) {
		cause := ofPart(c, p, c.Way(way), "", faults)
		cause.Label = nothingWrong + p.Label + " " + why
		cause.setting = way == "locked" || way == "unset"
		cause.hot, cause.cycles = way == "runs_on", way == "limited" || way == "blocked"
		cause.airless = way == "blocked"
		out = append(out, cause)
	}
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		switch {
		case p.Kind == circuit.KindThermostat && !p.LetsOff() && p.Body != circuit.None && len(p.Branches) == 1:
			add(p, "runs_on", "keeps its fan on until all has cooled", circuit.Fault{Kind: circuit.Welded, Branch: p.Branches[0]})
		case opener(c, p) != nil:
			add(p, "unset", fmt.Sprintf("stands as in %q", opener(c, p).Label), circuit.Fault{Kind: circuit.Open, Branch: p.Branches[0]})
		case limits(c, p) != circuit.None:
			add(p, "limited", "opens and closes by heat: the glow comes and goes", circuit.Fault{Kind: circuit.Open, Branch: limits(c, p)})
		case p.Kind == circuit.KindLimit && p.Returns && len(p.Branches) == 1 && byElement(c, p.Body):
			add(p, "blocked", "opens and closes by heat that does not get away: its air is blocked", circuit.Fault{Kind: circuit.Open, Branch: p.Branches[0]})
		case p.Kind == circuit.KindElement && guarded:
			add(p, "damp", "is damp and leaks, and dries in half an hour of heat", circuit.Fault{Kind: circuit.Grounded, Branch: p.Branches[0], At: dampAt, Ohms: usualDamp})
		case p.Kind == circuit.KindControl && len(drivesOf(c, p.ID)) > 1:
			add(p, "locked", "is set so: keys locked, a delay or a demonstration", all(circuit.Open, drivesOf(c, p.ID))...)
		}
	}
	return out
}

// opener is the mode in which somebody has set a switch that rests closed to open: a
// programmer's contact, at the end of a programme; nil for any other part.
func opener(c *circuit.Circuit, p *circuit.Part) *circuit.Mode {
	if p.Kind != circuit.KindSwitch || len(p.Branches) != 1 || p.Positions[p.Rest] != "closed" {
		return nil
	}
	for i := range c.Modes() {
		if m := c.Mode(circuit.ModeID(i)); m.ID != c.OffMode() && m.Reached == circuit.ByHand && m.Position[p.ID] != p.Rest {
			return m
		}
	}
	return nil
}

// byElement reports whether a body is warmed by what is made to heat, not by a motor.
func byElement(c *circuit.Circuit, body circuit.BodyID) bool {
	return slices.ContainsFunc(c.Loads(), func(load circuit.BranchID) bool {
		return c.Bodies()[body].Heats[load] > 0 && c.Part(c.Branch(load).Part).Kind.Heats()
	})
}

// aroundElement reports whether a body is warmed by what stands in it and is made to heat: the
// shell around an oven.
func aroundElement(c *circuit.Circuit, body circuit.BodyID) bool {
	for i, b := range c.Bodies() {
		if b.Around == body && byElement(c, circuit.BodyID(i)) {
			return true
		}
	}
	return false
}

// limits is the contact that a limiter of several positions opens as a mode cycles;
// None for any other part.
func limits(c *circuit.Circuit, p *circuit.Part) circuit.BranchID {
	if p.Kind != circuit.KindThermostat || len(p.Positions) < 3 {
		return circuit.None
	}
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		if m.Cycles == circuit.None || m.Position[p.ID] == c.Mode(m.Cycles).Position[p.ID] {
			continue
		}
		for _, id := range p.Branches {
			if closed := c.Branch(id).Rule.Closed; closed[m.Position[p.ID]] && !closed[c.Mode(m.Cycles).Position[p.ID]] {
				return id
			}
		}
	}
	return circuit.None
}

// strap lists the strap between neutral and the machine's metal as it should not
// be: on where earth has a wire of its own, off where it has none.
func strap(c *circuit.Circuit) []Cause {
	runs, metal := c.Runs(), c.ChassisTerminal()
	var out []Cause
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		if p.Kind != circuit.KindTerminalBlock {
			continue
		}
		for _, id := range p.Branches {
			if b := c.Branch(id); b.Name == "N" && runs[b.B] != runs[metal] {
				out = append(out, ofPart(c, p, c.Way("strap_on"), "with the strap to the metal left on", []circuit.Fault{{Kind: circuit.Grounded, Branch: id, At: 1}}))
			}
		}
		for _, t := range p.Terminals {
			for _, id := range c.Terminal(t).Wires {
				if w := c.Wire(id); (w.From == metal || w.To == metal) && c.Supply().Earth == circuit.None {
					out = append(out, ofPart(c, p, c.Way("strap_off"), "with the strap to the metal left off", []circuit.Fault{{Kind: circuit.Open, Branch: w.Branch}}))
				}
			}
		}
	}
	for i := range out {
		out[i].wiring = true
	}
	return out
}

// ofPart is what a cause is laid to, with a share of its prior.
func ofPart(c *circuit.Circuit, p *circuit.Part, share float64, label string, faults []circuit.Fault) Cause {
	return Cause{Faults: faults, Label: p.Label + " " + label, Prior: max(1e-3, c.Prior(p.Kind)) * share, Part: p.Name}
}

// stuck lists the positions that a switch, thermostat or limit of several
// contacts may stay in; of a breaker, that it is off.
func stuck(c *circuit.Circuit, p *circuit.Part) []Cause {
	var out []Cause
	for at, name := range p.Positions {
		var faults []circuit.Fault
		for _, id := range p.Branches {
			b := c.Branch(id)
			if b.Role != circuit.Contact || b.Rule.Actuator != circuit.ByPosition || len(b.Rule.Closed) != len(p.Positions) {
				continue
			}
			closed := b.Rule.Closed[at]
			if !slices.Contains(b.Rule.Closed, !closed) {
				continue
			}
			kind := circuit.Open
			if closed {
				kind = circuit.Welded
			}
			faults = append(faults, circuit.Fault{Kind: kind, Branch: id})
		}
		guard := p.Kind.Guards()
		if len(faults) < 2 || guard && at == p.Rest {
			continue
		}
		if p.HasButton() && at != p.Rest {
			out = append(out, ofPart(c, p, c.Way("button"), "tripped", faults))
			continue
		}
		if guard {
			out = append(out, ofPart(c, p, c.Way("tripped"), "off or tripped", faults))
			continue
		}
		share := c.Way("stuck") / float64(len(p.Positions))
		if p.Kind == circuit.KindSelector {
			share *= ofCam
		}
		out = append(out, ofPart(c, p, share, fmt.Sprintf("stuck at %q", name), faults))
	}
	return out
}

// ofCam is how often a selector stays as it is beside other switches: one cam or shaft
// moves all of its contacts, and burns and welds take them one by one (common practice,
// no source).
const ofCam = 0.3

// ofAllRelays is how often a control that does not drive a relay drives none: what
// feeds its coils is gone, and its display is not (common practice, no source).
const ofAllRelays = 0.4

// all are some branches gone wrong in one way at once.
func all(kind circuit.FaultKind, ids []circuit.BranchID) (out []circuit.Fault) {
	for _, id := range ids {
		out = append(out, circuit.Fault{Kind: kind, Branch: id})
	}
	return out
}

// worked lists how a relay of several contacts, or a motor's switch, stays
// where it is; and what a control does of its own.
func worked(c *circuit.Circuit, p *circuit.Part) []Cause {
	var acted, rested []circuit.Fault
	for _, id := range p.Branches {
		b := c.Branch(id)
		if b.Role != circuit.Contact || b.Rule.Actuator == circuit.ByPosition {
			continue
		}
		weld, open := circuit.Fault{Kind: circuit.Welded, Branch: id}, circuit.Fault{Kind: circuit.Open, Branch: id}
		if b.Rule.NormallyClosed {
			acted, rested = append(acted, open), append(rested, weld)
		} else {
			acted, rested = append(acted, weld), append(rested, open)
		}
	}
	var out []Cause
	if len(acted) > 1 {
		out = append(out, ofPart(c, p, c.Way("stuck")/2, "stuck as if energised", acted), ofPart(c, p, c.Way("stuck")/2, "stuck as at rest", rested))
	}
	if p.Kind == circuit.KindControl {
		if drives := drivesOf(c, p.ID); len(drives) > 1 {
			out = append(out, ofPart(c, p, c.Way("undriven")*ofAllRelays, "drives none of its relays", all(circuit.Open, drives)))
		}
		for _, drive := range drivesOf(c, p.ID) {
			relay := c.Part(c.Branch(drive).Part)
			out = append(out, ofPart(c, p, c.Way("driven")/float64(len(drivesOf(c, p.ID))), "drives "+relay.Label+" all the time",
				[]circuit.Fault{{Kind: circuit.Driven, Branch: drive}}))
		}
	}
	return append(out, keys(c, p)...)
}

// keys lists the modes that a control may fail to take, or run with nobody asking: what
// two relays feed is not on by one. Of modes of which one takes in another the least is
// named.
func keys(c *circuit.Circuit, p *circuit.Part) []Cause {
	if p.Kind != circuit.KindControl {
		return nil
	}
	drives := drivesOf(c, p.ID)
	var out []Cause
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		own := slices.DeleteFunc(slices.Clone(m.Drives), func(d circuit.BranchID) bool { return !slices.Contains(drives, d) })
		if len(own) == 0 {
			continue
		}
		within := func(o circuit.Mode) bool {
			return len(o.Drives) > 1 && (len(o.Drives) < len(m.Drives) || len(o.Drives) == len(m.Drives) && o.ID < m.ID) &&
				!slices.ContainsFunc(o.Drives, func(d circuit.BranchID) bool { return !slices.Contains(m.Drives, d) })
		}
		if len(own) > 1 && !slices.ContainsFunc(c.Modes(), within) {
			out = append(out, ofPart(c, p, c.Way("runs")/float64(len(c.Modes())), "runs "+m.Label+" with nobody asking", all(circuit.Driven, own)))
		}
		cause := ofPart(c, p, c.Way("key")/float64(len(c.Modes())), "does not take "+m.Label, all(circuit.Open, own))
		cause.only = &m.ID
		out = append(out, cause)
	}
	return out
}

// blown lists the loads whose short blows a fuse: the fuse is open, and the
// short that made it so is still there.
func (w *worker) blown() ([]Cause, error) {
	c := w.bench.Circuit()
	fused := slices.ContainsFunc(c.Branches(), func(b circuit.Branch) bool { return isFuse(c, b.ID) })
	if !fused {
		return nil, nil
	}
	var out []Cause
	for i := range c.Modes() {
		for _, x := range c.Mode(circuit.ModeID(i)).Expect {
			short := circuit.Fault{Kind: circuit.Short, Branch: x.Load}
			if x.Share == 0 || !c.CanFail(short) || slices.ContainsFunc(out, func(k Cause) bool { return k.Faults[0].Branch == x.Load }) {
				continue
			}
			o, err := w.live(circuit.ModeID(i), []circuit.Fault{short})
			if err != nil {
				return nil, err
			}
			for _, id := range o.Tripped {
				if isFuse(c, id) {
					cause := single(c, short)
					out = append(out, Cause{Faults: []circuit.Fault{short, {Kind: circuit.Open, Branch: id}}, Prior: cause.Prior * c.Way("blown"),
						Label: cause.Label + ", " + c.Label(id) + " blown by it"})
				}
			}
		}
	}
	return out, nil
}

// together lists the relays' contacts that one load needs all of, welded by one short or
// overload: nothing else leaves it on where both of its legs are switched.
func (e *Engine) together() ([]Cause, error) {
	var out []Cause
	for _, load := range e.c.Loads() {
		if !kindOf(e.c, load).Heats() {
			continue
		}
		needs, err := e.dependsOn(load)
		if err != nil {
			return nil, err
		}
		both := Cause{Prior: math.Inf(1)}
		var names []string
		for i := range e.c.Branches() {
			weld := circuit.Fault{Kind: circuit.Welded, Branch: circuit.BranchID(i)}
			if !needs[weld.Branch] || kindOf(e.c, weld.Branch) != circuit.KindRelay || !e.c.CanFail(weld) {
				continue
			}
			both.Faults, names = append(both.Faults, weld), append(names, e.c.Label(weld.Branch))
			both.Prior = min(both.Prior, single(e.c, weld).Prior*e.c.Way("together"))
		}
		both.Label = circuit.List(names) + " welded by one short"
		if len(names) > 1 && !slices.ContainsFunc(out, func(k Cause) bool { return k.Label == both.Label }) {
			out = append(out, both)
		}
	}
	return out, nil
}

func isFuse(c *circuit.Circuit, id circuit.BranchID) bool {
	b := c.Branch(id)
	return b.Amps > 0 && b.Part != circuit.None && c.Part(b.Part).Kind == circuit.KindFuse
}

// drivesOf lists the relays on a control's board.
func drivesOf(c *circuit.Circuit, control circuit.PartID) []circuit.BranchID {
	var out []circuit.BranchID
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); b.Role == circuit.Drive && c.ControlOf(b.ID).Part == control {
			out = append(out, b.ID)
		}
	}
	return out
}

// poles lists what befalls a plug or block as a whole: off, or burnt over two
// poles.
func poles(c *circuit.Circuit, p *circuit.Part) []Cause {
	if p.Kind != circuit.KindConnector && p.Kind != circuit.KindTerminalBlock || len(p.Branches) < 2 {
		return nil
	}
	var open []circuit.Fault
	var out []Cause
	pairs := float64(len(p.Branches) * (len(p.Branches) - 1) / 2)
	for i, a := range p.Branches {
		open = append(open, circuit.Fault{Kind: circuit.Open, Branch: a})
		for _, b := range p.Branches[:i] {
			out = append(out, ofPart(c, p, c.Way("burnt")/pairs, fmt.Sprintf("burnt over poles %s and %s", c.Branch(b).Name, c.Branch(a).Name), []circuit.Fault{
				{Kind: circuit.HighResistance, Branch: b, Ohms: meter.BurntContactOhms}, {Kind: circuit.HighResistance, Branch: a, Ohms: meter.BurntContactOhms}}))
		}
	}
	if p.Kind == circuit.KindConnector {
		out = append(out, ofPart(c, p, c.Way("pulled"), "not pushed home, every pole open", open))
	}
	return out
}

// house lists what the supply may bring in place of what is due.
func house(c *circuit.Circuit) []Cause {
	s := c.Supply()
	leg := func(i int) *circuit.Branch { return c.Branch(s.Legs[i]) }
	fed := func(id circuit.BranchID, volts, degrees float64) circuit.Fault {
		return circuit.Fault{Kind: circuit.Fed, Branch: id, Volts: volts, Degrees: degrees}
	}
	var out []Cause
	add := func(label string, prior float64, faults ...circuit.Fault) {
		out = append(out, Cause{Faults: faults, Label: label, Prior: prior})
	}
	var low, thin []circuit.Fault
	for _, id := range s.Legs {
		low = append(low, circuit.Fault{Kind: circuit.Drifted, Branch: id, Factor: usualSag})
		thin = append(thin, circuit.Fault{Kind: circuit.HighResistance, Branch: id, Ohms: usualThin})
	}
	add("Supply low", c.Way("supply_low"), low...)
	add("Feed of both legs too thin or too long", c.Way("supply_thin"), thin...)
	switch {
	case s.System == "split-phase":
		half := s.Volts / 2
		add("Supply is two legs of a star, 208 V for 240", c.Way("supply_208"), fed(leg(1).ID, half, 120))
		add("Both hots on the same leg", c.Way("supply_same_leg"), fed(leg(1).ID, half, 0))
		add("Leg L1 and neutral swapped", c.Way("supply_swapped")/2, fed(leg(0).ID, 0, 0), fed(s.Neutral, half, 0))
		add("Leg L2 and neutral swapped", c.Way("supply_swapped")/2, fed(leg(1).ID, 0, 0), fed(s.Neutral, half, 180))
	case s.System == "single-phase":
		add("Live and neutral swapped", c.Way("supply_swapped"), fed(leg(0).ID, 0, 0), fed(s.Neutral, s.Volts, 0))
	}
	return out
}
