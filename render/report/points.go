package report

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// Points is the list of tests for a load that is dead or weak: where to put the
// probes, what to see, what to conclude.
type Points struct {
	Head
	Load     Named       `json:"load" help:"the load the list is for"`
	Cautions []string    `json:"cautions" help:"before anything else"`
	Standing *LiveMode   `json:"standing" help:"what stays live with the machine switched off"`
	Meter    Meter       `json:"meter" help:"the instrument the intervals are for"`
	Suspects []Suspect   `json:"suspects" help:"single opens that would take power from the load"`
	Steps    []Step      `json:"steps" help:"tests in order: supply removed first, then live"`
	Alike    []ReadAlike `json:"alike" help:"suspects that nothing on the list distinguishes"`
	LeftOver []Item      `json:"left_over" help:"suspects that no test finds: left when every reading is good"`
	Minutes  float64     `json:"minutes" help:"effort, each place opened once, without the steps needed only after a bad reading"`
}

// Suspect is an open that would starve the load.
type Suspect struct {
	Item  Item    `json:"item" help:"what may be open"`
	Share float64 `json:"share" help:"its share of all suspects' chances, by what commonly fails"`
}

// Step is one test.
type Step struct {
	Number    int       `json:"number" help:"its place in the list"`
	OnlyIf    int       `json:"only_if" help:"do it only where the step of this number read bad; 0: always"`
	Power     string    `json:"power" help:"removed, or on"`
	Mode      Mode      `json:"mode" help:"what is selected; with the supply removed, where knobs and thermostats are left"`
	SetUp     string    `json:"set_up" help:"what to do first, in words"`
	UnderLoad bool      `json:"under_load" help:"means something only while the load draws current: unloaded, a burnt contact reads good"`
	Function  string    `json:"function" help:"what the meter is set to"`
	From      Probe     `json:"from" help:"the red probe"`
	To        Probe     `json:"to" help:"the black probe"`
	Lift      *Lift     `json:"lift" help:"the lead to lift first; null where that is needless"`
	Good      Shown     `json:"good" help:"what a sound machine gives"`
	GoodLive  string    `json:"good_live" help:"what to say beside a good reading of no volts between live ends; else empty"`
	Bad       []Outcome `json:"bad" help:"what else it may read, and why"`
	Clears    []Item    `json:"clears" help:"what a good reading rules out that no earlier step has"`
	Share     float64   `json:"share" help:"the chances of all that a good reading rules out"`
	Minutes   float64   `json:"minutes" help:"effort, places opened before not opened again"`
}

// Outcome is a reading that is not good.
type Outcome struct {
	Reading  Shown  `json:"reading" help:"what it reads"`
	Words    string `json:"words" help:"how to say it: \"OL\", \"near 0 V\""`
	Suspects []Item `json:"suspects" help:"all that would make it read so"`
	Left     []Item `json:"left" help:"those that no earlier step has cleared, as this one comes to be done"`
	Conclude string `json:"conclude" help:"what it means, in words"`
	Live     string `json:"live" help:"what to say beside no volts between ends that are, or may be, live; else empty"`
	Joint    bool   `json:"joint" help:"a burnt joint or contact that conducts, rather than an open"`
}

// ReadAlike is suspects that read alike in every test of the list.
type ReadAlike struct {
	Items []Item `json:"items" help:"one of these"`
	Hint  string `json:"hint" help:"what to do about them"`
}

