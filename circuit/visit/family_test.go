package visit_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
)

// family reads the machines of one, as candidates.
func family(t testing.TB, name string) []visit.Candidate {
	t.Helper()
	f, err := netlists.FindFamily(name)
	if err != nil {
		t.Fatal(err)
	}
	members, err := f.Read()
	if err != nil {
		t.Fatal(err)
	}
	var out []visit.Candidate
	for _, m := range members {
		out = append(out, visit.Candidate{Netlist: m.Netlist, Circuit: m.Circuit, Share: m.Share})
	}
	return out
}

// broken is a machine with something hidden in it, which answers what it is asked.
type broken struct {
	t     testing.TB
	c     *circuit.Circuit
	e     *suspect.Engine
	truth []circuit.Fault
}

func hideIn(t testing.TB, c *circuit.Circuit, truth []circuit.Fault) *broken {
	t.Helper()
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	return &broken{t, c, e, truth}
}

// complains says what a customer does: the first thing amiss, mode by mode.
func (b *broken) complains() []visit.Note {
	for i := range b.c.Modes() {
		m := b.c.Mode(circuit.ModeID(i))
		if m.After != circuit.None {
			continue
		}
		for _, load := range b.c.Loads() {
			switch b.c.Part(b.c.Branch(load).Part).Kind {
			case circuit.KindElement, circuit.KindSurfaceElement, circuit.KindLamp, circuit.KindMotor, circuit.KindControl:
			default:
				continue
			}
			seen, err := b.e.Trial(m.ID, []circuit.BranchID{load}, b.truth)
			if err != nil {
				return nil
			}
			n := visit.Note{Step: 1, Mode: m.Name}
			switch {
			case seen.Trips:
				n.Trips = true
			case seen.Chatters:
				return nil
			case seen.States[0] == circuit.Normal || seen.States[0] == circuit.Off:
				continue
			default:
				n.Load, n.State = b.c.Branch(load).Ref, seen.States[0].String()
			}
			return []visit.Note{n}
		}
	}
	return nil
}

// answers tells what a test shows that was asked in the names of another machine;
// nil where there is no such place.
func (b *broken) answers(j *visit.Job, p *suspect.Proposal) []visit.Note {
	b.t.Helper()
	asked := visit.About(j.Circuit, p.Test)
	if p.Trial {
		mode, err := b.c.FindMode(asked.Mode)
		if err != nil {
			asked.Skipped = true
			return []visit.Note{asked}
		}
		var loads []circuit.BranchID
		for _, id := range j.Engine.Look(p) {
			if own, err := b.c.FindLoad(j.Circuit.Branch(id).Ref); err == nil {
				loads = append(loads, own)
			}
		}
		seen, err := b.e.Trial(mode, loads, b.truth)
		if err != nil || len(loads) == 0 {
			asked.Skipped = true
			return []visit.Note{asked}
		}
		if seen.Trips || seen.Chatters {
			return []visit.Note{{Mode: asked.Mode, Trips: seen.Trips, Chatters: seen.Chatters && !seen.Trips}}
		}
		var out []visit.Note
		for i, id := range loads {
			out = append(out, visit.Note{Mode: asked.Mode, Load: b.c.Branch(id).Ref, State: seen.States[i].String()})
		}
		return out
	}
	probe := asked
	probe.Answer = "0"
	if p.Ask != "" {
		_, keys := p.Test.Answers()
		probe.Answer = keys[0]
	}
	own, ok := probe.On(j.Circuit, b.c)
	if !ok {
		return nil
	}
	own.Answer = ""
	test, err := own.Test(b.c)
	if err != nil {
		return nil
	}
	if p.Ask != "" {
		if asked.Answer, err = b.e.Likeliest(test, b.truth); err != nil {
			b.t.Fatal(err)
		}
		return []visit.Note{asked}
	}
	bench := meter.New(b.c, b.e.Bench().Instrument)
	run := bench.Dead
	if test.Live {
		run = bench.Live
	}
	o, err := run(test.Mode, b.truth)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, w := range test.Lift {
		o.Conducts[b.c.Wire(w).Branch] = false
	}
	switch r := bench.Quick(o, test.Probes.Function, test.Probes.P, test.Probes.Q); {
	case r.OL:
		asked.Answer = "OL"
	case r.Unsteady:
		asked.Answer = "unsteady"
	default:
		asked.Answer = fmt.Sprintf("%.3g", r.Value)
	}
	return []visit.Note{asked}
}

