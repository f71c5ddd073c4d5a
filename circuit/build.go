package circuit

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
)

// Caps on the size of a machine. [Build] refuses more.
const (
	MaxParts  = 20000
	MaxWires  = 40000
	MaxModes  = 200
	MaxPoles  = 64
	MaxPoints = 2000
	MaxPlaces = 2000
	MaxBodies = 64
)

// Problem is something wrong with a [Spec], located by the path of the value
// at fault: "parts.broil_element.volts", "wires[3].to".
type Problem struct {
	Path    string
	Message string
	// Hint says what would be right, or names the nearest valid name.
	Hint string
	// Warning problems do not stop the machine from being used.
	Warning bool
}

func (p Problem) String() string {
	s := p.Path + ": " + p.Message
	if p.Hint != "" {
		s += " (" + p.Hint + ")"
	}
	return s
}

type builder struct {
	c        *Circuit
	problems []Problem
	path     string              // of the part being lowered
	failed   map[PartID]bool     // parts reported already
	landed   map[TerminalID]bool // a wire, sound or not, ends there
	meant    map[PartID]bool     // an end that was not found may be on it
	drivenBy []pendingDrive
	hints    int // nearest names worked out
}

// maxHints caps the nearest names worked out for one machine: each is a search
// through all names, and a file may hold thousands of unknown ones.
const maxHints = 200

// pendingDrive is a relay or centrifugal switch whose mover is resolved once
// all parts are known.
type pendingDrive struct {
	part     PartID
	contacts []BranchID
	drive    BranchID // a relay's Drive branch; None for a centrifugal switch
}

// Build checks a spec and resolves it into a circuit. It reports every problem
// it finds, not just the first; the circuit is nil when any of them is not a
// warning.
func Build(spec Spec) (*Circuit, []Problem) {
	b := &builder{failed: map[PartID]bool{}, landed: map[TerminalID]bool{}, meant: map[PartID]bool{}, c: &Circuit{
		name: spec.Name, title: spec.Title, spec: spec,
		partByName: map[string]PartID{}, wireByName: map[string]WireID{},
		modeByName: map[string]ModeID{}, terminalByRef: map[string]TerminalID{},
		branchByRef: map[string]BranchID{}, panelByName: map[string]PanelID{}, placeByName: map[string]int{},
		bodyByName: map[string]BodyID{}, controlOfDrive: map[BranchID]int{},
	}}
	if !b.withinCaps(spec) {
		return nil, b.problems
	}
	b.text("name", spec.Name, true)
	b.text("title", spec.Title, false)
	b.text("notes", spec.Notes, false)
	b.supply(spec.Supply)
	supply := b.c.partByName[SupplyName]
	b.failed[supply] = len(b.c.parts[supply].Terminals) == 0
	b.newPart(PartSpec{Name: ChassisName, Label: "Chassis"}, KindChassis)
	b.c.terminalByRef[ChassisName] = b.terminalRaw(b.c.partByName[ChassisName], "", ChassisName)
	for _, p := range spec.Parts {
		b.part(p)
	}
	b.resolveDrives()
	b.wires(spec.Wires)
	b.indexBranches()
	b.modes(spec.Modes)
	b.resolveSenses()
	b.points(spec.Points)
	b.panels(spec.Panels)
	b.places(spec.Places)
	b.bodies(spec.Bodies)
	b.attach()
	b.priors(spec.Priors)
	b.words(spec.Words)
	for _, language := range sortedKeys(spec.Phrases) {
		for _, row := range sortedKeys(spec.Phrases[language]) {
			b.said("phrases."+language+"."+row, spec.Phrases[language][row])
		}
	}
	b.tales(spec.Tales)
	b.sizes(spec.Sizes)
	b.mistakes(spec.Mistakes)
	b.dangling()
	for _, p := range b.problems {
		if !p.Warning {
			return nil, b.problems
		}
	}
	for i := range b.c.modes {
		b.c.earlier = append(b.c.earlier, b.c.earlierThan(&b.c.modes[i]))
	}
	return b.c, b.problems
}

func (b *builder) fail(path, hint, format string, args ...any) {
	b.problems = append(b.problems, Problem{Path: path, Hint: hint, Message: fmt.Sprintf(format, args...)})
}

func (b *builder) warn(path, hint, format string, args ...any) {
	b.problems = append(b.problems, Problem{Path: path, Hint: hint, Message: fmt.Sprintf(format, args...), Warning: true})
}