// Points makes the list of tests for a load.
func (r *Reporter) Points(ctx context.Context, q Question, opt MeterOptions) (*Points, error) {
	if _, err := r.sound(q.Mode); err != nil {
		return nil, err
	}
	b, err := r.newBench(opt)
	if err != nil {
		return nil, err
	}
	list, err := b.TestList(ctx, q.Mode, q.Load)
	if err != nil {
		return nil, err
	}
	d := &Points{Head: r.head("points", q), Load: r.named(q.Load), Cautions: r.pointCautions(), Meter: instrument(b.Instrument),
		Suspects: []Suspect{}, Steps: []Step{}, Alike: []ReadAlike{}, LeftOver: []Item{}}
	d.Standing = r.liveParts(list.LiveOff)
	for _, s := range list.Suspects {
		d.Suspects = append(d.Suspects, Suspect{Item: r.item(s.Fault.Branch), Share: round(s.Weight)})
	}
	x := &listing{namer: r.namer, b: b, list: list, found: map[int]bool{}, left: make([]map[int]bool, len(list.Steps)), runs: map[run]*settle.Outcome{}}
	for i := range list.Steps {
		step, err := x.step(i)
		if err != nil {
			return nil, err
		}
		d.Steps = append(d.Steps, *step)
		if step.OnlyIf == 0 {
			d.Minutes += step.Minutes
		}
	}
	for _, group := range list.Alike {
		d.Alike = append(d.Alike, r.readAlike(x.items(group)))
	}
	for i := range list.Suspects {
		if !x.found[i] {
			d.LeftOver = append(d.LeftOver, r.item(list.Suspects[i].Fault.Branch))
		}
	}
	return d, nil
}

// listing turns the engine's list into ours.
type listing struct {
	namer
	b     *meter.Bench
	list  *meter.TestList
	found map[int]bool   // suspects that a step so far finds
	left  []map[int]bool // by step: those it finds that none before it does
	joint int            // the first step that shows a burnt joint
	runs  map[run]*settle.Outcome
}

// run is a mode with one suspect open, or with none.
type run struct {
	mode    circuit.ModeID
	suspect int
}

// settled settles a run once.
func (x *listing) settled(k run) (*settle.Outcome, error) {
	if o := x.runs[k]; o != nil {
		return o, nil
	}
	var faults []circuit.Fault
	if k.suspect != circuit.None {
		faults = []circuit.Fault{x.list.Suspects[k.suspect].Fault}
	}
	o, err := x.b.Live(k.mode, faults)
	x.runs[k] = o
	return o, err
}

// stillLive says what must be said beside a reading of no volts, whichever of
// the suspects gives it.
func (x *listing) stillLive(s *meter.Step, r meter.Reading, suspects []int) (string, error) {
	if !x.b.NearZero(r) {
		return "", nil
	}
	most, live, said := 0.0, 0, map[string]bool{}
	for _, k := range suspects {
		o, err := x.settled(run{s.Mode, k})
		if err != nil {
			return "", err
		}
		words := x.b.NoProofOfDead(o, s.P, s.Q, r)
		if words == "" {
			continue
		}
		live++
		said[words] = true
		most = max(most, x.b.Touch(o, s.P).Most(), x.b.Touch(o, s.Q).Most())
	}
	switch {
	case live == 0:
		return "", nil
	case live == len(suspects) && len(said) == 1:
		for words := range said {
			return words, nil
		}
	}
	return fmt.Sprintf("No volts here proves neither end dead: up to %.0f V to earth, neutral or metal.", most), nil
}

func (x *listing) items(suspects []int) []Item {
	out := []Item{}
	for _, i := range suspects {
		out = append(out, x.item(x.list.Suspects[i].Fault.Branch))
	}
	return out
}

// finds tells which suspects make a step read bad.
func finds(s *meter.Step) map[int]bool {
	out := map[int]bool{}
	for _, o := range s.Others {
		for _, i := range o.Suspects {
			out[i] = out[i] || o.Differs
		}
	}
	return out
}