// search follows the advice until something is named.
func (b *broken) search(j *visit.Job) (minutes float64, right bool) {
	b.t.Helper()
	for range 30 {
		step, err := j.Next(b.t.Context(), 1)
		if err != nil {
			b.t.Fatal(err)
		}
		if step.Search != visit.Searching {
			return minutes, b.named(j, step.Finding)
		}
		p := &step.Tests[0]
		cost, _ := j.Progress.Minutes(j.Circuit, p.Test)
		minutes += cost
		if seen := b.answers(j, p); seen == nil {
			err = j.Absent(b.t.Context(), p.Test)
		} else {
			err = j.Add(b.t.Context(), seen...)
		}
		if err != nil {
			b.t.Fatal(err)
		}
	}
	return minutes, false
}

// named reports whether a finding has what is hidden among what it names.
func (b *broken) named(j *visit.Job, f suspect.Finding) bool {
	for _, s := range f.Any {
		for _, k := range s.Causes {
			for _, m := range k.Members {
				for _, fault := range m.Faults {
					for _, hidden := range b.truth {
						is, was := j.Circuit.Branch(fault.Branch), b.c.Branch(hidden.Branch)
						if is.Ref == was.Ref || is.Part != circuit.None && was.Part != circuit.None && j.Circuit.Part(is.Part).Name == b.c.Part(was.Part).Name {
							return true
						}
					}
				}
			}
		}
	}
	return false
}

// unsheeted is how faults hidden in machines of a family were found, with the
// machine known and with only the family.
type unsheeted struct {
	faults, known, found, wired int
	minutes, of                 float64 // by the family, and by the machine itself
}

func (u unsheeted) String() string {
	n := float64(u.faults)
	return fmt.Sprintf("%d faults: %.1f minutes, %.1f with the wiring known, %.2f times; named %.0f %%, with the wiring known %.0f %%; the wiring right in %.0f %%",
		u.faults, u.minutes/n, u.of/n, u.minutes/u.of, 100*float64(u.found)/n, 100*float64(u.known)/n, 100*float64(u.wired)/n)
}

// unsheet hides faults, drawn by how often they happen, in machines drawn by their
// shares.
func unsheet(t testing.TB, name string, faults int, seed uint64) (out unsheeted) {
	ctx := t.Context()
	candidates := family(t, name)
	r := rand.New(rand.NewPCG(seed, 15))
	total := 0.0
	for _, c := range candidates {
		total += c.Share
	}
	classes := map[string][]suspect.Class{}
	for out.faults < faults {
		at := 0
		for x := r.Float64() * total; at < len(candidates)-1 && x > candidates[at].Share; at++ {
			x -= candidates[at].Share
		}
		c := candidates[at].Circuit
		if classes[c.Name()] == nil {
			classes[c.Name()] = suspect.Classes(c)
		}
		k := 0
		for x := r.Float64(); k < len(classes[c.Name()])-1 && x > classes[c.Name()][k].Prior; k++ {
			x -= classes[c.Name()][k].Prior
		}
		class := classes[c.Name()][k]
		truth := suspect.Draw(c, class.Members[r.IntN(len(class.Members))], r)
		if truth == nil {
			continue
		}
		b := hideIn(t, c, truth)
		said := b.complains()
		if said == nil {
			continue
		}
		known, err := visit.Start(ctx, c, visit.Record{Notes: said})
		if err != nil {
			t.Fatal(err)
		}
		of, right := b.search(known)
		j, err := visit.StartFamily(ctx, candidates, nil, visit.Record{}, "")
		if err != nil {
			t.Fatal(err)
		}
		minutes := 0.0
		for q := j.Questions(); len(q) > 0; q = j.Questions() {
			if err := j.See(ctx, visit.Seen(q[0].Key+"="+j.IsAt(q[0], at))); err != nil {
				t.Fatal(err)
			}
			minutes += visit.OutsideMinutes
		}
		if err := j.Add(ctx, said...); err != nil {
			t.Fatal(err)
		}
		more, found := b.search(j)
		out.faults++
		out.of += of
		out.minutes += minutes + more
		if right {
			out.known++
		}
		if found {
			out.found++
		}
		if j.Candidates()[0].Netlist == candidates[at].Netlist {
			out.wired++
		}
		if testing.Verbose() {
			var refs []string
			for _, f := range truth {
				refs = append(refs, c.FaultRef(f))
			}
			t.Logf("%s %s: %.0f minutes (%v), known %.0f (%v), taken for %s at %.2f", candidates[at].Netlist, strings.Join(refs, "+"), minutes+more, found, of, right, j.Candidates()[0].Netlist, j.Candidates()[0].P)
		}
	}
	return out
}

