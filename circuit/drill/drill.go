// Package drill hides a fault in a machine and lets a learner find it.
//
// [New] draws the fault by a number, so that the same number gives the same
// drill again, and words the customer's complaint from what the engine says
// works and does not. [Drill.Start] begins a [Session]; [Parse] reads a move
// and [Session.Play] makes it: turn a mode on and look, take a reading, lift a
// lead, name the part. Moves cost minutes; an unsafe one is stopped and told.
// [Session.Score] sets the session beside the best plan on the same fault, and
// [Session.Explain] works out from this circuit what the fault did and which
// readings gave it away.
package drill

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Level says how hard a drill is.
type Level int

const (
	// Apprentice: a part is open, and the customer tells of everything.
	Apprentice Level = 1 + iota
	// Journeyman: parts, wires and joints open, contacts welded; the customer
	// tells what is wrong and of one thing that works.
	Journeyman
	// Master: anything that can fail, and one complaint.
	Master
)

// levels holds what each may hide. Levels are told by their numbers.
var levels = [...]struct {
	kinds []circuit.FaultKind // none: all
	wires bool
}{
	Apprentice: {kinds: []circuit.FaultKind{circuit.Open}},
	Journeyman: {kinds: []circuit.FaultKind{circuit.Open, circuit.Welded}, wires: true},
	Master:     {wires: true},
}

// MaxFaults is the most that are hidden at once.
const MaxFaults = 3

// Options say which drill. The zero value is that of level 1, one fault,
// number 0.
type Options struct {
	Level  Level
	Faults int
	// Number repeats the drill.
	Number uint64
	// Kind is one of [Kinds], for faults of that kind alone; empty for any.
	Kind string
	// Load names a load that the customer is to complain of, State how it is: 0
	// for any way of going wrong. Empty for any complaint.
	Load  string
	State circuit.LoadState
	// Foretell has the learner say, before each reading, what a good machine
	// would show and why.
	Foretell bool
	// Budget is the time allowed in minutes; 0 means as long as it takes.
	Budget float64
	// Instrument is the meter in hand; the zero value means the default one.
	Instrument meter.Instrument
}

func (o Options) withDefaults() (Options, error) {
	if o.Level == 0 {
		o.Level = Apprentice
	}
	if o.Faults == 0 {
		o.Faults = 1
	}
	if o.Instrument == (meter.Instrument{}) {
		o.Instrument = meter.DefaultInstrument()
	}
	switch {
	case o.Level < Apprentice || o.Level > Master:
		return o, fmt.Errorf("level %d: it goes from %d to %d", o.Level, Apprentice, Master)
	case o.Faults < 1 || o.Faults > MaxFaults:
		return o, fmt.Errorf("%d faults: it goes from 1 to %d", o.Faults, MaxFaults)
	case !(o.Budget >= 0 && o.Budget < 1e5):
		return o, fmt.Errorf("a budget of %g minutes: it goes from 0, as long as it takes, to a hundred thousand", o.Budget)
	}
	if err := o.checkChoice(); err != nil {
		return o, err
	}
	return o, o.Instrument.Check()
}

// ErrNothingShows is returned by [New] when no fault that the level may hide
// shows in any mode as asked for.
var ErrNothingShows = errors.New("no fault of this machine that may be hidden shows in any mode as asked for")

// Hidden is a fault in hiding.
type Hidden struct {
	Cause suspect.Cause
	// Class holds it with all that no listed test point tells from it.
	Class suspect.Class
}

// Drill is a machine with its hidden faults. It must not be used by two
// goroutines at once.
type Drill struct {
	c         *circuit.Circuit
	opt       Options
	bench     *meter.Bench
	hidden    []Hidden
	day       float64 // the supply, as a share of nominal
	sound     []look  // by mode
	complaint Complaint
	best      *Session
	idle      map[int]*suspect.Engine // by order
}

// New draws the faults and words the complaint. It tells of its work, a mode looked
// at for an item (see [circuit.Within]).
func New(ctx context.Context, c *circuit.Circuit, opt Options) (*Drill, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	r := rand.New(rand.NewPCG(opt.Number, uint64(opt.Level)<<8|uint64(opt.Faults)))
	// The supply of the day lies within half of what is allowed.
	d := start(c, opt, 1+meter.SupplyRange/2*(2*r.Float64()-1))
	if d.hidden, err = d.draw(ctx, r); err != nil {
		return nil, err
	}
	d.complaint = d.complain()
	return d, nil
}

// With hides the faults given rather than drawn ones, for a teacher who knows
// what to show. A fault that shows nowhere is refused.
func With(c *circuit.Circuit, opt Options, faults []circuit.Fault) (*Drill, error) {
	opt.Faults = len(faults)
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	r := rand.New(rand.NewPCG(opt.Number, uint64(opt.Level)<<8|uint64(opt.Faults)))
	d := start(c, opt, 1+meter.SupplyRange/2*(2*r.Float64()-1))
	classes := suspect.Classes(c)
	for _, f := range faults {
		d.hidden = append(d.hidden, find(c, classes, f))
	}
	if !d.shows(d.hidden) || !d.chosen(d.hidden) {
		return nil, ErrNothingShows
	}
	d.complaint = d.complain()
	return d, nil
}

