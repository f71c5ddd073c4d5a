package complaints

import (
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// along lists what a terminal is joined to by wires and joints, or by contacts too, the
// nearest first; nothing beyond a part that is left out.
func (r *reader) along(from circuit.TerminalID, contacts bool, without circuit.PartID) []circuit.TerminalID {
	out := []circuit.TerminalID{from}
	for i := 0; i < len(out); i++ {
		for _, b := range r.c.Branches() {
			if b.Role != circuit.Join && !(contacts && b.Role == circuit.Contact) || b.Part != circuit.None && b.Part == without {
				continue
			}
			for _, way := range [2][2]circuit.TerminalID{{b.A, b.B}, {b.B, b.A}} {
				if way[0] == out[i] && !slices.Contains(out, way[1]) {
					out = append(out, way[1])
				}
			}
		}
	}
	return out
}

// legAt is the leg that a terminal has its volts from, or the neutral that it ends in, not
// by way of its own part; "" where there is a load before it.
func (r *reader) legAt(t circuit.TerminalID) string { return r.legBy(t, true) }

// legBy is that leg by wires, or by contacts of other parts too.
func (r *reader) legBy(t circuit.TerminalID, contacts bool) string {
	block := r.partKind(circuit.KindTerminalBlock)
	for _, at := range r.along(t, contacts, r.c.Terminal(t).Part) {
		if r.c.Terminal(at).Part == block {
			pole, _, _ := strings.Cut(r.c.Terminal(at).Name, ".")
			return pole
		}
	}
	return ""
}

// sides are the terminals where volts come into a part and where they leave it: of a
// transformer the ends of its windings, of what has a leg on one side that side.
func (r *reader) sides(id circuit.PartID) (in, out []circuit.TerminalID) {
	for _, b := range r.c.Branches() {
		if b.Part == id && b.Secondary != circuit.None {
			s := r.c.Branch(b.Secondary)
			return []circuit.TerminalID{b.A, b.B}, []circuit.TerminalID{s.A, s.B}
		}
	}
	if r.fedByLegs(id) { // before the machine, by its own names
		for _, t := range r.c.Part(id).Terminals {
			if _, side, _ := strings.Cut(r.c.Terminal(t).Name, "."); side == "in" {
				in = append(in, t)
			} else {
				out = append(out, t)
			}
		}
		return in, out
	}
	var back []circuit.TerminalID
	for _, t := range r.c.Part(id).Terminals {
		if len(r.c.Terminal(t).Wires) == 0 {
			continue
		}
		switch r.legAt(t) {
		case "":
			out = append(out, t)
		case "N":
			back = append(back, t)
		default:
			in = append(in, t)
		}
	}
	if wired := slices.DeleteFunc(slices.Clone(in), func(t circuit.TerminalID) bool { return r.legBy(t, false) == "" }); len(in) > 2 && len(wired) == 2 {
		in = wired // not the lamp's, which other switches feed
	}
	if len(in) == 0 {
		return out, back
	}
	return in, append(out, back...)
}

// against is where volts at a terminal are read to: as many as between the legs to the
// other leg, fewer to neutral, or to metal where there is none.
func (k *readout) against(t circuit.TerminalID, volts float64) circuit.TerminalID {
	full := k.r.c.Supply().Volts
	l1, l2, _ := k.r.legs(k.r.partKind(circuit.KindTerminalBlock))
	switch leg := k.r.legAt(t); {
	case math.Abs(volts-full) > full/8:
		return k.neutral()
	case leg != "" && k.r.fed(k.r.partKind(circuit.KindTerminalBlock), leg) == l2:
		return l1
	}
	return l2
}

// atSide takes volts that come into a part or leave it: "243 in, 0 out of the reset".
func (k *readout) atSide(np *phrase, before *lastRead) bool {
	r, full := k.r.c, k.r.c.Supply().Volts
	for _, id := range k.near(np, k.standing(k.r.likeliest(np, k.r.parts(np, k.r.isNoLoad))), before.of) {
		in, out := k.r.sides(id)
		at, mode := in, k.mode
		if k.side == "out" {
			at = out
		}
		pole := func(t circuit.TerminalID) string { s, _, _ := strings.Cut(r.Terminal(t).Name, "."); return s }
		supplies := k.r.fedByLegs(id)
		if supplies && len(k.poles) == 0 && k.amps == 0 {
			k.poles = before.poles // "L3 120 in, 0 out"
		} else if supplies && len(k.poles) == 0 && k.live {
			k.amps = full
		}
		if supplies && len(k.poles) == 1 {
			at = slices.DeleteFunc(at, func(t circuit.TerminalID) bool { return pole(t) != k.poles[0] })
		} else if half := math.Abs(k.amps-k.r.legVolts()) < full/8; supplies && len(at) == 2 && k.r.legVolts() < full && (half || k.amps == 0 && (before.legs || k.one && k.legs)) {
			for _, t := range at { // of either leg
				k.means = append(k.means, k.read([]circuit.PartID{id}, pole(t), func(circuit.PartID) (p, q circuit.TerminalID) { return t, k.neutral() }, "volts", k.r.c.OffMode())...)
			}
			*before = lastRead{of: np, unit: "volts", next: true, legs: true}
			k.unit = "volts"
			return len(k.means) > 0
		}
		if of := k.spoken; len(at) > 2 && of != nil && k.r.corner(id) != "" && slices.ContainsFunc(k.r.parts(of, k.r.isLoad), func(load circuit.PartID) bool { return k.r.corner(load) == k.r.corner(id) }) {
			return false // which of its contacts nobody says, and no other is meant
		}
		if len(at) == 0 || len(at) > 2 || len(at) == 2 && (r.Part(id).Kind == circuit.KindDoorSwitch || r.Part(id).Kind == circuit.KindCentrifugalSwitch) {
			continue // of what changes over nobody says which
		}
		ends := func(circuit.PartID) (p, q circuit.TerminalID) {
			switch {
			case len(at) == 2:
				return at[0], at[1]
			case k.amps == 0 && k.side == "out" && len(in) > 0 && !supplies && k.r.feedsAcross(at[0]):
				return at[0], k.against(in[0], full) // to neutral the load brings the other leg there
			case k.amps == 0 && before.against != nil:
				return at[0], before.against[0]
			}
			return at[0], k.against(at[0], k.amps)
		}
		if mode == circuit.None && supplies && !r.StoresHeat() {
			mode = r.OffMode() // it stands there whatever is on
		} else if mode == circuit.None {
			mode = k.r.modeBeyond(append(slices.Clone(out), in...), id)
		}
		k.means = append(k.means, k.read([]circuit.PartID{id}, k.r.c.Part(id).Label, ends, "volts", mode)...)
	}
	if k.unit = "volts"; len(k.means) == 0 {
		return false
	}
	*before = lastRead{of: np, unit: k.unit, mode: k.mode, next: true, poles: k.poles}
	if len(k.poles) == 1 && k.side == "out" && k.r.fedByLegs(k.means[0].Statements[0].Part) {
		before.side = k.side
	}
	if len(k.means) == 1 {
		id := k.means[0].Statements[0].Part
		at := k.r.nameWords(id)
		one := *np
		if one.where = at[:len(at)-1]; len(np.where) == 0 && slices.Equal(k.r.parts(&one, k.r.isNoLoad), []circuit.PartID{id}) {
			before.of = &one // "240 into the relay, 0 out"
		}
		before.against = []circuit.TerminalID{k.means[0].Statements[0].To}
	}
	return true
}

// comesIn takes volts at a limit or thermostat of which no side was said: those that come
// into it, of several into each.
func (k *readout) comesIn(np *phrase, before *lastRead) bool {
	parts := k.standing(k.r.likeliest(np, k.r.parts(np, k.r.isNoLoad)))
	if full := k.r.c.Supply().Volts; k.side != "" || !k.at || k.unit == "ohms" || k.unit == "" && !k.volts && math.Abs(k.amps-full) > full/8 && !(k.amps == 0 && before.unit == "volts") ||
		k.ground || len(k.poles) > 0 || len(parts) == 0 || len(parts) > 1 && !np.all && !k.each || !k.r.namesOnly(np, circuit.KindLimit, circuit.KindThermostat, circuit.KindThermalFuse) {
		return false
	}
	all := Choice{}
	for _, id := range parts {
		one, was := *k, *before
		one.side, one.means = "in", nil
		if !one.atSide(k.r.phraseOf(id), &was) || len(one.means) != 1 {
			return false
		}
		all.Statements = append(all.Statements, one.means[0].Statements...)
	}
	k.means, k.unit = []Choice{all}, "volts"
	*before = lastRead{of: np, unit: k.unit, mode: k.mode, next: true}
	return true
}

// modeBeyond is the mode that the first load is told to be dead in which lies along a
// part's ends.
func (r *reader) modeBeyond(ends []circuit.TerminalID, part circuit.PartID) circuit.ModeID {
	for _, end := range ends {
		for _, t := range r.along(end, true, part) {
			for _, load := range r.c.Loads() {
				if b := r.c.Branch(load); b.Part != circuit.None && (b.A == t || b.B == t) {
					if m := r.modeHeard(b.Part); m != circuit.None {
						return m
					}
				}
			}
		}
	}
	return r.usualMode()
}

// sideAt is where volts were read that a word tells, "in" or "out" of a part; "" where it
// leads to a place or a mode.
func (r *reader) sideAt(words []raw, i int) string {
	l, m := r.l, &r.l.Meter
	if !slices.Contains(m.Enters, words[i].word) && !slices.Contains(m.Leaves, words[i].word) {
		return ""
	}
	for j := max(0, i-longestName); j < i; j++ {
		if t, n := l.longestAt(words[j:i+1], r.machine); t.has(isNoun) && j+n > i {
			return "" // "241 where the cable comes in"
		}
	}
	if i+1 < len(words) {
		next := words[i+1]
		if !l.parting(next) && !isFigure(next.word) && !slices.Contains(m.At, next.word) && !slices.Contains(m.In, next.word) && !l.alone(next.word).has(with) && !slices.Contains(m.Zero, next.word) {
			return ""
		}
	}
	if slices.Contains(m.Enters, words[i].word) {
		return "in"
	}
	return "out"
}

// feedsAcross reports whether the first load that lies along a terminal, not by way of its
// own part, is one for the volts between two legs.
func (r *reader) feedsAcross(t circuit.TerminalID) bool {
	for _, at := range r.along(t, true, r.c.Terminal(t).Part) {
		for _, load := range r.c.Loads() {
			if b := r.c.Branch(load); b.Part != circuit.None && (b.A == at || b.B == at) {
				return r.legVolts() < r.c.Supply().Volts && r.c.Part(b.Part).Spec.Volts > r.legVolts()*5/4
			}
		}
	}
	return false
}

// legVolts is how many volts a leg has to neutral.
func (r *reader) legVolts() float64 {
	switch s := r.c.Supply(); s.System {
	case "split-phase":
		return s.Volts / 2
	case "single-phase":
		return s.Volts
	default:
		return math.Round(s.Volts / math.Sqrt(3))
	}
}

// parallel reports whether parts are joined to each other at both ends.
func (r *reader) parallel(parts []circuit.PartID) bool {
	if len(parts) < 2 {
		return false
	}
	ends, runs := r.c.Part(parts[0]).Terminals, r.c.Runs()
	return !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		at := r.c.Part(id).Terminals
		return len(at) != 2 || runs[at[0]] != runs[ends[0]] || runs[at[1]] != runs[ends[len(ends)-1]]
	})
}

