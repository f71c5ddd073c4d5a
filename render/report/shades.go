package report

import (
	"cmp"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/render/schematic"
)

// Shades tells for every branch how likely it is at fault by all that an engine
// knows, the likeliest first. A cause that no listed test tells from others
// shares its explanation's probability with them by their priors; an
// explanation of two causes counts for both, so that the sum may pass 1. A cause
// counts where it is blamed on, as in [suspect.Engine.PartChance].
func Shades(e *suspect.Engine) []schematic.Shade {
	p := map[circuit.BranchID]float64{}
	for _, s := range e.Suspects(math.MaxInt) {
		for _, class := range s.Causes {
			for _, m := range class.Members {
				p[m.Blamed(e.Circuit())] += s.P * m.Prior / class.Prior
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
