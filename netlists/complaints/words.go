// Package complaints reads what people say of a machine: "broiler barely glows,
// bake fine, lights dim when I turn on the left front".
//
// [English] and [Spanish] are tables of the trade's words; a [Listener] makes of
// a sentence [Statement] values about a machine's own loads, parts and
// modes. What could mean several things is asked ([Question]), and a slip of the pen
// that was read as another word is told. Each statement says which words it was made
// of, and a guard accounts for the others: what may take a statement back, as a
// denial, "only" or a condition, turns it into a question; the rest is returned word
// by word. Nothing is guessed in silence.
package complaints

import (
	"cmp"
	_ "embed"
	"maps"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
)

//go:embed en.toml
var english string

//go:embed es.toml
var spanish string

// English is the table of English words.
var English = sync.OnceValue(func() *Language { return mustLoad(english) })

// Spanish is the table of Spanish words.
var Spanish = sync.OnceValue(func() *Language { return mustLoad(spanish) })

// languages are the tables by the code that a netlist names them by.
var languages = []struct {
	code  string
	table *string
	words func() *Language
}{{"en", &english, English}, {"es", &spanish, Spanish}}

// MaxSentence is the longest text that is read, in bytes.
const MaxSentence = 2000

// About is what a statement speaks of.
type About string

const (
	// OfLoad tells how one load behaves.
	OfLoad About = "load"
	// OfWhole tells of the machine as a whole, or of the house.
	OfWhole About = "whole"
	// OfPlace tells what was seen, heard or smelt at a part.
	OfPlace About = "place"
	// OfHistory tells what happened before.
	OfHistory About = "history"
)

// Statement is one thing that somebody said.
type Statement struct {
	About About
	// What is the key in the table: "dead", "weak", "trips", "burnt",
	// "self_clean" and so on.
	What string
	// Load is set for [OfLoad].
	Load circuit.BranchID
	// Part is where it was seen, or what was replaced; None if not said.
	Part circuit.PartID
	// Joint says that a wire or terminal at Part is meant, not Part itself, Pole at which
	// of the supply's poles, where one was named.
	Joint bool
	Pole  string
	// Mode is None where none was said.
	Mode circuit.ModeID
	// When is "hot", "cold", "touched", "damp", "once" (at once) or "late".
	When string
	// From and To are the places of a reading, alike where its part's ends are.
	From, To circuit.TerminalID
	// Amount and Unit ("minutes", "fahrenheit", "celsius", "degrees") tell how
	// slow, or how far off: below zero is too cold.
	Amount float64
	Unit   string
	// Code is what a display showed.
	Code string
	// Words are those that it was read from.
	Words string
	// Any, where it is not 0, says that one at least of those is so that have the same:
	// of a place with several elements, "the bottom is dim".
	Any    int
	apart  bool  // it was read with its wires off
	hedge  hedge // how sure its reading is
	popped bool  // the reset was found popped out
	// among names what heats where it was told of, apart by blanks: the oven's, not the burners'.
	among string
	wording
}

// wording is how a statement was made: two that differ in it alone tell the same.
type wording struct {
	// loosely says that it was told of a region as a whole, of the words of it.
	loosely  bool
	of       string
	tried    bool   // whatever was set
	unnamed  bool   // it was told of no load by name
	general  bool   // what it does was not said: "comes on"
	nameless bool   // its clause names nothing
	driven   bool   // of what its load turns
	then     bool   // it followed on what was said before
	clause   int    // which one it was said in
	happened bool   // on an occasion, as far as it was said
	side     string // of what is off its temperature: above or below, as it was said
	way      way    // how what it is said of was found
	there    string // the load in whose place a part works
	held     bool   // it stops as a button is let go
}

// Question is something said that could mean several things.
type Question struct {
	// Words are those in question.
	Words string
	// What is what was said of it.
	What    string
	About   About
	Choices []Choice
	// Doubt are words beside what was understood, its only choice, that may take it
	// back or say when it is not so; empty where the choices are what it may mean.
	Doubt string

	of     *phrase // which is in question
	others bool    // it was said of others, several of them
}

// Choice is one meaning of what a [Question] is about.
type Choice struct {
	Label      string
	Statements []Statement
}

// Heard is what was made of a sentence.
type Heard struct {
	Statements []Statement
	Questions  []Question
	// Unknown are words, in order, that nothing was made of.
	Unknown []string
	// Mended are words read as others, each "borken: broken".
	Mended []string
	// Perhaps is what may be meant by words not understood, put in their place: Slips.
	Perhaps string
	Slips   [][2]string
}