// failErr reports an error of the Find family, its nearest name as the hint,
// which it returns.
func (b *builder) failErr(path string, err error) (near string) {
	if u, ok := err.(*UnknownNameError); ok {
		hint := ""
		if b.hints++; b.hints <= maxHints {
			if near = u.Nearest(); near != "" {
				hint = fmt.Sprintf("did you mean %q?", near)
			}
		}
		b.fail(path, hint, "unknown %s %q", u.What, u.Name)
		return near
	}
	b.fail(path, "", "%v", err)
	return ""
}

func (b *builder) withinCaps(s Spec) bool {
	for _, cap := range []struct {
		path, what string
		n, most    int
	}{
		{"parts", "parts", len(s.Parts), MaxParts},
		{"wires", "wires", len(s.Wires), MaxWires},
		{"modes", "modes", len(s.Modes), MaxModes},
		{"points", "test points", len(s.Points), MaxPoints},
		{"panels", "panels", len(s.Panels), MaxPlaces},
		{"places", "places", len(s.Places), MaxPlaces},
		{"bodies", "bodies", len(s.Bodies), MaxBodies},
	} {
		if cap.n > cap.most {
			b.fail(cap.path, "", "%d %s, more than the %d legtrace takes", cap.n, cap.what, cap.most)
		}
	}
	return len(b.problems) == 0
}

// text checks free text or, when name is set, a name.
func (b *builder) text(path, s string, name bool) bool {
	switch {
	case s == "":
		return true
	case name && !validName(s):
		b.fail(path, "letters, digits, '_' and '-', at most 64", "%q cannot be a name", s)
		return false
	case !name && !printable(s):
		b.fail(path, "plain text", "control characters in %q", s)
		return false
	}
	return true
}

// part checks one part's fields and lowers it to terminals and branches.
func (b *builder) part(spec PartSpec) {
	path := "parts." + spec.Name
	b.path = path
	if !validName(spec.Name) {
		b.refuseName(path, spec.Name)
		return
	}
	if spec.Name == SupplyName || spec.Name == ChassisName {
		b.fail(path, "choose another name", "%q is reserved", spec.Name)
		return
	}
	if _, dup := b.c.partByName[spec.Name]; dup {
		b.fail(path, "names must differ", "part %q is described twice", spec.Name)
		return
	}
	if spec.Kind == "" {
		b.fail(path, "add kind = \"...\"", "part %q has no kind", spec.Name)
		b.c.partByName[spec.Name] = None
		return
	}
	kind, err := ParseKind(spec.Kind)
	if err != nil {
		b.failErr(path+".kind", err)
		b.c.partByName[spec.Name] = None
		return
	}
	ok := b.text(path+".label", spec.Label, false)
	ok = b.text(path+".place", spec.Place, false) && b.text(path+".note", spec.Note, false) && ok
	ok = b.fields(path, spec, kind) && ok
	p := b.newPart(spec, kind)
	before := len(b.problems)
	if ok {
		kind.lowering()(b, p)
	}
	b.failed[p.ID] = !ok || len(b.problems) > before
}

// refuseName reports a part's name that is none. What refers to the nearest name
// that can be one is not blamed.
func (b *builder) refuseName(path, name string) {
	hint := "letters, digits, '_' and '-', at most 64"
	near := strings.Map(func(r rune) rune {
		if validName(string(r)) {
			return r
		}
		return '_'
	}, name)
	if _, taken := b.c.partByName[near]; validName(near) && !taken {
		b.c.partByName[near] = None
		hint = fmt.Sprintf("write %q: %s", near, hint)
	}
	b.fail(path, hint, "%q cannot be a name", name)
}

