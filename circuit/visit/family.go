package visit

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// Candidate is a machine that the one at hand may be.
type Candidate struct {
	// Netlist names it; Share is how common it is beside the others.
	Netlist string
	Circuit *circuit.Circuit
	Share   float64
	// P is the probability that it is this one, as things stand.
	P float64
}

// Family is a visit to a machine of which the wiring is not known: all candidates
// are weighed at once. The likeliest leads: the job's circuit, engine and notes are
// its.
type Family struct {
	// Read reads what a customer said by a machine's own names.
	Read func(c *circuit.Circuit, said string) ([]Note, error)

	rivals    []*rival
	lead      *rival
	questions []Question // those that tell any two apart
}

const (
	// faintRival is the probability below which a candidate is weighed no longer.
	faintRival = 0.01
	// fewRivals is the number from which several faults at once are considered.
	fewRivals = 4
	// unnamed is the probability that something is told, or asked, of a part or a
	// mode that a machine does not have (common practice, no source).
	unnamed = 0.02
)

// StartFamily is [Start] for a machine that is one of several. The record's notes are
// in the names of one of them, by its netlist; where it holds none, that is empty.
func StartFamily(ctx context.Context, candidates []Candidate, read func(*circuit.Circuit, string) ([]Note, error), rec Record, of string) (*Job, error) {
	if len(candidates) < 2 {
		return nil, errors.New("give at least two candidate wirings")
	}
	f := &Family{Read: read}
	for _, c := range candidates {
		f.rivals = append(f.rivals, &rival{Candidate: c})
	}
	j := &Job{Record: rec, family: f}
	if at := slices.IndexFunc(f.rivals, func(r *rival) bool { return r.Netlist == of }); at >= 0 {
		f.lead, j.Circuit = f.rivals[at], f.rivals[at].Circuit
	} else if len(rec.Notes) > 0 {
		return nil, fmt.Errorf("%s is no member of the family, and the notes are in its names", of)
	}
	f.questions = questions(candidates)
	for _, s := range rec.Outside {
		if _, err := s.check(f.questions, f.candidates()); err != nil {
			return nil, err
		}
	}
	return j, j.weighAll(ctx)
}

// Candidates lists the machines that it may be, the likeliest first; nil where the
// machine is known.
func (j *Job) Candidates() []Candidate {
	if j.family == nil {
		return nil
	}
	var out []Candidate
	for _, r := range j.family.rivals {
		out = append(out, r.Candidate)
	}
	slices.SortStableFunc(out, func(a, b Candidate) int { return compareP(b.P, a.P) })
	return out
}

// compareP compares in billionths: what differs by less is alike.
func compareP(a, b float64) int { return cmp.Compare(math.Round(a*1e9), math.Round(b*1e9)) }

// Questions lists what can still be seen from outside that tells more than little
// about which machine it is, most first.
func (j *Job) Questions() []Question {
	f := j.family
	if f == nil {
		return nil
	}
	ps := f.ps()
	for i := range ps {
		if ps[i] < faintRival {
			ps[i] = 0
		}
	}
	var out []Question
	for _, q := range f.questions {
		q = q.among(ps)
		if q.Bits >= leastOutside && !slices.ContainsFunc(j.Outside, func(s Seen) bool { return s.key() == q.Key }) {
			out = append(out, q)
		}
	}
	slices.SortStableFunc(out, func(a, b Question) int {
		if a.extra != b.extra {
			return map[bool]int{true: 1, false: -1}[a.extra]
		}
		return compareP(b.Bits, a.Bits)
	})
	return out
}

// See takes an answer to a question.
func (j *Job) See(ctx context.Context, s Seen) error {
	f := j.family
	if f == nil {
		return errors.New("the machine is known: nothing is asked of its outside")
	}
	if _, err := s.check(f.questions, f.candidates()); err != nil {
		return err
	}
	was := j.Record
	j.Outside = append(j.Outside, s)
	if err := j.keepOr(was); err != nil {
		return err
	}
	return j.weighAll(ctx)
}

