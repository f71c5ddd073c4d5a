package suspect_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// retold is a machine written down otherwise, which must change no answer.
type retold struct {
	spec circuit.Spec
	name func(string) string // what a part, wire, terminal or fault is called now
	mode func(string) string
	// more tells that there is something more that can fail: chances then keep
	// their ratios, of single faults, and not their sizes.
	more string
}

func as(name string) string { return name }

// renamed calls every part, wire and mode otherwise, but for off, in the order of
// the names before: of two that explain a thing equally well the first by name is
// blamed.
func renamed(s circuit.Spec, r *rand.Rand) retold {
	names, modes := map[string]string{}, map[string]string{"off": "off"}
	for _, p := range s.Parts {
		names[p.Name] = ""
	}
	for _, w := range s.Wires {
		names[w.Name] = ""
	}
	for _, m := range s.Modes {
		modes[m.Name] = m.Name
	}
	for _, m := range []map[string]string{names, modes} {
		number := r.IntN(100)
		for _, name := range slices.Sorted(maps.Keys(m)) {
			if number += 1 + r.IntN(20); name != "off" {
				m[name] = fmt.Sprintf("%c%05d", name[0], number)
			}
		}
	}
	name := func(ref string) string {
		end := strings.IndexAny(ref, ".:")
		if end < 0 {
			end = len(ref)
		}
		if now, ok := names[ref[:end]]; ok {
			return now + ref[end:]
		}
		return ref
	}
	mode := func(m string) string {
		if m == "" {
			return ""
		}
		return modes[m]
	}
	words := map[string][]string{}
	for of, say := range s.Words {
		if now, ok := modes[of]; ok {
			of = now
		}
		words[name(of)] = say
	}
	s.Words = words
	for i := range s.Parts {
		p := &s.Parts[i]
		p.Name, p.DrivenBy = name(p.Name), name(p.DrivenBy)
		p.Senses, p.Codes = slices.Clone(p.Senses), slices.Clone(p.Codes)
		for k := range p.Senses {
			p.Senses[k].Modes = each(p.Senses[k].Modes, mode)
		}
		for k := range p.Codes {
			p.Codes[k].Modes = each(p.Codes[k].Modes, mode)
		}
	}
	for i := range s.Modes {
		m := &s.Modes[i]
		m.Name, m.After, m.Cycles = mode(m.Name), mode(m.After), mode(m.Cycles)
		m.Drives, m.On, m.Off = each(m.Drives, name), each(m.On, name), each(m.Off, name)
		m.Set, m.Duty, m.Celsius, m.Share = keyed(m.Set, name), keyed(m.Duty, name), keyed(m.Celsius, name), keyed(m.Share, name)
	}
	for i := range s.Bodies {
		s.Bodies[i].Heats, s.Bodies[i].Fan = keyed(s.Bodies[i].Heats, name), name(s.Bodies[i].Fan)
	}
	for i := range s.Wires {
		s.Wires[i].Name = name(s.Wires[i].Name)
	}
	terminals(&s, name)
	return retold{spec: s, name: name, mode: mode}
}

// terminals gives everything that names a terminal another one.
func terminals(s *circuit.Spec, name func(string) string) {
	for i := range s.Wires {
		s.Wires[i].From, s.Wires[i].To = name(s.Wires[i].From), name(s.Wires[i].To)
	}
	for i := range s.Points {
		s.Points[i].At = name(s.Points[i].At)
	}
}

func each(list []string, name func(string) string) []string {
	var out []string
	for _, s := range list {
		out = append(out, name(s))
	}
	return out
}

func keyed[T any](m map[string]T, name func(string) string) map[string]T {
	out := map[string]T{}
	for k, v := range m {
		out[name(k)] = v
	}
	return out
}

func reversed(s circuit.Spec, r *rand.Rand) retold {
	for i := range s.Wires {
		if w := &s.Wires[i]; r.IntN(2) == 0 {
			w.From, w.To = w.To, w.From
		}
	}
	return retold{spec: s, name: as, mode: as}
}

func reordered(s circuit.Spec, r *rand.Rand) retold {
	for _, n := range []struct {
		length int
		swap   func(i, j int)
	}{
		{len(s.Parts), func(i, j int) { s.Parts[i], s.Parts[j] = s.Parts[j], s.Parts[i] }},
		{len(s.Wires), func(i, j int) { s.Wires[i], s.Wires[j] = s.Wires[j], s.Wires[i] }},
		{len(s.Points), func(i, j int) { s.Points[i], s.Points[j] = s.Points[j], s.Points[i] }},
	} {
		r.Shuffle(n.length, n.swap)
	}
	return retold{spec: s, name: as, mode: as}
}

// otherLegs connects what was on one leg to the other.
func otherLegs(s circuit.Spec, _ *rand.Rand) retold {
	other := func(ref string) string {
		switch {
		case strings.HasPrefix(ref, "supply.L1"):
			return "supply.L2" + ref[len("supply.L1"):]
		case strings.HasPrefix(ref, "supply.L2"):
			return "supply.L1" + ref[len("supply.L2"):]
		}
		return ref
	}
	terminals(&s, other)
	return retold{spec: s, name: other, mode: as}
}

// split makes two wires of one, with a joint between.
func split(s circuit.Spec, r *rand.Rand) retold {
	w := &s.Wires[r.IntN(len(s.Wires))]
	far := *w
	far.Name, far.From = w.Name+"_far", "joint.a.out"
	w.To, w.Metres, far.Metres = "joint.a.in", w.Metres/2, w.Metres/2
	s.Parts = append(s.Parts, circuit.PartSpec{Name: "joint", Kind: "connector", Poles: []string{"a"}})
	more := w.Name
	s.Wires = append(s.Wires, far)
	return retold{spec: s, name: as, mode: as, more: more}
}

