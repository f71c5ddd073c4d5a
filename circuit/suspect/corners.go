package suspect

import (
	"context"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// corners are those of all classes, each set of faults that may answer differently
// once.
type corners struct {
	ask [][]circuit.Fault
	at  [][]int32 // by class and corner: its place in ask
	// looks are what is seen of them by mode, with a sound machine's after the last;
	// those kept, times the loads that each looks at, are bounded by maxLooks.
	looks map[circuit.ModeID][]*look
}

// none is the place of a sound machine among the looks.
func (q *corners) none() int { return len(q.ask) }

// distinct lists the corners for a piece of evidence. What is asked of a load is
// the same of all that do the same to it (see [collapse]), and kept.
func (e *Engine) distinct(ev Evidence) *corners {
	switch {
	case ev.Symptom == nil || ev.Symptom.Whole != 0:
		return e.cornersBy(func(faults []circuit.Fault) []circuit.Fault { return nil })
	case e.workers[0].apart(ev.Symptom.Load):
		return e.cornersBy(func(faults []circuit.Fault) []circuit.Fault { return e.workers[0].likeFirst(faults, ev.Symptom.Load) })
	case e.ofLoads == nil:
		e.ofLoads = e.cornersBy(func(faults []circuit.Fault) []circuit.Fault { return e.workers[0].likeFirst(faults) })
		e.ofLoads.looks = map[circuit.ModeID][]*look{}
	}
	return e.ofLoads
}

// cornersBy lists them, single faults by what stands for them: nil where each
// stands for itself.
func (e *Engine) cornersBy(first func([]circuit.Fault) []circuit.Fault) *corners {
	like, q := map[circuit.Fault]int32{}, &corners{at: make([][]int32, len(e.classes))}
	for i := range e.classes {
		for _, faults := range e.classes[i].sizes.corners {
			k := int32(len(q.ask))
			if by := first(faults); len(by) == 1 {
				if was, known := like[by[0]]; known {
					k = was
				}
				like[by[0]], faults = k, by
			}
			if q.at[i] = append(q.at[i], k); int(k) == len(q.ask) {
				q.ask = append(q.ask, faults)
			}
		}
	}
	return q
}

// looksAt are what is seen of corners in the mode of a symptom of a load; nil for
// other evidence, and where they are too many to be kept.
func (e *Engine) looksAt(ctx context.Context, q *corners, ev Evidence) ([]*look, error) {
	s := ev.Symptom
	if q.looks == nil || s == nil || s.Mode == circuit.None || s.Trips || s.pushed || len(s.meanings()) > 0 {
		return nil, nil
	}
	each := (q.none() + 1) * len(e.workers[0].loads)
	if each > maxLooks/4 {
		return nil, nil
	}
	if q.looks[s.Mode] != nil {
		return q.looks[s.Mode], nil
	}
	if (len(q.looks)+1)*each > maxLooks {
		clear(q.looks)
	}
	looks := make([]*look, q.none()+1)
	sound, err := e.workers[0].look(s.Mode, nil)
	if err != nil {
		return nil, err
	}
	looks[q.none()] = sound
	err = e.each(ctx, len(q.ask), func(w *worker, i int) error {
		if faults := q.ask[i]; len(faults) == 1 && w.idle(s.Mode, faults[0]) {
			looks[i] = sound
			return nil
		}
		l, err := w.look(s.Mode, q.ask[i])
		if l == &w.along {
			l = &look{trips: l.trips, chatters: l.chatters, loads: slices.Clone(l.loads)}
		}
		looks[i] = l
		return err
	})
	if err == nil {
		q.looks[s.Mode] = looks
	}
	return looks, err
}

// shows is what a look at a machine with faults makes of a symptom of a load, or of
// none.
func (w *worker) shows(s *Symptom, o *look, faults []circuit.Fault) (predicted, error) {
	p := predicted{chatter: o.chatters}
	if s.Load == circuit.None {
		return p, nil
	}
	sound, err := w.sound(s.Mode)
	if err != nil {
		return predicted{}, err
	}
	seen, c := o.of(s.Load), w.bench.Circuit()
	if p.share, p.should = seen.least, sound.LeastShare(s.Load); p.should < circuit.OnShare {
		p.share = seen.most
	}
	p.hums = !sound.Hums(s.Load) && (seen.hums || p.share < circuit.OnShare && seen.motion == settle.Hums)
	if s.until && p.share < circuit.OnShare && p.should >= circuit.OnShare {
		if p.until, err = w.coded(s.Mode, faults); err != nil {
			return p, err
		}
	}
	p.acts = c.Part(c.Branch(s.Load).Part).Kind == circuit.KindSolenoid
	p.free = p.share >= circuit.RunShare*circuit.RunShare && !slices.ContainsFunc(faults, func(f circuit.Fault) bool {
		return f.Kind == circuit.Seized && f.Branch == s.Load && kindOf(c, s.Load) != circuit.KindFan // a fan's bearings bind, and let go
	})
	return p, nil
}

// know keeps what a piece of evidence was found to weigh.
func (e *Engine) know(ev Evidence, s *singles) {
	e.evidence, e.singles = append(e.evidence, ev), append(e.singles, s)
	if s.corners == nil {
		return
	}
	if e.corners == nil {
		e.corners = make([][][4]float64, len(e.classes))
		for i := range e.classes {
			e.corners[i] = make([][4]float64, len(e.classes[i].sizes.cells))
		}
	}
	for i, cells := range e.corners {
		for k := range cells {
			if s.even[i][k] {
				continue
			}
			for at, corner := range e.classes[i].sizes.cells[k].corners {
				cells[k][at] += s.corners[i][corner]
			}
		}
	}
}
