package desk

import (
	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/circuit/visit"
)

// Library is where machines and people's files come from. This package knows no
// format: who makes a page hands the readers in. Where a field is nil the page
// does without.
type Library struct {
	// List tells which machines there are to choose from, variants after the
	// machine that they are of.
	List func() []Entry
	// Open reads one of them. Where that fails the circuit is nil.
	Open func(name string) (*circuit.Circuit, []Problem)
	// Base reads what one of them is a variant of, or a netlist that a person brings
	// along, or with no name the given one; nil for none. The two are drawn alike.
	Base func(name, text string) *circuit.Circuit
	// Unsure lists families of machines, for whoever does not know which it is;
	// Family reads the machines of one.
	Unsure func() []Entry
	Family func(name string) ([]visit.Candidate, error)
	// Stamp differs whenever a machine of the list has changed.
	Stamp func(name string) string
	// Read reads a netlist that a person brings along, and sums up what it says.
	Read func(file, text string) (c *circuit.Circuit, fingerprint string, problems []Problem)
	// Enter takes a line of a netlist that is being written down, or none; Begin
	// is one without parts, or one that starts from another machine. DescribeHelp
	// says what a line may be: its form, and what that means.
	Enter        func(file, text, line string) Sheet
	Begin        func(name, from string) string
	DescribeHelp [][2]string
	// Hear reads what a customer says; nil reads [visit.Complaint] alone.
	Hear func(c *circuit.Circuit, words string, before ...visit.Note) Heard
	// Repaired are the parts that words of what was done may mean; nil finds none.
	Repaired func(c *circuit.Circuit, words string) []circuit.PartID
	// VisitFile writes a visit as a file's text; netlist is the machine's name
	// there. ReadVisit reads one.
	VisitFile func(netlist string, c *circuit.Circuit, r visit.Record) ([]byte, error)
	ReadVisit func(file, text string) (Brought, error)
	// Seal opens drills that a teacher sealed. The page that serves a class has
	// it; one that was saved has none, for it holds all that is in it.
	Seal *drill.Seal
	// Ready is how many of the machines are kept ready to answer; 0 for a few, as
	// for one person.
	Ready int
}

// Alone is the library of a page of one machine, which has no other.
func (l Library) Alone() Library {
	l.Unsure, l.Family = nil, nil
	l.List, l.Open, l.Stamp, l.Read, l.ReadVisit, l.Enter = nil, nil, nil, nil, nil, nil
	return l
}

// Like is the library where the machine given is a variant of another; nil for none.
func (l Library) Like(base *circuit.Circuit) Library {
	of := l.Base
	l.Base = func(name, text string) *circuit.Circuit {
		if name == "" && text == "" || of == nil {
			return base
		}
		return of(name, text)
	}
	return l
}

// Entry is a machine to choose.
type Entry struct {
	// Name is what an address calls it, Family what kind of machine it is.
	Name, Title, Summary, Family string
	// Variant is set for one that differs a little from the entry before.
	Variant bool
}

// Brought is a visit read from a file.
type Brought struct {
	// Netlist names the machine's netlist, Fingerprint sums up what that said.
	Netlist, Fingerprint string
	Record               visit.Record
	// Job is what a browser keeps beside the visit; it becomes JSON.
	Job any
}

// Heard is what was made of a customer's words.
type Heard struct {
	Notes []visit.Note
	// Questions are what could mean several things.
	Questions []Question
	// Unknown are words that nothing was made of, Mended those that were read as
	// others: "borken: broken".
	Unknown, Mended []string
	// Slips are words not understood, each with what may be meant; Perhaps is all
	// that was said with those in their place.
	Slips   [][2]string
	Perhaps string
	// Problem says why nothing can be noted; empty where something can.
	Problem string
}

// Question is something said that could mean several things.
type Question struct {
	Words   string
	Choices []Choice
}

// Choice is one of its meanings.
type Choice struct {
	Label string
	Notes []visit.Note
}

func (l *Library) base(name, text string) *circuit.Circuit {
	if l.Base == nil {
		return nil
	}
	return l.Base(name, text)
}

func (l *Library) repaired(c *circuit.Circuit, words string) []circuit.PartID {
	if l.Repaired == nil {
		return nil
	}
	return l.Repaired(c, words)
}

// hear reads a customer's words.
func (l *Library) hear(c *circuit.Circuit, words string, before ...visit.Note) Heard {
	if l.Hear != nil {
		return l.Hear(c, words, before...)
	}
	notes, err := visit.Complaint(c, words)
	h := Heard{Notes: notes}
	if err != nil {
		h.Problem = err.Error()
	}
	return h
}
