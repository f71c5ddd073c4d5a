package circuit

import (
	"fmt"
	"strings"
)

func (b *builder) wires(specs []WireSpec) {
	c := b.c
	ends := map[[2]TerminalID]string{}
	taken := map[string]bool{}
	for _, s := range specs {
		taken[s.Name] = true
	}
	for part := range c.partByName {
		taken[part] = true
	}
	for i, s := range specs {
		path := fmt.Sprintf("wires[%d]", i)
		before := len(b.problems)
		from, okFrom := b.end(path+".from", s.From)
		to, okTo := b.end(path+".to", s.To)
		for _, end := range [2]TerminalID{from, to} {
			if end != None {
				b.landed[end] = true
			}
		}
		name := b.wireName(path, i, s, taken)
		size, ohms := b.wireSize(path, s)
		b.colour(path+".colour", s.Colour)
		if !okFrom || !okTo || len(b.problems) > before {
			continue
		}
		if from == to {
			b.fail(path+".to", "two different terminals", "wire %q joins %s to itself", name, s.From)
			continue
		}
		key := [2]TerminalID{min(from, to), max(from, to)}
		if first, dup := ends[key]; dup {
			b.warn(path, "drop one, unless the machine really has two", "wires %q and %q run between the same terminals", min(name, first), max(name, first))
		}
		ends[key] = name
		id, branch := WireID(len(c.wires)), BranchID(len(c.branches))
		c.wires = append(c.wires, Wire{ID: id, Name: name, From: from, To: to, Colour: oneGround(s.Colour), Size: size, Metres: s.Metres, Branch: branch})
		c.wireByName[name] = id
		c.branches = append(c.branches, Branch{ID: branch, Ref: name, Part: None, Wire: id, Role: Join,
			A: from, B: to, Ohms: ohms, Start: None, Secondary: None, Primary: None, Rule: Rule{By: None}})
		c.terminals[from].Wires = append(c.terminals[from].Wires, id)
		c.terminals[to].Wires = append(c.terminals[to].Wires, id)
	}
}

// wireName returns a wire's own name, or a free one by its place in the file.
func (b *builder) wireName(path string, i int, s WireSpec, taken map[string]bool) string {
	name := s.Name
	if name == "" {
		name = fmt.Sprintf("w%d", i+1)
		for taken[name] {
			name += "a"
		}
	}
	_, wire := b.c.wireByName[name]
	_, part := b.c.partByName[name]
	switch {
	case !validName(name):
		b.fail(path+".name", "letters, digits, '_' and '-', at most 64", "%q cannot be a name", name)
	case wire:
		b.fail(path+".name", "names must differ", "wire %q is described twice", name)
	case part:
		b.fail(path+".name", "names must differ", "wire %q has the name of a part", name)
	}
	return name
}

// end resolves a wire end. Parts that failed to lower are not blamed again.
func (b *builder) end(path, ref string) (TerminalID, bool) {
	if ref == "" {
		b.fail(path, `like "broil_element.1"`, "no terminal is named")
		return None, false
	}
	if id, ok := b.c.terminalByRef[ref]; ok {
		return id, true
	}
	name, _, dotted := strings.Cut(ref, ".")
	id, known := b.c.partByName[name]
	if known && b.reported(id) {
		return None, false
	}
	if known {
		b.meant[id] = true
		var terminals []string
		for _, t := range b.c.parts[id].Terminals {
			terminals = append(terminals, b.c.terminals[t].Ref)
		}
		hint := "it has " + strings.Join(terminals, ", ")
		if len(terminals) > 12 {
			hint = "it has " + strings.Join(terminals[:12], ", ") + ", ..."
		}
		if b.c.parts[id].Kind.info().poleKind && len(b.c.parts[id].Spec.Poles) == 0 {
			hint += "; poles = [...] gives it more"
		}
		if !dotted {
			b.fail(path, hint, "%q names a part but no terminal", ref)
		} else {
			b.fail(path, hint, "unknown terminal %q", ref)
		}
		return None, false
	}
	_, err := b.c.FindTerminal(ref)
	near, _, _ := strings.Cut(b.failErr(path, err), ".")
	if id, ok := b.c.partByName[near]; ok {
		b.meant[id] = true
	}
	return None, false
}

// wireSize returns the printed size and the resistance of a wire.
func (b *builder) wireSize(path string, s WireSpec) (size string, ohms float64) {
	var area float64
	switch {
	case s.AWG != 0 && s.SquareMM != 0:
		b.fail(path, "give awg or mm2", "two sizes for one wire")
		area = s.SquareMM
	case s.AWG != 0:
		if s.AWG < 1 || s.AWG > 40 {
			b.fail(path+".awg", "1 to 40", "AWG %d", s.AWG)
		}
		size, area = fmt.Sprintf("%d AWG", s.AWG), awgSquareMM(s.AWG)
	case s.SquareMM != 0:
		if !(s.SquareMM >= 0.05 && s.SquareMM <= 500) {
			b.fail(path+".mm2", "0.05 to 500", "%g mm2", s.SquareMM)
		}
		size, area = fmt.Sprintf("%g mm2", s.SquareMM), s.SquareMM
	}
	switch {
	case s.Metres == 0:
		return size, 0
	case !(s.Metres >= 0.001 && s.Metres <= 1000):
		b.fail(path+".metres", "0.001 to 1000", "%g m", s.Metres)
	case area == 0:
		b.fail(path, "add awg or mm2", "a length without a size gives no resistance")
		return size, 0
	}
	return size, copperOhms(area, s.Metres)
}

