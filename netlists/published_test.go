package netlists_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"sort"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

// publishedCircuit is a circuit that others published, and what they say of it.
type publishedCircuit struct {
	// file is its netlist in testdata/published, or a machine of the catalog that
	// the text fits as well; title, where and memory name the source; memory tells
	// what of it is from memory.
	file, title, where, memory string
	statements                 []statement
}

// statement is one thing a text says of its circuit.
type statement struct {
	// says is the statement in our words.
	says string
	// ask asks the engine, and returns what speaks against the statement, ""
	// where nothing does.
	ask func(a *asked) string
	// right tells who is right, where the text needs reading, else it is "".
	right string
}

// asked is a published circuit with the engine around it.
type asked struct {
	t      *testing.T
	c      *circuit.Circuit
	engine *settle.Engine
	tracer *trace.Tracer
	bench  *meter.Bench
}

func newAsked(t *testing.T, file string) *asked {
	t.Helper()
	path := file
	if !strings.HasPrefix(file, "catalog:") {
		path = "../testdata/published/" + file + ".toml"
	}
	c, err := netlists.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	tracer := trace.New(c)
	return &asked{t: t, c: c, tracer: tracer, engine: tracer.Engine(), bench: meter.New(c, meter.DefaultInstrument())}
}

// Every statement of every published circuit holds of the engine's answers.
func TestPublishedCircuitsDoWhatTheirTextsSay(t *testing.T) {
	count := 0
	for _, p := range publishedCircuits {
		t.Run(p.file, func(t *testing.T) {
			a := newAsked(t, p.file)
			for _, s := range p.statements {
				count++
				if against := s.ask(a); against != "" {
					t.Errorf("%s\n  the text says: %s\n  the engine: %s", p.title, s.says, against)
				}
			}
		})
	}
	if len(publishedCircuits) < 8 || count < 40 {
		t.Errorf("%d statements on %d circuits, fewer than 40 on 8", count, len(publishedCircuits))
	}
}

func (a *asked) mode(name string) circuit.ModeID {
	a.t.Helper()
	id, err := a.c.FindMode(name)
	if err != nil {
		a.t.Fatal(err)
	}
	return id
}

func (a *asked) terminal(ref string) circuit.TerminalID {
	a.t.Helper()
	if ref == circuit.ChassisName {
		return a.c.ChassisTerminal()
	}
	id, err := a.c.FindTerminal(ref)
	if err != nil {
		a.t.Fatal(err)
	}
	return id
}

func (a *asked) load(ref string) circuit.BranchID {
	a.t.Helper()
	id, err := a.c.FindLoad(ref)
	if err != nil {
		a.t.Fatal(err)
	}
	return id
}

// faults reads "wire:open", one or several apart by blanks.
func (a *asked) faults(refs string) []circuit.Fault {
	a.t.Helper()
	return circuittest.Faults(a.t, a.c, strings.Fields(refs)...)
}

func (a *asked) settle(mode, faults string) *settle.Outcome {
	a.t.Helper()
	o, err := a.engine.Run(a.mode(mode), a.faults(faults))
	if err != nil {
		a.t.Fatal(err)
	}
	return o
}

// volts is the voltage between two terminals, amps the current in a branch,
// watts and share what a load gets.
func (a *asked) volts(mode, faults, p, q string) float64 {
	o := a.settle(mode, faults)
	v, _ := o.AnyState.Between(a.terminal(p), a.terminal(q))
	return cmplx.Abs(v)
}

func (a *asked) amps(mode, faults, branch string) float64 {
	a.t.Helper()
	id, err := a.c.FindBranch(branch)
	if err != nil {
		a.t.Fatal(err)
	}
	return cmplx.Abs(a.settle(mode, faults).AnyState.Amps[id])
}

func (a *asked) share(mode, faults, load string) float64 {
	return a.settle(mode, faults).LeastShare(a.load(load))
}

// is compares a figure with the one of the text.
func is(what string, got, want, within float64) string {
	if math.Abs(got-want) <= within {
		return ""
	}
	return fmt.Sprintf("%s is %.5g, not %.5g within %.2g", what, got, want, within)
}

// works compares which loads work in a mode: "lamp motor" and none of the
// others that are named after "not".
func (a *asked) works(mode, faults, on, not string) string {
	for _, load := range strings.Fields(on) {
		if s := a.share(mode, faults, load); s < 0.9 {
			return fmt.Sprintf("%s in %s with %q gets %.3g of its power", load, mode, faults, s)
		}
	}
	for _, load := range strings.Fields(not) {
		if s := a.settle(mode, faults).MostShare(a.load(load)); s > 0.001 {
			return fmt.Sprintf("%s in %s with %q gets %.3g of its power", load, mode, faults, s)
		}
	}
	return ""
}

