package suspect_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
)

// flicker is a hidden fault that is there on one occasion in two.
type flicker struct {
	*hidden
	fault []circuit.Fault
}

// turn begins another occasion, or one after the other until it fails, unless the machine
// is left as it stands.
func (f *flicker) turn(e *suspect.Engine, test suspect.Test) {
	switch {
	case e.AsItWas(test):
	case e.WhileItFails(test), f.rand.IntN(2) == 0:
		f.truth = f.fault
	default:
		f.truth = nil
	}
}

// asked answers a move: what a burnt or loose end shows it shows always, what is
// provoked shows while it is moved.
func (f *flicker) asked(t testing.TB, test suspect.Test) suspect.Evidence {
	t.Helper()
	o, err := f.b.Live(test.Mode, f.truth)
	if err != nil {
		t.Fatal(err)
	}
	shown := suspect.MoveShows(f.c, test, f.fault, func(id circuit.BranchID) bool { return o.Acting[id] })
	keys, _ := test.Answers()
	at, x := 0, f.rand.Float64()
	for ; at < len(keys)-1 && x > shown[at]; at++ {
		x -= shown[at]
	}
	ev, err := suspect.NoteOf(f.c, test, keys[at]).Resolve(f.c)
	if err != nil {
		t.Fatal(err)
	}
	return ev
}

// findFlicker follows the engine's advice on a fault that comes and goes, of which
// the customer says so, and what the load does when it fails.
func findFlicker(t testing.TB, c *circuit.Circuit, e *suspect.Engine, fault []circuit.Fault, seed uint64) (v visit) {
	h := &flicker{hide(c, fault, seed), fault}
	complaint := h.complaint(t)
	if complaint == nil {
		return visit{skipped: true}
	}
	add := func(ev suspect.Evidence) {
		if err := e.Add(context.Background(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			t.Fatal(err)
		}
	}
	e.Forget()
	load, mode := complaint[0].Symptom.Load, complaint[0].Symptom.Mode
	told, err := suspect.NewTelling(c, "intermittent", "", c.Branch(load).Ref, "")
	if err != nil {
		t.Fatal(err)
	}
	is, should := h.states(t, mode), hide(c, nil, seed).states(t, mode)
	for _, l := range c.Loads() { // the drum stands still: nobody calls of the timer alone
		if is[l] != should[l] {
			add(suspect.Evidence{Symptom: &suspect.Symptom{Mode: mode, Load: l, State: is[l]}})
		}
	}
	add(suspect.Evidence{Told: told})
	same := alikeNow(t, e) // once measured, nothing would be told apart by what is left
	for progress := suspect.NewProgress(); v.tests < 25; v.tests++ {
		if s := e.Suspects(1); s[0].P > h.sure && len(s[0].Causes) > 0 {
			break
		}
		next, err := e.Next(context.Background(), progress, 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(next) == 0 {
			break
		}
		test := next[0].Test
		v.minutes += next[0].Minutes
		progress.Did(c, test)
		h.turn(e, test)
		switch {
		case test.Ask != "":
			add(h.asked(t, test))
		case test.Trial:
			is := h.states(t, test.Mode)
			for _, l := range next[0].Loads {
				add(suspect.Evidence{Symptom: &suspect.Symptom{Mode: test.Mode, Load: l, State: is[l]}})
			}
		default:
			add(suspect.Evidence{Reading: h.read(t, test)})
		}
	}
	for i, s := range e.Suspects(3) {
		for _, k := range s.Causes {
			is := same.holds(k, fault)
			v.among = v.among || is
			if i == 0 {
				v.right, v.said = is, v.said+" ["+k.Members[0].Label+"]"
			}
		}
	}
	return v
}

// flickers draws faults that come and go on a machine, by their priors.
func flickers(t testing.TB, name string, n int, seed uint64) (all, right, among int, tests, minutes float64) {
	c := machine(t, name)
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(seed, 5))
	var may []suspect.Class
	total := 0.0
	for _, k := range suspect.Classes(c) {
		if k.Prior *= suspect.ComesAndGoes(k); k.Prior > 0 && len(k.Members[0].Faults) == 1 {
			may, total = append(may, k), total+k.Prior
		}
	}
	for all < n {
		x, at := r.Float64()*total, 0
		for ; at < len(may)-1 && x > may[at].Prior; at++ {
			x -= may[at].Prior
		}
		m, sum := may[at].Members[0], 0.0
		for _, m := range may[at].Members {
			sum += m.Prior
		}
		x = r.Float64() * sum
		for _, m = range may[at].Members {
			if x -= m.Prior; x <= 0 {
				break
			}
		}
		v := findFlicker(t, c, e, m.Faults, r.Uint64())
		if v.skipped {
			continue
		}
		all, tests, minutes = all+1, tests+float64(v.tests), minutes+v.minutes
		if v.right {
			right++
		} else {
			t.Logf("%s: %s: said%s after %d tests", name, m.Label, v.said, v.tests)
		}
		if v.among {
			among++
		}
	}
	return all, right, among, tests / float64(all), minutes / float64(all)
}

// BenchmarkWhatComesAndGoes draws so many on each of five machines, as in
// -benchtime 60x, of which a few are [TestWhatComesAndGoesIsFound].
func BenchmarkWhatComesAndGoes(b *testing.B) {
	for i, name := range calibrationMachines {
		b.Run(name, func(b *testing.B) {
			all, right, among, tests, minutes := flickers(b, name, b.N, uint64(30+i))
			b.ReportMetric(100*float64(right)/float64(all), "%named")
			b.ReportMetric(100*float64(among)/float64(all), "%first3")
			b.ReportMetric(tests, "tests")
			b.ReportMetric(minutes, "minutes")
		})
	}
}

// A fault that is there on one occasion in two is found by what provokes, by what is
// looked at, and by readings taken while it fails, not cleared by the first time that all
// works: 9 in 10 are named, of no machine less than 17 in 20.
func TestWhatComesAndGoesIsFound(t *testing.T) {
	n, names := 3, []string{"range-mechanical"}
	if circuittest.Nightly {
		n, names = 24, calibrationMachines
	}
	drawn, named := 0, 0
	for i, name := range names {
		all, right, among, tests, minutes := flickers(t, name, n, uint64(30+i))
		t.Logf("%s: %d of %d named, %d among the first three, mean %.1f tests, %.0f minutes", name, right, all, among, tests, minutes)
		if 20*right < 17*all {
			t.Errorf("%s: %d of %d named", name, right, all)
		}
		drawn, named = drawn+all, named+right
	}
	if 10*named < 9*drawn {
		t.Errorf("%d of %d named", named, drawn)
	}
}

// The glow of a zone that comes and goes at full is its limiter's work: nothing is
// wrong. One that does not come at all is no limiter's.
func TestALimiterThatCyclesAsItShould(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a smooth-top range twice")
	}
	c := machine(t, "range-smooth-top")
	sound := func(notes ...suspect.Note) (p float64) {
		e := engine(t, c, suspect.Options{Order: 1}, notes...)
		for _, s := range e.Suspects(2000) {
			if strings.HasPrefix(s.Words(), "Nothing is wrong: Left front limiter") {
				p += s.P
			}
		}
		return p
	}
	off := suspect.Note{Mode: "lf_surface", Load: "lf_element", State: "dead"}
	goes, dead := sound(off, suspect.Note{Told: "intermittent", Load: "lf_element"}), sound(off, suspect.Note{Mode: "lf_hot", Load: "lf_element", State: "dead"})
	if goes < 0.1 || dead > goes/4 {
		t.Errorf("its limiter cycles as it should: %.3f where the glow comes and goes, %.3f where there is none", goes, dead)
	}
}

