package schematic

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"legtrace/circuit"
)

// Every kind has a symbol by itself, and no two that are told apart on the
// diagram have the same.
func TestEveryKindHasAGlyph(t *testing.T) {
	same := map[string][]string{}
	for _, k := range circuit.Kinds() {
		for _, s := range []Symbols{IEC, IEEE} {
			g := Glyph(k, s)
			for d := xml.NewDecoder(strings.NewReader(g)); ; {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatalf("%s: %v", k, err)
				}
			}
			if strings.Count(g, "<") < 4 {
				t.Errorf("%s has no symbol: %s", k, g)
			}
			if s == IEC {
				same[g] = append(same[g], k.String())
			}
		}
	}
	for _, kinds := range same {
		got := strings.Join(kinds, " ")
		switch got {
		case "cycling_switch selector", "element surface_element", "limit thermostat", "door_switch latch": // alike on the diagram too
		default:
			if len(kinds) > 1 {
				t.Errorf("the same symbol: %s", got)
			}
		}
	}
}
