package desk

import (
	"context"
	"errors"
	"html/template"

	"legtrace/circuit"
	"legtrace/circuit/trace"
	"legtrace/render/lessons"
	"legtrace/render/report"
)

// piece is a part of the page that is asked for by itself.
type piece struct {
	path, name string
	fill       func(*bench, context.Context, *situation, *view) error
	// key tells which states have the same answer; nil keeps none.
	key func(*situation) string
	// apart is no part of the page as it stands: it is printed, or done ahead.
	apart bool
}

// pieces are all of them. The first is what a tap waits for.
var pieces = []piece{
	{"/bench", "bench", nil, nil, false},
	{"/drawing", "drawing", (*bench).fillDrawing, (*situation).drawKey, false},
	{"/sheets", "sheets", (*bench).fillSheets, (*situation).drawKey, true},
	{"/breaks", "breaks", (*bench).fillBreaks, func(x *situation) string { return x.key(State{Mode: x.Mode, Load: x.Load, Set: x.Set}) }, false},
	{"/standing", "standing", (*bench).fillStanding, func(x *situation) string { return x.key(State{Faults: x.Faults}) }, false},
	{"/controls", "controls", nil, func(x *situation) string { return x.key(x.State) }, false},
	{"/visit", "visit", (*bench).fillVisit, func(x *situation) string { return x.key(x.State) }, false},
	{"/told", "told", (*bench).fillTold, func(x *situation) string { return x.key(x.State) }, false},
	{"/debrief", "debrief", (*bench).fillDebrief, func(x *situation) string { return x.key(State{Drill: x.Drill, Moves: x.Moves}) }, false},
	{"/ready", "ready", (*bench).fillReady, nil, true},
	{"/learn", "learn", (*bench).fillLearn, func(x *situation) string { return x.key(x.State) }, false},
}

// key names an answer that depends on a part of the state, and on whether a
// drill is open: then the page shows less.
func (x *situation) key(s State) string {
	open := ""
	if x.drill != nil {
		open = "drill "
	}
	if x.Small { // of the lesson's own circuit
		s.Small, s.Lesson = true, x.Lesson
	}
	return open + query(s.pairs())
}

// fillIn works out what a piece shows.
func (p *piece) fillIn(b *bench, ctx context.Context, x *situation, v *view) error {
	if p.fill == nil {
		return nil
	}
	return p.fill(b, ctx, x, v)
}

func pieceAt(path string) *piece {
	for i := range pieces {
		if pieces[i].path == path {
			return &pieces[i]
		}
	}
	return nil
}

func (b *bench) fillDrawing(ctx context.Context, x *situation, v *view) error {
	svg, err := b.draw(ctx, x)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		v.Drawing = "The machine cannot be drawn: " + err.Error()
		return nil
	}
	v.Drawing = template.HTML(svg)
	return nil
}

func (b *bench) fillSheets(ctx context.Context, x *situation, v *view) error {
	if x.question.Load == circuit.None {
		return errNoLoad
	}
	all, err := b.sheets(ctx, x)
	for _, s := range all {
		v.Sheets = append(v.Sheets, template.HTML(s))
	}
	return err
}

func (b *bench) fillBreaks(ctx context.Context, x *situation, v *view) error {
	if x.question.Load == circuit.None || x.drill != nil {
		return nil
	}
	q := x.question
	q.Faults = nil
	d, err := b.Reporter.Breaks(ctx, q, report.BreaksOptions{Order: 2})
	if errors.Is(err, trace.ErrNotEnergised) || errors.As(err, new(*report.NotExpectedError)) || errors.As(err, new(*report.UnsoundError)) {
		return nil
	}
	v.Breaks = d
	return err
}

func (b *bench) fillStanding(_ context.Context, x *situation, v *view) (err error) {
	if x.drill != nil {
		return nil
	}
	v.Standing, err = b.live(x)
	return err
}

func (b *bench) fillVisit(ctx context.Context, x *situation, v *view) (err error) {
	if len(x.Notes) == 0 || x.drill != nil {
		return nil
	}
	v.Visit, err = b.visit(ctx, x)
	return err
}

// fillReady makes ready for a visit, while the person says what the machine does.
func (b *bench) fillReady(ctx context.Context, x *situation, _ *view) error {
	if len(x.Notes) > 0 || x.drill != nil || x.door() != DoorFind || x.Among != "" {
		return nil
	}
	return b.makeReady(ctx, x.desk)
}

// visit is the visit of a situation, which the diagram and the panel both show,
// whatever else has been set meanwhile.
func (b *bench) visit(ctx context.Context, x *situation) (*visitView, error) {
	about := aboutVisit(x)
	return x.desk.visits.get(about.Query(), func() (*visitView, error) { return b.weigh(ctx, x.desk, about, x.file) })
}

// aboutVisit is what of a situation its visit depends on.
func aboutVisit(x *situation) State {
	about := State{Complaint: x.State.Complaint, Notes: x.Notes, Done: x.Done, After: x.After, Date: x.Date}
	if x.Among != "" {
		about.Machine, about.Among, about.Outside = x.State.Machine, x.Among, x.Outside
	}
	if len(x.Set) > 0 { // the machine has a mode more
		about.Mode, about.Set = x.Mode, x.Set
	}
	return about
}

func (b *bench) fillDebrief(ctx context.Context, x *situation, v *view) (err error) {
	if x.drill.Over() {
		v.Debrief, err = x.desk.debrief(ctx, b, x)
	}
	return err
}

func (b *bench) fillLearn(ctx context.Context, x *situation, v *view) error {
	h, err := lessons.Find(x.State.Lesson)
	if err != nil {
		return nil // none of that name is open
	}
	v.Lesson, err = x.desk.lessonAt(ctx, h.Number)
	return err
}
