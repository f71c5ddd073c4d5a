package desk

import (
	"cmp"
	"context"
	"html/template"
	"maps"
	"slices"
	"strconv"

	"legtrace/circuit"
	"legtrace/render/lessons"
)

// wallView is where a wall stands: large, the diagram and the meter alone, with
// keys for next and back. It goes through a lesson on the machine, its questions
// and what it shows, or through the machine's modes.
type wallView struct {
	frame
	Title            string
	At, Of           int // At is 0 before the first
	Back, Next, Away template.URL
}

// frame is one thing that a wall shows.
type frame struct {
	state State
	// Lead says what it is about, Caption what is to be read from the last row,
	// Points what there is of it, Answer what a question comes to.
	Lead, Caption string
	Points        []string
	Answer        string
}

// Wall is where the wall stands; nil where the page is not on one.
func (v *view) Wall() (*wallView, error) {
	if v.State.Wall == "" || v.C == nil {
		return nil, nil
	}
	title, frames, err := v.frames()
	if err != nil || len(frames) == 0 {
		return nil, err
	}
	for i := range frames {
		frames[i].state.Wall = strconv.Itoa(i + 1)
	}
	out := &wallView{Title: title, Of: len(frames)}
	for i, f := range frames {
		if f.state.Query() == v.State.Query() {
			out.At, out.frame = i+1, f
		}
	}
	link := func(i int) template.URL { return frames[(i+len(frames))%len(frames)].state.Link() }
	out.Next = link(out.At)
	out.Back = link(out.At - 2)
	if out.At == 0 {
		out.Back = link(-1)
	}
	away := v.State
	away.Wall = ""
	out.Away = away.Link()
	return out, nil
}

func (v *view) frames() (title string, out []frame, err error) {
	h, err := lessons.Find(v.State.Lesson)
	if err != nil { // none is open
		for i := range v.C.Modes() {
			m := v.C.Mode(circuit.ModeID(i))
			out = append(out, frame{state: State{Machine: v.State.Machine, Door: DoorExplore, Mode: m.Name}, Caption: m.Label})
		}
		return v.C.Title(), out, nil
	}
	l, err := v.situation.desk.lessonAt(context.Background(), h.Number)
	if err != nil {
		return "", nil, err
	}
	at := v.State.OnWall()
	own := l.Parts[len(l.Parts)-1]
	out = append(out, frame{state: at, Lead: "After it you can:", Points: l.Objectives})
	for _, text := range append(slices.Clone(l.Intro), own.Note) {
		if text != "" {
			out = append(out, frame{state: at, Caption: text})
		}
	}
	for i := range own.Steps {
		out = append(out, at.stepFrames(&own.Steps[i])...)
	}
	for _, text := range l.Keep {
		out = append(out, frame{state: at, Lead: "Keep", Caption: text})
	}
	return l.Title, out, nil
}

// stepFrames are what a wall shows of a lesson's step: each line of its table in the
// state that it speaks of, a column that has lost something in a frame of its own,
// then its question, and with that the answer.
func (s State) stepFrames(step *lessons.Step) (out []frame) {
	feed := func(show lessons.Show) State {
		shown := s.Shown(show)
		shown.Only = shown.Load != "" // its feed alone, in large letters
		return shown
	}
	here := s
	if !step.Show.None() {
		here = feed(step.Show)
	}
	if step.Say != "" {
		out = append(out, frame{state: here, Caption: step.Say})
	}
	for _, row := range step.Rows {
		if row.Show.None() {
			continue
		}
		plain := frame{state: feed(row.Show), Lead: step.Say, Caption: row.Cells[0]}
		for i, cell := range row.Cells[1:] {
			if len(step.Lost[i+1]) == 0 {
				plain.Points = append(plain.Points, step.Head[i+1]+": "+cell)
			}
		}
		lost := slices.Sorted(maps.Keys(step.Lost))
		if len(lost) == 0 {
			out = append(out, plain)
		}
		for _, i := range lost {
			f := plain
			f.state.Faults = step.Lost[i]
			f.Points = append(slices.Clone(plain.Points), step.Head[i]+": "+row.Cells[i])
			out = append(out, f)
		}
		here = out[len(out)-1].state
	}
	if step.Then != "" {
		out = append(out, frame{state: here, Caption: step.Then})
	}
	if step.Ask != "" {
		out = append(out, frame{state: here, Lead: "Question", Caption: step.Ask}, frame{state: here, Lead: "Question", Caption: step.Ask, Answer: step.Answer})
	}
	return out
}

// OnWall is the lesson of the state on a wall, or the machine: what the wall begins with.
func (s State) OnWall() State {
	return State{Machine: s.Machine, Door: cmp.Or(s.Door, DoorLearn), Lesson: s.Lesson, Wall: "1"}
}
