package report

import (
	"cmp"
	"slices"

	"legtrace/circuit/suspect"
	"legtrace/render/schematic"
)

// Shades tells for every branch of the likeliest machine how likely it is at fault,
// as [suspect.Among.Blame] has it, the likeliest first.
func Shades(a suspect.Among) []schematic.Shade {
	var out []schematic.Shade
	for id, chance := range a.Blame() {
		out = append(out, schematic.Shade{Branch: id, P: min(chance, 1)})
	}
	slices.SortFunc(out, func(a, b schematic.Shade) int {
		return cmp.Or(cmp.Compare(b.P, a.P), cmp.Compare(a.Branch, b.Branch))
	})
	return out
}