// rated reports whether a winding may show so many volts.
func (r *reader) rated(poles []string, volts float64) bool {
	i := slices.IndexFunc(r.c.Branches(), func(b circuit.Branch) bool { return b.Secondary != circuit.None })
	if i < 0 || len(poles) != 2 || !strings.HasPrefix(poles[0], "P") && !strings.HasPrefix(poles[0], "S") {
		return false
	}
	of := &r.c.Branches()[i]
	if poles[0] == "S1" {
		of = r.c.Branch(of.Secondary)
	}
	return math.Abs(volts-of.Volts) < of.Volts/4
}

// thence are the terminals of what a part's ends are wired to, as one stands there: a
// sensor's at the board; its own where they are not.
func (r *reader) thence(ends []circuit.TerminalID, inside []*phrase) []circuit.TerminalID {
	for _, np := range inside {
		parts, out := r.parts(np, anyPart), []circuit.TerminalID(nil)
		there := func(id circuit.PartID) bool {
			if k := r.c.Part(id).Kind; k != circuit.KindControl && k != circuit.KindConnector && k != circuit.KindTerminalBlock && k != circuit.KindRelay {
				return false
			}
			return slices.Contains(parts, id) || slices.ContainsFunc(np.said, func(s string) bool {
				return r.machine.parts[id][singular(s)] && !r.machine.parts[r.c.Terminal(ends[0]).Part][singular(s)]
			})
		}
		for _, end := range ends {
			for _, t := range r.along(end, false, r.c.Terminal(end).Part) {
				if r.c.Terminal(t).Part != r.c.Terminal(end).Part && r.c.Terminal(t).Part != circuit.None && there(r.c.Terminal(t).Part) {
					out = append(out, t)
					break
				}
			}
		}
		if len(out) == 2 && out[0] != out[1] {
			return out
		}
	}
	return ends
}

