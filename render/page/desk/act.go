package desk

import (
	"net/url"
	"slices"
	"strings"

	"legtrace/circuit/suspect"
)

// deeds are what links and forms ask for besides a state. Each changes the
// state once; the address that remains is the state alone.
var deeds = []struct {
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
	{"swap", func(s *State, _ url.Values) { s.Red, s.Black = s.Black, s.Red }},
	{"said", func(s *State, q url.Values) {
		note := suspect.Note{Mode: q.Get("in"), Load: q.Get("about"), State: q.Get("said")}
		switch q.Get("said") {
		case "trips":
			note = suspect.Note{Mode: q.Get("in"), Trips: true}
		case "chatters":
			note = suspect.Note{Mode: q.Get("in"), Chatters: true}
		}
		s.add(writeNote(note))
	}},
	{"answer", func(s *State, q url.Values) {
		test := clip(q.Get("test"), 0)
		for _, answer := range q["answer"] { // typed, or of the button pressed
			if answer = clip(answer, 40); test != "" && answer != "" {
				s.add(test + sep + strings.ReplaceAll(answer, sep, ""))
				return
			}
		}
	}},
	{"trial", func(s *State, q url.Values) {
		for _, pair := range q["is"] {
			load, state, ok := strings.Cut(pair, ":")
			if ok && state != "" {
				s.add(writeNote(suspect.Note{Mode: q.Get("trial"), Load: load, State: state}))
			}
		}
	}},
	{"skip", func(s *State, q url.Values) { s.add("skip" + sep + q.Get("skip")) }},
	{"back", func(s *State, q url.Values) {
		for i, n := range s.Notes {
			if n == q.Get("back") {
				s.Notes = slices.Delete(slices.Clone(s.Notes), i, i+1)
				return
			}
		}
	}},
	{"close", func(s *State, _ url.Values) {
		s.Notes, s.Complaint, s.Done, s.After, s.Date = nil, "", "", nil, ""
	}},
	{"check", func(s *State, q url.Values) { // a test after the repair
		if answer := clip(q.Get("answer"), 40); answer != "" {
			s.forget(q.Get("check") + sep)
			s.addAfter(q.Get("check") + sep + strings.ReplaceAll(answer, sep, ""))
		}
	}},
	{"checked", func(s *State, q url.Values) {
		for _, what := range []string{"load", "trips", "chatters"} {
			s.forget(what + sep + q.Get("checked") + sep)
		}
		for _, pair := range q["is"] {
			switch load, state, _ := strings.Cut(pair, ":"); {
			case state == "":
			case load == "":
				s.addAfter(writeNote(suspect.Note{Mode: q.Get("checked"), Trips: state == "trips", Chatters: state == "chatters"}))
			default:
				s.addAfter(writeNote(suspect.Note{Mode: q.Get("checked"), Load: load, State: state}))
			}
		}
	}},
	{"pass", func(s *State, q url.Values) { s.addAfter("skip" + sep + q.Get("pass")) }},
	{"again", func(s *State, q url.Values) {
		s.After = slices.DeleteFunc(slices.Clone(s.After), func(n string) bool { return slices.Contains(q["again"], n) })
	}},
	{"begin", func(s *State, q url.Values) {
		*s = State{Lesson: s.Lesson, Complaint: s.Complaint, Notes: s.Notes, Done: s.Done, After: s.After, Date: s.Date,
			Drill: clip(beginning(q), 40)}
	}},
	{"do", func(s *State, q url.Values) {
		move := clip(strings.TrimSpace(q.Get("do")+" "+q.Get("of")), 0)
		full := len(s.Moves) >= maxMoves || len(s.Query()) > maxAddress
		if s.Drill == "" || move == "" || full && (move != giveUp || len(s.Moves) > maxMoves) {
			return
		}
		s.Moves = append(s.Moves, move)
	}},
	{"leave", func(s *State, _ url.Values) { s.Drill, s.Moves = "", nil }},
}

func (s *State) add(note string)      { addNote(&s.Notes, note) }
func (s *State) addAfter(note string) { addNote(&s.After, note) }

// forget takes earlier answers to a check back: they are given anew.
func (s *State) forget(test string) {
	s.After = slices.DeleteFunc(slices.Clone(s.After), func(n string) bool { return strings.HasPrefix(n+sep, test) })
}

func addNote(to *[]string, note string) {
	if note = clip(note, 0); len(*to) < maxNotes && note != "" {
		*to = append(*to, note)
	}
}

// act reads an address and does what it asks for. It reports whether that was
// more than to show a state.
func act(q url.Values) (State, bool) {
	s := readState(q)
	acted := false
	for _, d := range deeds {
		if q.Has(d.key) {
			d.do(&s, q)
			acted = true
		}
	}
	return s, acted
}
