package visit

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Prover judges whether repairs held, of many finished visits to one machine. What a
// repair has to show it works out once for the causes mended and what was wrong, and
// what a sound machine shows once for each test. It must not be used by two goroutines
// at once.
type Prover struct {
	c       *circuit.Circuit
	e       *suspect.Engine
	wrong   map[suspect.Note]*suspect.Symptom
	proofs  map[string]*suspect.Proof
	shown   map[string]bool
	is      map[under]*sound
	behaves map[[2]int32]circuit.LoadState
}

// under is what a sound reading hangs on besides its test.
type under struct {
	meter   Meter
	ambient float64
}

// NewProver starts the one engine of a machine that its visits are judged by.
func NewProver(c *circuit.Circuit) (*Prover, error) {
	e, err := suspect.New(c, suspect.Options{})
	if err != nil {
		return nil, err
	}
	return &Prover{c: c, e: e, wrong: map[suspect.Note]*suspect.Symptom{}, proofs: map[string]*suspect.Proof{}, shown: map[string]bool{},
		is: map[under]*sound{}, behaves: map[[2]int32]circuit.LoadState{}}, nil
}

// Worked is how many proofs were worked out.
func (p *Prover) Worked() int { return len(p.proofs) }

// Held reports whether a repair held: all that was looked at after it was as on a
// sound machine; that was every check that hangs on what was mended and on what was
// wrong before, none left out; and some of it would have shown the fault still there.
// [Job.Proof] asks besides for what the fault may have hidden, which hangs on all that
// was seen before. Nothing that the visit says of its own proof is believed.
func (p *Prover) Held(ctx context.Context, rec Record) (bool, error) {
	if rec.Verdict == nil || len(rec.After) == 0 || slices.ContainsFunc(rec.After, func(n Note) bool { return !n.Made() }) {
		return false, nil
	}
	rec.After = slices.Clone(rec.After) // judging numbers them
	j := &Job{Record: rec, Circuit: p.c, Engine: p.e, sound: p.sound(&rec)}
	least, err := p.proof(ctx, j)
	if err != nil {
		return false, err
	}
	proof := &Proof{Proof: &suspect.Proof{Checks: p.unread(j, least.Checks)}, job: j}
	if err := proof.Judge(); err != nil || !proof.Proved() {
		return false, err
	}
	shows := false
	for _, n := range j.After {
		a, err := j.judge(n)
		if err != nil || a.Bad {
			return false, err
		}
		if shows, err = p.shows(j, n, *a.Evidence, shows); err != nil {
			return false, err
		}
	}
	return shows, nil
}

// since are the notes made since the last repair before this one.
func (j *Job) since() (out []Note) {
	repairs := func(n Note) (before int) {
		for _, m := range j.Mended {
			if m.Step < n.Step {
				before++
			}
		}
		return before
	}
	last := 0
	for _, n := range j.Notes {
		last = max(last, repairs(n))
	}
	for _, n := range j.Notes {
		if n.Made() && repairs(n) == last {
			out = append(out, n)
		}
	}
	return out
}

// proof is the least that a repair has to show.
func (p *Prover) proof(ctx context.Context, j *Job) (*suspect.Proof, error) {
	var wrong []*suspect.Symptom
	for _, n := range j.since() {
		if n.P != "" || n.Q != "" {
			continue
		}
		s, err := p.isWrong(n.Seen())
		if err != nil {
			return nil, err
		}
		if s != nil && !slices.ContainsFunc(wrong, func(w *suspect.Symptom) bool { return w.Mode == s.Mode && w.Load == s.Load }) {
			wrong = append(wrong, s)
		}
	}
	slices.SortFunc(wrong, func(a, b *suspect.Symptom) int {
		return cmp.Or(cmp.Compare(a.Mode, b.Mode), cmp.Compare(a.Load, b.Load))
	})
	key := causesOf(j)
	for _, s := range wrong {
		key += fmt.Sprintf("\n%d %d", s.Mode, s.Load)
	}
	if proof := p.proofs[key]; proof != nil {
		return proof, nil
	}
	var mended [][]circuit.Fault
	for _, cause := range j.Verdict.Causes {
		first, _, _ := strings.Cut(cause, suspect.Either)
		faults, err := parseCause(p.c, first)
		if err != nil {
			return nil, err
		}
		mended = append(mended, faults)
	}
	proof, err := p.e.Least(ctx, mended, wrong)
	if err == nil {
		p.proofs[key] = proof
	}
	return proof, err
}

