package report

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// Strip prepares the single-load view of a machine in a mode: the load's feed
// from conductor to conductor, then what holds its contacts closed, way after
// way. What an earlier way has shown is not shown again.
func (r *Reporter) Strip(ctx context.Context, q Question, opt DrawingOptions) (schematic.Strip, *Drawn, error) {
	d, doc, err := r.DrawingWith(ctx, q, opt)
	if err != nil {
		return schematic.Strip{}, nil, err
	}
	out, err := r.settle(q)
	if err != nil {
		return schematic.Strip{}, nil, err
	}
	feed := r.tracer.Feed(out, q.Load)
	s := schematic.Strip{Drawing: d}
	seen := map[circuit.TerminalID]bool{}
	main := r.feedWay(feed, seen)
	for i := range main.Hops {
		// What is left of a broken feed is emphasised as in the whole drawing.
		if h := &main.Hops[i]; len(d.Breaks) > 0 {
			h.Feed = d.Live[h.Branch]
		}
	}
	main.Heading = "Feed of the " + circuit.LowerFirst(r.label(q.Load))
	s.Ways = append(s.Ways, main)
	for _, h := range holdGroups(feed.Holds) {
		s.Ways = append(s.Ways, r.holdWays(h, out.Acting[h.Mover], seen)...)
	}
	return s, doc, nil
}

// holdGroup is contacts that one coil, or one control, holds.
type holdGroup struct {
	trace.Hold
	contacts []circuit.BranchID
}

// mover is the control of a board relay, else the coil or motor itself.
func (h *holdGroup) mover() circuit.BranchID {
	if h.Control != nil {
		return h.Control.Supply
	}
	return h.Mover
}

func holdGroups(holds []trace.Hold) []holdGroup {
	var out []holdGroup
	for _, h := range holds {
		g := holdGroup{Hold: h}
		i := slices.IndexFunc(out, func(o holdGroup) bool { return o.mover() == g.mover() })
		if i < 0 {
			i = len(out)
			out = append(out, g)
		}
		out[i].contacts = append(out[i].contacts, h.Contact)
	}
	return out
}

// holdWays shows how a mover is fed, then what its control must see.
func (r namer) holdWays(h holdGroup, acting bool, seen map[circuit.TerminalID]bool) []schematic.Way {
	state := "It acts now."
	if !acting {
		state = "It does not act now."
	}
	way := r.feedWay(h.Feed, seen)
	way.Heading = "Feed of the " + circuit.LowerFirst(r.label(h.mover()))
	way.Note = fmt.Sprintf("It moves the %s. %s", circuit.LowerFirst(circuit.List(each(h.contacts, r.label))), state)
	out := []schematic.Way{way}
	for _, s := range h.Senses {
		out = append(out, r.senseWay(h, s))
	}
	return out
}

func (r namer) senseWay(h holdGroup, s trace.SensePath) schematic.Way {
	verdict := "good"
	if !s.OK {
		verdict = "refused"
	}
	w := schematic.Way{
		Heading: fmt.Sprintf("%s must see %s", r.label(h.mover()), spaced(s.Sense.Name)),
		Note:    plain(fmt.Sprintf("%.4g to %s; now %s, %s.", s.Sense.MinOhms, ohms(s.Sense.MaxOhms), ohms(s.Ohms), verdict)),
		Start:   r.drawnPlace(s.Sense.Pin1), End: r.drawnPlace(s.Sense.Pin2),
	}
	at := s.Sense.Pin1
	for _, id := range r.senseOrder(s) {
		b := r.c.Branch(id)
		to := b.B
		if to == at {
			to = b.A
		} else if b.A != at {
			continue // beside the way, not on it
		}
		w.Hops = append(w.Hops, schematic.Hop{Branch: id, From: at, To: to})
		at = to
	}
	if at != s.Sense.Pin2 {
		w.End = "open: nothing leads on to " + r.drawnPlace(s.Sense.Pin2)
	}
	return w
}

// feedWay lays a feed out from one conductor through the load to the other. It
// leaves out, from the outside in, what was shown before, and notes what it
// shows.
func (r namer) feedWay(f *trace.Feed, seen map[circuit.TerminalID]bool) schematic.Way {
	b := r.c.Branch(f.Load)
	var w schematic.Way
	first, start := r.endHops(&f.Ends[0], seen)
	last, end := r.endHops(&f.Ends[1], seen)
	w.Start, w.End = start, end
	load := schematic.Hop{Branch: f.Load, From: b.A, To: b.B}
	if f.Fed() {
		load.Feed = schematic.FeedLoad
	}
	w.Hops = append(first, load)
	slices.Reverse(last)
	for _, h := range last {
		h.From, h.To = h.To, h.From
		w.Hops = append(w.Hops, h)
	}
	for _, h := range w.Hops {
		if h.To != circuit.None {
			seen[h.To] = true
		}
		if h.From != circuit.None {
			seen[h.From] = true
		}
	}
	return w
}

// endHops lists a way's hops after the last terminal that was shown before, and
// says where it starts if that is not at the supply.
func (r namer) endHops(e *trace.End, seen map[circuit.TerminalID]bool) ([]schematic.Hop, string) {
	if e.Source == circuit.None {
		return nil, "no way to any other supply conductor"
	}
	on := schematic.FeedNone
	if e.Made() {
		on = r.feedOf(e.Source)
	}
	var out []schematic.Hop
	start := ""
	for _, h := range e.Hops {
		if seen[h.To] {
			out, start = nil, r.drawnPlace(h.To)+", as above"
			continue
		}
		out = append(out, schematic.Hop{Branch: h.Branch, From: h.From, To: h.To, Feed: on})
	}
	return out, start
}

// feedOf names a conductor as the drawing does.
func (r namer) feedOf(source circuit.BranchID) schematic.Feed {
	for n, leg := range r.c.Supply().Legs {
		if leg == source {
			return schematic.LegFeed(n)
		}
	}
	return schematic.FeedNeutral
}
