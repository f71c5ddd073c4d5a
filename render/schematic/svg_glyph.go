package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// Glyph is the symbol of a kind by itself, as SVG to be shown beside its name: a
// contact as it stands at rest. Its lines have the classes of the diagram.
func Glyph(k circuit.Kind, s Symbols) string {
	var out strings.Builder
	fmt.Fprintf(&out, `<svg class="glyph" viewBox="-31 -27 62 45" width="62" height="45" aria-hidden="true">`)
	p := &pen{out: &out, half: reach}
	body, act := bodies[k], actuators[k]
	positions := strings.Fields(k.RestPositions())
	switch {
	case k == circuit.KindFuse, k == circuit.KindThermalFuse:
		drawFuse(p, s, true)
		if k == circuit.KindThermalFuse {
			drawHeat(p, s)
		}
	case k == circuit.KindNode:
		drawSplice(p)
	case k == circuit.KindControl:
		p.box("s fill", -20, -16, 20, 12)
		leads(p, 20)
	case k == circuit.KindTransformer:
		p.at, p.scale = point{0, -12}, 0.6
		drawWindings(p)
	case body != nil && k != circuit.KindRelay && k != circuit.KindLatch:
		body(p, s)
	default:
		closed := len(positions) > 0 && positions[0] == "closed"
		drawContact(p, closed, closed && !k.Guards())
		if k == circuit.KindBreaker {
			drawBreakerMark(p, s)
		}
		if k == circuit.KindRCD {
			drawRing(p)
		}
		if act != nil {
			act(p, s)
		}
	}
	out.WriteString("</svg>")
	return out.String()
}