// accompanied has a lamp more that is connected to nothing but itself.
func accompanied(s circuit.Spec, _ *rand.Rand) retold {
	s.Parts = append(s.Parts, circuit.PartSpec{Name: "spare", Kind: "lamp", Volts: 120, Watts: 10})
	s.Wires = append(s.Wires, circuit.WireSpec{Name: "spare_wire", From: "spare.1", To: "spare.2"})
	return retold{spec: s, name: as, mode: as, more: "spare"}
}

// lists copies what a way of telling changes in place.
func lists(s circuit.Spec) circuit.Spec {
	s.Parts, s.Wires, s.Modes = slices.Clone(s.Parts), slices.Clone(s.Wires), slices.Clone(s.Modes)
	s.Points, s.Bodies = slices.Clone(s.Points), slices.Clone(s.Bodies)
	return s
}

// However a machine is told, it does the same under a fault, and the same
// suspects come of what is seen then, as likely.
func TestAMachineToldOtherwiseIsTheSameMachine(t *testing.T) {
	largest, checks := 45, 8 // parts and wires: a search of pairs takes a tenth of a second
	if circuittest.Nightly {
		largest, checks = math.MaxInt, 250
	} else if testing.Short() {
		t.Skip("some seconds of work")
	}
	machines := map[string]*circuit.Circuit{}
	for _, entry := range netlists.Machines() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		if s := c.Spec(); len(s.Parts)+len(s.Wires) <= largest {
			machines[entry.Name] = c
		}
	}
	for name, tell := range map[string]func(circuit.Spec, *rand.Rand) retold{
		"renamed": renamed, "wires reversed": reversed, "reordered": reordered, "on the other legs": otherLegs,
		"a wire split": split, "a part that nothing reaches": accompanied,
	} {
		t.Run(name, func(t *testing.T) {
			done := 0
			rapid.Check(t, func(t *rapid.T) {
				if done++; done > checks {
					return
				}
				c := machines[rapid.SampledFrom(slices.Sorted(maps.Keys(machines))).Draw(t, "machine")]
				if system := c.Spec().Supply.System; name == "on the other legs" && system != "" && system != "split-phase" {
					return
				}
				way := tell(lists(c.Spec()), rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "way"), 1)))
				other, problems := circuit.Build(way.spec)
				if other == nil {
					t.Fatal(problems)
				}
				faults := meter.SingleFaults(c)
				toldAlike(t, c, other, way, faults[rapid.IntRange(0, len(faults)-1).Draw(t, "fault")], rapid.Uint64().Draw(t, "readings"))
			})
		})
	}
}

// toldAlike compares a machine with the same one told otherwise, under a fault.
func toldAlike(t *rapid.T, c, other *circuit.Circuit, way retold, f circuit.Fault, seed uint64) {
	w := c.Branch(f.Branch).Wire
	if f.Kind == circuit.Grounded && w != circuit.None && c.Wire(w).Metres > 0 {
		return // where on a wire it lies goes by its direction
	}
	same, err := other.ParseFault(way.name(c.FaultRef(f)))
	if err != nil {
		t.Fatal(err)
	}
	a, b := hide(c, []circuit.Fault{f}, seed), hide(other, same, seed)
	var notes, others []suspect.Note
	for i := range c.Modes() {
		mode := c.Mode(circuit.ModeID(i))
		there, err := other.FindMode(way.mode(mode.Name))
		if err != nil {
			t.Fatal(err)
		}
		is, err := a.b.Live(mode.ID, a.truth)
		if err != nil {
			t.Fatal(err)
		}
		so, err := b.b.Live(there, b.truth)
		if err != nil {
			t.Fatal(err)
		}
		states := a.states(t, mode.ID)
		for _, l := range c.Loads() {
			ref := c.Branch(l).Ref
			twin, err := other.FindBranch(way.name(ref))
			if err != nil {
				t.Fatal(err)
			}
			if x, y := is.LeastShare(l), so.LeastShare(twin); math.Abs(x-y) > 1e-9 {
				t.Fatalf("%s in %s with %s: %s at %g, then %g", c.Name(), mode.Name, c.FaultRef(f), ref, x, y)
			}
			if len(notes) < 4 && i > 0 {
				notes = append(notes, suspect.Note{Mode: mode.Name, Load: ref, State: states[l].String()})
				others = append(others, suspect.Note{Mode: way.mode(mode.Name), Load: way.name(ref), State: states[l].String()})
			}
		}
	}
	// What is let go as hopeless is a share of all there is.
	opt, give := suspect.Options{}, 1e-9
	if way.more != "" {
		opt.Order, give = 1, 5e-6
	}
	x, y := chances(engine(t, c, opt, notes...)), chances(engine(t, other, opt, others...))
	rest, restThere := 1.0, 1.0
	if way.more != "" {
		rest, restThere = 0, 0
		for name, p := range x {
			if name != way.more {
				rest, restThere = rest+p, restThere+y[way.name(name)]
			}
		}
	}
	for name, p := range x {
		if q := y[way.name(name)]; name != way.more && math.Abs(p/rest-q/restThere) > give {
			t.Fatalf("%s with %s, told %+v: %s has %.9f, then %.9f", c.Name(), c.FaultRef(f), notes, name, p/rest, q/restThere)
		}
	}
}

// chances is how likely each part and wire is at fault.
func chances(e *suspect.Engine) map[string]float64 {
	out := map[string]float64{}
	for _, p := range e.PartChance() {
		out[p.Name] = p.P
	}
	return out
}