func (x *listing) step(i int) (*Step, error) {
	s := &x.list.Steps[i]
	d := &Step{Number: i + 1, Power: "removed", Mode: x.mode(s.Mode), UnderLoad: s.UnderLoad, Function: s.Function.String(),
		From: x.probe(s.P), To: x.probe(s.Q), Lift: x.liftOf(s.At, s.Lift), Good: shown(x.b, s.Function, s.Good), Bad: []Outcome{}, Clears: []Item{},
		Share: round(s.Clears), Minutes: s.Minutes}
	if s.OnlyIf != circuit.None {
		d.OnlyIf = s.OnlyIf + 1
	}
	if s.Live {
		d.Power = "on"
	}
	d.SetUp = d.setUp()
	var err error
	if d.GoodLive, err = x.stillLive(s, s.Good, []int{circuit.None}); err != nil {
		return nil, err
	}
	if x.b.NearZero(s.Good) {
		d.Good.Range, d.Good.Why = "near 0 "+d.Good.Unit, []string{}
	}
	if !s.Live && s.Good.Low <= 0 && s.Good.High < meter.WornContactOhms {
		// Wire and contacts alone lie between, whatever the probes' own parts.
		d.Good.Why = slices.DeleteFunc(d.Good.Why, func(w string) bool {
			return !strings.HasPrefix(w, "clean contacts") && !strings.HasPrefix(w, "instrument")
		})
	}
	// As the step comes to be done, what earlier steps find is cleared, but for
	// what the step that sent us here found.
	before := x.found
	if s.OnlyIf != circuit.None {
		before = map[int]bool{}
		for k := range x.found {
			before[k] = !x.left[s.OnlyIf][k]
		}
	}
	x.left[i] = map[int]bool{}
	for k, bad := range finds(s) {
		x.left[i][k] = bad && !before[k]
	}
	if err := x.outcomes(d, s, before); err != nil {
		return nil, err
	}
	if s.UnderLoad {
		if err := x.burnt(d, s); err != nil {
			return nil, err
		}
	}
	for k, bad := range finds(s) {
		if bad {
			x.found[k] = true
		}
	}
	return d, nil
}

func (d *Step) setUp() string {
	switch {
	case d.Power == "removed":
		return "Supply removed and locked out, proved dead; knobs and thermostats as in " + d.Mode.Label + "."
	case d.UnderLoad:
		return "Supply on, " + d.Mode.Label + " selected and the load on: read while it draws current."
	}
	return "Supply on, " + d.Mode.Label + " selected."
}

// Told reports whether an outcome is worth a line: what earlier steps have
// found is not found again.
func (o *Outcome) Told() bool { return o.Joint || len(o.Left) > 0 }

// outcomes joins bad readings that a person takes for one: those that come to
// nothing, and those in the same words.
func (x *listing) outcomes(d *Step, s *meter.Step, before map[int]bool) error {
	at := map[string]int{}
	var members [][]int
	var read []meter.Reading
	for _, o := range s.Others {
		if !o.Differs {
			continue
		}
		reading := shown(x.b, s.Function, o.Reading)
		words := reading.Range
		switch {
		case x.b.NearZero(o.Reading):
			words = "near 0 " + reading.Unit
		case o.Reading.Unsteady:
			words = "floating (stray voltage)"
		}
		k, seen := at[words]
		if !seen {
			k = len(d.Bad)
			at[words] = k
			d.Bad = append(d.Bad, Outcome{Reading: reading, Words: words, Suspects: []Item{}, Left: []Item{}})
			members, read = append(members, nil), append(read, o.Reading)
		}
		members[k] = append(members[k], o.Suspects...)
	}
	for k := range d.Bad {
		slices.Sort(members[k])
		o := &d.Bad[k]
		o.Suspects = x.items(members[k])
		var left []int
		for _, i := range members[k] {
			if !before[i] {
				left = append(left, i)
			}
		}
		o.Left = x.items(left)
		d.Clears = append(d.Clears, o.Left...)
		o.Conclude = x.conclude(o.Left)
		var err error
		if o.Live, err = x.stillLive(s, read[k], members[k]); err != nil {
			return err
		}
	}
	return nil
}

// conclude says what a bad reading leaves.
func (x *listing) conclude(left []Item) string {
	switch {
	case len(left) == 0:
		return "an earlier step should have found it: repeat that one"
	case len(left) == 1:
		return "open: " + partsAndWires(left)
	}
	return "one of these is open: " + partsAndWires(left)
}

