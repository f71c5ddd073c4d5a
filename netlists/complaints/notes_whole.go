package complaints

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

func ofWhole(c *circuit.Circuit, s *Statement, mentioned map[circuit.BranchID]bool) ([]visit.Note, error) {
	mode, said := s.Mode, ""
	if mode == circuit.None {
		mode = mainMode(c)
	} else {
		said = c.Mode(mode).Name
	}
	name := c.Mode(mode).Name
	switch s.What {
	case "all_dead", "rest_dead":
		return []visit.Note{{Mode: name, AllDead: true}}, nil
	case "dark":
		if len(c.Controls()) == 0 {
			return nil, nil
		}
		mode, control := s.Mode, c.Controls()[0].Supply
		if off := c.OffMode(); mode == circuit.None && off != circuit.None && uses(c, off, control) {
			mode = off // not where its own switch is off then
		}
		n, err := symptom(c, control, circuit.Dead, mode)
		return []visit.Note{n}, err
	case "trips_residual":
		if !slices.ContainsFunc(c.Branches(), func(b circuit.Branch) bool { return b.Residual > 0 }) {
			return []visit.Note{{Told: "leaks", Load: heatedIn(c, s.Mode)}}, nil // a device upstream, which the netlist does not hold
		}
		return []visit.Note{{Mode: said, Trips: true}}, nil
	case "trips":
		if s.When == "late" || s.When == "hot" { // not of a current that opens it at once
			return []visit.Note{{Told: "trips_late", Load: heatedIn(c, s.Mode)}}, nil
		}
		return []visit.Note{{Mode: said, Trips: true}}, nil
	case "no_trip":
		if s.Mode != circuit.None && s.Mode != c.OffMode() {
			return holdsIn(c, s)
		}
	case "some_on":
		if s.Mode == mainMode(c) && s.Mode != c.OffMode() && s.among == "" && heatsIn(c, s.Mode) && len(c.Controls()) > 0 {
			return []visit.Note{{Told: "runs_hot"}}, nil // "never cycles off in bake": what heats there should
		}
		return []visit.Note{{Mode: said, SomeOn: true, Load: s.among}}, nil
	case "slow":
		return []visit.Note{{Mode: name, Slow: true}}, nil
	case "off_by":
		if s.Amount < 0 || s.side == "below" {
			return []visit.Note{{Told: "runs_cold", Load: notTheFirst(c, s.Mode), Answer: s.kelvin(c)}}, nil
		}
		if s.side == "" {
			return []visit.Note{{Told: "off_by"}}, nil
		}
		return []visit.Note{{Told: "runs_hot", Load: notTheFirst(c, s.Mode), Answer: s.kelvin(c)}}, nil
	case "chatters":
		return []visit.Note{{Mode: name, Chatters: true}}, nil
	case "code":
		n := codeNote(c, s.Code, name)
		if n.Told != "" && n.Part == "" && s.Part != circuit.None {
			n.Part = c.Part(s.Part).Name
		}
		return []visit.Note{n}, nil
	case "rest_normal":
		return restWorks(c, mentioned)
	}
	return []visit.Note{told(c, s)}, nil
}

// notTheFirst names what heats in a mode that is not the one taken where nothing is
// said of it: the lower of two ovens; what is warmed there beside the same heat, as a
// thermostat is for delicate fabrics.
func notTheFirst(c *circuit.Circuit, m circuit.ModeID) string {
	heated := heatedIn(c, m)
	for i := range c.Modes() {
		if first := heatedIn(c, circuit.ModeID(i)); first != "" {
			if first == heated {
				return warmedBeside(c, m, circuit.ModeID(i))
			}
			break
		}
	}
	return heated
}

// warmedBeside names what warms anything in a mode and is off in another, if any.
func warmedBeside(c *circuit.Circuit, m, other circuit.ModeID) string {
	on := func(m circuit.ModeID, load circuit.BranchID) bool {
		return slices.ContainsFunc(c.Mode(m).Expect, func(x circuit.Expectation) bool { return x.Load == load && x.Share > 0 })
	}
	for _, load := range c.Loads() {
		if on(m, load) && !on(other, load) && c.Warms(load) {
			return c.Branch(load).Ref
		}
	}
	return ""
}

// heatedIn names the one load that heats in a mode, empty where several do.
func heatedIn(c *circuit.Circuit, m circuit.ModeID) (ref string) {
	if m == circuit.None {
		return ""
	}
	for _, x := range c.Mode(m).Expect {
		if x.Share > 0 && heats(c, x.Load) {
			if ref != "" {
				return ""
			}
			ref = c.Branch(x.Load).Ref
		}
	}
	return ref
}

// restWorks notes that whatever heats and was not spoken of works.
func restWorks(c *circuit.Circuit, mentioned map[circuit.BranchID]bool) ([]visit.Note, error) {
	var out []visit.Note
	for _, load := range c.Loads() {
		p := c.Branch(load).Part
		if p == circuit.None || mentioned[load] || !c.Part(p).Kind.Heats() && c.Part(p).Kind != circuit.KindLamp || lampOf(c, load, mentioned) {
			continue
		}
		n, err := symptom(c, load, circuit.Normal, circuit.None)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

// lampOf reports whether a load is a lamp that lights only with what heats and was spoken of.
func lampOf(c *circuit.Circuit, lamp circuit.BranchID, mentioned map[circuit.BranchID]bool) bool {
	if c.Part(c.Branch(lamp).Part).Kind != circuit.KindLamp {
		return false
	}
	with := func(m circuit.Mode) bool {
		return slices.ContainsFunc(m.Expect, func(x circuit.Expectation) bool { return x.Share > 0 && mentioned[x.Load] && heats(c, x.Load) })
	}
	lit := slices.DeleteFunc(slices.Clone(c.Modes()), func(m circuit.Mode) bool { return !uses(c, m.ID, lamp) })
	return len(lit) > 0 && !slices.ContainsFunc(lit, func(m circuit.Mode) bool { return !with(m) })
}

// leastInsulation is of how many ohms the insulation of what heats is at least that trips
// nothing (common practice, no source).
const leastInsulation = 1e5

// grounds reports whether a reading tells that what heats touches metal: next to nothing,
// where nobody took its wires off, or so little that it breaks
// down under volts, where something trips.
func (s *Statement) grounds(c *circuit.Circuit, said []Statement) bool {
	if s.What != "reads" || s.Unit != "ohms" || s.apart || s.hedge.ranges || s.To != c.ChassisTerminal() || s.Part == circuit.None || !c.Part(s.Part).Kind.Heats() {
		return false
	}
	trips := slices.ContainsFunc(said, func(by Statement) bool { return by.What == "trips" || by.What == "trips_residual" })
	return s.Amount < leastOfContact || trips && s.Amount < leastInsulation
}

// holdsIn notes what works in a mode in which nothing trips: what heats there.
func holdsIn(c *circuit.Circuit, s *Statement) ([]visit.Note, error) {
	notes := []visit.Note{told(c, s)}
	for _, x := range c.Mode(s.Mode).Expect {
		if x.Share <= 0 || !c.Part(c.Branch(x.Load).Part).Kind.Heats() {
			continue
		}
		n, err := symptom(c, x.Load, circuit.Normal, s.Mode)
		if err != nil {
			return nil, err
		}
		notes = append(notes, n)
	}
	return notes, nil
}
