package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// answer takes away questions that the rest of what was heard answers: of several
// parts the one that is dead or works beside what was told of, of what is dead
// already what else is said of it.
func (r *reader) answer() {
	dead := func(c Choice) bool {
		return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool {
			if s.About != OfLoad || s.What != "dead" {
				return false
			}
			of := c.Statements[0]
			return of.Load == s.Load || of.Part != circuit.None && of.Part == r.c.Branch(s.Load).Part
		})
	}
	r.heard.Questions = slices.DeleteFunc(r.heard.Questions, func(q Question) bool {
		if q.What == "reads" { // "11 A on L1, 0 A on L2 in bake"
			as := slices.DeleteFunc(slices.Clone(q.Choices), func(c Choice) bool { return !r.clampedIn(c.Statements[0]) })
			if len(as) == 1 {
				r.put(as[0].Statements[0])
				return true
			}
		}
		them := slices.DeleteFunc(slices.Clone(q.Choices), func(c Choice) bool { return !dead(c) })
		switch {
		case len(them) == 0:
			return false
		case q.What == "dead" && q.About == OfLoad:
			return len(them) == len(q.Choices) || len(them) == 1 && len(them[0].Statements) > 1 &&
				!slices.ContainsFunc(them[0].Statements, func(s Statement) bool { return !r.wasSaid(s.Load, "dead") })
		case len(them) == 1 && q.About == OfPlace:
			r.put(them[0].Statements[0])
			return true
		}
		return false
	})
	r.heard.Questions = slices.DeleteFunc(r.heard.Questions, func(q Question) bool {
		return r.readAlready(&q) || r.ofSpoken(&q)
	})
	r.heard.Questions = slices.DeleteFunc(r.heard.Questions, func(q Question) bool {
		if q.What != "normal" && q.What != "dead" || q.About != OfLoad {
			return false
		}
		them := slices.DeleteFunc(slices.Clone(q.Choices), func(c Choice) bool { return !r.beside(c.Statements[0]) })
		if len(them) != 1 || len(q.Choices) == 1 {
			return false
		}
		r.put(them[0].Statements[0])
		return true
	})
}

// clampedIn reports whether amps are those of a mode in which others were read.
func (r *reader) clampedIn(of Statement) bool {
	return of.Unit == "amps" && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.Unit == of.Unit && s.Mode == of.Mode })
}

// beside reports whether a load that heats, and of which nothing else was said, is
// used in the mode in which another was said to be dead: "the oven won't light, the
// igniter glows".
func (r *reader) beside(of Statement) bool {
	said := func(s Statement) bool { return s.About == OfLoad && s.Load == of.Load }
	if of.About != OfLoad || !r.heats(of.Load) || slices.ContainsFunc(r.heard.Statements, said) {
		return false
	}
	return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool {
		if s.About != OfLoad || s.What != "dead" && s.What != "slow" && s.What != "weak" && s.What != "intermittent" {
			return false
		}
		mode, err := r.c.FindMode(r.usual(&s))
		return err == nil && r.uses(mode, of.Load)
	})
}

// usual is the mode that a statement of a load is of, the usual one where none was said.
func (r *reader) usual(s *Statement) string {
	n, err := symptom(r.c, s.Load, circuit.Dead, s.Mode)
	if err != nil {
		return ""
	}
	return n.Mode
}

// askOnce asks whether what failed hot on an occasion works again, unless it was said.
func (r *reader) askOnce() {
	var kept, asked []Statement
	for _, s := range r.heard.Statements {
		known := func(o Statement) bool {
			return o.What == "works_again" || o.Load == s.Load && o.What == "dead"
		}
		if s.What != "fails_hot" || !s.happened || slices.ContainsFunc(r.heard.Statements, known) {
			kept = append(kept, s)
			continue
		}
		asked = append(asked, s)
	}
	if len(asked) == 0 {
		return
	}
	r.heard.Statements = kept
	r.askEither("fails_hot", asked, "dead", "fails_hot")
}

