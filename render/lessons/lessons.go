// Package lessons writes short pages for whoever learns the trade: two legs and
// a neutral, both ends live and nothing across, readings that lie, and what else
// people get wrong at the bench.
//
// Start with [List], which names them, and [New], which takes the machine at
// hand; [Teacher.Lesson] works one out. Every page works the same question
// twice: on a small circuit stated on the page, whose figures can be checked by
// hand, and on the machine. Every figure is the engine's.
package lessons

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
)

// Lesson is one page.
type Lesson struct {
	Head
	Objectives []string
	Intro      []string
	Parts      []Part
	Exercises  []Exercise
	// Keep is what to take away.
	Keep []string
}

// Head says which lesson it is.
type Head struct {
	Number int
	// Name is a word to call it by, as in "both-ends".
	Name, Title string
	// Minutes is about how long it takes to work through.
	Minutes int
}

// Part works the lesson's question on one circuit.
type Part struct {
	Title string
	// Note stands before the steps, where the machine at hand does not show it.
	Note  string
	Steps []Step
	// Circuit is drawn in Mode with the feed of Load; nil on the machine at
	// hand, which its own drawing shows.
	Circuit *circuit.Circuit
	Mode    circuit.ModeID
	Load    circuit.BranchID

	on *subject // what its sentences are shown on; nil where nothing shows them
}

// Step is a sentence or more, with what was worked out for it.
type Step struct {
	Say  string
	Head []string // of the table
	Rows []Row
	Then string // after the table
	// Undrawn is said where no drawing shows it.
	Undrawn string
	Show    Show
	// Lost is what a column of the table has broken besides its row's state; nil
	// where it has the row's.
	Lost map[int][]string
	// Ask is a question for the reader, Answer what the engine makes of it.
	Ask, Answer string
}

// Row is a line of a table, with what the drawing can show of it.
type Row struct {
	Cells []string
	Show  Show
}

// Show is a state of the machine that a sentence or a row is about, by the
// machine's own names. The zero value is nothing to show.
type Show struct {
	Mode, Load string
	Off        bool
	Faults     []string
	Pick       string // "part:limit", "wire:w12"
	Meter      string // the function
	Red, Black string
	// Lit are pieces of the drawing: "part:limit", "wire:w12", "t:limit.1".
	Lit []string
	// Small is set for what the lesson's small circuit shows.
	Small bool
}

// None reports whether there is nothing to show.
func (s Show) None() bool {
	return s.Mode == "" && s.Load == "" && s.Pick == "" && s.Red == "" && len(s.Faults) == 0
}

// Exercise is a question with its worked answer, and where that is seen.
type Exercise struct {
	Ask, Answer string
	Show        Show
}

// plan is what a lesson is made of.
type plan struct {
	name, title string
	minutes     int
	objectives  []string
	intro, keep []string
	// small changes the small circuit for it, where that is needed.
	small func(*circuit.Spec)
	// work answers the lesson's question on a subject: nothing where the subject
	// has not got what it takes, which is then what lack says.
	work func(*subject) []Step
	lack string
	// exercises are readings to foretell on the small circuit.
	exercises []foretell
}

// List names the lessons, in order.
func List() []Head {
	var out []Head
	for i, p := range plans {
		out = append(out, p.head(i+1))
	}
	return out
}

func (p *plan) head(number int) Head { return Head{number, p.name, p.title, p.minutes} }

// Find takes a lesson's number or name.
func Find(said string) (Head, error) {
	var names []string
	for _, h := range List() {
		if said == h.Name || said == fmt.Sprint(h.Number) {
			return h, nil
		}
		names = append(names, h.Name)
	}
	hint := cmp.Or(circuit.NearestHint(said, names), fmt.Sprintf("a number from 1 to %d, or a name from the list", len(plans)))
	return Head{}, fmt.Errorf("no lesson %q (%s)", said, hint)
}

