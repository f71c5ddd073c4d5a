package drill

import (
	"context"
	"math"
	"slices"
	"strings"

	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Verdict says what a test was worth.
type Verdict string

// Verdicts.
const (
	// GaveAway: the one that raised the hidden fault most, and past all others
	// together, where it was not before.
	GaveAway Verdict = "gave it away"
	Narrowed Verdict = "narrowed it down"
	Misled   Verdict = "spoke against it" // a slip, or a reading by an unlikely error
	Waste    Verdict = "waste"
)

// wasteBits is the information below which a test was waste.
const wasteBits = 0.05

// Judged is a test with what it was worth.
type Judged struct {
	Text    string
	Showed  string
	Healthy string // what a sound machine shows
	Verdict Verdict
	// Bits is the information it gave about the explanation: how far it moved
	// the suspects (the Kullback-Leibler divergence of the weights after it from
	// those before).
	Bits float64
	// Before and After are the hidden fault's chances among all considered.
	Before, After float64
	Minutes       float64
}

// Judge weighs every test of the session as the engine would have, in the order
// made.
func (s *Session) Judge(ctx context.Context) ([]Judged, error) {
	w, err := s.weigh(ctx)
	if err != nil {
		return nil, err
	}
	return slices.Clone(w.tests), nil
}

// weighed is what a session's steps were worth by what was known at each.
type weighed struct {
	steps int // that were weighed
	tests []Judged
	// chance is what the parts rightly named are charged for: each the minutes
	// of a wrong part times the probability, by all that was seen until then,
	// that it would have been one.
	chance float64
}

// weigh goes through the session with an engine that learns what the learner
// did. It is done once for as many steps as there are.
func (s *Session) weigh(ctx context.Context) (*weighed, error) {
	if s.weighed != nil && s.weighed.steps == len(s.steps) {
		return s.weighed, nil
	}
	e, err := s.d.engine(ctx)
	if err != nil {
		return nil, err
	}
	defer s.d.giveBack(s.d.opt.Faults, e)
	r := ruler{d: s.d, e: e, known: e.Suspects(math.MaxInt)}
	for i := range s.steps {
		if err := r.measure(ctx, &s.steps[i]); err != nil {
			return nil, err
		}
	}
	s.weighed = r.done()
	return s.weighed, nil
}

// ruler measures steps in the order made, by an engine that learns what each
// told.
type ruler struct {
	d     *Drill
	e     *suspect.Engine
	known []suspect.Suspect // so far
	weighed
}

func (r *ruler) measure(ctx context.Context, step *Step) error {
	r.steps++
	if step.Move.Verb == Name && step.Unsafe == nil && !step.Wrong {
		r.chance += WrongPartMinutes * max(0, 1-r.d.right(r.known, step.Move.Named))
	}
	before := r.known
	if len(step.Evidence) > 0 {
		if err := learn(ctx, r.e, step.Evidence); err != nil {
			return err
		}
		r.known = r.e.Suspects(math.MaxInt)
	}
	if !step.test() {
		return nil
	}
	j, err := r.d.judge(before, r.known, step)
	r.tests = append(r.tests, j)
	return err
}

// done is what was measured, each test with its verdict.
func (r *ruler) done() *weighed {
	sortOut(r.tests)
	return &r.weighed
}

// judge tells what a test was worth that led from what was known before to what
// was known after.
func (d *Drill) judge(before, after []suspect.Suspect, step *Step) (Judged, error) {
	j := Judged{Text: step.Move.Words(d.c), Minutes: step.Minutes, Before: d.chance(before), After: d.chance(after), Bits: moved(before, after)}
	var err error
	j.Showed, j.Healthy, err = d.beside(step)
	return j, err
}

// right is the probability that naming a part or wire would be right.
func (d *Drill) right(known []suspect.Suspect, named string) float64 {
	p := 0.0
	for _, s := range known {
		if slices.ContainsFunc(s.Causes, func(cl suspect.Class) bool {
			return slices.Contains(d.names(Hidden{Class: cl}), named)
		}) {
			p += s.P
		}
	}
	return p
}

// sortOut gives every test its verdict.
func sortOut(out []Judged) {
	best := -1
	for i := range out {
		j := &out[i]
		switch {
		case j.Bits < wasteBits:
			j.Verdict = Waste
			continue
		case j.After < j.Before:
			j.Verdict = Misled
			continue
		}
		j.Verdict = Narrowed
		if best < 0 || j.gain() > out[best].gain()+1e-9 {
			best = i
		}
	}
	if best >= 0 && out[best].After >= 0.5 && out[best].Before < 0.5 {
		out[best].Verdict = GaveAway
	}
}

// gain is how far a test raised the odds of the hidden fault, in bits.
func (j *Judged) gain() float64 {
	odds := func(p float64) float64 { return math.Log2(max(p, 1e-9) / max(1-p, 1e-9)) }
	return odds(j.After) - odds(j.Before)
}

// chance sums the weight of explanations that hold all hidden faults, or any of
// them where none holds all.
func (d *Drill) chance(list []suspect.Suspect) float64 {
	all, some := 0.0, 0.0
	for _, s := range list {
		n := 0
		for _, h := range d.hidden {
			if slices.ContainsFunc(s.Causes, func(cl suspect.Class) bool { return sameClass(cl, h.Class) }) {
				n++
			}
		}
		if n == len(d.hidden) {
			all += s.P
		}
		some += s.P * float64(n) / float64(len(d.hidden))
	}
	return max(all, some)
}

func sameClass(a, b suspect.Class) bool {
	return len(a.Members) > 0 && len(b.Members) > 0 && slices.Equal(a.Members[0].Faults, b.Members[0].Faults)
}

// moved is the divergence of the weights after from those before.
func moved(before, after []suspect.Suspect) float64 {
	weight := map[string]float64{}
	for _, s := range before {
		weight[key(s)] += s.P
	}
	bits := 0.0
	for _, s := range after {
		if s.P > 0 {
			bits += s.P * math.Log2(s.P/max(weight[key(s)], 1e-9))
		}
	}
	return max(0, bits)
}

func key(s suspect.Suspect) string {
	k := ""
	for _, cl := range s.Causes {
		k += cl.Members[0].Label + "; "
	}
	return k
}

// beside says what a test showed, and what it shows on a sound machine.
func (d *Drill) beside(step *Step) (showed, healthy string, err error) {
	showed = step.Said[0]
	if step.Move.Verb == Try {
		showed = strings.Join(step.Said, " ")
		sound := d.Start()
		return showed, strings.Join(sound.seen(d.sound[step.Move.Mode]), " "), nil
	}
	if len(step.Evidence) == 0 {
		return showed, "", nil
	}
	o := step.Evidence[0].Reading
	r, err := meter.New(d.c, d.opt.Instrument).Take(o.Probes, o.Mode, o.Lift, nil)
	return showed, r.Range(), err
}
