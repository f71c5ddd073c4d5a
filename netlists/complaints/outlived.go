package complaints

import (
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// onThePart are tellings of what was seen of a part, which go with the part.
var onThePart = map[string]bool{"found_bad": true, "parted": true, "shorted": true, "welded": true, "blistered": true, "burnt": true, "melted": true}

// fails are tellings of the whole that something is wrong with it.
var fails = map[string]bool{"all_dead": true, "dark": true, "trips": true, "trips_residual": true, "slow": true, "off_by": true, "some_on": true, "runs_out": true, "code": true}

// outlived drops what was seen of a part before it was replaced, where it is told as well
// what fails since: "the fuse was blown, replaced it, now there is no heat".
func (r *reader) outlived() {
	all := r.heard.Statements
	var out []Statement
	for i, s := range all {
		if s.What == "loose" && s.Part != circuit.None && !s.Joint && r.told("parted", s.Part) && len(r.machine.loads[s.Part]) > 0 {
			continue // "the element is broken, I saw it hanging"
		}
		if s.What == belt && r.ofTheOld(&s) {
			continue
		}
		if onThePart[s.What] && s.Part != circuit.None && !s.Joint && !r.machine.parts[s.Part][belt] && (r.renewedBefore(s.Part, all[i+1:]) || r.ofTheOld(&s)) {
			continue
		}
		out = append(out, s)
	}
	r.heard.Statements = out
}

// ofTheOld reports whether it was seen of a part that another stands for now, which is told
// of as well as what fails: "put in a new one as the old was burnt, it still won't heat".
func (r *reader) ofTheOld(s *Statement) bool {
	return anyIn(strings.Fields(strings.Join(r.clauses[s.clause].words, " ")), r.l.Former) && r.told("replaced", s.Part) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		return o.About == OfLoad && !notAmiss[o.What] || o.About == OfWhole && fails[o.What] || o.What == "no_help"
	})
}

// renewedBefore reports whether statements tell of a part that it was replaced, and behind
// that of what fails.
func (r *reader) renewedBefore(part circuit.PartID, all []Statement) bool {
	for i, by := range all {
		if by.What != "replaced" || by.Part != part || r.told("failed_again", circuit.None) {
			continue
		}
		for _, s := range all[i+1:] {
			if s.clause > by.clause && (s.About == OfLoad && !notAmiss[s.What] || s.About == OfWhole && fails[s.What]) {
				return true
			}
		}
	}
	return false
}

// ownRating drops ohms of what heats that it is said to be good with, where they are none
// of its own: whoever read them knows another rating than the netlist.
func (r *reader) ownRating() {
	r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool {
		if s.What != "reads" || s.Unit != "ohms" || s.Part == circuit.None || math.IsInf(s.Amount, 1) || !r.told("found_good", s.Part) {
			return false
		}
		spec := r.c.Part(s.Part).Spec
		rated := spec.Ohms
		if rated == 0 && spec.Watts > 0 {
			rated = spec.Volts * spec.Volts / spec.Watts
		}
		return rated > 0 && r.c.Part(s.Part).Kind.Heats() && s.To != r.c.ChassisTerminal() && (s.Amount > 2*rated/3 && s.Amount < rated*0.85 || s.Amount > rated*1.15 && s.Amount < 1.5*rated)
	})
}

// ownOutlet takes back that what feeds the machine is dead where something heats: an outlet of
// the machine's own is meant, which the netlist does not hold. It is told as not understood.
func (r *reader) ownOutlet() {
	heats := slices.ContainsFunc(r.heard.Statements, func(s Statement) bool {
		return s.What == "rest_normal" || s.About == OfLoad && s.What == "normal" && r.heats(s.Load)
	})
	r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool {
		own := heats && s.What == "found_bad" && s.Part != circuit.None && r.c.Part(s.Part).Kind == circuit.KindConnector && r.fedByLegs(s.Part)
		if own {
			r.heard.Unknown = append(r.heard.Unknown, r.l.socket(s.Words))
		}
		return own
	})
}

// socket is the word of some that names a socket, all of them where none does.
func (l *Language) socket(said string) string {
	for _, w := range strings.Fields(said) {
		if slices.Contains(l.nounOf(l.alone(singular(w))).Is, "outlet") || slices.Contains(l.nounOf(l.alone(singular(w))).Is, "receptacle") {
			return w
		}
	}
	return said
}
