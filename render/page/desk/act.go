package desk

import (
	"net/url"
	"slices"
	"strings"

	"legtrace/circuit/meter"
	"legtrace/circuit/visit"
)

// requests are what links and forms ask for besides a state. Each changes the
// state once; the address that remains is the state alone.
var requests = []struct {
	key string
	do  func(*State, url.Values)
}{
	{"break", func(s *State, q url.Values) {
		f := clip(q.Get("break"), 0)
		if figure := clip(q.Get("figure"), 0); figure != "" {
			f += "=" + figure
		}
		if f != "" && len(s.Faults) < maxFaults && !slices.Contains(s.Faults, f) {
			s.Faults = append(s.Faults, f)
		}
	}},
	{"mend", func(s *State, q url.Values) {
		s.Faults = slices.DeleteFunc(s.Faults, func(f string) bool { return slices.Contains(q["mend"], f) || q.Get("mend") == "all" })
	}},
	{"put", func(s *State, q url.Values) {
		part, _, _ := strings.Cut(q.Get("put"), ":")
		s.Set = slices.DeleteFunc(s.Set, func(x string) bool { return strings.HasPrefix(x, part+":") })
		if put := clip(q.Get("put"), 0); !strings.HasSuffix(put, ":") && len(s.Set) < maxSet {
			s.Set = append(s.Set, put)
		}
		slices.Sort(s.Set)
	}},
	{"counts", func(s *State, q url.Values) { // the meter's own error
		of := clip(q.Get("meter"), 0) + ":"
		s.Errors = slices.DeleteFunc(s.Errors, func(x string) bool { return strings.HasPrefix(x, of) })
		if _, err := meter.ParseAccuracy(q.Get("counts")); err == nil {
			s.Errors = append(s.Errors, of+clip(q.Get("counts"), 20))
		}
	}},
	{"swap", func(s *State, _ url.Values) { s.Red, s.Black = s.Black, s.Red }},
	{"said", func(s *State, q url.Values) {
		s.add(seen(q.Get("in"), q.Get("about"), q.Get("said")).Line())
	}},
	{"tale", func(s *State, q url.Values) { // something seen or remembered, at a place or at none
		if what := clip(q.Get("tale"), 0); what != "" {
			s.add(visit.Note{Told: what, Part: clip(q.Get("at"), 0)}.Line())
		}
	}},
	{"tell", func(s *State, q url.Values) { // sentences of a complaint
		if words := clip(q.Get("tell"), maxComplaint); words != "" {
			if s.Complaint == "" {
				s.Complaint = words
			}
			s.add(sayWord + words)
		}
	}},
	{"retell", func(s *State, q url.Values) { // a sentence, said anew where it stands
		if words, i := clip(q.Get("retell"), maxComplaint), slices.Index(s.Notes, q.Get("line")); words != "" && i >= 0 {
			s.Notes = slices.Clone(s.Notes)
			if old, _ := cut2(strings.TrimPrefix(s.Notes[i], sayWord)); s.Complaint == old {
				s.Complaint = words
			}
			s.Notes[i] = sayWord + words
		}
	}},
	{"answer", func(s *State, q url.Values) {
		test := clip(q.Get("test"), 0)
		for _, answer := range q["answer"] { // typed, or of the button pressed
			if answer = clip(answer, 40); test != "" && answer != "" {
				s.add(visit.Answered(test, doubted(answer, q.Get("doubt"), clip(q.Get("upto"), 40))))
				return
			}
		}
	}},
	{"along", func(s *State, q url.Values) { // of readings that go with a test
		for i, test := range q["goes"] {
			if answer := q["along"]; i < len(answer) && clip(answer[i], 40) != "" {
				s.add(visit.Answered(clip(test, 0), clip(answer[i], 40)))
			}
		}
	}},
	{"trial", func(s *State, q url.Values) {
		for _, pair := range q["is"] {
			load, state, ok := strings.Cut(pair, ":")
			if ok && state != "" {
				s.add(seen(q.Get("trial"), load, state).Line())
			}
		}
	}},
	{"skip", func(s *State, q url.Values) { s.add(leftOut(q.Get("skip"), "")) }},
	{"reach", func(s *State, q url.Values) { s.add(leftOut(q.Get("reach"), q.Get("at"))) }},
	{"back", func(s *State, q url.Values) {
		for i, n := range s.Notes {
			if n == q.Get("back") {
				s.Notes = slices.Delete(slices.Clone(s.Notes), i, i+1)
				return
			}
		}
	}},
	{"undo", func(s *State, _ url.Values) { s.takeBack() }},
	{"close", func(s *State, _ url.Values) {
		s.Notes, s.Complaint, s.Done, s.After, s.Date, s.Visit = nil, "", "", nil, "", ""
	}},
	{"check", func(s *State, q url.Values) { // a test after the repair
		if answer := clip(q.Get("answer"), 40); answer != "" {
			s.forget(visit.Answered(q.Get("check"), ""))
			s.addAfter(visit.Answered(q.Get("check"), doubted(answer, q.Get("doubt"), clip(q.Get("upto"), 40))))
		}
	}},
	{"checked", func(s *State, q url.Values) {
		for _, what := range []string{"load", "trips", "chatters"} {
			s.forget(visit.Answered(what, q.Get("checked")) + visit.Answered("", ""))
		}
		for _, pair := range q["is"] {
			switch load, state, _ := strings.Cut(pair, ":"); {
			case state == "":
			default:
				s.addAfter(seen(q.Get("checked"), load, state).Line())
			}
		}
	}},
	{"pass", func(s *State, q url.Values) { s.addAfter(leftOut(q.Get("pass"), "")) }},
	{"again", func(s *State, q url.Values) {
		s.After = slices.DeleteFunc(slices.Clone(s.After), func(n string) bool { return slices.Contains(q["again"], n) })
	}},
	{"on", func(s *State, _ url.Values) { // the search, after a proof that failed
		if s.Done == "" || len(s.Notes)+1+len(s.After) > maxNotes {
			return
		}
		s.Notes = append(append(slices.Clone(s.Notes), mendedWord+s.Done), s.After...)
		s.Done, s.After = "", nil
	}},
	{"begin", func(s *State, q url.Values) {
		*s = State{Machine: s.Machine, Door: DoorLearn, Lesson: s.Lesson, Complaint: s.Complaint, Notes: s.Notes, Done: s.Done, After: s.After, Date: s.Date,
			Drill: clip(beginning(q), maxDrillID)}
	}},
	{"do", func(s *State, q url.Values) {
		move := clip(strings.TrimSpace(q.Get("do")+" "+q.Get("of")+" "+q.Get("why")), 0)
		full := len(s.Moves) >= maxMoves || len(s.Query()) > maxAddress
		if s.Drill == "" || move == "" || full && (move != giveUp || len(s.Moves) > maxMoves) {
			return
		}
		s.Moves = append(s.Moves, move)
	}},
	{"leave", func(s *State, _ url.Values) { s.Drill, s.Moves = "", nil }},
}

