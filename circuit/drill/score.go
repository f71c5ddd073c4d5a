package drill

import (
	"context"
	"errors"
	"math"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// UnsafePrice is what avoiding one unsafe act is worth in minutes: twice a live
// test (common practice, no source).
const UnsafePrice = 2 * suspect.LivePenalty

// Patience is how many thousand solutions the weighing of a session may take
// where nobody says otherwise (see [circuit.Within]): nearly three times what three
// hidden faults took on the largest of the machines that it was tried on.
const Patience = 2000

// Within does something within so many thousand solutions; the error of what takes
// more is [circuit.ErrPatience].
func Within(ctx context.Context, patience int, do func(context.Context) error) error {
	bound, stop := circuit.Within(ctx, 1000*patience)
	defer stop()
	err := do(bound)
	if errors.Is(err, context.Canceled) && context.Cause(bound) == circuit.ErrPatience {
		return circuit.ErrPatience
	}
	return err
}

// Figures sum a session up.
type Figures struct {
	Minutes   float64 `json:"minutes" help:"time spent, wrong parts included"`
	Tests     int     `json:"tests" help:"modes tried and readings taken"`
	LiveTests int     `json:"live_tests" help:"readings taken with the supply on"`
	Unsafe    int     `json:"unsafe" help:"acts that were stopped"`
	Wrong     int     `json:"wrong" help:"parts named that were not at fault"`
	// Foretold counts the readings that were foretold, Right those whose value
	// and reason were both right.
	Foretold int `json:"foretold" help:"readings before which it was said what a good machine shows"`
	Right    int `json:"right" help:"of these, the ones whose value and reason were right"`
	// Chance is known once a session is scored. A wrong part is in Minutes; a
	// right one is charged by how likely it was to be wrong, so that a lucky
	// guess is worth no more than an unlucky one, on average.
	Chance float64 `json:"chance" help:"minutes charged for naming on a chance: of a wrong part, by how likely wrong the right one was"`
}

// Figures sums the session up so far.
func (s *Session) Figures() Figures {
	f := Figures{Minutes: s.minutes}
	for i := range s.steps {
		step := &s.steps[i]
		if step.test() {
			f.Tests++
		}
		if step.Foretold != nil {
			f.Foretold++
			if step.Foretold.Right {
				f.Right++
			}
		}
		if step.Live {
			f.LiveTests++
		}
		if step.Unsafe != nil {
			f.Unsafe++
		}
		if step.Wrong {
			f.Wrong++
		}
	}
	return f
}

// Cost is a session's minutes with what its risks are worth avoiding.
func (f Figures) Cost() float64 {
	return f.Minutes + f.Chance + suspect.LivePenalty*float64(f.LiveTests) + UnsafePrice*float64(f.Unsafe)
}

// Score sets a session beside the best plan.
type Score struct {
	// Points are 100 for a fault found at the best plan's cost or less, fewer
	// in proportion to what it cost more, and 0 for one not found.
	Points int
	End    End
	// Yours and Best are the session's figures and the best plan's.
	Yours, Best Figures
}

// Score scores the session as it stands.
func (s *Session) Score(ctx context.Context) (Score, error) {
	best, err := s.d.Best(ctx)
	if err != nil {
		return Score{}, err
	}
	out := Score{End: s.end, Yours: s.Figures(), Best: best.Figures()}
	for _, side := range []struct {
		of *Session
		to *Figures
	}{{s, &out.Yours}, {best, &out.Best}} {
		w, err := side.of.weigh(ctx)
		if err != nil {
			return Score{}, err
		}
		side.to.Chance = w.chance
	}
	if s.end == Found {
		out.Points = points(out.Yours, out.Best)
	}
	return out, nil
}

// points compares costs. No drill is free: the least that counts is a minute.
func points(yours, best Figures) int {
	ratio := max(1, best.Cost()) / max(1, yours.Cost())
	return int(math.Round(100 * min(1, ratio)))
}