func (f *Family) candidates() (out []Candidate) {
	for _, r := range f.rivals {
		out = append(out, r.Candidate)
	}
	return out
}

// Absent says that there is no such place as a test needs. Which place that is,
// some of the candidates tell, which have none; else it is left out as any place
// that cannot be reached.
func (j *Job) Absent(ctx context.Context, t suspect.Test) error {
	n := About(j.Circuit, t)
	var refs []string
	switch {
	case t.Ask != "":
		refs = []string{j.Circuit.Part(t.Part).Name}
	case !t.Trial:
		refs = []string{j.Circuit.Terminal(t.Probes.P).Ref, j.Circuit.Terminal(t.Probes.Q).Ref}
	}
	for _, ref := range refs {
		if j.family == nil {
			break
		}
		if q, err := Seen(ref+"=no").check(nil, j.family.candidates()); err == nil && slices.Contains(q.is, "no") {
			return j.See(ctx, Seen(ref+"=no"))
		}
	}
	if n.Skipped = true; len(refs) > 0 {
		n.Skipped, n.Unreachable = false, j.Reach(t)
	}
	return j.Add(ctx, n)
}

func (f *Family) ps() []float64 {
	var out []float64
	for _, r := range f.rivals {
		out = append(out, r.P)
	}
	return out
}

// among are the candidates worth weighing, the one that leads first.
func (f *Family) among() suspect.Among {
	out := suspect.Among{{Engine: f.lead.job.Engine, Progress: f.lead.job.Progress, P: f.lead.P}}
	total := f.lead.P
	for _, r := range f.rivals {
		if r != f.lead && r.job != nil && r.P >= faintRival {
			out, total = append(out, suspect.Rival{Engine: r.job.Engine, Progress: r.job.Progress, P: r.P}), total+r.P
		}
	}
	for i := range out {
		out[i].P /= total
	}
	return out
}

// Among are the candidates with what they make of what was noted; one where the
// machine is known.
func (j *Job) Among() suspect.Among {
	if j.family == nil {
		return suspect.Among{{Engine: j.Engine, Progress: j.Progress, P: 1}}
	}
	return j.family.among()
}

// weighAll weighs all that is known anew, by every candidate that what is seen from
// outside leaves likely.
func (f *Family) weighAll(ctx context.Context, j *Job) error {
	for _, r := range f.rivals {
		r.job, r.lacks = nil, 0
	}
	f.share(j.Outside)
	live := f.live()
	if len(j.Notes) == 0 {
		live = nil
	}
	opt := j.Options()
	if len(live) > fewRivals {
		opt.Order = 1
	}
	said := f.said(j)
	for _, r := range live {
		if err := r.start(j, opt); err != nil {
			return err
		}
		if err := r.take(ctx, f, j, j.Notes, said); err != nil {
			return err
		}
	}
	f.share(j.Outside)
	if now := f.live(); opt.Order == 1 && len(now) <= fewRivals { // more faults at once, of the few left
		for _, r := range now {
			if err := r.start(j, j.Options()); err != nil {
				return err
			}
			if err := r.take(ctx, f, j, j.Notes, said); err != nil {
				return err
			}
		}
		f.share(j.Outside)
	}
	return f.follow(ctx, j)
}

// said counts the first notes that are what the customer said.
func (f *Family) said(j *Job) int {
	if f.Read == nil || j.Complaint == "" || j.Circuit == nil {
		return 0
	}
	own, err := f.Read(j.Circuit, j.Complaint)
	if err != nil || len(own) > len(j.Notes) {
		return 0
	}
	for i, n := range own {
		is := j.Notes[i]
		is.Step, is.Minutes, n.Step, n.Minutes = 0, 0, 0, 0
		if is != n {
			return 0
		}
	}
	return len(own)
}

// live are the candidates worth weighing.
func (f *Family) live() (out []*rival) {
	for _, r := range f.rivals {
		if r.P >= faintRival {
			out = append(out, r)
		}
	}
	return out
}