// starves compares the parts of which an open alone leaves a load without: all
// that are named, and none of those named after "not".
func (a *asked) starves(mode, load, parts, not string) string {
	a.t.Helper()
	sets, err := a.tracer.Starve(context.Background(), a.mode(mode), a.load(load), trace.Options{Order: 1})
	if err != nil {
		a.t.Fatal(err)
	}
	var found []string
	for _, s := range sets {
		for _, b := range s.Members[0].Branches {
			found = append(found, a.c.Branch(b).Ref)
			if p := a.c.Branch(b).Part; p != circuit.None {
				found = append(found, a.c.Part(p).Name)
			}
		}
	}
	for _, part := range strings.Fields(parts) {
		if !slices.Contains(found, part) {
			return part + " open is not among what cuts " + load + " off"
		}
	}
	for _, part := range strings.Fields(not) {
		if slices.Contains(found, part) {
			return part + " open is said to cut " + load + " off"
		}
	}
	return ""
}

// keepsOn compares the sets of welded contacts that keep a load on: "K2",
// "R + S", and so on.
func (a *asked) keepsOn(mode, load string, order int, want ...string) string {
	a.t.Helper()
	sets, err := a.tracer.KeepOn(context.Background(), a.mode(mode), a.load(load), trace.Options{Order: order})
	if err != nil && !errors.Is(err, trace.ErrTooMany) {
		a.t.Fatal(err)
	}
	var got []string
	for _, s := range sets {
		var parts []string
		for _, f := range s.Faults {
			if f.Kind != circuit.Welded {
				parts = nil
				break // a short or a ground is not among the text's failures
			}
			parts = append(parts, a.c.Part(a.c.Branch(f.Branch).Part).Name)
		}
		if parts != nil {
			sort.Strings(parts)
			got = append(got, strings.Join(parts, " + "))
		}
	}
	sort.Strings(got)
	sort.Strings(want)
	if !slices.Equal(got, want) {
		return fmt.Sprintf("the minimal sets are %q, not %q", got, want)
	}
	return ""
}

// path compares the way from a conductor to a load's terminal: the parts on it.
func (a *asked) path(mode, load string, end int, want string) string {
	feed := a.tracer.Feed(a.settle(mode, ""), a.load(load))
	var got []string
	for _, hop := range feed.Ends[end].Hops {
		if b := a.c.Branch(hop.Branch); b.Part != circuit.None {
			got = append(got, b.Ref)
		}
	}
	if s := strings.Join(got, " "); s != want {
		return fmt.Sprintf("the way is %q, not %q", s, want)
	}
	return ""
}

// reads compares what the meter shows, dead and in circuit: a range in ohms, or
// OL for +Inf.
func (a *asked) reads(mode, faults, p, q string, low, high float64) string {
	a.t.Helper()
	o, err := a.bench.Dead(a.mode(mode), a.faults(faults))
	if err != nil {
		a.t.Fatal(err)
	}
	r, err := a.bench.Ohms(o, a.terminal(p), a.terminal(q))
	if err != nil {
		a.t.Fatal(err)
	}
	in := r.InCircuit
	if math.IsInf(low, 1) {
		if !in.OL {
			return "the meter shows " + in.Range() + ", not OL"
		}
		return ""
	}
	if in.OL || in.Low < low || in.High > high {
		return fmt.Sprintf("the meter shows %s, not from %g to %g ohms", in.Range(), low, high)
	}
	return ""
}

// first returns the first test with a meter once a load is dead in a mode, as
// "live supply.L1 supply.L2": trying other settings, which takes no probe, may
// come before it.
func (a *asked) first(mode, load string) string {
	a.t.Helper()
	ctx := context.Background()
	e, err := suspect.New(a.c, suspect.Options{Order: 1})
	if err != nil {
		a.t.Fatal(err)
	}
	err = e.Add(ctx, suspect.Evidence{Symptom: &suspect.Symptom{Mode: a.mode(mode), Load: a.load(load), State: circuit.Dead}})
	if err != nil {
		a.t.Fatal(err)
	}
	proposals, err := e.Next(ctx, suspect.NewProgress(), 10)
	if err != nil {
		a.t.Fatal(err)
	}
	for _, p := range proposals {
		ends := a.c.Terminal(p.Probes.P).Ref + " " + a.c.Terminal(p.Probes.Q).Ref
		switch {
		case p.Trial:
		case p.Live:
			return "live " + ends
		default:
			return "dead " + ends
		}
	}
	return "none"
}
