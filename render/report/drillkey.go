package report

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit/drill"
)

// DrillKey is a teacher's answers to a set of drills.
type DrillKey struct {
	Document string       `json:"document" help:"which document this is"`
	Title    string       `json:"title" help:"the set's"`
	Drills   []DrillKeyOf `json:"drills" help:"by name, in order"`
}

// DrillKeyOf is the answer to one.
type DrillKeyOf struct {
	Drill     string        `json:"drill" help:"name in the set"`
	Machine   string        `json:"machine" help:"title"`
	Complaint []string      `json:"complaint" help:"what the customer says"`
	Hidden    []string      `json:"hidden" help:"the faults, as they are written"`
	Words     []string      `json:"words" help:"the same in words"`
	Places    []string      `json:"places" help:"where each is"`
	Code      string        `json:"code" help:"the drill sealed for learners; empty without a word"`
	Best      drill.Figures `json:"best" help:"the best plan's figures"`
	Moves     []string      `json:"moves" help:"what the best plan does, and sees"`
}

// NewDrillKey makes the document. Codes are sealed where there is a seal.
func NewDrillKey(title string, keys []drill.Key, seal *drill.Seal) (*DrillKey, error) {
	out := &DrillKey{Document: "drill key", Title: oneLine(title), Drills: []DrillKeyOf{}}
	for _, k := range keys {
		d := DrillKeyOf{Drill: k.Task.Name, Machine: oneLine(k.Task.Circuit.Title()), Complaint: k.Drill.Complaint().Said,
			Hidden: k.Drill.Refs(), Places: k.Drill.Places(), Best: k.Best, Moves: k.Moves, Words: []string{}}
		for _, h := range k.Drill.Hidden() {
			d.Words = append(d.Words, oneLine(h.Cause.Label))
		}
		if seal != nil {
			var err error
			if d.Code, err = seal.Close(k.Drill); err != nil {
				return nil, err
			}
		}
		out.Drills = append(out.Drills, d)
	}
	return out, nil
}

func (d *DrillKey) blocks(p *page) {
	title := "Key to the drills"
	if d.Title != "" {
		title += ": " + d.Title
	}
	p.heading(title)
	for _, k := range d.Drills {
		p.heading(k.Drill + ", on: " + k.Machine)
		for i, words := range k.Words {
			p.para(2, fmt.Sprintf("Hidden: %s (%s). Where: %s", words, strings.Join(k.Hidden, ", "), k.Places[i]))
		}
		p.para(2, fmt.Sprintf("The best plan takes %.0f minutes and %d tests.", k.Best.Minutes, k.Best.Tests))
		if k.Code != "" {
			p.para(2, "Sealed for learners:")
			lines := ""
			for part := range slices.Chunk([]byte(k.Code), Width-8) {
				lines += string(part) + "\n"
			}
			p.add(verbatimBlock{"text", lines})
		}
		p.para(2, "The customer says:")
		p.para(4, k.Complaint...)
		p.para(2, "The best plan:")
		p.para(4, k.Moves...)
	}
	p.cautions()
}