// seen is a note of what a load, or the machine as a whole, does in a mode.
func seen(mode, load, state string) visit.Note {
	switch state {
	case "trips":
		return visit.Note{Mode: mode, Trips: true}
	case "chatters":
		return visit.Note{Mode: mode, Chatters: true}
	}
	return visit.Note{Mode: mode, Load: load, State: state}
}

// leftOut is the line of a test that was not made, or had a place that no probe
// gets to.
func leftOut(test, place string) string {
	n, err := visit.ParseLine(visit.Skipped(test))
	if err != nil {
		return ""
	}
	if place != "" {
		n.Skipped, n.Unreachable = false, place
	}
	return n.Line()
}

// takeBack takes the last answer back: of a trial all that was looked at.
func (s *State) takeBack() {
	if len(s.Notes) == 0 {
		return
	}
	at := len(s.Notes) - 1
	last, err := visit.ParseLine(s.Notes[at])
	for ; err == nil && last.Load != "" && at > 0; at-- {
		n, err := visit.ParseLine(s.Notes[at-1])
		if err != nil || n.Load == "" || n.Mode != last.Mode {
			break
		}
	}
	s.Notes = slices.Clone(s.Notes[:at])
	if at == 0 {
		s.Complaint = ""
	}
}

func (s *State) add(note string)      { addNote(&s.Notes, note) }
func (s *State) addAfter(note string) { addNote(&s.After, note) }

// forget takes earlier answers to a check back: they are given anew.
func (s *State) forget(test string) {
	s.After = slices.DeleteFunc(slices.Clone(s.After), func(n string) bool { return strings.HasPrefix(visit.Answered(n, ""), test) })
}

func addNote(to *[]string, note string) {
	if note = clip(note, maxNote); len(*to) < maxNotes && note != "" {
		*to = append(*to, note)
	}
}

// act reads an address and does what it asks for. It reports whether that was
// more than to show a state.
func act(q url.Values) (State, bool) {
	s := readState(q)
	acted := false
	for _, d := range requests {
		if q.Has(d.key) {
			d.do(&s, q)
			acted = true
		}
	}
	return s, acted
}