// share works out how likely each candidate is, by what is seen from outside and
// what was noted. One that was let go stays as likely beside the others as then.
func (f *Family) share(outside []Seen) {
	logs := make([]float64, len(f.rivals))
	best := math.Inf(-1)
	weighed := slices.ContainsFunc(f.rivals, func(r *rival) bool { return r.job != nil })
	for i, r := range f.rivals {
		logs[i] = math.Log(r.Share)
		for _, s := range outside {
			if q, err := s.check(f.questions, f.candidates()); err == nil && s.answer() != "" && q.is[i] != s.answer() {
				logs[i] += math.Log(mistold)
			}
		}
		switch {
		case r.job != nil:
			logs[i] += r.job.Engine.LogEvidence() + float64(r.lacks)*math.Log(unnamed)
		case weighed:
			logs[i] = math.Inf(-1)
		}
		best = max(best, logs[i])
	}
	sum := 0.0
	for i := range logs {
		logs[i] = math.Exp(logs[i] - best)
		sum += logs[i]
	}
	for i, r := range f.rivals {
		r.P = logs[i] / sum
	}
}

// follow puts the likeliest of the candidates that can say all that was noted at
// the head of the job.
func (f *Family) follow(ctx context.Context, j *Job) error {
	var lead *rival
	for _, r := range f.rivals {
		if r.lacks == 0 && (len(j.Notes) == 0 || r.job != nil) && (lead == nil || compareP(r.P, lead.P) > 0) {
			lead = r
		}
	}
	if lead == nil {
		lead = f.lead
	}
	if f.lead = lead; lead.job == nil {
		if err := lead.start(j, j.Options()); err != nil {
			return err
		}
	}
	j.Circuit, j.Engine, j.Progress, j.noteOf = lead.Circuit, lead.job.Engine, lead.job.Progress, lead.job.noteOf
	if len(j.Notes) > 0 {
		j.Notes = slices.Clone(lead.job.Notes)
	}
	return nil
}

// add weighs the notes from one on.
func (f *Family) add(ctx context.Context, j *Job, from int) error {
	if from == 0 {
		return f.weighAll(ctx, j)
	}
	notes := j.Notes[from:]
	for _, r := range f.live() {
		if r.job == nil {
			continue
		}
		if err := r.take(ctx, f, j, notes, 0); err != nil {
			return err
		}
	}
	before := len(f.live())
	f.share(j.Outside)
	if before > fewRivals && len(f.live()) <= fewRivals {
		return f.weighAll(ctx, j)
	}
	return f.follow(ctx, j)
}

// Netlist names the candidate that leads; it is empty where the machine is known.
func (j *Job) Netlist() string {
	if j.family == nil {
		return ""
	}
	return j.family.lead.Netlist
}

// Chance is the probability that the machine is the one that leads.
func (j *Job) Chance() float64 {
	if j.family == nil {
		return 1
	}
	return j.family.lead.P
}

// Suspects ranks what may be wrong, over all candidates.
func (j *Job) Suspects(most int) []suspect.Suspect {
	if j.family == nil {
		return j.Engine.Suspects(most)
	}
	var out []suspect.Suspect
	for _, s := range j.Among().Suspects(most) {
		out = append(out, s.Suspect)
	}
	return out
}

// Lead puts a candidate at the head until something is noted.
func (j *Job) Lead(ctx context.Context, netlist string) error {
	f := j.family
	at := -1
	if f != nil {
		at = slices.IndexFunc(f.rivals, func(r *rival) bool { return r.Netlist == netlist })
	}
	if at < 0 || len(j.Notes) > 0 {
		return errors.New("only before anything is noted, and to a candidate")
	}
	if f.lead = f.rivals[at]; f.lead.job == nil {
		if err := f.lead.start(j, j.Options()); err != nil {
			return err
		}
	}
	j.Circuit, j.Engine, j.Progress = f.lead.Circuit, f.lead.job.Engine, f.lead.job.Progress
	return nil
}
