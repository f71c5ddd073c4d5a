package desk

import (
	"net/url"
	"slices"
	"strings"
)

// State is everything a person has set. Its zero value is a machine switched
// on in its main mode, nothing broken and no probe placed.
type State struct {
	// Machine is which one, as a [Library] has it; empty for the one given.
	Machine string
	// Door is which way in is open; see [State.door].
	Door       string
	Mode, Load string
	// Off says that the supply is off.
	Off bool
	// Faults are as circuit.ParseFault reads them.
	Faults []string
	// Set holds "part:position" for parts that stand otherwise than in the mode.
	Set []string
	// Red and Black are terminals, Function the meter's, Clamp a wire.
	Red, Black, Function, Clamp string
	// Errors are the meter's own, "volts:0.5+2", where they were set.
	Errors []string
	// Pick is the part or wire looked at: "part:relay", "wire:w12".
	Pick string
	// Only shows the feed of the load alone.
	Only bool
	// Visit names a visit, for what a browser keeps of it.
	Visit string
	// Complaint is what the customer said; Notes what was seen, as note.go
	// writes it. Done is what was done about it, After what was seen then, Date
	// the day, as 2026-05-01.
	Complaint string
	Notes     []string
	Done      string
	After     []string
	Date      string
	// Among is the family that a machine of unknown wiring is of: Machine is then
	// the wiring it is taken for, and what is noted is weighed by all. Outside is
	// what is seen of it, "KEY=ANSWER".
	Among   string
	Outside []string
	// Drill is which drill runs, as drillID writes it, Moves what was done in
	// it, as drill.Parse reads them.
	//
	// The moves are all there is of a session: going back takes a move back and
	// its minutes with it. To stop that something would have to be kept of
	// every learner, and who wants to cheat at finding a fault cheats themself.
	Drill string
	Moves []string
	// Lesson is the lesson that is open, by its name or number.
	Lesson string
	// Small is set where the lesson's small circuit stands in the machine's place.
	Small bool
	// Lit are pieces of the diagram that a sentence of the lesson names.
	Lit []string
	// Wall shows the diagram and the meter alone, large: "1", "2" and so on, by how
	// far the wall has come.
	Wall string
}

// The ways into a machine: its first screen, and what is behind its doors.
const (
	DoorHome    = "home"
	DoorFind    = "find"
	DoorExplore = "explore"
	DoorLearn   = "learn"
	// DoorDescribe is where a machine is written down.
	DoorDescribe = "describe"
)

// door is the way in that a state is behind. An address that does not say has
// what it is about.
func (s State) door() string {
	bare := s
	bare.Machine, bare.Door, bare.Visit = "", "", ""
	switch {
	case s.Drill != "" && s.Door != DoorHome:
		return DoorLearn
	case s.Door == DoorHome || s.Door == DoorFind || s.Door == DoorExplore || s.Door == DoorLearn || s.Door == DoorDescribe:
		return s.Door
	case s.Lesson != "":
		return DoorLearn
	case len(s.Notes) > 0 || s.Complaint != "":
		return DoorFind
	case bare.Query() != "":
		return DoorExplore
	}
	return DoorHome
}

// MaxQuery is the longest address that is to be answered, in bytes of its query.
const MaxQuery = 16 << 10

// Limits of a state.
const (
	maxFaults    = 12
	maxSet       = 64
	maxNotes     = 80
	maxValue     = 200 // bytes of a name
	maxNote      = 700 // or of what was noted
	maxComplaint = 600
	maxMoves     = 120
	maxDrillID   = 700
	// maxAddress is how long an address may grow by moves, in bytes. What serves
	// the page takes a little more.
	maxAddress = 14 << 10
)

// parameter is one thing in an address.
type parameter struct {
	key string
	one func(*State) *string
	all func(*State) *[]string
	is  func(*State) *bool
	// yes is how a true value is written; most is how many a list holds, or
	// how many bytes a text.
	yes  string
	most int
	// again is set for a list that may hold a thing twice.
	again bool
}