func start(c *circuit.Circuit, opt Options, day float64) *Drill {
	d := &Drill{c: c, opt: opt, bench: meter.New(c, opt.Instrument), day: day, idle: map[int]*suspect.Engine{}}
	d.bench.Tolerances = false
	for i := range c.Modes() {
		d.sound = append(d.sound, d.look(circuit.ModeID(i), nil))
	}
	return d
}

// find puts a fault in its class, or in one of its own.
func find(c *circuit.Circuit, classes []suspect.Class, f circuit.Fault) Hidden {
	if f.Kind != circuit.Grounded {
		f.At = 0
	}
	for _, cl := range classes {
		for _, m := range cl.Members {
			if len(m.Faults) == 1 && m.Faults[0] == f {
				return Hidden{m, cl}
			}
		}
	}
	cause := suspect.Cause{Faults: []circuit.Fault{f}, Label: c.Describe(f)}
	return Hidden{cause, suspect.Class{Members: []suspect.Cause{cause}}}
}

// draw picks faults by their priors among those that show.
func (d *Drill) draw(ctx context.Context, r *rand.Rand) ([]Hidden, error) {
	var all []Hidden
	for _, cl := range suspect.Classes(d.c) {
		for _, m := range cl.Members {
			if d.mayHide(m) {
				all = append(all, Hidden{m, cl})
			}
		}
	}
	var out []Hidden
	for len(out) < d.opt.Faults {
		total := 0.0
		for _, h := range all {
			total += h.Cause.Prior
		}
		if total == 0 {
			return nil, ErrNothingShows
		}
		at, x := 0, r.Float64()*total
		for x -= all[0].Cause.Prior; x > 0 && at < len(all)-1; x -= all[at].Cause.Prior {
			at++
		}
		candidate := append(slices.Clone(out), all[at])
		all = slices.Delete(all, at, at+1)
		circuit.Work(ctx, 0, len(d.c.Modes())*2*len(candidate))
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if d.shows(candidate) && d.chosen(candidate) {
			out = candidate
		}
	}
	return out, nil
}

// mayHide tells whether a drill hides a cause: a fault of one branch that is
// there always, or a supply low on every leg.
func (d *Drill) mayHide(cause suspect.Cause) bool {
	level := levels[d.opt.Level]
	if cause.Part != "" || len(cause.Faults) > 1 && cause.Faults[0].Kind != circuit.Drifted {
		return false
	}
	for _, f := range cause.Faults {
		if f.Kind > circuit.Grounded {
			return false
		}
		b := d.c.Branch(f.Branch)
		if len(level.kinds) > 0 && !slices.Contains(level.kinds, f.Kind) || b.Wire != circuit.None && !level.wires && d.opt.Kind != "wire" {
			return false
		}
		if d.opt.Kind != "" && kindOf(d.c, f.Branch) != d.opt.Kind {
			return false
		}
	}
	return true
}

// shows reports whether a person would see something wrong, and whether every
// one of the faults has its part in it.
func (d *Drill) shows(hidden []Hidden) bool {
	named := map[string]int{}
	for i, h := range hidden {
		for _, name := range d.names(h) {
			if by, taken := named[name]; taken && by != i {
				return false // naming one would name the other
			}
			named[name] = i
		}
	}
	whole := d.looks(hidden)
	for i := range hidden {
		if d.same(d.looks(hidden[i:i+1]), d.sound) {
			return false
		}
		if len(hidden) > 1 && d.same(whole, d.looks(slices.Delete(slices.Clone(hidden), i, i+1))) {
			return false
		}
	}
	// Of a buzz that is no more nobody complains.
	said := d.remarks(whole)
	return !d.same(whole, d.sound) && len(said) > 0 && said[0].how != works
}

// Circuit returns the machine.
func (d *Drill) Circuit() *circuit.Circuit { return d.c }

// Options returns what the drill was made by, defaults filled in.
func (d *Drill) Options() Options { return d.opt }

// Complaint returns what the customer says.
func (d *Drill) Complaint() Complaint { return d.complaint }

// Hidden gives the faults away.
func (d *Drill) Hidden() []Hidden { return d.hidden }

// faults returns all that makes this machine, today, another than the nominal
// one.
func (d *Drill) faults(hidden []Hidden) []circuit.Fault {
	var out []circuit.Fault
	for _, leg := range d.c.Supply().Legs {
		out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: leg, Factor: d.day})
	}
	for _, h := range hidden {
		out = append(out, h.Cause.Faults...)
	}
	return out
}
