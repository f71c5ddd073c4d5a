package desk

import (
	"context"
	"fmt"
	"html/template"
	"strings"

	"legtrace/circuit"
	"legtrace/render/lessons"
)

// wallView is where a wall stands: large, the diagram and the meter alone, with
// keys for next and back. It goes through what a lesson shows of the machine, or
// through the machine's modes.
type wallView struct {
	Title, Caption   string
	At, Of           int // At is 0 before the first
	Back, Next, Away template.URL
}

// frame is one thing that a wall shows.
type frame struct {
	state   State
	caption string
}

// Wall is where the wall stands; nil where the page is not on one.
func (v *view) Wall() (*wallView, error) {
	if !v.State.Wall || v.C == nil {
		return nil, nil
	}
	title, frames, err := v.frames()
	if err != nil || len(frames) == 0 {
		return nil, err
	}
	out := &wallView{Title: title, Of: len(frames)}
	for i, f := range frames {
		if f.state.Query() == v.State.Query() {
			out.At, out.Caption = i+1, f.caption
		}
	}
	link := func(i int) template.URL { return frames[(i+len(frames))%len(frames)].state.Link() }
	out.Next = link(out.At)
	out.Back = link(out.At - 2)
	if out.At == 0 {
		out.Back = link(-1)
	}
	away := v.State
	away.Wall = false
	out.Away = away.Link()
	return out, nil
}

func (v *view) frames() (title string, out []frame, err error) {
	h, err := lessons.Find(v.State.Lesson)
	if err != nil { // none is open
		for i := range v.C.Modes() {
			m := v.C.Mode(circuit.ModeID(i))
			out = append(out, frame{State{Machine: v.State.Machine, Door: DoorExplore, Wall: true, Mode: m.Name}, m.Label})
		}
		return v.C.Title(), out, nil
	}
	l, err := v.situation.desk.lessonAt(context.Background(), h.Number)
	if err != nil {
		return "", nil, err
	}
	at := State{Machine: v.State.Machine, Door: v.State.Door, Lesson: v.State.Lesson, Wall: true}
	for _, step := range l.Parts[len(l.Parts)-1].Steps {
		for _, row := range step.Rows {
			if row.Show.None() {
				continue
			}
			var said []string
			for i, cell := range row.Cells[1:] {
				said = append(said, step.Head[i+1]+" "+cell)
			}
			shown := at.Shown(row.Show)
			shown.Only = shown.Load != "" // its feed alone, in large letters
			out = append(out, frame{shown, fmt.Sprintf("%s: %s", row.Cells[0], strings.Join(said, ", "))})
		}
	}
	return l.Title, out, nil
}

// OnWall is the state on a wall.
func (s State) OnWall() State { s.Wall = true; return s }
