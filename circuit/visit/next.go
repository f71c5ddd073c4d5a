package visit

import (
	"context"
	"slices"

	"legtrace/circuit/suspect"
)

// Search is how far the search for the cause has come.
type Search uint8

const (
	// Searching: a test is worth making.
	Searching Search = iota
	// Sound: what was seen is what a sound machine does.
	Sound
	// Sure: one cause, or causes within one part, hold nearly all of the
	// probability.
	Sure
	// Likely: they hold most of it, and the next test takes more than it saves.
	Likely
	// Little: what the tests left would tell is not worth their time.
	Little
	// Exhausted: no listed test tells more.
	Exhausted
	// Unsaid: nothing that was said is a fault to be found, so no test is proposed.
	Unsaid
	// Held: something was told that has to be ended before any test.
	Held
)

// Step is what to do next.
type Step struct {
	Search  Search
	Finding suspect.Finding
	// Tests are those most worth making, best first, also where testing may
	// stop; none where no listed test tells more.
	Tests []suspect.Proposal
	// Alike are, where no listed test tells more, the causes that are left, with
	// the place where a further test point would part them.
	Alike []suspect.AlikeGroup
}

// Next tells what to do next, with as many tests as wanted.
func (j *Job) Next(ctx context.Context, most int) (Step, error) {
	among := j.Among()
	s := Step{Finding: among.Finding()}
	if asks, ok := j.Asks(); ok {
		s.Search = asks
		return s, nil
	}
	var err error
	if s.Tests, err = among.Next(ctx, most); err != nil {
		return s, err
	}
	f := s.Finding
	little := false
	if len(s.Tests) == 0 {
		if s.Tests, err = among.Rest(ctx, most); err != nil {
			return s, err
		}
		little = len(s.Tests) > 0
	}
	if s.Search = Standing(f, s.Tests, little); s.Search == Exhausted {
		s.Alike, err = j.Engine.Alike(ctx, j.Progress)
	}
	return s, err
}

// Standing is how far a search has come by what was found and the tests that are left,
// which may tell too little.
func Standing(f suspect.Finding, tests []suspect.Proposal, little bool) Search {
	switch enough := f.Close && len(tests) > 0 && tests[0].Enough(); {
	case f.Sure && len(tests) > 0 && tests[0].Proves():
		return Searching
	case f.Sound && (f.Sure || len(tests) == 0 || little || enough):
		return Sound
	case f.Sure:
		return Sure
	case little:
		return Little
	case len(tests) == 0:
		return Exhausted
	case enough:
		return Likely
	}
	return Searching
}

// Asks tells why more has to be said before there is a test to make: [Held] or [Unsaid].
// Once a test was left out or a repair made there is a search that goes on.
func (j *Job) Asks() (Search, bool) {
	if j.Engine.Held() {
		return Held, true
	}
	return Unsaid, j.unsaid()
}

func (j *Job) unsaid() bool {
	nothing := len(j.Notes) == 0 && j.Complaint != "" // none of it was understood
	return !j.Anyway && (nothing || j.Engine.Uncomplained()) && len(j.Mended) == 0 && !slices.ContainsFunc(j.Notes, func(n Note) bool { return !n.Made() })
}

// Reach is where a test needs most opened: the place to leave out when it
// cannot be got at.
func (j *Job) Reach(t suspect.Test) string {
	c, at := j.Circuit, t.Probes.P
	if t.Ask != "" {
		return c.Terminal(c.Part(t.Part).Terminals[0]).Ref
	}
	if j.Progress.Opened[c.PlaceOf(at)] || !j.Progress.Opened[c.PlaceOf(t.Probes.Q)] && c.AccessMinutes(t.Probes.Q) > c.AccessMinutes(at) {
		at = t.Probes.Q
	}
	return c.PlaceName(at)
}