// parameters tells how a state is written, in this order.
var parameters = []parameter{
	{key: "machine", one: func(s *State) *string { return &s.Machine }},
	{key: "door", one: func(s *State) *string { return &s.Door }},
	{key: "mode", one: func(s *State) *string { return &s.Mode }},
	{key: "supply", is: func(s *State) *bool { return &s.Off }, yes: "off"},
	{key: "load", one: func(s *State) *string { return &s.Load }},
	{key: "view", is: func(s *State) *bool { return &s.Only }, yes: "feed"},
	{key: "set", all: func(s *State) *[]string { return &s.Set }, most: maxSet},
	{key: "fault", all: func(s *State) *[]string { return &s.Faults }, most: maxFaults},
	{key: "meter", one: func(s *State) *string { return &s.Function }},
	{key: "red", one: func(s *State) *string { return &s.Red }},
	{key: "black", one: func(s *State) *string { return &s.Black }},
	{key: "error", all: func(s *State) *[]string { return &s.Errors }, most: 3},
	{key: "clamp", one: func(s *State) *string { return &s.Clamp }},
	{key: "pick", one: func(s *State) *string { return &s.Pick }},
	{key: "among", one: func(s *State) *string { return &s.Among }},
	{key: "outside", all: func(s *State) *[]string { return &s.Outside }, most: 24},
	{key: "visit", one: func(s *State) *string { return &s.Visit }, most: 12},
	{key: "complaint", one: func(s *State) *string { return &s.Complaint }, most: maxComplaint},
	{key: "note", all: func(s *State) *[]string { return &s.Notes }, most: maxNotes, again: true},
	{key: "date", one: func(s *State) *string { return &s.Date }, most: 10},
	{key: "done", one: func(s *State) *string { return &s.Done }, most: maxComplaint},
	{key: "after", all: func(s *State) *[]string { return &s.After }, most: maxNotes, again: true},
	{key: "wall", one: func(s *State) *string { return &s.Wall }, most: 4},
	{key: "lesson", one: func(s *State) *string { return &s.Lesson }, most: 24},
	{key: "circuit", is: func(s *State) *bool { return &s.Small }, yes: "small"},
	{key: "lit", all: func(s *State) *[]string { return &s.Lit }, most: 24},
	{key: "drill", one: func(s *State) *string { return &s.Drill }, most: maxDrillID},
	{key: "move", all: func(s *State) *[]string { return &s.Moves }, most: maxMoves + 1, again: true},
}

// readState reads an address. What is too long or too much is cut off.
func readState(q url.Values) State {
	var s State
	for _, p := range parameters {
		switch {
		case p.one != nil:
			*p.one(&s) = clip(q.Get(p.key), p.most)
		case p.is != nil:
			*p.is(&s) = q.Get(p.key) == p.yes
		default:
			for _, v := range q[p.key] {
				list := p.all(&s)
				if v = clip(v, maxNote); v != "" && len(*list) < p.most && (p.again || !slices.Contains(*list, v)) {
					*list = append(*list, v)
				}
			}
		}
	}
	return s
}

// pairs lists what differs from the zero state, in order.
func (s State) pairs() [][2]string {
	var out [][2]string
	for _, p := range parameters {
		switch {
		case p.one != nil:
			if v := *p.one(&s); v != "" {
				out = append(out, [2]string{p.key, v})
			}
		case p.is != nil:
			if *p.is(&s) {
				out = append(out, [2]string{p.key, p.yes})
			}
		default:
			for _, v := range *p.all(&s) {
				out = append(out, [2]string{p.key, v})
			}
		}
	}
	return out
}

// Query writes the state for an address; readState reads it back.
func (s State) Query() string { return query(s.pairs()) }

func query(pairs [][2]string) string {
	var b strings.Builder
	for i, p := range pairs {
		if i > 0 {
			b.WriteByte('&')
		}
		b.WriteString(p[0] + "=" + url.QueryEscape(p[1]))
	}
	return b.String()
}

// clip cuts a text to a length, and drops what no name can hold.
func clip(s string, most int) string {
	if most == 0 {
		most = maxValue
	}
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "")
	}
	return strings.TrimSpace(s)
}
