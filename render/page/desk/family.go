package desk

import (
	"bytes"
	"context"
	"html/template"
	"math"
	"slices"

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
			words := answer
			if answer == "" {
				words = "I cannot tell"
			}
			u.Answers = append(u.Answers, choose{Words: words, Link: with(append(slices.Clone(state.Outside), q[0].Key+"="+answer))})
		}
	}
	for i, c := range j.Candidates() {
		const listed = 6
		if i >= listed || i > 0 && c.P < 0.01 {
			u.Others++
			continue
		}
		to := State{Machine: c.Netlist, Door: DoorFind}
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