// fields checks that a part gives what its kind needs and nothing it cannot
// take, and that every number is possible.
func (b *builder) fields(path string, spec PartSpec, kind Kind) bool {
	ok := true
	info := kind.info()
	takes := map[string]bool{"name": true, "kind": true, "label": true, "place": true, "note": true}
	for _, f := range slices.Concat(info.Required, info.Optional) {
		takes[f] = true
	}
	given := map[string]bool{}
	v := reflect.ValueOf(spec)
	for i := 0; i < v.NumField(); i++ {
		f := v.Field(i)
		if f.IsZero() || (f.Kind() == reflect.Slice || f.Kind() == reflect.Map) && f.Len() == 0 {
			continue
		}
		key := v.Type().Field(i).Tag.Get("toml")
		given[key] = true
		if !takes[key] {
			b.fail(path+"."+key, "it takes "+strings.Join(sortedKeys(takes), ", "), "%s takes no %q", article(kind.String()), key)
			ok = false
			continue
		}
		if f.Kind() == reflect.Float64 && !b.positive(path+"."+key, f.Float()) {
			ok = false
		}
	}
	for _, need := range info.Required {
		if !given[need] {
			b.fail(path, fmt.Sprintf("add %s = ..., greater than 0 if a number", need), "%s needs %q", article(kind.String()), need)
			ok = false
		}
	}
	if spec.PowerFactor > 1 {
		b.fail(path+".power_factor", "above 0 and at most 1", "power factor %g", spec.PowerFactor)
		ok = false
	}
	if spec.PickupShare > 1 || spec.DropoutShare > 1 {
		b.fail(path, "shares of rated volts, above 0 and at most 1", "pickup %g, dropout %g", spec.PickupShare, spec.DropoutShare)
		ok = false
	}
	return ok
}

// Bounds of what a rating may be: outside them a number is a slip of the pen.
const smallest, largest = 1e-6, 1e7

func (b *builder) positive(path string, v float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) || v < smallest || v > largest {
		b.fail(path, fmt.Sprintf("a number from %g to %g", smallest, largest), "%g is not possible", v)
		return false
	}
	return true
}

// reported tells whether a part has been reported already, so that what refers
// to it is not blamed as well.
func (b *builder) reported(id PartID) bool { return id == None || b.failed[id] }

func (b *builder) newPart(spec PartSpec, kind Kind) *Part {
	id := PartID(len(b.c.parts))
	label := spec.Label
	if label == "" {
		label = humanise(spec.Name)
	}
	b.c.parts = append(b.c.parts, Part{ID: id, Name: spec.Name, Label: label, Kind: kind, Place: spec.Place, Spec: spec, Body: None})
	b.c.partByName[spec.Name] = id
	return &b.c.parts[id]
}

func (b *builder) terminalRaw(part PartID, name, ref string) TerminalID {
	id := TerminalID(len(b.c.terminals))
	b.c.terminals = append(b.c.terminals, Terminal{ID: id, Part: part, Name: name, Ref: ref})
	b.c.parts[part].Terminals = append(b.c.parts[part].Terminals, id)
	return id
}

// terminal returns the part's terminal of that name, made on first use.
func (b *builder) terminal(p *Part, name string) TerminalID {
	ref := p.Name + "." + name
	if id, ok := b.c.terminalByRef[ref]; ok {
		return id
	}
	for _, piece := range strings.Split(name, ".") {
		if !validName(piece) {
			b.fail(b.path, "letters, digits, '_' and '-'", "%q cannot be a terminal's name", name)
			break
		}
	}
	id := b.terminalRaw(p.ID, name, ref)
	b.c.terminalByRef[ref] = id
	return id
}

// branch adds a branch of the part; unset identifiers are made None.
func (b *builder) branch(p *Part, name string, role Role, from, to TerminalID) *Branch {
	id := BranchID(len(b.c.branches))
	ref := p.Name
	if name != "" {
		ref += "." + name
	}
	b.c.branches = append(b.c.branches, Branch{ID: id, Ref: ref, Name: name, Part: p.ID, Wire: None,
		Role: role, A: from, B: to, Start: None, Secondary: None, Primary: None, Rule: Rule{By: None}})
	p.Branches = append(p.Branches, id)
	return &b.c.branches[id]
}

// indexBranches makes every branch findable. A part with one branch that
// matters is found by the part's name alone.
func (b *builder) indexBranches() {
	c := b.c
	for i := range c.branches {
		br := &c.branches[i]
		if _, taken := c.branchByRef[br.Ref]; taken {
			b.fail("parts."+c.parts[br.Part].Name, "rename a terminal or a contact", "%q names two things", br.Ref)
		}
		c.branchByRef[br.Ref] = br.ID
	}
	c.loadByRef = map[string]BranchID{}
	for _, id := range c.Loads() {
		br := &c.branches[id]
		c.loadByRef[br.Ref] = id
		name := c.parts[br.Part].Name
		if _, taken := c.loadByRef[name]; !taken {
			c.loadByRef[name] = id
		}
	}
	for i := range c.parts {
		p := &c.parts[i]
		if _, taken := c.branchByRef[p.Name]; !taken && len(p.Branches) == 1 {
			c.branchByRef[p.Name] = p.Branches[0]
		}
	}
}