// Who does not know the wiring takes at most a quarter longer than who does.
func TestNotKnowingTheMachineCostsLittle(t *testing.T) {
	faults := map[string]int{"water-heater": 8}
	if circuittest.Nightly {
		faults = map[string]int{"range": 90, "dryer": 60, "water-heater": 60, "oven": 40}
	} else if testing.Short() {
		t.Skip("some seconds of work")
	}
	var all unsheeted
	for _, name := range []string{"range", "dryer", "water-heater", "oven"} {
		if faults[name] == 0 {
			continue
		}
		u := unsheet(t, name, faults[name], 1)
		t.Logf("%s: %s", name, u)
		all.faults, all.known, all.found, all.wired = all.faults+u.faults, all.known+u.known, all.found+u.found, all.wired+u.wired
		all.minutes, all.of = all.minutes+u.minutes, all.of+u.of
	}
	t.Logf("all: %s", all)
	const most = 1.25
	if all.minutes > most*all.of {
		t.Errorf("%s; at most %.2f times", all, most)
	}
	if all.found < all.known*9/10 {
		t.Errorf("%s: nine of ten that are found with the wiring known", all)
	}
}

// fusedIn is a machine whose fuse is in one leg or the other.
func fusedIn(t *testing.T, leg, plain string, more ...string) *circuit.Circuit {
	b := circuittest.SplitPhase(240)
	for _, name := range more {
		b = b.Load("lamp", name, 120, 15).Series("supply.L1", name, "supply.N")
	}
	return b.Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40).Switch("control").
		Part(circuit.PartSpec{Kind: "thermal_fuse", Name: "fuse"}).
		Part(circuit.PartSpec{Kind: "terminal_block", Name: "block", Poles: []string{"L1", "L2", "N"}}).
		Series("supply.L1", "block.L1.in").Series("supply.L2", "block.L2.in").Series("supply.N", "block.N.in").
		Series("block."+leg+".out", "fuse", "element.1").
		Series("block."+plain+".out", "control", "element.2").
		Series("block.L1.out", "lamp", "block.N.out").
		Mode("off").ModeSpec(circuit.ModeSpec{Name: "on", Set: map[string]string{"control": "closed"}, On: []string{"element"}}).Build(t)
}

