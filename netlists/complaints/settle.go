package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// restDead makes of a machine that is dead, but for what is said to work, what is
// dead of it: what turns or else all that heats.
func (r *reader) restDead() {
	works := func(s Statement) bool { return s.About == OfLoad && s.What == "normal" }
	if !slices.ContainsFunc(r.heard.Statements, works) {
		return
	}
	loads := r.loadsOf(drives)
	if len(loads) == 0 {
		loads = r.loadsOf(heating)
	}
	var out []Statement
	for _, s := range r.heard.Statements {
		if s.What != "all_dead" && s.What != "rest_dead" {
			out = append(out, s)
			continue
		}
		for _, load := range loads {
			if !r.wasSaid(load, "normal") {
				one := s
				if one.About, one.What, one.Load, one.Mode = OfLoad, "dead", load, circuit.None; !r.wasSaid(load, "dead") {
					out = append(out, one)
				}
			}
		}
	}
	r.heard.Statements = out
}

// allButOne answers of which of several a state was told where it was of all but those of
// which something else was: "three burners work, the left front does not".
func (r *reader) allButOne() {
	r.heard.Questions = slices.DeleteFunc(r.heard.Questions, func(q Question) bool {
		if q.of == nil || q.About != OfLoad || q.What != "normal" && q.What != "dead" {
			return false
		}
		var rest []Statement
		for _, c := range q.Choices {
			s := c.Statements[0]
			if len(c.Statements) > 1 || s.Load == circuit.None {
				return false
			}
			if !slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.About == OfLoad && o.Load == s.Load && o.What != q.What }) {
				rest = append(rest, s)
			}
		}
		if len(rest) == 0 || len(rest) == len(q.Choices) || !q.others && q.of.count != len(rest) {
			return false
		}
		for _, s := range rest {
			r.put(s)
		}
		return true
	})
}

// awake makes of a control that shows a code, or beeps, and will not run what it lets
// stand: it has its supply.
func (r *reader) awake() {
	all := r.heard.Statements
	shows := slices.IndexFunc(all, func(s Statement) bool { return s.What == "code" || s.What == "beeps" })
	if shows < 0 || len(r.c.Controls()) == 0 {
		return
	}
	control := r.c.Controls()[0]
	var out []Statement
	for _, s := range all {
		switch {
		case s.clause < all[shows].clause:
		case s.What == "failed_again" && s.Part == control.Part:
			s.What = "found_bad" // "the second board died alike"
		case s.About == OfLoad && s.Load == control.Supply && (s.What == "dead" || onOccasion[s.What]):
			for _, load := range r.loadsOf(heating) {
				if !r.wasSaid(load, "normal") {
					s.Load = load
					out = append(out, s)
				}
			}
			continue
		}
		out = append(out, s)
	}
	r.heard.Statements = out
}

// told reports whether such a thing was told of a part, or of any where none is given.
func (r *reader) told(what string, part circuit.PartID) bool {
	return slices.ContainsFunc(r.heard.Statements, func(by Statement) bool { return by.What == what && (by.Part == part || part == circuit.None) })
}

// saidOnce drops what says once more, in words that would say more by themselves, what was
// said already.
func (r *reader) saidOnce() {
	all := r.heard.Statements
	r.heard.Statements = slices.DeleteFunc(slices.Clone(all), func(s Statement) bool {
		switch {
		case s.About == OfLoad && r.clauses[s.clause].asks: // "broil weak? checked, broil fine"
			return slices.ContainsFunc(all, func(by Statement) bool { return by.About == OfLoad && by.Load == s.Load && by.clause > s.clause })
		case s.What == "dead" && s.nameless && r.c.StoresHeat():
			return slices.ContainsFunc(all, func(by Statement) bool { return by.What == "off_by" && by.side != "above" }) && anyIn(strings.Fields(s.Words), r.l.Warm) // "only warm, never hot"
		case s.What == "dead" && s.About == OfLoad && s.way.nameless() && slices.Contains(r.loadsOf(r.l.Verbs["ends"].Of), s.Load): // "won't finish, it stops and cools"
			return slices.ContainsFunc(all, func(o Statement) bool { return o.About == OfLoad && (o.What == "quits" || o.What == "fails_hot") })
		case s.What == "dry": // "drained it and replaced the lower element"
			return slices.ContainsFunc(all, func(by Statement) bool {
				return by.What == "replaced" && by.Part != circuit.None && r.c.Part(by.Part).Kind.Heats() && by.clause >= s.clause && by.clause <= s.clause+1
			})
		case s.What == "no_help" && s.Part == circuit.None: // "reset it, hot for a day, then nothing", "the code came back after two weeks"
			return r.told("works_again", circuit.None) || r.told("code", circuit.None) && !slices.ContainsFunc(all, tried)
		}
		return false
	})
}