// askWhich asks which is so of what was said both to work and to be dead.
func (r *reader) askWhich(s *Statement) {
	r.askEither("dead", []Statement{*s}, "dead", "normal", "intermittent")
	s.What = "asked"
}

// askEither asks which of several ways some statements are so.
func (r *reader) askEither(what string, of []Statement, ways ...string) {
	q := Question{Words: of[0].Words, What: what, About: of[0].About}
	for _, way := range ways {
		all := slices.Clone(of)
		for i := range all {
			all[i].What = way
		}
		q.Choices = append(q.Choices, Choice{r.l.Say[way], all})
	}
	r.heard.Questions = append(r.heard.Questions, q)
}

// readAlready reports whether it was asked where a meter showed what it is known to have
// shown at one of those places: "120 L1 to N, 0 L2 to N, one pole dead".
func (r *reader) readAlready(q *Question) bool {
	return q.What == "reads" && len(q.Choices) > 1 && slices.ContainsFunc(q.Choices, func(c Choice) bool {
		return !slices.ContainsFunc(c.Statements, func(s Statement) bool {
			return !slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
				return o.What == s.What && o.Unit == s.Unit && o.Amount == s.Amount && (o.From == s.From && o.To == s.To || r.supplyPole(&s) != "" && r.supplyPole(&s) == r.supplyPole(&o))
			})
		})
	})
}

// supplyPole is the one pole of the supply that a meter was put to, "" where it was put
// between two or elsewhere.
func (r *reader) supplyPole(s *Statement) string {
	if s.Part == circuit.None || !r.fedByLegs(s.Part) || s.From == circuit.None || s.To == circuit.None {
		return ""
	}
	pole, _, _ := strings.Cut(r.c.Terminal(s.From).Name, ".")
	if to, _, _ := strings.Cut(r.c.Terminal(s.To).Name, "."); to != "N" && r.isPole(to) {
		return ""
	}
	return pole
}

// ofSpoken answers of which of several parts something was found by the one of them that was
// spoken of, or that is called as its load is: "the bake relay clicks, 240 at the element,
// element open". What was said to work is not meant.
func (r *reader) ofSpoken(q *Question) bool {
	if q.Doubt != "" || len(q.Choices) < 2 || !onePart[q.What] && !(q.What == "dead" && anyIn(strings.Fields(q.Choices[0].Statements[0].Words), r.l.Meter.Opened)) || q.others || q.of != nil && (q.of.all || q.of.count > 0 || len(q.of.where) > 0 && !q.of.lent) {
		return false
	}
	var meant []Choice
	for _, c := range q.Choices {
		if r.spokenAmiss(c) {
			meant = append(meant, c)
		}
	}
	if len(meant) != 1 {
		return false
	}
	for _, s := range meant[0].Statements {
		if q.What == "dead" && s.Load != circuit.None { // it was found open
			s.About, s.What, s.Part, s.Load, s.Mode = OfPlace, "found_bad", r.c.Branch(s.Load).Part, circuit.None, circuit.None
		}
		r.put(s)
	}
	return true
}

// onePart are findings of one part, as a technician tells them of what he has at hand.
var onePart = map[string]bool{"reads": true, "found_bad": true, "shorted": true, "welded": true, "parted": true, "blistered": true, "burnt": true, "melted": true, "loose": true, "discoloured": true, "replaced": true}

// spokenAmiss reports whether of the part of a choice, or of the load at its corner, something
// was told by name or read, and not that it works.
func (r *reader) spokenAmiss(c Choice) bool {
	id := r.partOf(&c.Statements[0])
	return id != circuit.None && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool {
		of := r.partOf(&s)
		return of != circuit.None && s.way == named && (!notAmiss[s.What] || s.What == "reads") && (of == id || r.corner(id) != "" && r.corner(of) == r.corner(id))
	})
}
