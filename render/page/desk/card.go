package desk

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// card is a test with the keys for its answer.
type card struct {
	View *view
	Test proposal
	// Proof is set for a check of a repair.
	Proof bool
	// Deed is what an answer to a reading is sent as, Looks what a trial's is, and
	// Skip what leaves it out.
	Deed, Looks, Skip string
	// Field names the field of the answer, Unit what it is in.
	Field, Unit string
	Live        bool
	Pad         []string
	Quick       []quick
	// Here is this page's own reading, where its meter is set to the test.
	Here string
}

// quick is an answer at a tap.
type quick struct{ Label, Answer string }

// Card makes the card of a proposal.
func (v *view) Card(p proposal, at int) card {
	c := newCard(v, p)
	c.Deed, c.Looks, c.Skip, c.Field = "test", "trial", "skip", "answer-"+strconv.Itoa(at)
	c.Here = v.Matches(p)
	return c
}

// CheckCard makes the card of a check of a repair.
func (v *view) CheckCard(k check, at int) card {
	c := newCard(v, k.proposal)
	c.Proof, c.Deed, c.Looks, c.Skip, c.Field = true, "check", "checked", "pass", "check-"+strconv.Itoa(at)
	return c
}

func newCard(v *view, p proposal) card {
	c := card{View: v, Test: p, Live: p.Live, Pad: []string{"7", "8", "9", "⌫", "4", "5", "6", "k", "1", "2", "3", "M", "0", ".", "OL"}}
	if p.Ask != "" {
		c.Pad = nil
		for _, a := range p.Answers {
			c.Quick = append(c.Quick, quick{a.Label, a.Ref})
		}
		return c
	}
	f, err := meter.ParseFunction(p.Function)
	if p.Trial || err != nil {
		return c
	}
	ok := quick{"Good: " + p.OK, p.OK}
	switch c.Unit = plain(f.Unit()); {
	case f == meter.Continuity:
		c.Quick = []quick{{"Beeps", "beeps"}, {"Silent: OL", "OL"}}
	case f.Live():
		c.Quick = []quick{ok, {"0 " + c.Unit, "0"}, {"Jumps about", "floating"}}
		c.Pad = []string{"7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"}
	default:
		c.Quick = []quick{ok, {"OL: open", "OL"}, {"0: shorted", "0"}}
	}
	if p.OK != "OL" && p.OK != "floating" && f != meter.Continuity {
		c.Quick[0].Label += " " + c.Unit
	}
	for i, q := range c.Quick[1:] {
		if q.Answer == p.OK {
			c.Quick = slices.Delete(c.Quick, i+1, i+2)
			break
		}
	}
	return c
}

// States are how a load may behave, as a trial asks: of those that hum alone,
// whether it does.
func (v *view) States(load string) []string {
	id, err := v.C.FindLoad(load)
	var out []string
	for _, s := range circuit.TrialStates() {
		if err != nil || v.C.CanBe(id, s) {
			out = append(out, s.String())
		}
	}
	return out
}

// Looked is an address that notes all loads of a trial as they should be.
func (s State) Looked(deed, mode string, loads []report.Named) template.URL {
	pairs := append(s.pairs(), [2]string{deed, mode})
	for _, l := range loads {
		pairs = append(pairs, [2]string{"is", l.Ref + ":normal"})
	}
	return template.URL("/?" + query(pairs))
}

// stripe is a piece of the bar of suspects: how far along it begins and how wide
// it is, in per cent.
type stripe struct {
	N    int
	X, W string
}

// bars are the suspects as a bar; what is left of it are all others.
func bars(suspects []report.Explanation) []stripe {
	var out []stripe
	at := 0.0
	for i, s := range suspects {
		out = append(out, stripe{i, strconv.FormatFloat(100*at, 'f', 2, 64), strconv.FormatFloat(100*s.P, 'f', 2, 64)})
		at += s.P
	}
	return out
}

// Answered reports whether anything was noted after what the visit began with:
// sentences, or what was tapped with what is not said of the rest.
func (v *view) Answered() bool {
	told := 1
	if len(v.Notes) > 1 && !strings.HasPrefix(v.Notes[0], sayWord) {
		if n, err := visit.ParseLine(v.Notes[1]); err == nil && n.Quiet != "" {
			told++
		}
	}
	return len(v.Notes) > told
}

// Fresh reports whether nothing was tested yet: all that is known is what was
// told.
func (v *view) Fresh() bool {
	return !slices.ContainsFunc(v.Notes, func(line string) bool {
		word, _, _ := strings.Cut(line, "~")
		return slices.Contains([]string{"read", "asked", "skip", "reach", "mended"}, word)
	})
}