// trippedAgain makes of a breaker that lets go again, and was not replaced, one that trips:
// it is not spoilt, and what makes it trip is looked for.
func (r *reader) trippedAgain() {
	var out []Statement
	for _, s := range r.heard.Statements {
		if s.What == "failed_again" && s.Part != circuit.None && r.c.Part(s.Part).Kind.Guards() && !r.told("replaced", s.Part) {
			if r.told("trips", circuit.None) {
				continue
			}
			s.About, s.What, s.Part = OfWhole, "trips", circuit.None
		}
		out = append(out, s)
	}
	r.heard.Statements = out
}

// resetOften makes of a limit with a button that trips over and over, or is reset so, one
// whose reset holds for a while: it is good, and what makes it trip is looked for.
func (r *reader) resetOften() {
	var out []Statement
	for _, s := range r.heard.Statements {
		button := s.Part != circuit.None && r.c.Part(s.Part).HasButton()
		again := s.What == "failed_again" && button && !r.told("replaced", s.Part)
		if again {
			s.What = "found_bad" // it is no new one that failed
		}
		often := again || (s.What == "found_bad" && button || s.What == "reset" && !r.told("trips", circuit.None)) && r.overAndOver(s.clause)
		if out = append(out, s); often && !r.told("works_again", circuit.None) {
			s.About, s.What, s.Part = OfHistory, "works_again", circuit.None
			out = append(out, s)
		}
	}
	r.heard.Statements = out
}

// tried reports whether it tells of something that was done about it.
func tried(s Statement) bool {
	return s.About == OfHistory && !slices.Contains([]string{"no_help", "since", "sudden", "gradual", "moved", "storm", "spill", "self_clean"}, s.What)
}

// overAndOver reports whether a clause says that something is so time and again, or what
// is said right behind it and of nothing else: "it trips again, every time".
func (r *reader) overAndOver(clause int) bool {
	often := func(of int) bool {
		said := " "
		for i := range r.tokens {
			if r.of[i] == of {
				said += r.tokens[i].text + " "
			}
		}
		return slices.ContainsFunc(r.l.Often, func(o string) bool { return strings.Contains(said, " "+o+" ") })
	}
	return often(clause) || clause+1 < len(r.clauses) && !r.clauses[clause+1].made && often(clause+1)
}