// reaches reports whether what one phrase names is wired to what another does at both ends.
func (k *readout) reaches(of, to *phrase) bool {
	return slices.ContainsFunc(k.r.partsFirst(of, k.r.isLoad), func(id circuit.PartID) bool {
		ends := k.ends(of, id)
		return len(ends) == 2 && !slices.Equal(ends, k.r.thence(ends, []*phrase{to}))
	})
}

// pins are a plug's two terminals, where a probe gets to them.
func (r *reader) pins(at []circuit.TerminalID) (out []circuit.TerminalID) {
	poles := map[string]circuit.TerminalID{}
	var names []string
	for _, t := range at {
		pole, _, _ := strings.Cut(r.c.Terminal(t).Name, ".")
		if _, has := poles[pole]; !has {
			names, poles[pole] = append(names, pole), t
		} else if r.c.PointAt(t) != nil {
			poles[pole] = t
		}
	}
	for _, pole := range names {
		out = append(out, poles[pole])
	}
	return out
}

// onBoard keeps of parts those that stand on a board, one where they are joined there.
func (r *reader) onBoard(np *phrase, parts []circuit.PartID, k *readout) []circuit.PartID {
	parts = slices.DeleteFunc(parts, func(id circuit.PartID) bool {
		return r.c.Part(id).Kind != circuit.KindControl && !slices.ContainsFunc(np.said, func(s string) bool { return slices.Contains(strings.Fields(fold(r.c.Part(id).Place)), s) })
	})
	if len(parts) < 2 {
		return parts
	}
	one, _ := k.terminals(parts[0])
	runs := r.c.Runs()
	if !slices.ContainsFunc(parts, func(id circuit.PartID) bool { t, _ := k.terminals(id); return runs[t] != runs[one] }) {
		return parts[:1]
	}
	return parts
}
