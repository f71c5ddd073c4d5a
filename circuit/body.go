package circuit

import (
	"math"
	"slices"
)

// Body is something that gets warm, of one temperature throughout.
type Body struct {
	Name, Label string
	// Capacity is in joules per kelvin; Loss and FanLoss are in watts per
	// kelvin.
	Capacity, Loss, FanLoss float64
	// Around is where Loss goes; None stands for the room.
	Around BodyID
	// Heats gives the share of each load's watts that goes into it.
	Heats map[BranchID]float64
	// Fan is the fan or motor whose air takes FanLoss away, to BlowsInto or,
	// where that is None, out. The air comes from the room, or from BlowsInto
	// where that is Around as well.
	Fan       BranchID
	BlowsInto BodyID
	// RisesInto is the body above, that it mixes with once warmer; else None.
	RisesInto BodyID
}

// DefaultDifferential is how far apart, in kelvin, a control lets off heat and
// calls for it again (common practice, no source).
const DefaultDifferential = 10

// StoresHeat reports whether heat rises in the machine from body to body, as in a
// tank of water: what it makes is drawn later.
func (c *Circuit) StoresHeat() bool {
	return slices.ContainsFunc(c.bodies, func(b Body) bool { return b.RisesInto != None })
}

// Warms reports whether a load heats any body of the machine.
func (c *Circuit) Warms(load BranchID) bool {
	return slices.ContainsFunc(c.bodies, func(b Body) bool { return b.Heats[load] > 0 })
}

// HasButton reports whether a part is a limit that heat trips and a hand resets.
func (p *Part) HasButton() bool { return p.Kind == KindLimit && p.Acts > 0 && !p.Returns }

// GuardsWinding reports whether heat works a part by what a motor's winding makes of it
// and nothing else does: a motor's own protector.
func (c *Circuit) GuardsWinding(part PartID) bool {
	body := c.Part(part).Body
	if body == None {
		return false
	}
	for load := range c.bodies[body].Heats {
		if c.Part(c.Branch(load).Part).Kind != KindMotor {
			return false
		}
	}
	return len(c.bodies[body].Heats) > 0
}

// FindBody looks a body up by name.
func (c *Circuit) FindBody(name string) (BodyID, error) {
	return find(c.bodyByName, "body", name)
}

func (b *builder) bodies(specs []BodySpec) {
	c := b.c
	for _, s := range specs {
		path := "bodies." + s.Name
		if _, taken := c.bodyByName[s.Name]; taken || !validName(s.Name) {
			b.fail(path, "letters, digits, '_' and '-', each used once", "%q cannot name a body", s.Name)
			continue
		}
		b.text(path+".label", s.Label, false)
		label := s.Label
		if label == "" {
			label = humanise(s.Name)
		}
		if !(s.Capacity > 0 && s.Capacity < 1e12) {
			b.fail(path+".capacity", "joules per kelvin, above 0", "a capacity of %g", s.Capacity)
		}
		for _, g := range []struct {
			key   string
			value float64
		}{{"loss", s.Loss}, {"fan_loss", s.FanLoss}} {
			if !(g.value >= 0 && g.value < 1e9) {
				b.fail(path+"."+g.key, "watts per kelvin, 0 or more", "a loss of %g", g.value)
			}
		}
		c.bodyByName[s.Name] = BodyID(len(c.bodies))
		c.bodies = append(c.bodies, Body{Name: s.Name, Label: label, Capacity: s.Capacity, Loss: s.Loss, FanLoss: s.FanLoss,
			Around: None, Fan: None, BlowsInto: None, RisesInto: None, Heats: map[BranchID]float64{}})
	}
	for _, s := range specs {
		if id, err := c.FindBody(s.Name); err == nil {
			b.body(&c.bodies[id], s)
		}
	}
	for i := range c.bodies {
		at := c.bodies[i].Around
		for n := 0; at != None; n++ {
			if n > len(c.bodies) {
				b.fail("bodies."+c.bodies[i].Name+".around", "the outermost is the room: leave it out there", "body %q is around itself", c.bodies[i].Name)
				return
			}
			at = c.bodies[at].Around
		}
	}
}

