package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// offBy reports whether a state only tells on which side the temperature is off that was
// spoken of right before, and puts that down: "off by 50 degrees, too cold".
func (r *reader) offBy(k *clause, s *said) bool {
	n, words := len(r.heard.Statements), strings.Fields(s.words)
	if n == 0 || len(k.subjects)+len(k.places)+len(k.modes) > 0 || r.heard.Statements[n-1].What != "off_by" || s.key != "hot" && !r.l.below[words[len(words)-1]] {
		return false
	}
	of, side := &r.heard.Statements[n-1], "above"
	if s.key != "hot" {
		side = "below"
	}
	if of.side != "" && of.side != side {
		return false // "it was scalding, then it went cold"
	}
	if k.amount > 0 && of.Amount == 0 {
		of.Amount, of.Unit = r.signed(k, s), k.unit // "way off: 60 degrees cold"
		r.used.join(k.at[ofAmount])
	}
	if of.side = side; s.key != "hot" {
		of.Amount = -max(of.Amount, -of.Amount)
	}
	r.used.join(r.now)
	return true
}

// ofRegion are states that "the oven" is in as a whole, as told: one of what
// heats there may do it alone.
var ofRegion = map[string]string{"on": "some_on", "slow": "slow", "hot": "off_by", "off_by": "off_by", "runs_out": "runs_out"}

// mostOff is by how many degrees Fahrenheit a temperature is off at most: more is
// what it got to.
const mostOff = 180

// sideOf is the side on which a temperature is off, empty where it was not said.
func (r *reader) sideOf(k *clause, s *said) string {
	switch {
	case s.key == "hot":
		return "above"
	case s.key == "off_by" && k.side == "" && (r.isBelow(s) || r.l.fallsShort(s.words)):
		return "below" // "underheats", "won't get up to temperature"
	}
	return k.side
}

// fallsShort reports whether words tell that a temperature is not reached.
func (l *Language) fallsShort(words string) bool {
	said := strings.Fields(words)
	return anyIn(said, l.Reaches) && slices.ContainsFunc(said, func(w string) bool { return l.alone(w).has(not) })
}

// isBelow reports whether the words of a state tell of too little heat.
func (r *reader) isBelow(s *said) bool {
	return slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return r.l.below[w] })
}

// signed is how far off, below zero for too cold.
func (r *reader) signed(k *clause, s *said) float64 {
	switch {
	case k.unit != "minutes" && k.amount > mostOff:
		return 0
	case r.isBelow(s), k.side == "below":
		return -k.amount
	}
	return k.amount
}

// untilOff makes of a burner that stays on until somebody turns it off one at full heat:
// turned off it is off.
func (r *reader) untilOff(s *Statement) {
	if r.clauses[s.clause].tillOff && s.What == "on" && r.onSurface(s.Load) {
		s.What, s.Mode = "full", circuit.None
	}
}

// idles puts what stays on as a program is over into the mode in which the control waits,
// where its own switch is on in that alone: "kept heating after the firing ended".
func (r *reader) idles(s *Statement) {
	off := r.c.OffMode()
	if s.What != "some_on" && s.What != "on" || s.Mode != off || len(r.c.Controls()) == 0 || uses(r.c, off, r.c.Controls()[0].Supply) || !anyIn(strings.Fields(strings.Join(r.clauses[s.clause].words, " ")), r.l.Ended) {
		return
	}
	for _, m := range r.c.Modes() {
		if m.ID != off && uses(r.c, m.ID, r.c.Controls()[0].Supply) && !heatsIn(r.c, m.ID) {
			s.Mode = m.ID
			return
		}
	}
}