// settle drops what a narrower statement of the same sentence takes back: "the
// oven heats but it is slow", "glows full red and never cycles".
func (r *reader) settle() {
	r.restDead()
	r.allButOne()
	r.awake()
	r.saidOnce()
	r.resetOften()
	r.trippedAgain()
	r.worksTillItTrips()
	r.scorchedAbove()
	r.settleExchange()
	r.nowWorks()
	r.outlived()
	r.ownRating()
	r.otherTurns()
	r.ownOutlet()
	all := r.heard.Statements
	for i := range all {
		s := &all[i]
		s.held = s.What == "quits" && anyIn(strings.Fields(s.Words), r.l.Held)
		if s.driven && s.What == "dead" && slices.ContainsFunc(all, func(by Statement) bool {
			return by.About == OfLoad && by.Load == s.Load && by.What == "normal" && !by.driven
		}) {
			s.About, s.What, s.Load = OfWhole, "belt", circuit.None // "the motor runs, the drum doesn't"
		}
	}
	drive := r.loadsOf(drives)
	for i := range all {
		s := &all[i]
		if s.What == "on" && s.Load != circuit.None && len(drive) == 1 && drive[0] != s.Load && r.turns([]circuit.BranchID{s.Load}) && r.wasSaid(s.Load, "dead") {
			s.Load = drive[0] // "the timer does not move, so it keeps running"
		}
		if s.What == "on" && s.Mode == circuit.None && s.When == "" && r.turns([]circuit.BranchID{s.Load}) && slices.ContainsFunc(all[:i], func(o Statement) bool {
			return o.About == OfLoad && r.heats(o.Load) && (o.What == "dead" || o.What == "quits" || o.What == "intermittent")
		}) {
			s.What = "normal" // "the heat quits, the drum keeps going"
		}
		if s.What == "on" && s.Mode == circuit.None && slices.ContainsFunc(all, func(o Statement) bool {
			return o.clause == s.clause && o.What == "normal" && o.About == OfLoad && slices.ContainsFunc(r.c.Controls(), func(k circuit.Control) bool { return k.Supply == o.Load })
		}) {
			s.What = "normal" // "cooktop, clock and lamp stay on"
		}
		if s.About == OfLoad && s.What == "dead" && slices.ContainsFunc(all[:i], func(by Statement) bool {
			return by.Load == s.Load && by.What == "normal" && (s.Mode == circuit.None || r.usual(&by) == r.usual(s)) && by.When == s.When
		}) {
			by := slices.IndexFunc(all[:i], func(by Statement) bool { return by.Load == s.Load && by.What == "normal" && by.general })
			switch {
			case by >= 0 && !s.general && !(s.then && r.c.StoresHeat()): // "it comes on but does not heat"
				all[by].What = ""
			case s.then && r.c.StoresHeat() && r.heats(s.Load): // what is felt is the water
				for k := range all[:i] {
					if by := &all[k]; by.Load == s.Load && by.What == "normal" {
						by.What = ""
					}
				}
				if s.What = ""; !slices.ContainsFunc(all, func(o Statement) bool { return o.What == "runs_out" }) {
					s.About, s.What, s.Load, s.Mode = OfWhole, "runs_out", circuit.None, circuit.None
				}
			case s.then: // "it heats, then goes cold"
				s.What = "intermittent"
			default:
				s.What = "intermittent"
				r.askWhich(s)
			}
		}
	}
	for i := range all {
		s := &all[i]
		for k := range all[:i] {
			by := &all[k]
			if s.About != OfLoad || s.What != "normal" || s.then || by.Load != s.Load || by.What != "dead" && !(by.What == "weak" && by.loosely && !s.loosely) || by.When != s.When || r.usual(by) != r.usual(s) {
				continue
			}
			if by.loosely && !s.loosely {
				by.What = "" // "the oven quit, but broil works"
				continue
			}
			r.askWhich(s) // "never moves, runs for ever"
		}
	}
	r.heard.Statements = slices.DeleteFunc(slices.Clone(all), func(s Statement) bool {
		if s.What == "some_on" && s.among == "" && slices.ContainsFunc(all, func(by Statement) bool { return by.among != "" && (by.Mode == s.Mode || s.Mode == circuit.None) }) {
			return true // "the oven stays on, it never shuts off"
		}
		return s.About == OfLoad && slices.ContainsFunc(all, func(by Statement) bool {
			if s.What == "pushed" && by.What == "stiff" && !r.wasSaid(s.Load, "hums") {
				return true // "when I turn it by hand the shaft is stiff"
			}
			same := by.Load == s.Load && (by.Mode == s.Mode || s.Mode == circuit.None)
			switch {
			case by.What == "asked" && by.Load == s.Load && r.usual(&by) == r.usual(&s):
				return true
			case s.What == "", s.What == "asked" || by.What == "asked" && same:
				return true
			case s.What == "dead" && by.What == "full" && by.Load == s.Load:
				return true // "all but the right rear, which is stuck on high"
			case s.unnamed && s.What == "dead" && by.What == "normal" && by.About == OfLoad && by.Load != s.Load && !by.unnamed:
				part, other := r.c.Branch(by.Load).Part, r.c.Branch(s.Load).Part
				return r.c.Part(part).Kind == circuit.KindSolenoid && r.placeOf(part) == r.placeOf(other) // "no glow, broil works"
			case by.What == "runs_out" && s.What == "normal" && (s.nameless || s.way == region):
				return true // "plenty hot but runs out"
			case s.What == "works_again" && by.clause == s.clause && (by.What == "code" || by.What == "slow"):
				return true // "S1 came back", "takes all day to come back"
			case s.What == "normal" && s.happened && by.then && by.clause > s.clause && by.What != "normal" && !r.mended:
				return true // "ran fine for a week, then the reset popped"
			case by.What == "failed_again" && s.What == "normal" && s.nameless && s.clause < by.clause:
				return true // "replaced, ran two weeks, blew again"
			case by.About == OfWhole && s.What == "normal":
				return !(by.What == "off_by" && r.onSurface(s.Load)) && (s.loosely || s.unnamed && by.clause == s.clause || by.What == "slow" && s.way.nameless() && len(r.loadsOf(drives)) == 0 || by.What == "off_by" && (len(r.loadsOf(heating)) == 1 || r.c.StoresHeat() && (s.way == ofVerb || s.way == ofMachine))) && (by.of == "" || by.of == s.of) && (by.Mode == circuit.None || by.Mode == r.c.OffMode() || r.c.StoresHeat() || len(r.loadsOf("kind:surface_element"))+len(r.loadsOf(drives)) > 0 || r.uses(by.Mode, s.Load)) && (by.What == "slow" || by.What == "off_by" || by.What == "some_on") && r.heats(s.Load) || by.What == "trips" && by.Mode != circuit.None && s.Mode == circuit.None && s.way == ofMachine // "works but trips when the heat is on"
			case s.What == "weak" && by.What == "dead" && by.About == OfLoad && by.Load == s.Load && s.clause < by.clause && r.isNow(&by):
				return true // "was weak and now it's dead"
			case s.What == "quits" && by.What == "dead" && by.Load == s.Load && s.clause < by.clause && r.isNow(&by):
				return true // "it kept shutting off, now it won't come on at all"
			case s.What == "dead" && r.isNow(&s) && s.clause > by.clause && (by.What == "runs_out" || by.What == "weak" || by.What == "quits"):
				return false
			case by.What == "runs_out" && (s.What == "dead" || s.What == "weak"):
				return s.loosely || s.then || s.of == "" // "ten minutes of hot water, then it's cold"
			case s.loosely && s.What == "normal" && by.About == OfLoad && !by.loosely && r.heats(by.Load) && (by.What != "touched" || r.onSurface(by.Load) == r.onSurface(s.Load)) && onOccasion[by.What]:
				return true
			case by.About == OfLoad && by.Load == s.Load && s.What == "normal" && by.What == "intermittent" && (s.Mode == by.Mode || s.Mode == circuit.None || by.Mode == circuit.None):
				return true
			case by.About != OfLoad || !same:
				return false
			case s.What == "weak" && by.What == "quits":
				return !r.heats(s.Load) // "tumbles a bit and quits"
			case s.What == "weak" && by.What == "dead":
				return s.Any != 0 // "raw on the bottom, and the bottom stays black"
			case s.What == "intermittent":
				return by.What == "fails_hot" // "cuts out, restarts once it cools"
			case s.What == "normal":
				return narrower[by.What]
			case s.What == "hot":
				return by.What == "full" // "has one setting, scorching"
			case s.What == "on" && by.What == "on":
				return s.Mode == circuit.None && by.Mode != circuit.None // "won't stop when I open the door, keeps going round"
			case s.What == "on":
				return by.What == "full" && by.clause == s.clause && s.Mode == circuit.None // "stays on high"
			case s.What == "dead":
				return onOccasion[by.What] || by.What == "weak" && by.Any == 0 || by.What == "hums" || by.What == "pushed"
			case s.What == "quits":
				return by.What == "on" || by.What == "weak" && r.heats(s.Load) || by.What == "fails_hot" || by.What == "intermittent" || by.What == "touched"
			}
			return false
		})
	})
	r.beltOff()
}

// isNow reports whether a statement tells how it is now, or since a time that was told, where
// it was otherwise before.
func (r *reader) isNow(s *Statement) bool {
	k := r.clauses[s.clause]
	return k.now || anyIn(strings.Fields(strings.Join(k.words, " ")), r.l.Now) || s.happened && len(r.began) > 0
}

// narrower are states that say more than that something works.
var narrower = map[string]bool{"weak": true, "hot": true, "on": true, "full": true, "slow": true, "off_by": true, "intermittent": true,
	"fails_hot": true, "fails_cold": true, "touched": true, "quits": true, "hums": true, "pushed": true, "runs_out": true}

func (r *reader) heats(load circuit.BranchID) bool {
	return heats(r.c, load)
}
