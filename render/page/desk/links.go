package desk

import (
	"cmp"
	"html/template"
	"slices"
	"strings"
)

// The methods below are states that the page links to.

// Whole shows all of the machine, FeedOnly what feeds the load alone.
func (s State) Whole() State    { s.Only = false; return s }
func (s State) FeedOnly() State { s.Only = true; return s }

// At is the same behind another door.
func (s State) At(door string) State {
	if door != DoorLearn {
		s = s.own()
	}
	s.Door = door
	return s
}

// Of is another machine, behind the same door.
func (s State) Of(machine string) State { return State{Machine: machine, Door: s.Door} }

// Another chooses another machine.
func (s State) Another() State { return State{Door: s.door()} }

// Instead has other lines in the place of a note.
func (s State) Instead(note string, lines []string) State {
	if i := slices.Index(s.Notes, note); i >= 0 {
		s.Notes = slices.Concat(s.Notes[:i], lines, s.Notes[i+1:])
	}
	return s
}

// Meant has what a question about a note was answered.
func (s State) Meant(note, line string) State { return s.Instead(note, []string{line}) }

// Noting is a visit that begins with what was seen.
func (s State) Noting(o opening) State {
	s.Complaint, s.Notes = o.Words, o.lines
	return s
}

// Power turns the supply off or on.
func (s State) Power(off bool) State { s.Off = off; return s }

// OfLoad asks about a load, Picked looks at a part or wire.
func (s State) OfLoad(ref string) State { s.Load = ref; return s }
func (s State) Picked(ref string) State { s.Pick = ref; return s }

// Probe puts a probe on a terminal.
func (s State) Probe(which, at string) State {
	if which == "red" {
		s.Red = at
	} else {
		s.Black = at
	}
	if s.Function == "amps" {
		s.Function = ""
	}
	return s
}

// Tried turns a mode on, as a trial has it.
func (s State) Tried(mode string) State {
	s.Mode, s.Off, s.Set = mode, false, nil
	return s
}

// Tested sets mode, supply and meter as a test has them.
func (s State) Tested(mode string, live bool, function, red, black, clamp string) State {
	s = s.Tried(mode)
	s.Off, s.Function, s.Red, s.Black, s.Clamp = !live, function, red, black, cmp.Or(clamp, s.Clamp)
	return s
}

// With is an address that shows the state and does something to it.
func (s State) With(asks ...string) template.URL {
	pairs := s.pairs()
	for i := 0; i+1 < len(asks); i += 2 {
		pairs = append(pairs, [2]string{asks[i], asks[i+1]})
	}
	return template.URL("/?" + query(pairs))
}

// Noted is an address with a note more.
func (s State) Noted(line string) template.URL {
	s.add(line)
	return s.Link()
}

// Again takes answers to a check back.
func (s State) Again(notes []string) template.URL {
	pairs := s.pairs()
	for _, n := range notes {
		pairs = append(pairs, [2]string{"again", n})
	}
	return template.URL("/?" + query(pairs))
}

// Link is the state's own address.
func (s State) Link() template.URL { return template.URL("/?" + s.Query()) }

// positionView is a control with the state it changes.
type positionView struct {
	control
	State State
	ID    string
}

// Position makes a control's form.
func (v *view) Position(c any) positionView {
	p := positionView{State: v.situation.State}
	switch c := c.(type) {
	case control:
		p.control, p.ID = c, "put-"+c.Name
	case *control:
		p.control, p.ID = *c, "put-here-"+c.Name
	}
	return p
}

// Options are its positions, the one that it stands in chosen.
func (p positionView) Options() template.HTML {
	var all strings.Builder
	for _, at := range p.Positions {
		option(&all, p.Name+":"+at, at)
	}
	return chosen(all.String(), p.Name+":"+p.Now)
}

// Matches gives the page's own reading where its meter is set to a proposal.
func (v *view) Matches(p proposal) string {
	s := v.situation
	there := slices.Contains([]string{s.Red + " " + s.Black, s.Black + " " + s.Red}, p.Red+" "+p.Black)
	if p.Clamp != "" {
		there = s.Clamp == p.Clamp
	}
	same := there && s.Off == !p.Live && len(s.Set) == 0 && v.Mode.Name == p.Mode.Name && v.Meter.Function == p.Function && v.Meter.Refused == ""
	switch {
	case !same:
		return ""
	case p.Lift != "":
		return v.Meter.LiftedAnswer
	}
	return v.Meter.Answer
}