// Listener reads what is said of one machine in one language. It is made once for
// a machine and never changes.
type Listener struct {
	l       *Language
	c       *circuit.Circuit
	machine *vocabulary
}

// Listener knows what a machine's own parts and modes are called.
func (l *Language) Listener(c *circuit.Circuit) *Listener {
	l = l.with(c)
	in := &Listener{l, c, l.vocabularyOf(c)}
	for _, set := range in.machine.parts {
		for _, w := range l.Ordinals {
			if set[w] && !l.named[w] {
				own := *in.l
				own.named = maps.Clone(own.named)
				if own.named == nil {
					own.named = map[string]bool{}
				}
				own.named[w] = true
				in.l, l = &own, &own
			}
		}
	}
	return in
}

// Read makes statements of a sentence or several.
func (in *Listener) Read(sentence string) Heard { return in.read(sentence, nil) }

// read is [Listener.Read] of what is said after other things were noted.
func (in *Listener) read(sentence string, before *context) Heard {
	if len(sentence) > MaxSentence {
		sentence = strings.ToValidUTF8(sentence[:MaxSentence], "")
	}
	words := in.l.expand(in.l.expand(split(sentence))) // "does not get to the set temperature" is short for what is short again
	h, tokens := in.hear(words, before)
	strange := in.strangers(tokens, h.Unknown)
	known := slices.DeleteFunc(slices.Clone(words), func(w raw) bool { return slices.Contains(strange, w.word) })
	if len(known) < len(words) {
		without, _ := in.hear(in.l.expand(in.l.expand(known)), before) // what is short may be whole again
		h.agree(in, without, strings.Join(strange, " "))
	}
	return h
}

// hear reads words once.
func (in *Listener) hear(words []raw, before *context) (Heard, []token) {
	r := reader{l: in.l, c: in.c, machine: in.machine}
	r.clause(nil) // of figures
	r.resume(before)
	tokens := in.neighbours(in.l.tokens(r.readings(r.figures(r.notation(r.spells(r.food(r.l.inDigits(r.jumps(r.tries(r.flames(r.l.uncounted(r.l.plans(r.l.rules(r.codes(r.asides(words)))))))))))))), r.machine))
	for _, t := range tokens {
		if t.mended != "" && !t.unknown {
			r.heard.Mended = append(r.heard.Mended, t.mended)
		}
	}
	r.read(tokens)
	r.left()
	r.now, r.saying = span{}, nil
	r.settle()
	r.lasts(words)
	r.askOnce()
	r.answer()
	r.guard(tokens)
	for _, s := range r.began {
		r.put(s)
	}
	return r.heard, tokens
}

// Tell says a statement in the language.
func (l *Language) Tell(c *circuit.Circuit, s Statement) string {
	what := l.Say[s.What]
	if what == "" {
		what = s.What
	}
	var b strings.Builder
	switch {
	case s.Load != circuit.None:
		b.WriteString(c.Label(s.Load) + ": ")
	case s.Unit == "amps":
		if wire, err := c.WireBetween(s.From, s.To); err == nil {
			b.WriteString(c.Branch(wire).Ref + ": ")
		}
	case s.Part != circuit.None:
		b.WriteString(strings.TrimSuffix(c.Part(s.Part).Label+" "+s.Pole, " ") + ": ")
	}
	b.WriteString(what)
	if s.What == "since" && s.Words != what {
		b.WriteString(": " + strings.TrimPrefix(s.Words, what+" "))
	}
	if s.Any != 0 {
		b.WriteString(", " + l.Say["any_of"])
	}
	if s.Code != "" {
		b.WriteString(" " + strings.ToUpper(s.Code))
	}
	if s.Unit != "" {
		b.WriteString(", " + amount(s.Amount) + " " + cmp.Or(l.Say[s.Unit], s.Unit))
	}
	if s.When != "" {
		b.WriteString(", " + l.ConditionNames[s.When])
	}
	if s.Mode != circuit.None {
		b.WriteString(" (" + c.Mode(s.Mode).Label + ")")
	}
	return b.String()
}

// anyIn reports whether some of a list is in another.
func anyIn[T comparable](some, of []T) bool {
	return slices.ContainsFunc(some, func(x T) bool { return slices.Contains(of, x) })
}
