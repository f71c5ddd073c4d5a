package audit

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// unused lists parts through which no current flows in any mode, not even
// while the machine settles, and which no control looks through. A part beside
// a way of no resistance is left out: how much of the current takes it cannot
// be told.
func (a *auditor) unused() {
	sensed := a.sensed()
	for i := range a.c.Parts() {
		p := a.c.Part(circuit.PartID(i))
		if p.Kind == circuit.KindSupply || p.Kind == circuit.KindChassis || len(p.Branches) == 0 || a.unwired(p) {
			continue
		}
		used := false
		for _, id := range p.Branches {
			b := a.c.Branch(id)
			used = used || a.ever[id] > noAmps || a.beside[id] || b.A != circuit.None && (sensed[b.A] || sensed[b.B])
		}
		if !used {
			a.find(Unused, "parts."+p.Name, circuit.None, p.Branches, "a mode may be missing, or a wire",
				"in none of the modes does current flow through the %s", circuit.LowerFirst(p.Label))
		}
	}
}

// unwired reports whether reading has warned of the part already.
func (a *auditor) unwired(p *circuit.Part) bool {
	for _, t := range p.Terminals {
		if len(a.c.Terminal(t).Wires) == 0 && !isPole(p.Kind) {
			return true
		}
	}
	return false
}

// sensed marks the terminals that a control looks through to.
func (a *auditor) sensed() map[circuit.TerminalID]bool {
	sensed := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	for i := range a.c.Controls() {
		for _, s := range a.c.Controls()[i].Senses {
			queue = append(queue, s.Pin1, s.Pin2)
		}
	}
	at := make([][]circuit.BranchID, len(a.c.Terminals()))
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.A != circuit.None && b.B != circuit.None {
			at[b.A], at[b.B] = append(at[b.A], b.ID), append(at[b.B], b.ID)
		}
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if sensed[t] {
			continue
		}
		sensed[t] = true
		for _, id := range at[t] {
			queue = append(queue, a.c.Branch(id).A, a.c.Branch(id).B)
		}
	}
	return sensed
}

// markBeside notes the branches that conduct between two ends that something
// else joins without resistance at the same time.
func (a *auditor) markBeside(conducts []bool) {
	joins := func(i int) bool {
		b := a.c.Branch(circuit.BranchID(i))
		return conducts[i] && b.Ohms == 0 && (b.Role == circuit.Join || b.Role == circuit.Contact)
	}
	groups := circuit.NewGroups(len(a.c.Terminals()))
	loop := map[int32]bool{} // groups that a join closes a ring in
	var closing []circuit.BranchID
	for i := range conducts {
		if !joins(i) {
			continue
		}
		b := a.c.Branch(circuit.BranchID(i))
		if groups.Of(int32(b.A)) == groups.Of(int32(b.B)) {
			closing = append(closing, b.ID)
			continue
		}
		groups.Join(int32(b.A), int32(b.B))
	}
	for _, id := range closing {
		loop[groups.Of(int32(a.c.Branch(id).A))] = true
	}
	for i := range conducts {
		b := a.c.Branch(circuit.BranchID(i))
		if b.A == circuit.None || b.B == circuit.None || b.Role == circuit.Source {
			continue
		}
		same := groups.Of(int32(b.A)) == groups.Of(int32(b.B))
		if same && (loop[groups.Of(int32(b.A))] || !joins(i)) {
			a.beside[i] = true
		}
	}
}

// bridged lists contacts and loads whose two ends are on the same wiring,
// whatever they do.
func (a *auditor) bridged() {
	run := a.c.Runs()
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Contact && b.Role != circuit.Load || run[b.A] != run[b.B] {
			continue
		}
		a.find(Bridged, "parts."+a.c.Part(b.Part).Name, circuit.None, []circuit.BranchID{b.ID}, "wire alone joins its two ends: a wire may be on the wrong terminal",
			"%s does nothing: both its ends are on the same wiring", a.c.Label(b.ID))
	}
}

// saysKind lists words of labels that say a kind.
var saysKind = []struct {
	words string
	kinds []circuit.Kind
}{
	{"thermal fuse", []circuit.Kind{circuit.KindThermalFuse}},
	{"thermal cut-off", []circuit.Kind{circuit.KindThermalFuse, circuit.KindLimit}},
	{"thermal cutoff", []circuit.Kind{circuit.KindThermalFuse, circuit.KindLimit}},
	{"limit", []circuit.Kind{circuit.KindLimit, circuit.KindThermalFuse}},
	{"element", []circuit.Kind{circuit.KindElement, circuit.KindSurfaceElement}},
	{"motor", []circuit.Kind{circuit.KindMotor, circuit.KindFan}},
	{"relay", []circuit.Kind{circuit.KindRelay}},
	{"lamp", []circuit.Kind{circuit.KindLamp}},
	{"thermostat", []circuit.Kind{circuit.KindThermostat}},
	{"sensor", []circuit.Kind{circuit.KindSensor}},
	{"breaker", []circuit.Kind{circuit.KindBreaker}},
}

// kinds questions parts whose label ends in the name of another kind.
func (a *auditor) kinds() {
	for i := range a.c.Parts() {
		p := a.c.Part(circuit.PartID(i))
		label := strings.ToLower(p.Label)
		for _, s := range saysKind {
			if !strings.HasSuffix(label, s.words) {
				continue
			}
			if !slices.Contains(s.kinds, p.Kind) && p.Kind != circuit.KindConnector && p.Kind != circuit.KindTerminalBlock {
				a.findCause(OddKind, "parts."+p.Name+".kind", p.Branches, "the kind decides what can fail and how it is judged; a limit is safety, a thermostat is not",
					"the %s is a %s by its kind", circuit.LowerFirst(p.Label), strings.ReplaceAll(p.Kind.String(), "_", " "))
			}
			break
		}
	}
}

// twice questions two parts of one label, and two test points at one terminal.
func (a *auditor) twice() {
	byLabel := map[string][]*circuit.Part{}
	for i := range a.c.Parts() {
		p := a.c.Part(circuit.PartID(i))
		byLabel[strings.ToLower(p.Label)] = append(byLabel[strings.ToLower(p.Label)], p)
	}
	for _, list := range byLabel {
		if len(list) < 2 {
			continue
		}
		slices.SortFunc(list, func(p, q *circuit.Part) int { return strings.Compare(p.Name, q.Name) })
		var names []string
		for _, p := range list {
			names = append(names, p.Name)
		}
		a.find(Twice, "parts."+list[1].Name, circuit.None, list[1].Branches, "nobody can tell them apart in a report", "%s are both called %q", strings.Join(names, " and "), list[1].Label)
	}
	byTerminal := map[circuit.TerminalID]string{}
	for _, p := range a.c.Points() {
		first, ok := byTerminal[p.Terminal]
		if !ok {
			byTerminal[p.Terminal] = p.Name
			continue
		}
		one, two := min(first, p.Name), max(first, p.Name)
		a.find(Twice, "points."+two, circuit.None, nil, "one of them may be meant for the other end", "test points %s and %s are both at %s", one, two, a.c.Terminal(p.Terminal).Ref)
	}
}