// burnt adds what a burnt contact or joint in a leg makes of a step under load.
func (x *listing) burnt(d *Step, s *meter.Step) error {
	low := math.Inf(1)
	var reading meter.Reading
	for _, leg := range x.c.Supply().Legs {
		o, err := x.b.Live(s.Mode, []circuit.Fault{{Kind: circuit.HighResistance, Branch: leg, Ohms: meter.BurntContactOhms}})
		if err != nil {
			return fmt.Errorf("mode %q cannot be worked out with a burnt joint: %w", x.c.Mode(s.Mode).Name, err)
		}
		r, err := x.b.Volts(o, s.Function, s.P, s.Q)
		if err != nil {
			return err
		}
		if r.Jumps || r.Value < low && !reading.Jumps {
			low, reading = r.Value, r
		}
	}
	words := fmt.Sprintf("low, near %.0f %s", low, s.Function.Unit())
	switch {
	case reading.Jumps:
		words = reading.String() + " as relays chatter"
	case low >= s.Good.Value*0.95:
		return nil
	}
	o := Outcome{Reading: shown(x.b, s.Function, reading), Words: words, Suspects: []Item{}, Left: []Item{}, Joint: true,
		Conclude: fmt.Sprintf("a burnt joint or contact in a leg (here of %.0f ohms), which reads right with nothing on and sags under load: with the supply removed look for heat marks at every joint from the breaker to here", meter.BurntContactOhms)}
	if x.joint > 0 {
		o.Conclude = fmt.Sprintf("a burnt joint or contact, as in step %d", x.joint)
	} else {
		x.joint = d.Number
	}
	d.Bad = append(d.Bad, o)
	return nil
}

// readAlike says what to do about suspects that nothing tells apart.
func (r namer) readAlike(items []Item) ReadAlike {
	kinds := map[string]bool{}
	for _, it := range items {
		kinds[it.Kind] = true
	}
	a := ReadAlike{Items: items, Hint: "check each end by eye and by a pull, and repair the run as a whole"}
	switch {
	case kinds["supply"]:
		a.Hint = "reset the breaker and check by eye every joint from the house to here; what is ahead of the machine is an electrician's"
	case len(kinds) == 1 && !kinds["wire"] && sameOwner(items):
		a.Hint = "one part, or one board, either way: hear whether it clicks, then replace it"
	}
	return a
}

func sameOwner(items []Item) bool {
	first, _, _ := strings.Cut(items[0].Ref, ".")
	for _, it := range items {
		if owner, _, _ := strings.Cut(it.Ref, "."); owner != first {
			return false
		}
	}
	return true
}

// pointCautions go before a list of tests.
var pointCautions = [...]string{
	"Disconnect at the breaker or plug, lock out and tag. Self-resetting parts and timers may start a machine that looks off.",
	"Prove the meter on a known live source, test the machine dead at its terminal block (each leg to the other, to neutral and to the metal), and prove the meter again.",
	"Before each resistance test short the meter's own leads: they must read near nothing.",
	"Live steps are for qualified people with insulated probes and gloves: one hand, black lead clipped on first, nothing touched while it is on.",
	"Local codes and the maker's instructions come before this sheet.",
}

// capacitorCaution is for machines with one (common practice, no source).
const capacitorCaution = "With the supply off, discharge each capacitor through a resistor of some 20 kilohms and 5 W held across its terminals with insulated probes, for five seconds; then read its volts: near 0. A screwdriver across it can burn eyes and hands."

// pointCautions go before a list of tests of this machine.
func (r namer) pointCautions() []string {
	out := append([]string{}, pointCautions[:]...)
	for _, p := range r.c.Parts() {
		if p.Kind == circuit.KindCapacitor {
			return append(out, capacitorCaution)
		}
	}
	return out
}
