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
		out = append(out, at.saying("", text)...)
	}
	for _, step := range own.Steps {
		out = append(out, at.stepFrames(step)...)
	}
	for _, text := range l.Keep {
		out = append(out, at.saying("Keep", text)...)
	}
	return l.Title, out, nil
}

// saying is a frame for each sentence of a text, in the state that it speaks of.
func (s State) saying(lead string, text []lessons.Sentence) (out []frame) {
	for _, said := range text {
		out = append(out, frame{state: s.large(said.Show), Lead: lead, Caption: said.Text})
	}
	return out
}

// large is the state that something shows: the load's feed alone, in large letters.
func (s State) large(show lessons.Show) State {
	if show.None() {
		return s
	}
	shown := s.Shown(show)
	shown.Only = shown.Load != ""
	return shown
}

// stepFrames are what a wall shows of a lesson's step: each sentence, and each line of
// its table, in the state that it speaks of, a column that has lost something in a frame of
// its own, then its question, and with that the answer.
func (s State) stepFrames(step stepView) (out []frame) {
	out = s.saying("", step.Told.Say)
	for _, row := range step.Rows {
		if row.Show.None() {
			continue
		}
		plain := frame{state: s.large(row.Show), Lead: step.Step.Say, Caption: row.Cells[0]}
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
	}
	out = append(out, s.saying("", step.Told.Then)...)
	if asks, answers := step.Told.Ask, step.Told.Answer; len(asks) > 0 && len(answers) > 0 {
		f := frame{state: s.large(asks[len(asks)-1].Show), Lead: "Question", Caption: step.Step.Ask}
		out = append(out, f)
		for _, said := range answers {
			f.state, f.Answer = s.large(said.Show), said.Text
			out = append(out, f)
		}
	}
	return out
}

// OnWall is the lesson of the state on a wall, or the machine: what the wall begins with.
func (s State) OnWall() State {
	return State{Machine: s.Machine, Door: cmp.Or(s.Door, DoorLearn), Lesson: s.Lesson, Wall: "1"}
}