func (b *builder) resolveDrives() {
	c := b.c
	controls := map[string]int{}
	for i := range c.controls {
		controls[c.parts[c.controls[i].Part].Name] = i
	}
	for _, d := range b.drivenBy {
		p := &c.parts[d.part]
		path := "parts." + p.Name + ".driven_by"
		id, ok := c.partByName[p.Spec.DrivenBy]
		if ok && b.reported(id) {
			continue
		}
		if d.drive != None {
			i, err := find(controls, "control", p.Spec.DrivenBy)
			if err != nil {
				b.failErr(path, err)
				b.failed[d.part] = true
				continue
			}
			c.controlOfDrive[d.drive] = i
			continue
		}
		if !ok || c.parts[id].Kind != KindMotor {
			_, err := c.FindPart(p.Spec.DrivenBy)
			if err == nil {
				err = fmt.Errorf("%q is not a motor", p.Spec.DrivenBy)
			}
			b.failErr(path, err)
			continue
		}
		for _, contact := range d.contacts {
			c.branches[contact].Rule.By = c.parts[id].Branches[0]
		}
	}
}

func (b *builder) resolveSenses() {
	c := b.c
	for i := range c.controls {
		ctl := &c.controls[i]
		spec := c.parts[ctl.Part].Spec
		at := map[string]int{}
		for j, s := range spec.Senses {
			at[s.Name] = j
		}
		for j := range ctl.Senses {
			k := at[ctl.Senses[j].Name]
			ctl.Senses[j].Modes = b.modeSet(fmt.Sprintf("parts.%s.senses[%d].modes", spec.Name, k), spec.Senses[k].Modes)
		}
		b.resolveCodes(ctl, spec)
	}
}

func (b *builder) points(specs []PointSpec) {
	seen := map[string]bool{}
	for _, s := range specs {
		path := "points." + s.Name
		if !validName(s.Name) || seen[s.Name] {
			b.fail(path, "letters, digits, '_' and '-', each used once", "%q cannot name a test point", s.Name)
			continue
		}
		seen[s.Name] = true
		b.text(path+".label", s.Label, false)
		b.text(path+".place", s.Place, false)
		at, ok := b.end(path+".at", s.At)
		if !ok {
			continue
		}
		if t, taken := b.c.terminalByRef[s.Name]; taken && t != at {
			b.fail(path, "name it otherwise", "%q is the terminal of that name, and the point is at another", s.Name)
			continue
		}
		power := s.Power
		if power == "" {
			power = "either"
		}
		if power != "off" && power != "live" && power != "either" {
			b.fail(path+".power", `"off", "live" or "either"`, "unknown power state %q", s.Power)
		}
		b.minutes(path+".minutes", s.Minutes)
		b.c.points = append(b.c.points, Point{Name: s.Name, Label: s.Label, Place: s.Place, Terminal: at, Minutes: s.Minutes, Power: power})
	}
}

func (b *builder) priors(given map[string]float64) {
	b.c.priors = map[Kind]float64{}
	for k := range kindTable {
		b.c.priors[Kind(k)] = kindTable[k].Prior
	}
	b.c.ways = map[string]float64{}
	for _, w := range ways {
		b.c.ways[w.Name] = w.Share
	}
	kinds := map[string]Kind{SupplyName: KindSupply, "wire": KindNone}
	for _, k := range Kinds() {
		kinds[k.String()] = k
	}
	for _, w := range ways {
		kinds[w.Name] = KindChassis // has no prior to set
	}
	for _, n := range sortedKeys(given) {
		k, err := lookUp(kinds, "kind or way to fail", n)
		if err != nil {
			b.failErr("priors."+n, err)
			continue
		}
		if v := given[n]; !(v >= 0 && v <= 1e6) {
			b.fail("priors."+n, "0 to 1e6", "prior %g", v)
			continue
		}
		if _, way := b.c.ways[n]; way {
			b.c.ways[n] = given[n]
			continue
		}
		b.c.priors[k] = given[n]
	}
}

// words checks what people call parts and modes.
func (b *builder) words(given map[string][]string) {
	for _, name := range sortedKeys(given) {
		path := "words." + name
		if _, part := b.c.FindPart(name); part != nil {
			if _, err := b.c.FindMode(name); err != nil {
				b.failErr(path, part)
				continue
			}
		}
		b.said(path, given[name])
	}
}

// said checks what people say; what the rows of a language are is known to package
// complaints.
func (b *builder) said(path string, phrases []string) {
	for i, s := range phrases {
		if strings.TrimSpace(s) == "" || len(s) > 100 {
			b.fail(fmt.Sprintf("%s[%d]", path, i), "a few words", "%q is nothing that people say", s)
			continue
		}
		b.text(fmt.Sprintf("%s[%d]", path, i), s, false)
	}
}

// tales checks the chances of what is told; what can be told, and where, is known to
// package suspect.
func (b *builder) tales(given map[string]map[string]float64) {
	for _, what := range sortedKeys(given) {
		for _, key := range sortedKeys(given[what]) {
			if v := given[what][key]; !(v > 0 && v <= 1) {
				b.fail("tales."+what+"."+key, "above 0, at most 1", "chance %g", v)
			}
		}
	}
}
