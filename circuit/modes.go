package circuit

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// modes resolves every mode: positions, drives, temperatures, expectations.
func (b *builder) modes(specs []ModeSpec) {
	c := b.c
	if len(specs) == 0 {
		b.fail("modes", "add at least [modes.off]", "the machine has no modes")
		return
	}
	for _, s := range specs {
		path := "modes." + s.Name
		if !validName(s.Name) {
			b.fail(path, "letters, digits, '_' and '-', at most 64", "%q cannot be a name", s.Name)
			continue
		}
		if _, dup := c.modeByName[s.Name]; dup {
			b.fail(path, "names must differ", "mode %q is described twice", s.Name)
			continue
		}
		label := s.Label
		if label == "" {
			label = humanise(s.Name)
		}
		b.text(path+".label", s.Label, false)
		b.text(path+".how", s.How, false)
		m := Mode{ID: ModeID(len(c.modes)), Name: s.Name, Label: label, After: None, Cycles: None, Duty: map[PartID]float64{}, Brief: s.Brief,
			Position: make([]int, len(c.parts)), Celsius: map[BranchID]float64{}}
		for i := range c.parts {
			m.Position[i] = c.parts[i].Rest
		}
		b.positions(path, s, &m)
		b.reach(path, s, &m)
		b.drives(path, s, &m)
		b.temperatures(path, s, &m)
		b.duty(path, s, &m)
		b.expect(path, s, &m)
		c.modes = append(c.modes, m)
		c.modeByName[m.Name] = m.ID
	}
	for _, s := range specs {
		if id, ok := c.modeByName[s.Name]; ok {
			c.modes[id].After = b.otherMode("modes."+s.Name+".after", s.After)
		}
	}
	for _, s := range specs {
		if id, ok := c.modeByName[s.Name]; ok {
			c.modes[id].Cycles = b.otherMode("modes."+s.Name+".cycles", s.Cycles)
		}
	}
	for i := range c.modes {
		slow := ModeID(i)
		for n := 0; slow != None; n++ {
			if n > len(c.modes) {
				b.fail("modes."+c.modes[i].Name+".after", "break the circle", "mode %q comes after itself", c.modes[i].Name)
				return
			}
			slow = c.modes[slow].After
		}
	}
}

// otherMode finds the mode that one names; None where it names none.
func (b *builder) otherMode(path, name string) ModeID {
	if name == "" {
		return None
	}
	id, err := b.c.FindMode(name)
	if err != nil {
		b.failErr(path, err)
	}
	return id
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func (b *builder) positions(path string, s ModeSpec, m *Mode) {
	c := b.c
	for _, name := range sortedKeys(s.Set) {
		key := path + ".set." + name
		id, err := c.FindPart(name)
		if err != nil {
			b.failErr(key, err)
			continue
		}
		if b.reported(id) {
			continue
		}
		p := &c.parts[id]
		if len(p.Positions) == 0 {
			b.fail(key, "only switches, thermostats and the like can be set", "%q has no positions", name)
			continue
		}
		if at := slices.Index(p.Positions, s.Set[name]); at >= 0 {
			m.Position[id] = at
		} else {
			b.fail(key, "one of "+strings.Join(p.Positions, ", "), "unknown position %q of %q", s.Set[name], name)
		}
	}
}

func (b *builder) drives(path string, s ModeSpec, m *Mode) {
	c := b.c
	drivable := map[string]BranchID{}
	for i := range c.branches {
		if c.branches[i].Role == Drive {
			drivable[c.parts[c.branches[i].Part].Name] = BranchID(i)
		}
	}
	for i, name := range s.Drives {
		id, err := find(drivable, "board relay", name)
		if err != nil {
			if part, known := c.partByName[name]; known && b.reported(part) {
				continue
			}
			b.failErr(fmt.Sprintf("%s.drives[%d]", path, i), err)
			continue
		}
		m.Drives = append(m.Drives, id)
	}
}

func (b *builder) temperatures(path string, s ModeSpec, m *Mode) {
	c := b.c
	sensors := map[string]BranchID{}
	for i := range c.branches {
		if c.branches[i].Sensor != nil {
			sensors[c.parts[c.branches[i].Part].Name] = BranchID(i)
		}
	}
	for _, name := range sortedKeys(s.Celsius) {
		key := path + ".celsius." + name
		id, err := find(sensors, "sensor", name)
		if part, known := c.partByName[name]; err != nil && known && b.reported(part) {
			continue
		}
		if err != nil {
			b.failErr(key, err)
			continue
		}
		if _, err := c.branches[id].Sensor.Ohms(s.Celsius[name]); err != nil {
			b.fail(key, "", "%v", err)
			continue
		}
		m.Celsius[id] = s.Celsius[name]
	}
}

func (b *builder) expect(path string, s ModeSpec, m *Mode) {
	said := map[BranchID]string{}
	add := func(key, ref string, share float64) {
		id, err := b.c.FindLoad(ref)
		if err != nil {
			name, _, _ := strings.Cut(ref, ".")
			if part, known := b.c.partByName[name]; known && b.reported(part) {
				return
			}
			b.failErr(key, err)
			return
		}
		if first, dup := said[id]; dup {
			b.fail(key, "say it once", "%q is already expected in %s", ref, first)
			return
		}
		said[id] = key
		if !(share >= 0 && share <= 4) || math.IsNaN(share) {
			b.fail(key, "a share of rated power, 0 to 4", "share %g", share)
			return
		}
		m.Expect = append(m.Expect, Expectation{Load: id, Share: share, Path: key})
	}
	for i, ref := range s.On {
		add(fmt.Sprintf("%s.on[%d]", path, i), ref, 1)
	}
	for i, ref := range s.Off {
		add(fmt.Sprintf("%s.off[%d]", path, i), ref, 0)
	}
	for _, ref := range sortedKeys(s.Share) {
		add(path+".share."+ref, ref, s.Share[ref])
	}
}

// earlierThan finds what [Circuit.Earlier] is of a mode.
func (c *Circuit) earlierThan(m *Mode) ModeID {
	if m.Reached != ByWaiting || m.After == None {
		return None
	}
	for i := range c.modes {
		o := &c.modes[i]
		alike := o.ID != m.ID && o.After == m.After && o.Reached != ByWaiting
		for _, p := range c.Parts() {
			alike = alike && (p.Kind == KindThermostat || o.Position[p.ID] == m.Position[p.ID])
		}
		if alike {
			return o.ID
		}
	}
	return m.After
}
