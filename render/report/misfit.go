package report

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// Misfit is what of the evidence speaks against the rest, see [suspect.Misfit].
type Misfit struct {
	Pieces  []Piece `json:"pieces" help:"what, taken back or answered otherwise, lets the rest be explained: one, else two"`
	Against []Known `json:"against" help:"what it contradicts; empty where that is the rest together"`
	Alone   string  `json:"alone" help:"what a reading that fits nothing speaks for by itself; else empty"`
	Without string  `json:"without" help:"what explains the rest then; empty where nothing does"`
	P       float64 `json:"without_p" help:"how probable that is, among single faults and those together that lead"`
	Third   string  `json:"third" help:"three faults together that explain it all; empty where none were found"`

	sound bool // nothing is wrong then
}

// Piece is one thing seen that fits nothing, and what would have fitted. Neither is
// given of what has no figure and no state.
type Piece struct {
	Known Known  `json:"known" help:"what fits nothing"`
	Reads string `json:"would_read" help:"of a reading: the figure or range that would fit"`
	State string `json:"would_be" help:"of a load: the state that would fit"`

	lead bool // read with the supply removed, all leads on
}

// Misfit says what fits nothing together with the rest, and the change that would
// reconcile them; nil where all fits.
func (r *Reporter) Misfit(e *suspect.Engine) *Misfit {
	found := e.Misfit()
	if found == nil {
		return nil
	}
	known := r.known(e)
	m := &Misfit{Against: []Known{}}
	for i, at := range found.Pieces {
		p := Piece{Known: known[at]}
		if o := e.Evidence()[at].Reading; o != nil {
			p.lead = !o.Probes.Function.Live() && len(o.Lift) == 0
		}
		if len(found.Instead) > 0 {
			switch in := found.Instead[i]; {
			case in.Reading != nil:
				p.Reads = in.Reading.Range()
			case in.State == circuit.StaysOn:
				p.State = "on"
			case in.State == circuit.Hums:
				p.State = "humming"
			case in.State != 0:
				p.State = in.State.String()
			}
		}
		m.Pieces = append(m.Pieces, p)
	}
	for _, at := range found.Against {
		if s := e.Evidence()[at].Symptom; s == nil || s.Whole != suspect.Quiet { // silence is no statement
			m.Against = append(m.Against, known[at])
		}
	}
	if len(found.Instead) > 0 {
		m.sound = len(found.Then.Causes) == 0
		m.Without, m.P = r.explanation(found.Then).Words(), round(found.Then.P)
	}
	if len(found.Alone.Causes) > 0 {
		m.Alone = r.explanation(found.Alone).Words()
	}
	return m
}

// Sentences tell a misfit, worded by formats as of [fmt.Sprintf].
func (m *Misfit) Sentences(say func(format string, args ...any) string) []string {
	var out []string
	for _, p := range m.Pieces {
		out = append(out, say("This fits nothing together with the rest: %s.", p.Known.Text))
		switch {
		case p.Reads != "":
			out = append(out, say("It would fit if it read %s.", p.Reads))
		case p.State != "":
			out = append(out, say("It would fit if it were %s.", p.State))
		}
	}
	if m.Alone != "" {
		out = append(out, say("By itself it speaks for: %s.", m.Alone))
	}
	if len(m.Against) > 0 {
		out = append(out, say("It does not go with: %s.", strings.Join(each(m.Against, func(k Known) string { return k.Text }), "; ")))
	}
	switch {
	case m.sound:
		out = append(out, say("The rest is as a sound machine has it."))
	case m.Without != "":
		out = append(out, say("The rest is then explained best by: %s (%s).", m.Without, Chance(m.P)))
	}
	if m.Pieces[0].lead {
		return append(out, say("Take it again, with one lead off and both probes on bare metal."))
	}
	return append(out, say("Take it again, or ask again."))
}

// Lines are the [Misfit.Sentences] in English.
func (m *Misfit) Lines() []string { return m.Sentences(fmt.Sprintf) }

func (m *Misfit) blocks(p *page) {
	if m == nil {
		return
	}
	p.heading("Something fits nothing")
	for i, s := range m.Lines() {
		if i == 0 {
			s = asBad(s)
		}
		p.para(2, s)
	}
	p.para(2, "If it stays as it is, it would take one of these:")
	if m.Third != "" {
		p.term(4, 2, "-", "a third fault: "+m.Third)
	} else {
		p.term(4, 2, "-", "a third fault: none was found that explains it all")
	}
	p.term(4, 2, "-", "a netlist that does not match the machine: check its wires at the places probed")
}

// misfit is [Reporter.Misfit] with the third fault that would explain it all.
func (r *Reporter) misfit(ctx context.Context, e *suspect.Engine, opt suspect.Options) (*Misfit, error) {
	m := r.Misfit(e)
	if m == nil {
		return nil, nil
	}
	opt.Order = 3
	three, err := suspect.New(r.c, opt)
	if err != nil {
		return nil, err
	}
	for _, ev := range e.Evidence() {
		if err := three.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return nil, err
		}
	}
	if top := three.Suspects(1); len(top) > 0 && len(top[0].Causes) > 2 && three.Fits() {
		m.Third = r.explanation(top[0]).Words()
	}
	return m, nil
}
