package desk

import (
	"context"
	"encoding/base64"
	"html/template"
	"strconv"

	"legtrace/circuit"
	"legtrace/render/lessons"
	"legtrace/render/schematic"
)

// lessonView is a lesson as it is read, with the drawings of its small circuit.
type lessonView struct {
	*lessons.Lesson
	// Drawings are addresses of pictures, empty for a part on the page's own
	// machine.
	Drawings []template.URL
}

// lessonOf works a lesson out on a machine.
func lessonOf(ctx context.Context, c *circuit.Circuit, number int) (*lessonView, error) {
	l, err := lessons.New(c, nil).Lesson(number)
	if err != nil {
		return nil, err
	}
	out := &lessonView{Lesson: l}
	for i := range l.Parts {
		picture := template.URL("")
		if l.Parts[i].Circuit != nil {
			svg, err := l.Parts[i].SVG(ctx, schematic.Light)
			if err != nil {
				return nil, err
			}
			// A picture has ids and a style of its own, apart from the diagram's.
			picture = template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(svg))
		}
		out.Drawings = append(out.Drawings, picture)
	}
	return out, nil
}

// lessonAt gives a lesson on the desk's machine, worked out once.
func (d *Desk) lessonAt(ctx context.Context, number int) (*lessonView, error) {
	return d.lessons.get(strconv.Itoa(number), func() (*lessonView, error) { return lessonOf(ctx, d.machine.c, number) })
}

// LessonList names the lessons.
func (v *view) LessonList() []lessons.Head { return lessons.List() }

// Learn opens a lesson by its name; the empty one closes it.
func (s State) Learn(name string) State { s.Lesson = name; return s }

// Shown puts the machine as a sentence of a lesson has it.
func (s State) Shown(show lessons.Show) State {
	s.Mode, s.Load, s.Off, s.Set = show.Mode, show.Load, show.Off, nil
	s.Faults, s.Pick = show.Faults, show.Pick
	s.Function, s.Red, s.Black = show.Meter, show.Red, show.Black
	return s
}