// body resolves what a body names.
func (b *builder) body(body *Body, s BodySpec) {
	c := b.c
	path := "bodies." + s.Name
	for _, other := range []struct {
		key, name string
		to        *BodyID
	}{{"around", s.Around, &body.Around}, {"blows_into", s.BlowsInto, &body.BlowsInto}, {"rises_into", s.RisesInto, &body.RisesInto}} {
		if other.name == "" {
			continue
		}
		id, err := c.FindBody(other.name)
		switch {
		case err != nil:
			b.failErr(path+"."+other.key, err)
		case c.bodies[id].Name == s.Name:
			b.fail(path+"."+other.key, "another body", "body %q names itself", s.Name)
		default:
			*other.to = id
		}
	}
	for _, ref := range sortedKeys(s.Heats) {
		id, err := c.FindLoad(ref)
		if err != nil {
			b.failErr(path+".heats."+ref, err)
			continue
		}
		if share := s.Heats[ref]; !(share >= 0 && share <= 1) {
			b.fail(path+".heats."+ref, "a share of its watts, 0 to 1", "share %g", share)
		}
		body.Heats[id] = s.Heats[ref]
	}
	if s.Fan != "" {
		id, err := c.FindLoad(s.Fan)
		if err != nil {
			b.failErr(path+".fan", err)
			return
		}
		body.Fan = id
	}
}

// attach ties parts to the bodies whose temperature they have.
func (b *builder) attach() {
	c := b.c
	for i := range c.parts {
		p := &c.parts[i]
		s := p.Spec
		path := "parts." + p.Name
		if b.failed[p.ID] {
			continue
		}
		if s.Body == "" {
			if s.ActsCelsius != 0 || s.ResetsCelsius != 0 {
				b.fail(path, "add body", "%q acts at a temperature, but has no body", p.Name)
			}
			continue
		}
		id, err := c.FindBody(s.Body)
		if err != nil {
			b.failErr(path+".body", err)
			continue
		}
		p.Body = id
		if p.Kind == KindSensor {
			continue
		}
		returns := s.ResetsCelsius != 0
		switch {
		case s.ActsCelsius == 0:
			b.fail(path, "add acts_celsius", "%q has a body, but no temperature at which it acts", p.Name)
		case len(p.Positions) != 2 && p.Kind != KindThermostat:
			b.fail(path+".body", "only a contact with two positions", "%q has %d positions", p.Name, len(p.Positions))
		case returns && s.ResetsCelsius >= s.ActsCelsius:
			b.fail(path+".resets_celsius", "below acts_celsius", "%q acts at %g C and resets at %g C", p.Name, s.ActsCelsius, s.ResetsCelsius)
		}
		p.Acts, p.Resets, p.Returns = s.ActsCelsius, s.ResetsCelsius, returns
	}
}

// duty reads the share of its time that each cycling switch is on.
func (b *builder) duty(path string, s ModeSpec, m *Mode) {
	c := b.c
	for _, name := range sortedKeys(s.Duty) {
		key := path + ".duty." + name
		id, err := c.FindPart(name)
		switch {
		case err != nil:
			b.failErr(key, err)
		case b.reported(id):
		case c.parts[id].Kind != KindCyclingSwitch || b.position(id, "on") < 0 || b.position(id, "idle") < 0:
			b.fail(key, `a cycling switch with positions "on" and "idle"`, "%q does not cycle", name)
		case !(s.Duty[name] >= 0 && s.Duty[name] <= 1) || math.IsNaN(s.Duty[name]):
			b.fail(key, "0 to 1", "a share of %g", s.Duty[name])
		default:
			m.Duty[id] = s.Duty[name]
		}
	}
}

// position returns the index of a part's position, or -1.
func (b *builder) position(id PartID, name string) int {
	return slices.Index(b.c.parts[id].Positions, name)
}
