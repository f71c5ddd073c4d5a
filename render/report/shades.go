package report

import (
	"cmp"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/render/schematic"
)

// Shades tells for every branch how likely it is at fault by all that an engine
// knows, the likeliest first. A cause that no listed test tells from others
// shares its explanation's probability with them by their priors; an
// explanation of two faults counts for both, so that the sum may pass 1.
func Shades(e *suspect.Engine) []schematic.Shade {
	p := map[circuit.BranchID]float64{}
	for _, s := range e.Suspects(maxInt) {
		for _, class := range s.Causes {
			for _, m := range class.Members {
				share := s.P / float64(len(class.Members))
				if class.Prior > 0 {
					share = s.P * m.Prior / class.Prior
				}
				for _, id := range branchesOf(m) {
					p[id] += share
				}
			}
		}
	}
	out := make([]schematic.Shade, 0, len(p))
	for id, chance := range p {
		out = append(out, schematic.Shade{Branch: id, P: min(chance, 1)})
	}
	slices.SortFunc(out, func(a, b schematic.Shade) int {
		return cmp.Or(cmp.Compare(b.P, a.P), cmp.Compare(a.Branch, b.Branch))
	})
	return out
}

const maxInt = int(^uint(0) >> 1)

// branchesOf lists where a cause shows, each once.
func branchesOf(c suspect.Cause) []circuit.BranchID {
	var out []circuit.BranchID
	for _, f := range c.Faults {
		if !slices.Contains(out, f.Branch) {
			out = append(out, f.Branch)
		}
	}
	return out
}