// Teacher works lessons out on a machine. It must not be used by two goroutines
// at once.
type Teacher struct {
	own, demo *circuit.Circuit
	subjects  map[*circuit.Circuit]*subject
}

// New makes the teacher of a machine. Demo is the machine that stands in for it
// where it has nothing to show; nil leaves the small circuit to do so.
func New(c, demo *circuit.Circuit) *Teacher {
	return &Teacher{own: c, demo: demo, subjects: map[*circuit.Circuit]*subject{}}
}

// subject makes a machine's subject once; nil is one in which nothing is ever
// on.
func (t *Teacher) subject(c *circuit.Circuit) (*subject, error) {
	if s, made := t.subjects[c]; made {
		return s, nil
	}
	s, err := newSubject(c)
	if err != nil && !errors.Is(err, errNothingOn) {
		return nil, err
	}
	t.subjects[c] = s
	return s, nil
}

// Lesson works out a lesson by its number.
func (t *Teacher) Lesson(number int) (*Lesson, error) {
	if number < 1 || number > len(plans) {
		return nil, fmt.Errorf("lesson %d: they go from 1 to %d", number, len(plans))
	}
	p := &plans[number-1]
	out := &Lesson{Head: p.head(number), Objectives: p.objectives, Intro: p.intro, Keep: p.keep}
	small, err := smallSubject(p.small)
	if err != nil {
		return nil, fmt.Errorf("lesson %s: %w", p.name, err)
	}
	part := Part{Title: "On a small circuit", Circuit: small.c, Mode: small.busy, Load: small.load, on: small}
	if part.Steps, err = small.steps(p); err != nil {
		return nil, fmt.Errorf("lesson %s: %w", p.name, err)
	}
	part.Steps = append([]Step{small.statement(number)}, part.Steps...)
	for i := range part.Steps {
		part.Steps[i].onSmall()
	}
	out.Parts = append(out.Parts, part)
	if part, err = t.ownPart(p); err != nil {
		return nil, fmt.Errorf("lesson %s: %w", p.name, err)
	}
	out.Parts = append(out.Parts, part)
	for _, f := range p.exercises {
		e, err := small.exercise(f)
		if err != nil {
			return nil, fmt.Errorf("lesson %s: %w", p.name, err)
		}
		out.Exercises = append(out.Exercises, e)
	}
	return out, nil
}

// ownPart works on the machine at hand, or says why it cannot and takes the one
// that stands in.
func (t *Teacher) ownPart(p *plan) (Part, error) {
	title := strings.Join(strings.Fields(t.own.Title()), " ")
	if title == "" {
		title = t.own.Name()
	}
	part := Part{Title: "On the machine: " + title}
	lack := "nothing of it is on in any mode"
	for _, c := range []*circuit.Circuit{t.own, t.demo} {
		if c == nil {
			continue
		}
		s, err := t.subject(c)
		if err != nil {
			return part, err
		}
		if s != nil {
			if part.Steps, err = s.steps(p); err != nil {
				return part, err
			}
			if len(part.Steps) > 0 {
				if c != t.own {
					part.Note = fmt.Sprintf("This machine does not show it: %s. In its place: %s.", lack, circuit.LowerFirst(s.title()))
					for i := range part.Steps {
						part.Steps[i].unshow()
					}
				} else {
					part.on = s
				}
				return part, nil
			}
		}
		if c == t.own && s != nil {
			lack = p.lack
		}
	}
	part.Note = fmt.Sprintf("This machine does not show it: %s. The small circuit has to do.", lack)
	return part, nil
}

// onSmall has the small circuit show what the step is about.
func (s *Step) onSmall() {
	s.Show.Small = !s.Show.None()
	for i := range s.Rows {
		s.Rows[i].Show.Small = !s.Rows[i].Show.None()
	}
}

// unshow takes away what only another machine's drawing could show.
func (s *Step) unshow() {
	s.Show, s.Lost = Show{}, nil
	for i := range s.Rows {
		s.Rows[i].Show = Show{}
	}
}