// What is suspected of one wiring is got at by its own parts, of which another may have
// fewer.
func TestAWiringOfMorePartsIsMendedByItsOwn(t *testing.T) {
	a, b := fusedIn(t, "L1", "L2"), fusedIn(t, "L2", "L1", "one", "two", "three", "four")
	j, err := visit.StartFamily(t.Context(), []visit.Candidate{{Netlist: "a", Circuit: a, Share: 1}, {Netlist: "b", Circuit: b, Share: 0.8}}, nil, visit.Record{}, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Add(t.Context(), visit.Note{Mode: "on", Load: "element", State: "dead"}); err != nil {
		t.Fatal(err)
	}
	if next, err := j.Next(t.Context(), 1); err != nil || len(next.Tests) == 0 {
		t.Errorf("%+v, %v", next, err)
	}
}

func TestCandidateWiringsAreToldApart(t *testing.T) {
	a, b := fusedIn(t, "L1", "L2"), fusedIn(t, "L2", "L1")
	j, err := visit.StartFamily(t.Context(), []visit.Candidate{{Netlist: "a", Circuit: a, Share: 1}, {Netlist: "b", Circuit: b, Share: 1}}, nil, visit.Record{}, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Add(t.Context(), visit.Note{Mode: "on", Load: "element", State: "dead"}); err != nil {
		t.Fatal(err)
	}
	if p := j.Chance(); p < 0.4 || p > 0.6 {
		t.Errorf("a dead element alone tells nothing of the wiring: %v", p)
	}
	// In Off the element's fuse side stands on the fuse's own leg: L1 to block
	// L2 reads 240 V only where the fuse is in L1.
	if err := j.Add(t.Context(), visit.Note{Mode: "off", Function: "volts", P: "fuse.1", Q: "block.L2.out", Answer: "239"}); err != nil {
		t.Fatal(err)
	}
	if j.Netlist() != "a" || j.Chance() < 0.95 {
		t.Errorf("the fuse is in L1: %s at %v", j.Netlist(), j.Chance())
	}
}

// members gives some machines of the catalog, as common as told.
func members(t testing.TB, shares map[string]float64) []visit.Candidate {
	t.Helper()
	var out []visit.Candidate
	for _, name := range slices.Sorted(maps.Keys(shares)) {
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, visit.Candidate{Netlist: name, Circuit: c, Share: shares[name]})
	}
	return out
}

// Where a test asks for a fuse that the dryer does not have, it is the dryer without.
func TestNoSuchPlaceTellsWhichMachineItIs(t *testing.T) {
	j, err := visit.StartFamily(t.Context(), members(t, map[string]float64{"dryer": 1, "dryer-motor-fuse": 5}), nil, visit.Record{}, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Add(t.Context(), visit.Note{Mode: "timed_dry", Load: "motor.main", State: "dead"}); err != nil {
		t.Fatal(err)
	}
	if j.Netlist() != "dryer-motor-fuse" {
		t.Fatalf("the commoner one leads: %s", j.Netlist())
	}
	fuse := visit.Note{Mode: "timed_dry", Function: "ohms", P: "motor_fuse.1", Q: "motor_fuse.2"}
	test, err := fuse.Test(j.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Absent(t.Context(), test); err != nil {
		t.Fatal(err)
	}
	if j.Netlist() != "dryer" || j.Chance() < 0.95 {
		t.Errorf("it has no such fuse: %s at %.2f", j.Netlist(), j.Chance())
	}
}

// A reading is told in the names of whoever leads, and read by each: an open fuse at
// the leg that it is in leaves the machine that has it there.
func TestAReadingTellsTheLegOfTheFuse(t *testing.T) {
	j, err := visit.StartFamily(t.Context(), members(t, map[string]float64{"range-electronic": 3, "range-electronic-fuse-l2": 1, "range-mechanical": 1}), nil, visit.Record{}, "")
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	j.Keep = func() error { kept++; return nil }
	for _, n := range []visit.Note{
		{Mode: "bake", Load: "bake_element", State: "dead"},
		{Mode: "bake", Function: "ohms", P: "fuse_line", Q: "tb_l2", Answer: "0.1"},
	} {
		if err := j.Add(t.Context(), n); err != nil {
			t.Fatal(err)
		}
	}
	if j.Netlist() != "range-electronic-fuse-l2" || j.Chance() < 0.9 {
		t.Errorf("the fuse is in L2: %s at %.2f", j.Netlist(), j.Chance())
	}
	if len(j.Notes) != 2 || kept < 3 {
		t.Errorf("kept %d times with %d notes: each note, and once more in the names of another", kept, len(j.Notes))
	}
	// Without it the commoner leads again.
	if _, err := j.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if j.Netlist() != "range-electronic" || len(j.Notes) != 1 {
		t.Errorf("taken back, the commoner leads: %s, %d notes", j.Netlist(), len(j.Notes))
	}
}

// What a machine shows from outside is in its netlist.
func TestWhatIsSeenFromOutside(t *testing.T) {
	want := map[string]string{
		"range-electronic": "coils keys electricity 4", "range-mechanical": "coils knobs electricity 3", "range-smooth-top": "smooth keys electricity 4",
		"range-slide-in-3wire": "smooth keys electricity 3", "range-apartment": "coils knobs electricity 4", "dryer": "none knobs electricity 4",
		"dryer-electronic": "none keys electricity 4", "oven-gas": "none keys gas 3", "water-heater": "none knobs electricity 3",
	}
	for name, is := range want {
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		got := visit.Traits(c)[:4]
		if strings.Join(got, " ") != is {
			t.Errorf("%s: %s; it has %s", name, strings.Join(got, " "), is)
		}
	}
}
