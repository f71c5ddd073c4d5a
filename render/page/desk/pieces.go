package desk

import (
	"context"
	"errors"
	"html/template"

	"legtrace/circuit"
	"legtrace/circuit/trace"
	"legtrace/render/report"
)

// piece is a part of the page that is asked for by itself.
type piece struct {
	path, name string
	fill       func(*bench, context.Context, *situation, *view) error
	// key tells which states have the same answer; nil keeps none.
	key func(*situation) string
}

// pieces are all of them. The first is what a tap waits for.
var pieces = []piece{
	{"/bench", "bench", nil, nil},
	{"/drawing", "drawing", (*bench).fillDrawing, (*situation).drawKey},
	{"/breaks", "breaks", (*bench).fillBreaks, func(x *situation) string { return query(State{Mode: x.Mode, Load: x.Load, Set: x.Set}.pairs()) }},
	{"/standing", "standing", (*bench).fillStanding, func(x *situation) string { return query(State{Faults: x.Faults}.pairs()) }},
	{"/visit", "visit", (*bench).fillVisit, func(x *situation) string { return x.Query() }},
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

func (b *bench) fillBreaks(ctx context.Context, x *situation, v *view) error {
	if x.question.Load == circuit.None {
		return nil
	}
	q := x.question
	q.Faults = nil
	d, err := b.Reporter.Breaks(ctx, q, report.BreaksOptions{Order: 2})
	if errors.Is(err, trace.ErrNotEnergised) || errors.As(err, new(*report.NoDutyError)) || errors.As(err, new(*report.UnsoundError)) {
		return nil
	}
	v.Breaks = d
	return err
}

func (b *bench) fillStanding(_ context.Context, x *situation, v *view) (err error) {
	v.Standing, err = b.live(x)
	return err
}

func (b *bench) fillVisit(ctx context.Context, x *situation, v *view) (err error) {
	if len(x.Notes) == 0 {
		return nil
	}
	v.Visit, err = b.weigh(ctx, x.Notes)
	return err
}
