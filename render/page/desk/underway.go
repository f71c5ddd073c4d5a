package desk

import (
	"context"
	"slices"
	"sync"

	"legtrace/circuit/visit"
)

// underWay is a visit as far as lines of its notes were weighed. The next answer is
// put to it, and not once more all that was noted before.
type underWay struct {
	of    *stand
	lines []string
	job   *visit.Job
	// from tells by note of the job which line it is of; heard and wrong are what
	// else came of the lines.
	from  []origin
	heard heardView
	wrong []string
}

// mostUnderWay is how many visits are kept so. Each has an engine, of some ten
// megabytes.
const mostUnderWay = 2

// shelf keeps visits under way, the newest first.
type shelf struct {
	mu  sync.Mutex
	has []*underWay
}

// take hands out the visit of a machine that has most of the lines and no other;
// nil where there is none. Nobody else has it then.
func (s *shelf) take(of *stand, lines []string) *underWay {
	s.mu.Lock()
	defer s.mu.Unlock()
	best := -1
	for i, u := range s.has {
		n := len(u.lines)
		if u.of == of && n <= len(lines) && slices.Equal(u.lines, lines[:n]) && (best < 0 || n > len(s.has[best].lines)) {
			best = i
		}
	}
	if best < 0 {
		s.cut(mostUnderWay - 1) // room for one that is begun: never one more is there at once
		return nil
	}
	u := s.has[best]
	s.has = slices.Delete(s.has, best, best+1)
	return u
}

// ready reports whether a visit of a machine is there of which nothing is known.
func (s *shelf) ready(of *stand) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.ContainsFunc(s.has, func(u *underWay) bool { return u.of == of && len(u.lines) == 0 })
}

func (s *shelf) put(u *underWay) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.has = slices.Insert(s.has, 0, u)
	s.cut(mostUnderWay)
}

// cut lets go of all but the newest.
func (s *shelf) cut(most int) {
	most = min(most, len(s.has))
	clear(s.has[most:])
	s.has = s.has[:most]
}

// upTo is a visit with the notes of lines weighed, from what was weighed of it
// before. Whoever has done with it puts it back.
func (b *bench) upTo(ctx context.Context, desk *Desk, lines []string) (*underWay, error) {
	u := desk.shelf.take(b.stand, lines)
	if u == nil {
		j, err := visit.Start(ctx, b.c, visit.Record{})
		if err != nil {
			return nil, err
		}
		u = &underWay{of: b.stand, job: j}
	}
	return u, b.take(ctx, desk, u, lines[len(u.lines):])
}

// makeReady puts a visit on the shelf of which nothing is known yet, with what most
// complaints ask worked out as far as there is time, and reads what words may mean.
func (b *bench) makeReady(ctx context.Context, desk *Desk) error {
	if desk.shelf.ready(b.stand) {
		return nil
	}
	desk.lib.hear(b.c, "") // reads the tables of words
	u, err := b.upTo(ctx, desk, nil)
	if err != nil {
		return err
	}
	defer desk.shelf.put(u)
	return u.job.Engine.Ready(ctx)
}
