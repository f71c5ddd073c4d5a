package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// context is what was spoken of before a text: findings are of what was complained of.
type context struct {
	load circuit.BranchID // the one that fails
	mode circuit.ModeID   // in which it does, None where that was not said
	dead bool
}

// contextOf is what notes were of, nil where several things fail, in several modes, or none
// does.
func contextOf(c *circuit.Circuit, before []visit.Note) *context {
	failed := amiss(c, before)
	if len(failed) > 1 {
		if mode := failsIn(c, before); mode != circuit.None {
			return &context{circuit.None, mode, false}
		}
	}
	if len(failed) != 1 {
		return nil
	}
	out := &context{failed[0], circuit.None, false}
	for _, n := range before {
		if load, err := c.FindLoad(n.Load); err != nil || load != out.load || !isAmiss(n) {
			continue
		}
		if mode, err := c.FindMode(n.Mode); err == nil && uses(c, mode, out.load) {
			out.mode = mode
		}
		out.dead = out.dead || n.State == circuit.Dead.String()
	}
	return out
}

// failsIn is the one mode in which loads were said to fail, else None.
func failsIn(c *circuit.Circuit, before []visit.Note) circuit.ModeID {
	out := circuit.ModeID(circuit.None)
	for _, n := range before {
		mode, err := c.FindMode(n.Mode)
		if err != nil || n.State == "" || !isAmiss(n) {
			continue
		}
		if out != circuit.None && out != mode {
			return circuit.None
		}
		out = mode
	}
	return out
}

// isAmiss reports whether a note tells of something that is not as it should be.
func isAmiss(n visit.Note) bool {
	return n.Told != "" || slices.Contains([]string{circuit.Dead.String(), circuit.Weak.String(), circuit.TooMuch.String(), circuit.StaysOn.String()}, n.State)
}

// amiss are the loads that something was said to be amiss with; where only a part of them
// or a mode was named, that part's, or what heats in that mode alone.
func amiss(c *circuit.Circuit, before []visit.Note) (out []circuit.BranchID) {
	add := func(load circuit.BranchID) {
		if !slices.Contains(out, load) {
			out = append(out, load)
		}
	}
	for _, n := range before {
		if load, err := c.FindLoad(n.Load); err == nil && isAmiss(n) {
			add(load)
		}
	}
	for _, n := range before {
		if len(out) > 0 {
			break
		}
		if part, err := c.FindPart(n.Part); err == nil && n.Told != "" && loadOf(c, part) != circuit.None {
			add(loadOf(c, part))
		}
	}
	for _, n := range before {
		if mode, err := c.FindMode(n.Mode); err == nil && n.Trips && len(out) == 0 {
			if load, err := c.FindLoad(heatedIn(c, mode)); err == nil {
				add(load)
			}
		}
	}
	return out
}

// resume begins a text where the notes before it ended: "the coil" is that of the burner
// that was complained of.
func (r *reader) resume(before *context) {
	if r.before = before; before == nil || before.load == circuit.None {
		return
	}
	var where, name []string
	for _, w := range strings.Fields(fold(r.c.Label(before.load))) {
		if len(name) == 0 && r.l.alone(w).has(isWhere) {
			where = append(where, w)
		} else {
			name = append(name, w)
		}
	}
	np := r.phraseCalled(strings.Join(name, " "))
	if np == nil {
		return
	}
	if np.where, np.words = append(where, np.where...), append(where, np.words...); len(r.parts(np, r.isLoad)) == 1 {
		np.these = r.parts(np, r.isLoad)
		r.topic, r.last = np, []*phrase{np}
	}
}

// nowWorks makes of what works that was complained of, where something was done about it, what
// that tells: a new part shows that the old one was bad.
func (r *reader) nowWorks() {
	b := r.before
	if b == nil || !b.dead {
		return // nothing that is one load's
	}
	part := r.c.Branch(b.load).Part
	for i := range r.heard.Statements {
		s := &r.heard.Statements[i]
		if s.About != OfLoad || s.Load != b.load || s.What != "normal" {
			continue
		}
		switch {
		case r.told("replaced", part):
			s.About, s.What, s.Part = OfHistory, "like_works_here", part
		case r.told("reset", circuit.None):
			s.About, s.What, s.Part = OfHistory, "works_again", circuit.None
		default:
			continue
		}
		s.Load, s.Mode = circuit.None, circuit.None
	}
	if r.told("like_works_here", part) {
		r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool { return s.What == "replaced" && s.Part == part })
	}
}

// lasts puts down of a tank whose water is not hot that there is plenty of it.
func (r *reader) lasts(words []raw) {
	if !r.c.StoresHeat() || !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "off_by" && s.side != "above" || s.What == "weak" }) {
		return
	}
	for i := range words {
		if slices.ContainsFunc(r.l.Plenty, func(say string) bool {
			f := strings.Fields(say)
			return len(f) <= len(words)-i && startsWith(words[i:], f)
		}) {
			r.put(Statement{About: OfWhole, What: "plenty", Load: circuit.None, Part: circuit.None, Mode: circuit.None, Words: joined(words[i:min(i+3, len(words))])})
			return
		}
	}
}

// usualMode is the mode that is meant where none was said: that in which what was
// complained of fails, else the first that heats.
func (r *reader) usualMode() circuit.ModeID {
	if r.before != nil && r.before.mode != circuit.None {
		return r.before.mode
	}
	return mainMode(r.c)
}

// recall answers which of several is meant by what was noted before: of "coil reads OL"
// the one coil that was complained of, of "switch burnt" the one that is called as its
// coil is.
func (h *Heard) recall(c *circuit.Circuit, before []visit.Note) {
	var failed [][]string
	for _, load := range amiss(c, before) {
		failed = append(failed, strings.Fields(fold(c.Label(load))))
	}
	h.Questions = slices.DeleteFunc(h.Questions, func(q Question) bool {
		if q.Doubt != "" || len(failed) == 0 {
			return false
		}
		meant := slices.DeleteFunc(slices.Clone(q.Choices), func(one Choice) bool {
			words := strings.Fields(fold(one.Label))
			own := slices.DeleteFunc(slices.Clone(words), func(w string) bool {
				return !slices.ContainsFunc(q.Choices, func(o Choice) bool { return !slices.Contains(strings.Fields(fold(o.Label)), w) })
			})
			return !slices.ContainsFunc(failed, func(of []string) bool {
				return slices.Equal(of, words) || len(one.Statements) > 0 && one.Statements[0].Unit == "amps" && strings.HasPrefix(fold(one.Label), strings.Join(of, " ")+",") || len(own) > 0 && !slices.ContainsFunc(own, func(w string) bool { return !slices.Contains(of, w) })
			})
		})
		if b := contextOf(c, before); len(meant) != 1 && b != nil { // "draws 2.6 A", in the mode that fails
			meant = slices.DeleteFunc(slices.Clone(q.Choices), func(one Choice) bool {
				return len(one.Statements) != 1 || one.Statements[0].Unit != "amps" || one.Statements[0].Mode != b.mode
			})
		}
		if len(meant) == 1 {
			for _, s := range meant[0].Statements {
				if !slices.ContainsFunc(h.Statements, func(o Statement) bool {
					return o.What == s.What && o.Part == s.Part && o.Load == s.Load && o.Unit == "" && s.Unit == "" && o.About == s.About
				}) {
					h.Statements = append(h.Statements, s)
				}
			}
		}
		return len(meant) == 1
	})
}
