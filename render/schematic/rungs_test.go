package schematic

import (
	"context"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit"
)

// Every part that is drawn apart finds its other symbols by the rungs named, both
// ways.
func TestReferencesLeadBothWays(t *testing.T) {
	number := regexp.MustCompile(`\d+`)
	for _, c := range append(shipped(t), everyKind(t)) {
		d := Drawing{Circuit: c, Load: circuit.None}
		l, err := layOut(context.Background(), &d)
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range l.units {
			if len(u.siblings) == 0 {
				continue
			}
			ref := l.reference(u)
			named := map[string]bool{}
			for _, n := range number.FindAllString(ref, -1) {
				named[n] = true
			}
			for _, o := range u.siblings {
				if !named[strconv.Itoa(l.rung(o))] && !strings.Contains(ref, "\u2026") {
					t.Errorf("%s: %s on rung %d says %q, its other symbol is on rung %d", c.Name(), u.part.Name, l.rung(u), ref, l.rung(o))
				}
			}
		}
		for i, y := range l.rungs {
			if i > 0 && y-l.rungs[i-1] < rungApart {
				t.Errorf("%s: rungs %d and %d are %d px apart", c.Name(), i, i+1, y-l.rungs[i-1])
			}
		}
	}
}

func TestCoilAndContactsNameEachOther(t *testing.T) {
	c := everyKind(t)
	d := Drawing{Circuit: c, Load: circuit.None}
	l, err := layOut(context.Background(), &d)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, u := range l.units {
		if u.part.Kind == circuit.KindRelay && len(u.siblings) > 0 {
			seen[strings.Fields(l.reference(u))[0]] = true
		}
	}
	if !seen["coil"] || !seen["contacts"] {
		t.Errorf("relays say %v, want coil and contacts", seen)
	}
}
