package visit

import (
	"context"
	"strings"

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

func (r *rival) start(j *Job, opt suspect.Options) error {
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
		if n.Quiet != "" { // of what this machine has besides
			if err := r.add(ctx, Quiet(r.Circuit, r.job.Notes)[len(r.job.Notes):]); err != nil {
				return err
			}
			continue
		}
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
	n.Mode = modesOn(n.Mode, from, to)
	if n.testless() || n.Made() && n.P == "" {
		return n, n.Check(to) == nil
	}
	for _, at := range []*string{&n.P, &n.Q, &n.Lifted, &n.Unreachable} {
		if *at == "" {
			continue
		}
		was, err := from.FindPlace(*at)
		if err != nil {
			continue
		}
		ref := from.Terminal(was).Ref
		if is, err := to.FindPlace(*at); err != nil || to.Terminal(is).Ref != ref {
			*at = ref
		}
	}
	if _, err := to.FindMode(n.Mode); err != nil && ReadDead(n.Function) {
		n.Mode = to.Mode(to.OffMode()).Name // with the supply off the knobs matter little
	}
	return n, n.Check(to) == nil
}

// modesOn names the modes of a note, of which one was meant where there are several,
// as another machine does.
func modesOn(names string, from, to *circuit.Circuit) string {
	var out []string
	for _, name := range strings.Split(names, suspect.Either) {
		out = append(out, modeOn(name, from, to))
	}
	return strings.Join(out, suspect.Either)
}

// modeOn is what another machine calls a mode: by its name, else the one that has most
// of the same loads on, and fewest others; the name itself where none has any.
func modeOn(name string, from, to *circuit.Circuit) string {
	was, err := from.FindMode(name)
	if err != nil {
		return name
	}
	if _, err := to.FindMode(name); err == nil {
		return name
	}
	if was == from.OffMode() && to.OffMode() != circuit.None {
		return to.Mode(to.OffMode()).Name
	}
	on := loadsOn(from, was)
	best, most := name, 0.0
	for i := range to.Modes() {
		there := loadsOn(to, circuit.ModeID(i))
		both := 0
		for load := range on {
			if there[load] {
				both++
			}
		}
		// The share of what either has on that both have (the Jaccard index).
		if alike := float64(both) / float64(max(1, len(on)+len(there)-both)); alike > most+1e-9 {
			best, most = to.Mode(circuit.ModeID(i)).Name, alike
		}
	}
	return best
}

// loadsOn names the loads that a mode should have on.
func loadsOn(c *circuit.Circuit, mode circuit.ModeID) map[string]bool {
	out := map[string]bool{}
	for _, x := range c.Mode(mode).Expect {
		if x.Share > 0 {
			out[c.Branch(x.Load).Ref] = true
		}
	}
	return out
}
