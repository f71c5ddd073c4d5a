package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// belt is what is in the name of a switch that a belt holds closed.
const belt = "belt"

// beltOff makes of a belt that parted, where what it is driven by runs all the same, one
// that is off: its switch has not opened.
func (r *reader) beltOff() {
	runs := false
	for _, load := range r.loadsOf(drives) {
		runs = runs || r.wasSaid(load, "normal") || r.wasSaid(load, "hums")
	}
	var out []Statement
	for _, s := range r.heard.Statements {
		if runs && (s.What == "parted" || s.What == "burnt") && s.Part != circuit.None && r.machine.parts[s.Part][belt] {
			if r.told("belt", circuit.None) || r.told("replaced", s.Part) {
				continue
			}
			s.About, s.What, s.Part, s.Load, s.Mode = OfWhole, "belt", circuit.None, circuit.None, circuit.None
		}
		if s.What != "belt" || !r.told("hums", circuit.None) || !r.told("replaced", circuit.None) {
			out = append(out, s) // but for "the belt broke, put a new one on, now it only hums"
		}
	}
	r.heard.Statements = out
}

// otherRuns reports whether what was spoken of last turns beside the drive, and was said to
// run: "the timer hums but it won't start".
func (r *reader) otherRuns() bool {
	drive := r.loadsOf(drives)
	return len(drive) > 0 && !slices.ContainsFunc(r.last, func(p *phrase) bool {
		return slices.ContainsFunc(r.parts(p, r.isLoad), func(id circuit.PartID) bool {
			load := r.machine.loads[id][0]
			return slices.Contains(drive, load) || !r.wasSaid(load, "normal") && !r.wasSaid(load, "hums")
		})
	})
}

// otherTurns settles what is said of what turns: a timer that hums runs, unless it is said
// to stand, and what never stops in a setting in which nothing trips just runs.
func (r *reader) otherTurns() {
	drive, all := r.loadsOf(drives), r.heard.Statements
	for i := range all {
		s := &all[i]
		switch turns := slices.Contains(drive, s.Load); {
		case s.What == "hums" && s.Load != circuit.None && len(drive) > 0 && !turns && !r.wasSaid(s.Load, "dead"):
			s.What = "normal"
		case s.What == "on" && turns && (s.Mode == circuit.None || r.uses(s.Mode, s.Load)) && r.told("trips", circuit.None):
			s.What = "normal" // "trips on heat, on air it runs forever"
		}
	}
}

// humsAt settles a hum that is told of nothing that turns, which no element makes: one of the
// fans hums or something buzzes, which is asked; of an element it is a noise. It reports
// whether it was told so.
func (r *reader) humsAt(k *clause, s *said) bool {
	of := k.subjects
	if len(of) == 0 {
		of = r.last
	}
	heater := false
	for _, p := range of {
		if r.isMachine(p) || r.region(p) {
			continue
		}
		parts := r.parts(p, r.isLoad)
		if heater = len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }); !heater {
			return false
		}
	}
	fans := r.loadsOf("kind:fan")
	noise := &said{class: isSeen, key: "noise", words: s.words, from: s.from}
	switch {
	case len(r.loadsOf(drives)) > 0:
		return false
	case heater, len(fans) == 0:
		r.seen(k, noise)
		return true
	}
	r.choose(&phrase{words: strings.Fields(s.words)}, s, append(r.ofLoads(k, s, s.key, fans), Choice{r.l.Say["noise"], []Statement{k.blank(OfPlace, noise)}}), k)
	return true
}
