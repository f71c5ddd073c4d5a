package schematic

import (
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// rungApart is how far apart rows are, at least, that have numbers of their own.
const rungApart = 14

// numberRungs numbers the rows of symbols from top to bottom: what is drawn apart
// is found by them, as the drawings of machines have it (IEC 61082-1 and NFPA 79
// refer so, from memory).
func (pl *plan) numberRungs() {
	pl.rungs = pl.rungs[:0]
	var ys []int
	for _, u := range pl.units {
		if !u.trunk && u.shape != shapeChassis {
			ys = append(ys, u.y)
		}
	}
	slices.Sort(ys)
	for _, y := range ys {
		if n := len(pl.rungs); n == 0 || y-pl.rungs[n-1] >= rungApart {
			pl.rungs = append(pl.rungs, y)
		}
	}
}

// rung is the number of the row that a symbol stands on, from 1; 0 above all.
func (pl *plan) rung(u *unit) int {
	n, _ := slices.BinarySearch(pl.rungs, u.y+1)
	return n
}

// wholes are the kinds whose poles, drawn apart, stand for themselves. The
// symbols of any other part name each other's fields.
var wholes = map[circuit.Kind]bool{
	circuit.KindConnector: true, circuit.KindTerminalBlock: true, circuit.KindBreaker: true, circuit.KindRCD: true, circuit.KindSupply: true,
}

// findSiblings notes which symbols belong to one part.
func (g *graph) findSiblings() {
	of := map[*circuit.Part][]*unit{}
	for _, u := range g.units {
		if !wholes[u.part.Kind] {
			of[u.part] = append(of[u.part], u)
		}
	}
	for _, u := range g.units {
		for _, o := range of[u.part] {
			if o != u {
				u.siblings = append(u.siblings, o)
			}
		}
	}
}

// mostSiblings is how many fields a reference names.
const mostSiblings = 4

// isCoil reports whether a symbol is what moves the other symbols of its part.
func (u *unit) isCoil() bool {
	return u.load && (u.part.Kind == circuit.KindRelay || u.part.Kind == circuit.KindLatch)
}

// reference says on which rungs the rest of a part is drawn: at a coil those of
// its contacts, at a contact that of its coil first.
func (pl *plan) reference(u *unit) string {
	var coils, contacts []string
	inOrder := slices.SortedFunc(slices.Values(u.siblings), func(a, b *unit) int { return a.y - b.y })
	for _, o := range inOrder {
		at := strconv.Itoa(pl.rung(o))
		switch {
		case o.isCoil():
			coils = append(coils, at)
		case u.isCoil() && len(o.branches) == 1 && pl.c.Branch(o.branches[0]).Rule.NormallyClosed:
			contacts = append(contacts, at+" nc")
		default:
			contacts = append(contacts, at)
		}
	}
	contacts = slices.Compact(contacts)
	if len(contacts) > mostSiblings {
		contacts = append(contacts[:mostSiblings], "\u2026")
	}
	switch list := strings.Join(contacts, ", "); {
	case u.isCoil():
		return "contacts " + list
	case len(coils) == 0:
		return "also " + list
	case list == "":
		return "coil " + coils[0]
	default:
		return "coil " + coils[0] + ", also " + list
	}
}

// referenceWidth is the room kept for a symbol's reference.
func (u *unit) referenceWidth() int {
	if len(u.siblings) == 0 {
		return 0
	}
	return textWidth("contacts"+strings.Repeat(" 88,", min(len(u.siblings), mostSiblings)), smallSize)
}
