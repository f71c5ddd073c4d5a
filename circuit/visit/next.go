package visit

import (
	"context"

	"legtrace/circuit/suspect"
)

// Stand is how far the search for the cause has come.
type Stand uint8

const (
	// Searching: a test is worth making.
	Searching Stand = iota
	// Sound: what was seen is what a sound machine does.
	Sound
	// Sure: one cause, or causes within one part, hold nearly all of the
	// probability.
	Sure
	// Likely: they hold most of it, and the next test would tell little.
	Likely
	// Exhausted: no listed test tells more.
	Exhausted
)

// Step is what to do next.
type Step struct {
	Stand   Stand
	Finding suspect.Finding
	// Tests are those most worth making, best first, also where testing may
	// stop; none where no listed test tells more.
	Tests []suspect.Proposal
}

// tellsLittle is the probability of a test's likeliest outcome from which it is
// not worth making once a finding is close.
const tellsLittle = 0.96

// Next tells what to do next, with as many tests as wanted.
func (j *Job) Next(ctx context.Context, most int) (Step, error) {
	s := Step{Finding: j.Engine.Finding()}
	var err error
	if s.Tests, err = j.Engine.Next(ctx, j.Progress, most); err != nil {
		return s, err
	}
	f := s.Finding
	switch {
	case f.Sound && f.Sure:
		s.Stand = Sound
	case f.Sure:
		s.Stand = Sure
	case len(s.Tests) == 0 && f.Sound:
		s.Stand = Sound
	case len(s.Tests) == 0:
		s.Stand = Exhausted
	case f.Close && s.Tests[0].Outcomes[0].P >= tellsLittle:
		s.Stand = Likely
		if f.Sound {
			s.Stand = Sound
		}
	}
	return s, nil
}

// Reach is where a test needs most opened: the place to leave out when it
// cannot be got at.
func (j *Job) Reach(t suspect.Test) string {
	c, at := j.Circuit, t.Probes.P
	if j.Progress.Opened[c.PlaceOf(at)] || !j.Progress.Opened[c.PlaceOf(t.Probes.Q)] && c.AccessMinutes(t.Probes.Q) > c.AccessMinutes(at) {
		at = t.Probes.Q
	}
	return c.PlaceName(at)
}
