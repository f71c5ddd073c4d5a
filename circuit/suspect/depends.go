package suspect

import (
	"maps"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/trace"
)

// atSense is the chance of a code where what the control looks through for it is
// at fault (common practice, no source).
const atSense = 0.6

// looksThrough lists what controls see through on islands that hold a part of
// the kind, or this part.
func (e *Engine) looksThrough(kind circuit.Kind, part circuit.PartID) map[circuit.BranchID]bool {
	out := map[circuit.BranchID]bool{}
	for i := range e.c.Controls() {
		for _, sense := range e.c.Controls()[i].Senses {
			island, holds := senseIsland(e.c, sense), false
			for _, id := range island {
				holds = holds || (kindOf(e.c, id) == kind || kind == circuit.KindSensor && kindOf(e.c, id) == circuit.KindResistor) && (part == circuit.None || e.c.Branch(id).Part == part)
			}
			for _, id := range island {
				out[id] = out[id] || holds
			}
		}
	}
	return out
}

// movesAll lists what parts of a kind are made of and depend on, and what a control
// sees of them; nothing where the machine has none.
func (e *Engine) movesAll(kind circuit.Kind) (map[circuit.BranchID]bool, error) {
	out := map[circuit.BranchID]bool{}
	for i := range e.c.Branches() {
		b := e.c.Branch(circuit.BranchID(i))
		if kindOf(e.c, b.ID) != kind {
			continue
		}
		out[b.ID] = true
		if b.Role != circuit.Load {
			continue
		}
		on, err := e.dependsOn(b.ID)
		if err != nil {
			return nil, err
		}
		maps.Copy(out, on)
	}
	maps.Copy(out, e.looksThrough(kind, circuit.None))
	return out, nil
}

// senseIsland lists the branches between a sense's pins, and what depends on them.
func senseIsland(c *circuit.Circuit, sense circuit.Sense) []circuit.BranchID {
	seen, have := map[circuit.TerminalID]bool{}, map[circuit.BranchID]bool{}
	queue := []circuit.TerminalID{sense.Pin1, sense.Pin2}
	var out []circuit.BranchID
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		if at == circuit.None || seen[at] {
			continue
		}
		seen[at] = true
		for i := range c.Branches() {
			b := c.Branch(circuit.BranchID(i))
			if b.Role == circuit.Drive || have[b.ID] || b.A != at && b.B != at {
				continue
			}
			have[b.ID] = true
			out = append(out, b.ID)
			queue = append(queue, b.A, b.B)
		}
	}
	return out
}

// bonding lists what alone leads from neutral to the metal of a machine and to loads
// that are joined to it, where it has no conductor to earth of its own: with that open
// the metal is as live as they are; what leads to the metal alone leaves it to float.
func bonding(c *circuit.Circuit) (bonds, floats map[circuit.BranchID]bool) {
	bonds, floats = map[circuit.BranchID]bool{}, map[circuit.BranchID]bool{}
	metal, neutral := c.ChassisTerminal(), c.Supply().Neutral
	if metal == circuit.None || neutral == circuit.None || c.Supply().Earth != circuit.None {
		return bonds, floats
	}
	// onMetal tells what joins alone join to the metal, with one of them left out.
	onMetal := func(without circuit.BranchID) func(circuit.TerminalID) bool {
		joined := circuit.NewGroups(len(c.Terminals()))
		for i := range c.Branches() {
			if b := c.Branch(circuit.BranchID(i)); b.Role == circuit.Join && b.ID != without {
				joined.Join(int32(b.A), int32(b.B))
			}
		}
		return func(t circuit.TerminalID) bool { return joined.Of(int32(t)) == joined.Of(int32(metal)) }
	}
	comesIn := c.Branch(neutral).B
	if !onMetal(circuit.None)(comesIn) {
		return bonds, floats
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Join && b.ID != neutral {
			continue
		}
		on := onMetal(b.ID)
		lost := b.ID == neutral || !on(comesIn)
		live := slices.ContainsFunc(c.Loads(), func(id circuit.BranchID) bool { return on(c.Branch(id).A) || on(c.Branch(id).B) })
		bonds[b.ID], floats[b.ID] = lost && live, lost && !live
	}
	return bonds, floats
}

// dependsOn lists what a load depends on in the mode that uses it most: its ways
// from the supply, itself, and what holds the contacts on them.
func (e *Engine) dependsOn(load circuit.BranchID) (map[circuit.BranchID]bool, error) {
	at, most := circuit.ModeID(circuit.None), circuit.OnShare
	for i := range e.c.Modes() {
		o, err := e.sound(circuit.ModeID(i))
		if err != nil {
			return nil, err
		}
		if share := o.LeastShare(load); share > most*1.001 {
			at, most = circuit.ModeID(i), share
		}
	}
	if at == circuit.None {
		return nil, nil
	}
	on := map[circuit.BranchID]bool{load: true}
	for m := at; m != circuit.None; m = e.c.Mode(m).After { // what starts it too
		o, err := e.tracer.Engine().Run(m, nil)
		if err != nil {
			return nil, err
		}
		addFeed(on, e.tracer.Feed(o, load))
	}
	return on, nil
}

// dependedOn lists what loads that heat, other than one, depend on.
func (e *Engine) dependedOn(but circuit.BranchID) (map[circuit.BranchID]bool, error) {
	out := map[circuit.BranchID]bool{}
	for _, load := range e.c.Loads() {
		if load == but || !e.c.Part(e.c.Branch(load).Part).Kind.Heats() {
			continue
		}
		on, err := e.dependsOn(load)
		if err != nil {
			return nil, err
		}
		maps.Copy(out, on)
	}
	return out, nil
}

// addFeed adds what a feed runs over, and what holds its contacts.
func addFeed(on map[circuit.BranchID]bool, f *trace.Feed) {
	if f == nil {
		return
	}
	on[f.Load] = true
	for _, end := range f.Ends {
		on[end.Source] = true
		for _, hop := range end.Hops {
			on[hop.Branch] = true
		}
	}
	for _, h := range f.Holds {
		on[h.Contact] = true
		addHold(on, &h)
	}
}

func addHold(on map[circuit.BranchID]bool, h *trace.Hold) {
	on[h.Mover] = true
	for _, s := range h.Senses {
		for _, b := range s.Branches {
			on[b] = true
		}
	}
	addFeed(on, h.Feed)
}

// movesContact lists what moves the contacts of a part: its coil or drive and all
// that feeds it, in the first mode that uses them. Empty where nothing does.
func (e *Engine) movesContact(part circuit.PartID) (map[circuit.BranchID]bool, error) {
	on := map[circuit.BranchID]bool{}
	for i := range e.c.Modes() {
		for _, x := range e.c.Mode(circuit.ModeID(i)).Expect {
			if x.Share <= 0 || len(on) > 0 {
				continue
			}
			o, err := e.tracer.Engine().Run(circuit.ModeID(i), nil)
			if err != nil {
				return nil, err
			}
			if f := e.tracer.Feed(o, x.Load); f != nil {
				for _, h := range f.Holds {
					if e.c.Branch(h.Contact).Part == part {
						addHold(on, &h)
					}
				}
			}
		}
	}
	return on, nil
}
