package drill

import (
	"fmt"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Complaint is what the customer says, worked out from what the machine does.
type Complaint struct {
	// Said holds a sentence each.
	Said []string
	// Evidence is the same for the engine: nothing more, nothing less.
	Evidence []suspect.Evidence
}

// look is what a person sees in a mode.
type look struct {
	mode            circuit.ModeID
	states          []circuit.LoadState // by seen load
	trips, chatters bool
	tripped         []circuit.BranchID
	metal           float64 // volts from the bare metal to the neutral point
	known           bool    // the engine could work it out
}

// look settles a mode and sees what it does.
func (d *Drill) look(mode circuit.ModeID, hidden []Hidden) look {
	return d.lookWith(mode, d.faults(hidden))
}

func (d *Drill) lookWith(mode circuit.ModeID, faults []circuit.Fault) look {
	out := look{mode: mode}
	o, err := d.bench.Live(mode, faults)
	if err != nil {
		return out
	}
	out.known, out.trips, out.chatters, out.tripped = true, len(o.Tripped) > 0, o.Chatter != nil, o.Tripped
	sound := o
	if len(faults) > 0 {
		if sound, err = d.bench.Live(mode, nil); err != nil {
			return look{mode: mode}
		}
	}
	for _, id := range suspect.SeenLoads(d.c) {
		out.states = append(out.states, circuit.JudgeLoad(o, sound, id))
	}
	if metal := d.c.ChassisTerminal(); !o.AnyState.Floating[metal] {
		out.metal = cmplx.Abs(o.AnyState.Volts[metal])
	}
	return out
}

// looks sees every mode.
func (d *Drill) looks(hidden []Hidden) []look {
	var out []look
	for i := range d.c.Modes() {
		out = append(out, d.look(circuit.ModeID(i), hidden))
	}
	return out
}

// same reports whether a person would see no difference in any mode. Modes too
// short to look at do not count.
func (d *Drill) same(a, b []look) bool {
	for i := range a {
		if d.c.Mode(circuit.ModeID(i)).Brief || !a[i].known || !b[i].known {
			continue
		}
		if a[i].trips != b[i].trips || a[i].chatters != b[i].chatters || !a[i].trips && !slices.Equal(a[i].states, b[i].states) {
			return false
		}
	}
	return true
}

// remark is one thing to say: what a load, or the machine, does in some modes.
type remark struct {
	load  circuit.BranchID // None: the machine
	how   behaviour
	state circuit.LoadState // of the load
	what  string            // for the machine
	modes []circuit.ModeID
	// of is the number of modes in which it could be said of the load.
	of int
}

// behaviour is how a load, or the machine, does in a person's eyes.
type behaviour uint8

const (
	trips behaviour = iota
	stuck
	dead
	hums
	weak
	over
	chatters
	works
)

// verbs say what a person sees a load do, by kind of part.
var verbs = map[circuit.Kind][works + 1]string{
	circuit.KindElement:        {works: "heats as it should", stuck: "heats though it should not", dead: "stays cold", weak: "heats only weakly", over: "gets too hot"},
	circuit.KindSurfaceElement: {works: "heats as it should", stuck: "heats though it should not", dead: "stays cold", weak: "heats only weakly", over: "gets too hot"},
	circuit.KindLamp:           {works: "lights as it should", stuck: "lights though it should not", dead: "stays dark", weak: "is dim", over: "is too bright"},
	circuit.KindMotor:          {works: "runs as it should", stuck: "runs though it should not", dead: "does not turn", hums: "hums and does not turn", weak: "turns feebly", over: "runs too fast"},
	circuit.KindFan:            {works: "runs as it should", stuck: "runs though it should not", dead: "does not turn", hums: "hums and does not turn", weak: "turns feebly", over: "runs too fast"},
	circuit.KindControl:        {works: "shows its display", stuck: "shows its display though it should not", dead: "shows nothing", weak: "is faint", over: "is too bright"},
	circuit.KindLatch:          {works: "moves as it should", stuck: "moves though it should not", dead: "does not move", weak: "moves feebly", over: "moves too fast"},
}

var anyVerb = [works + 1]string{works: "works as it should", stuck: "is on though it should not be", dead: "does nothing", hums: "hums", weak: "works only weakly", over: "gets too much"}

// complain words the complaint: as much of what is wrong, and of what works,
// as the level has the customer tell.
func (d *Drill) complain() Complaint {
	remarks := d.remarks(d.looks(d.hidden))
	split := slices.IndexFunc(remarks, func(r remark) bool { return r.how == works })
	if split < 0 {
		split = len(remarks)
	}
	wrong, well := remarks[:split], remarks[split:]
	switch d.opt.Level {
	case Journeyman:
		well = well[:min(1, len(well))]
	case Master:
		wrong, well = d.worst(wrong), nil
	}
	var out Complaint
	for _, r := range wrong {
		out.Said = append(out.Said, d.sentence(r))
	}
	out.Said = append(out.Said, d.well(well)...)
	for _, r := range append(slices.Clone(wrong), well...) {
		out.Evidence = append(out.Evidence, r.evidence()...)
	}
	if s := d.tingle(); s != "" {
		out.Said = append(out.Said, s)
	}
	return out
}

// worst keeps the first thing to say of each fault, and the first mode of that.
func (d *Drill) worst(wrong []remark) []remark {
	var out []remark
	for _, h := range d.hidden {
		own := d.remarks(d.looks([]Hidden{h}))
		at := slices.IndexFunc(wrong, func(r remark) bool {
			return slices.ContainsFunc(own, func(o remark) bool { return o.load == r.load && o.how == r.how && slices.Contains(o.modes, r.modes[0]) })
		})
		if at < 0 {
			continue // it shows only together with another
		}
		r := wrong[at]
		r.modes = r.modes[:1]
		if !slices.ContainsFunc(out, func(o remark) bool { return o.load == r.load && o.how == r.how && o.modes[0] == r.modes[0] }) {
			out = append(out, r)
		}
	}
	if len(out) == 0 && len(wrong) > 0 {
		wrong[0].modes = wrong[0].modes[:1]
		out = wrong[:1]
	}
	return out
}

// remarks gathers what there is to say, worst first, then what works, the
// largest load first.
func (d *Drill) remarks(is []look) []remark {
	var out []remark
	note := func(mode circuit.ModeID, r remark) {
		for i := range out {
			if o := &out[i]; o.load == r.load && o.how == r.how && o.state == r.state && o.what == r.what {
				o.modes = append(o.modes, mode)
				return
			}
		}
		r.modes = []circuit.ModeID{mode}
		out = append(out, r)
	}
	loads := suspect.SeenLoads(d.c)
	onIn := map[circuit.BranchID]int{}
	for i := range is {
		mode := circuit.ModeID(i)
		if d.c.Mode(mode).Brief || !is[i].known || !d.sound[i].known {
			continue
		}
		for k, load := range loads {
			if d.sound[i].states[k].On() {
				onIn[load]++
			}
		}
		if is[i].trips && !d.sound[i].trips {
			note(mode, remark{load: circuit.None, how: trips, what: d.trippedWord(is[i].tripped)})
			continue
		}
		if is[i].chatters && !d.sound[i].chatters {
			note(mode, remark{load: circuit.None, how: chatters, what: "a relay buzzes and clicks on and off"})
		}
		for k, load := range loads {
			if how, said := behaviourOf(is[i].states[k]); said {
				note(mode, remark{load: load, how: how, state: is[i].states[k]})
			}
		}
	}
	for i := range out {
		out[i].of = onIn[out[i].load]
	}
	slices.SortStableFunc(out, func(a, b remark) int {
		if a.how != b.how {
			return int(a.how) - int(b.how)
		}
		if a.how == works {
			return int(d.watts(b.load) - d.watts(a.load))
		}
		return 0
	})
	return out
}

func (d *Drill) watts(load circuit.BranchID) float64 {
	if load == circuit.None {
		return 0
	}
	return d.c.Branch(load).Watts
}

// behaviourOf is how a load's state is put. A load that is off and should be is
// not worth a word.
func behaviourOf(is circuit.LoadState) (how behaviour, said bool) {
	how, said = map[circuit.LoadState]behaviour{circuit.Normal: works, circuit.StaysOn: stuck, circuit.Dead: dead, circuit.Hums: hums, circuit.Weak: weak, circuit.TooMuch: over}[is]
	return how, said
}

func (d *Drill) trippedWord(list []circuit.BranchID) string {
	for _, id := range list {
		switch d.c.Part(d.c.Branch(id).Part).Kind {
		case circuit.KindRCD:
			return "the residual-current device trips"
		case circuit.KindBreaker, circuit.KindSupply:
			return "the breaker trips"
		}
	}
	return "a fuse blows"
}

func (d *Drill) sentence(r remark) string {
	if r.load == circuit.None {
		return circuit.UpperFirst(r.what) + " " + d.inModes(r.modes) + "."
	}
	p := d.c.Part(d.c.Branch(r.load).Part)
	verb := anyVerb[r.how]
	if own, ok := verbs[p.Kind]; ok {
		verb = own[r.how]
	}
	s := "The " + circuit.LowerFirst(d.c.Label(r.load)) + " " + verb
	if r.how != stuck && r.of == len(r.modes) && r.of > 2 {
		return s + " whenever it should be on."
	}
	return s + " " + d.inModes(r.modes) + "."
}

// well gathers the loads that work wherever they should in one sentence; those
// that work in some modes only have one each.
func (d *Drill) well(remarks []remark) []string {
	var whole, out []string
	for _, r := range remarks {
		if r.of == len(r.modes) {
			whole = append(whole, "the "+circuit.LowerFirst(d.c.Label(r.load)))
		} else {
			out = append(out, d.sentence(r))
		}
	}
	switch len(whole) {
	case 0:
		return out
	case 1:
		return append([]string{circuit.UpperFirst(whole[0]) + " works as it should."}, out...)
	}
	return append([]string{circuit.UpperFirst(circuit.List(whole)) + " work as they should."}, out...)
}

func (d *Drill) inModes(modes []circuit.ModeID) string {
	var names []string
	for _, m := range modes {
		names = append(names, fmt.Sprintf("%q", d.c.Mode(m).Label))
	}
	return "in " + circuit.List(names)
}

// tingle tells of metal that stands at voltage.
func (d *Drill) tingle() string {
	for i := range d.c.Modes() {
		mode := circuit.ModeID(i)
		if l := d.look(mode, d.hidden); l.metal >= meter.HazardVolts && !l.trips {
			return fmt.Sprintf("The metal gives a shock in %q.", d.c.Mode(mode).Label)
		}
	}
	return ""
}

// evidence says the same to the engine.
func (r remark) evidence() []suspect.Evidence {
	var out []suspect.Evidence
	for _, mode := range r.modes {
		out = append(out, suspect.Evidence{Symptom: &suspect.Symptom{Mode: mode, Load: r.load, State: r.state, Trips: r.how == trips, Chatters: r.how == chatters}})
	}
	return out
}
