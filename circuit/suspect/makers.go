package suspect

import (
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/heat"
)

// Maker is what may have made the fault that was mended, to be looked for before
// the repair is called done.
type Maker struct {
	// What is the part and how it fails, Why how it does that.
	What, Why string
	// Load is one whose short went through what was mended, else None.
	Load circuit.BranchID
}

// makersFollowed is how long a machine is followed to see what opens by heat, in
// minutes, and choked the share of a fan's air that lint leaves.
const makersFollowed, choked = 240, 0.3

// Makers lists what may have made the faults that a repair mended: what opens by
// heat, by the heat model; the load whose short went through a contact or fuse;
// the neighbours of a burnt joint; the air of what cools a control.
func (e *Engine) Makers(mended []Class) ([]Maker, error) {
	var out []Maker
	of := func(load circuit.BranchID, what, why string) {
		if m := (Maker{what, why, load}); !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	add := func(what, why string) { of(circuit.None, what, why) }
	for _, class := range mended {
		for _, f := range class.Members[0].Faults {
			b := e.c.Branch(f.Branch)
			if b.Part == circuit.None {
				continue
			}
			p := e.c.Part(b.Part)
			switch {
			case p.Body != circuit.None && p.Acts > 0 && (p.Kind == circuit.KindLimit || p.Kind == circuit.KindThermalFuse) && f.Kind == circuit.Open:
				if err := e.overheaters(p, func(x trouble, why string) { add(x.what, why) }); err != nil {
					return nil, err
				}
			case p.Kind == circuit.KindFuse || p.Kind == circuit.KindRelay || p.Kind.Guards():
				if err := e.through(f.Branch, of); err != nil {
					return nil, err
				}
			case b.Role == circuit.Join && f.Kind != circuit.Grounded && len(p.Branches) > 1:
				add(p.Label, "a joint that burnt heats its neighbours: look at every pole of it, and at the ends of its wires")
			case p.Kind == circuit.KindControl:
				e.air(p, add)
			}
		}
	}
	return out, nil
}

// overheaters lists what makes a limit or fuse act that a sound machine leaves alone:
// a fan, its air, a contact that stays closed, an element that metal feeds past its
// contacts; where none does by itself, together with another limit that should have
// opened first.
func (e *Engine) overheaters(p *circuit.Part, add func(x trouble, why string)) error {
	model, err := heat.New(e.c)
	if err != nil {
		return nil // nothing is known of heat
	}
	o := &overheating{e: e, model: model, part: p}
	for _, fan := range model.Fans() {
		o.all = append(o.all, trouble{e.c.Label(fan) + " does not turn", heat.Question{Faults: []circuit.Fault{{Kind: circuit.Open, Branch: fan}}}},
			trouble{"The air of " + e.c.Label(fan) + " is blocked, as by lint or a crushed duct", heat.Question{Air: map[circuit.BranchID]float64{fan: choked}}})
	}
	for i := range e.c.Branches() {
		b, fails := e.c.Branch(circuit.BranchID(i)), []circuit.Fault(nil)
		switch k := kindOf(e.c, b.ID); {
		case b.Part == p.ID:
		case b.Role == circuit.Contact && (k == circuit.KindThermostat || k == circuit.KindRelay):
			fails = append(fails, circuit.Fault{Kind: circuit.Welded, Branch: b.ID})
		case b.Role == circuit.Load && k == circuit.KindElement:
			for _, s := range e.c.Sizes("along") {
				fails = append(fails, circuit.Fault{Kind: circuit.Grounded, Branch: b.ID, At: (s.Low + s.High) / 2})
			}
		}
		for _, f := range fails {
			o.all = append(o.all, trouble{single(e.c, f).Label, heat.Question{Faults: []circuit.Fault{f}}})
		}
	}
	if found, err := o.follow(nil, "", add); found || err != nil {
		return err
	}
	for i := range e.c.Parts() {
		if g := e.c.Part(circuit.PartID(i)); g.Kind == circuit.KindLimit && g.ID != p.ID && g.Body == p.Body {
			if _, err := o.follow([]circuit.Fault{{Kind: circuit.Welded, Branch: g.Branches[0]}}, ", and "+g.Label+" did not open", add); err != nil {
				return err
			}
		}
	}
	return nil
}

// trouble may overheat a machine.
type trouble struct {
	what string
	q    heat.Question
}

// overheating looks for what makes a part act by heat.
type overheating struct {
	e     *Engine
	model *heat.Model
	part  *circuit.Part
	all   []trouble
}

// follow runs the machine with each trouble in every mode that heats, and tells
// whether any made the part act; each is named in the first mode where it does.
func (o *overheating) follow(with []circuit.Fault, and string, add func(x trouble, why string)) (found bool, err error) {
	c, done := o.e.c, map[string]bool{}
	for i := range c.Modes() {
		mode := circuit.ModeID(i)
		sound, err := o.e.sound(mode)
		if err != nil {
			return found, err
		}
		if c.Mode(mode).Reached == circuit.NotAtWill || !slices.ContainsFunc(c.Loads(), func(load circuit.BranchID) bool {
			return sound.LeastShare(load) >= circuit.OnShare && o.e.c.Warms(load)
		}) {
			continue
		}
		if at, err := o.acts(mode, heat.Question{}, with); err != nil || !math.IsNaN(at) {
			continue // it opens in a sound machine too
		}
		for _, x := range o.all {
			if done[x.what] {
				continue
			}
			at, err := o.acts(mode, x.q, with)
			if err != nil {
				return found, err
			}
			if !math.IsNaN(at) {
				add(trouble{x.what + and, x.q}, fmt.Sprintf("%s then opens, in %s after some %.0f minutes", o.part.Label, c.Mode(mode).Label, math.Ceil(at)))
				done[x.what], found = true, true
			}
		}
	}
	return found, nil
}

// acts tells after how many minutes the part acts, NaN where it does not.
func (o *overheating) acts(mode circuit.ModeID, q heat.Question, with []circuit.Fault) (float64, error) {
	q.Mode, q.Room, q.Minutes, q.Step = mode, circuit.RoomCelsius, makersFollowed, 60*makersFollowed/steps
	q.Faults = slices.Concat(q.Faults, with)
	r, err := o.model.Run(q)
	if err != nil {
		return 0, err
	}
	return r.Acted(o.part.ID), nil
}

// through lists the loads that a contact or fuse feeds: a short in one of them
// goes through it.
func (e *Engine) through(contact circuit.BranchID, add func(load circuit.BranchID, what, why string)) error {
	w := e.workers[0]
	for _, mode := range w.coverage() {
		sound, err := e.sound(mode)
		if err != nil {
			return err
		}
		without, err := w.live(mode, []circuit.Fault{{Kind: circuit.Open, Branch: contact}})
		if err != nil {
			return err
		}
		for _, load := range e.c.Loads() {
			if k := e.c.Part(e.c.Branch(load).Part).Kind; !k.Heats() && k != circuit.KindMotor || sound.LeastShare(load) < circuit.OnShare || without.LeastShare(load) >= circuit.OnShare {
				continue
			}
			add(load, e.c.Label(load), "a short in it, or from it to metal, goes through "+e.c.Label(contact)+": read its ohms, to itself and to metal, before power is put on")
		}
	}
	return nil
}

// air lists the fans whose air cools what is around the heat, a control among it.
func (e *Engine) air(p *circuit.Part, add func(what, why string)) {
	for i := range e.c.Bodies() {
		if b := &e.c.Bodies()[i]; b.Fan != circuit.None && len(b.Heats) == 0 {
			add(e.c.Label(b.Fan), "see that it turns and its air passes: what is behind the oven gets hot without it, "+p.Label+" too")
		}
	}
}
