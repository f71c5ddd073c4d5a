package desk

import (
	"context"
	"encoding/base64"
	"fmt"
	"html/template"
	"strconv"

	"legtrace/circuit"
	"legtrace/render/lessons"
	"legtrace/render/schematic"
)

// lessonView is a lesson as it is read, sentence by sentence.
type lessonView struct {
	*lessons.Lesson
	Intro, Keep [][]lessons.Sentence
	Parts       []partView
	small       *machine
}

// partView is a part of a lesson. Drawing is the address of a picture, empty for a part
// on the page's own machine.
type partView struct {
	Title   string
	Note    []lessons.Sentence
	Drawing template.URL
	Steps   []stepView
}

// stepView is a step with its sentences.
type stepView struct {
	ID string
	*lessons.Step
	lessons.Told
}

// lessonOf works a lesson out on a machine.
func lessonOf(ctx context.Context, c *circuit.Circuit, number int) (*lessonView, error) {
	l, err := lessons.New(c, nil).Lesson(number)
	if err != nil {
		return nil, err
	}
	out := &lessonView{Lesson: l}
	for _, text := range l.Intro {
		out.Intro = append(out.Intro, l.Says(text))
	}
	for _, text := range l.Keep {
		out.Keep = append(out.Keep, l.Says(text))
	}
	for i := range l.Parts {
		p := &l.Parts[i]
		v := partView{Title: p.Title, Note: l.Says(p.Note)}
		if p.Circuit != nil {
			svg, err := p.SVG(ctx, schematic.Light)
			if err != nil {
				return nil, err
			}
			// A picture has ids and a style of its own, apart from the diagram's.
			v.Drawing = template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(svg))
			out.small = newMachine(p.Circuit, nil)
		}
		for j := range p.Steps {
			v.Steps = append(v.Steps, stepView{fmt.Sprintf("question-%d-%d", i, j), &p.Steps[j], p.Tells(&p.Steps[j])})
		}
		out.Parts = append(out.Parts, v)
	}
	return out, nil
}

// small is the circuit that stands in the machine's place; nil where no lesson is open.
func (d *Desk) small(ctx context.Context, s State) *machine {
	h, err := lessons.Find(s.Lesson)
	if err != nil || s.door() != DoorLearn {
		return nil
	}
	l, err := d.lessonAt(ctx, h.Number)
	if err != nil {
		return nil
	}
	return l.small
}

// lessonAt gives a lesson on the desk's machine, worked out once.
func (d *Desk) lessonAt(ctx context.Context, number int) (*lessonView, error) {
	return d.lessons.get(strconv.Itoa(number), func() (*lessonView, error) { return lessonOf(ctx, d.machine.c, number) })
}

// LessonList names the lessons.
func (v *view) LessonList() []lessons.Head { return lessons.List() }

// Learn opens a lesson by its name; the empty one closes it.
func (s State) Learn(name string) State {
	s = s.own()
	s.Lesson = name
	return s
}

// own is the state on the machine itself, with nothing that a lesson alone shows.
func (s State) own() State {
	if s.Small {
		s = s.Shown(lessons.Show{})
	}
	s.Lit = nil
	return s
}

// Shown puts the machine as a sentence of a lesson has it.
func (s State) Shown(show lessons.Show) State {
	s.Mode, s.Load, s.Off, s.Set = show.Mode, show.Load, show.Off, nil
	s.Faults, s.Pick, s.Lit, s.Small = show.Faults, show.Pick, show.Lit, show.Small
	s.Function, s.Red, s.Black, s.Clamp = show.Meter, show.Red, show.Black, ""
	return s
}

// saidHere is what of a lesson is read in a state.
type saidHere struct {
	At State
	Of any
}

// Shows reports whether the state is the one that something in the lesson shows.
func (s saidHere) Shows(show lessons.Show) bool { return s.At.Shown(show).Query() == s.At.Query() }
