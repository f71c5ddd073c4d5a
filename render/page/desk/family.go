package desk

import (
	"bytes"
	"cmp"
	"context"
	"html/template"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// unsure is what the page shows whoever does not know which machine it is: a
// question about what can be seen from outside, and the machines left.
type unsure struct {
	Question string
	Answers  []choose
	Left     []choose
	Others   int
	// Seen is what was answered, for the last of it to be taken back.
	Seen bool
	Back template.URL
}

// choose is something to tap.
type choose struct {
	Words, Chance string
	Differs       string // from the likeliest wiring, in a line
	Link          template.URL
}

func (l *Library) unsure() []Entry {
	if l.Unsure == nil {
		return nil
	}
	return l.Unsure()
}

// narrow asks what can be seen of a machine of a family, and offers the likeliest.
func (s *Shop) narrow(ctx context.Context, r Request, name string) (Answer, error) {
	state := State{Machine: name, Door: DoorFind, Outside: readState(r.Query).Outside}
	candidates, err := s.lib.Family(name)
	if err != nil {
		return Answer{}, err
	}
	rec := visit.Record{}
	for _, seen := range state.Outside {
		rec.Outside = append(rec.Outside, visit.Seen(seen))
	}
	j, err := visit.StartFamily(ctx, candidates, nil, rec, "")
	if err != nil {
		return Answer{}, err
	}
	u := &unsure{Seen: len(state.Outside) > 0}
	with := func(outside []string) template.URL {
		next := state
		next.Outside = outside
		return next.Link()
	}
	if u.Seen {
		u.Back = with(state.Outside[:len(state.Outside)-1])
	}
	if q := j.Questions(); len(q) > 0 {
		u.Question = q[0].Text
		for _, answer := range append(slices.Clone(q[0].Answers), "") {
			words := cmp.Or(circuit.UpperFirst(q[0].Says(answer)), "I cannot tell")
			u.Answers = append(u.Answers, choose{Words: words, Link: with(append(slices.Clone(state.Outside), q[0].Key+"="+answer))})
		}
	}
	for i, c := range j.Candidates() {
		const listed = 6
		if i >= listed || i > 0 && c.P < leastWiring {
			u.Others++
			continue
		}
		to := State{Machine: c.Netlist, Door: DoorFind, Among: name, Outside: state.Outside}
		u.Left = append(u.Left, choose{Words: c.Circuit.Title(), Chance: report.Chance(math.Min(c.P, 1)), Link: to.Link()})
	}
	v := &view{situation: &situation{State: state}, Title: "legtrace", Cautions: report.Cautions(), Door: DoorFind, Narrow: u, Edition: r.Edition, Installable: r.Installable}
	name = "page"
	if p := pieceAt(r.Path); p != nil {
		name = p.name
	}
	var page bytes.Buffer
	err = s.lobby.templates.ExecuteTemplate(&page, name, v)
	return Answer{Kind: htmlKind, Body: page.Bytes(), State: state.Query()}, err
}

// among weighs what a visit noted by every wiring that the machine may have, in the
// names of the one it is taken for. It is nil where the wiring is known, and once
// something was mended: what cured it is of this wiring.
func (b *bench) among(ctx context.Context, lib *Library, s State, j *visit.Job) (*visit.Job, error) {
	if s.Among == "" || lib.Family == nil || s.Done != "" || len(j.Mended) > 0 {
		return nil, nil
	}
	candidates, err := lib.Family(s.Among)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(candidates, func(c visit.Candidate) bool { return c.Netlist == s.Machine })
	if at < 0 {
		return nil, nil
	}
	candidates[at].Circuit = b.c
	rec := j.Record
	for _, seen := range s.Outside {
		rec.Outside = append(rec.Outside, visit.Seen(seen))
	}
	f, err := visit.StartFamily(ctx, candidates, nil, rec, s.Machine)
	if err == nil && len(rec.Notes) == 0 {
		err = f.Lead(ctx, s.Machine)
	}
	return f, err
}

// wirings tells which wirings a machine may have, in words, and links to the one
// that leads where that is another than the one it is taken for.
func (b *bench) wirings(s State, f *visit.Job, v *visitView) {
	for i, c := range f.Candidates() {
		if i < mostSuspects && c.P >= leastWiring {
			v.Wirings = append(v.Wirings, choose{Words: c.Circuit.Title(), Chance: report.Chance(math.Min(c.P, 1)), Differs: report.Differs(f.Circuit, c.Circuit)})
		}
	}
	if f.Circuit != b.c {
		s.Machine, s.Door, s.Notes = f.Netlist(), DoorFind, linesOf(f.Notes)
		v.Rather = &choose{Words: f.Circuit.Title(), Chance: report.Chance(math.Min(f.Chance(), 1)), Link: s.Link()}
	}
}

// leastWiring is the probability from which a wiring is told of.
const leastWiring = 0.01