func causesOf(j *Job) string { return strings.Join(j.Verdict.Causes, "\n") }

func (p *Prover) isWrong(n suspect.Note) (*suspect.Symptom, error) {
	s, known := p.wrong[n]
	if known {
		return s, nil
	}
	ev, err := Evidence(p.c, n)
	if err != nil {
		return nil, err
	}
	if s, err = p.e.Wrong(ev); err == nil {
		p.wrong[n] = s
	}
	return s, err
}

// unread leaves out the readings to take before power that were taken before the repair;
// those taken since may be with the switches as they then stood.
func (p *Prover) unread(j *Job, checks []suspect.Check) (out []suspect.Check) {
	before := j.since()
	reads := func(k *suspect.Check, notes []Note) int {
		return slices.IndexFunc(notes, func(n Note) bool {
			ev, err := n.Evidence(p.c)
			return err == nil && k.ReadBy(ev.Reading)
		})
	}
	for _, k := range checks {
		if k.Trial {
			out = append(out, k)
			continue
		}
		if reads(&k, before) >= 0 {
			continue
		}
		if at := reads(&k, j.After); at >= 0 {
			if test, err := j.After[at].Test(p.c); err == nil {
				k.Test = test
			}
		}
		out = append(out, k)
	}
	return out
}

// shows reports whether a test would have shown the fault still there, or one did before.
func (p *Prover) shows(j *Job, n Note, ev suspect.Evidence, before bool) (bool, error) {
	if before || ev.Hearsay() || ev.Symptom != nil && ev.Symptom.Load == circuit.None {
		return before, nil
	}
	test := n.Seen()
	test.State, test.Answer = "", ""
	key := causesOf(j) + fmt.Sprintf("\n%v", test)
	if shows, known := p.shown[key]; known {
		return shows, nil
	}
	faults, err := j.Verdict.Faults(p.c)
	if err != nil {
		return false, err
	}
	if s := ev.Symptom; s != nil {
		is, err := behaves(p.e, s.Mode, s.Load, faults)
		if err != nil {
			return false, err
		}
		should, err := j.sound.load(s.Mode, s.Load)
		p.shown[key] = is != should
		return is != should, err
	}
	o := ev.Reading
	is, err := p.e.Bench().Take(o.Probes, o.Mode, o.Lift, faults)
	if err != nil {
		return false, err
	}
	should, err := p.e.Bench().Take(o.Probes, o.Mode, o.Lift, nil)
	p.shown[key] = is.Differs(should)
	return p.shown[key], err
}

// sound keeps what a sound machine shows, by the meter and the room of a visit.
func (p *Prover) sound(rec *Record) *sound {
	at := under{ambient: rec.Ambient}
	if rec.Meter != nil {
		at.meter = *rec.Meter
	}
	at.meter.Name = ""
	if is := p.is[at]; is != nil {
		return is
	}
	bench, taken := meter.New(p.c, rec.Meter.Instrument()), map[string]meter.Reading{}
	if rec.Ambient != 0 {
		bench.Ambient = rec.Ambient
	}
	is := &sound{p.load, func(o *suspect.Observation) (meter.Reading, error) {
		key := fmt.Sprint(o.Probes.Function, o.Probes.P, o.Probes.Q, o.Mode, o.Lift)
		r, known := taken[key]
		if known {
			return r, nil
		}
		r, err := bench.Take(o.Probes, o.Mode, o.Lift, nil)
		if err == nil {
			taken[key] = r
		}
		return r, err
	}, bench.Instrument}
	p.is[at] = is
	return is
}

func (p *Prover) load(mode circuit.ModeID, load circuit.BranchID) (circuit.LoadState, error) {
	key := [2]int32{int32(mode), int32(load)}
	s, known := p.behaves[key]
	if known {
		return s, nil
	}
	s, err := behaves(p.e, mode, load, nil)
	if err == nil {
		p.behaves[key] = s
	}
	return s, err
}
