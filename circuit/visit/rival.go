package visit

import (
	"context"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// rival is one candidate, with a job of its own once there is something to weigh.
type rival struct {
	Candidate
	job *Job
	// lacks counts what was noted that it has no name for.
	lacks int
}

func (r *rival) start(ctx context.Context, j *Job, opt suspect.Options) error {
	job := &Job{Record: Record{Ambient: j.Ambient, Meter: j.Meter, Complaint: j.Complaint, Date: j.Date}, Circuit: r.Circuit}
	r.job, r.lacks = job, 0
	var err error
	job.Engine, err = suspect.New(r.Circuit, opt)
	job.Progress = suspect.NewProgress()
	return err
}

// take weighs notes in the names of the job's circuit by a candidate's own. Of
// them, so many first ones are the customer's words, which are read anew.
func (r *rival) take(ctx context.Context, f *Family, j *Job, notes []Note, said int) error {
	if said > 0 {
		own, err := f.Read(r.Circuit, j.Complaint)
		for i := range own {
			own[i].Step = notes[0].Step
		}
		if err != nil || len(own) == 0 {
			r.lacks++
		}
		if err := r.add(ctx, own); err != nil {
			return err
		}
	}
	for _, n := range notes[said:] {
		m, ok := n.on(j.Circuit, r.Circuit)
		if !ok {
			if n.Made() {
				r.lacks++
			}
			continue
		}
		if err := r.add(ctx, []Note{m}); err != nil {
			return err
		}
	}
	return nil
}

func (r *rival) add(ctx context.Context, notes []Note) error {
	for _, n := range notes {
		if n.Check(r.Circuit) != nil {
			r.lacks++
			continue
		}
		r.job.Notes = append(r.job.Notes, n)
		if err := r.job.weigh(ctx, len(r.job.Notes)-1); err != nil {
			return err
		}
	}
	return nil
}

// on is a note about one machine in the names of another, where that has them.
func (n Note) on(from, to *circuit.Circuit) (Note, bool) {
	if n.testless() || n.Made() && n.P == "" {
		return n, n.Check(to) == nil
	}
	for _, at := range []*string{&n.P, &n.Q, &n.Lifted, &n.Unreachable} {
		if *at == "" {
			continue
		}
		was, err := suspect.FindPlace(from, *at)
		if err != nil {
			continue
		}
		ref := from.Terminal(was).Ref
		if is, err := suspect.FindPlace(to, *at); err != nil || to.Terminal(is).Ref != ref {
			*at = ref
		}
	}
	if _, err := to.FindMode(n.Mode); err != nil && ReadDead(n.Function) {
		n.Mode = to.Mode(to.OffMode()).Name // with the supply off the knobs matter little
	}
	return n, n.Check(to) == nil
}