// Of a heater that comes and goes, volts that are right while it fails clear what feeds the
// machine; the same with the machine off clear it by half, as whatever fails may be well
// just then. What is read next with the probes moved and nothing else was met on the same
// occasion: it tells nothing new.
func TestWhatIsReadWhileItFailsTells(t *testing.T) {
	c := machine(t, "dryer")
	fed := func(notes ...suspect.Note) (p float64) {
		seen := append([]suspect.Note{{Mode: "timed_dry", Load: "heater", State: "dead"}, {Told: "intermittent", Load: "heater"}}, notes...)
		for _, s := range engine(t, c, suspect.Options{Order: 1}, seen...).Suspects(2000) {
			if len(s.Causes) == 1 && strings.HasPrefix(s.Words(), "wire w02 open") {
				p += s.P
			}
		}
		return p
	}
	at := func(mode, p, q, answer string) suspect.Note {
		return suspect.Note{Mode: mode, Function: "volts", P: p, Q: q, Answer: answer}
	}
	before, fails, off := fed(), fed(at("timed_dry", "tb_l1", "tb_l2", "240")), fed(at("off", "tb_l1", "tb_l2", "240"))
	if before < 0.02 || fails > before/10 || off < before/3 {
		t.Errorf("L2 lost: %.3f, with 240 V while it fails %.3f, with 240 V at rest %.3f", before, fails, off)
	}
	again := fed(at("off", "tb_l1", "tb_l2", "240"), at("off", "tb_l2", "tb_n", "120"))
	if again < 0.8*off {
		t.Errorf("L2 lost: %.3f with 240 V at rest, %.3f with 120 V to neutral beside it", off, again)
	}
}
