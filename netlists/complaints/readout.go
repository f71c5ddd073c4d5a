package complaints

import (
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

func (r *reader) fedByLegs(part circuit.PartID) bool {
	return r.fed(part, "L1") != circuit.None || r.fed(part, "L") != circuit.None
}

// supply takes volts between the poles of a part that brings them: those named, each
// leg to neutral, or between the legs; half of the supply's volts may be of either leg.
func (k *readout) supply(part circuit.PartID) bool {
	if part == circuit.None || k.unit == "ohms" || k.closed || k.ground && len(k.poles) != 1 && !k.each {
		return false
	}
	full := k.r.c.Supply().Volts
	if k.unit == "" && !k.volts && k.amps > 0 && k.amps < full/4 && len(k.poles) < 2 {
		return false // amps, likely: "L1 17.8"
	}
	if k.figureFirst && !k.at && !k.reads && len(k.poles) == 0 && !k.each || k.legs && !k.at && !k.each && !k.lost && !k.volts && !k.one && !k.other {
		return false // "a 240 volt outlet", "on a 220 line"
	}
	if k.unit == "" && !k.volts && !k.lost && len(k.poles) == 0 && (!k.at && !k.legs && !k.measuring && !k.apart || k.amps < full/3 && k.amps != 0) {
		return false
	}
	l1, l2, n := k.r.legs(part)
	l3, half := k.r.fed(part, "L3"), math.Abs(k.amps-full/2) < full/8
	if lost := k.lost || k.amps == 0; k.r.c.Part(part).Kind == circuit.KindBreaker && k.legs && lost { // what is dead there is behind it
		if in, out := k.r.sides(part); len(in) == 2 && len(out) == 2 {
			l1, l2, n = out[0], out[1], k.neutral()
		}
	}
	if k.ground || n == circuit.None && (k.legs && half || len(k.poles) == 1) {
		n = k.r.c.ChassisTerminal() // "121 V on one leg", where no neutral is
	}
	mode := k.r.c.OffMode()
	if k.r.c.StoresHeat() {
		mode = mainMode(k.r.c) // nobody switches it off: cold, it calls for heat
	}
	between := func(p, q circuit.TerminalID, label string) []Choice {
		return k.read([]circuit.PartID{part}, label, func(circuit.PartID) (circuit.TerminalID, circuit.TerminalID) { return p, q }, "volts", mode)
	}
	switch poles := k.poles; {
	case len(poles) == 2 && poles[0] != poles[1] && k.each && half && n != circuit.None: // "L1 and L2 each 120"
		one, other := between(k.r.fed(part, poles[0]), n, ""), between(k.r.fed(part, poles[1]), n, "")
		if len(one)*len(other) == 0 {
			return false
		}
		k.means = []Choice{{"", append(one[0].Statements, other[0].Statements...)}}
	case len(poles) == 2 && poles[0] != poles[1]:
		ends := [2]circuit.TerminalID{}
		for i, p := range poles {
			if ends[i] = k.r.fed(part, p); ends[i] == circuit.None && p == "N" {
				ends[i] = k.neutral() // of a breaker
			}
		}
		k.means = between(ends[0], ends[1], "")
	case len(poles) == 1 && (k.ground || poles[0] != "N"):
		k.means = between(k.r.fed(part, poles[0]), n, "")
	case len(poles) > 0 && !(len(poles) == 1 && (k.each || k.at && (half || k.unit == "volts"))):
		return false
	case k.legs && (k.lost || k.other || k.one || half && !k.each), len(poles) > 0 && !k.each:
		k.means = slices.Concat(between(l1, n, "L1 to N"), between(l2, n, "L2 to N"))
	case k.each && l3 != circuit.None && (k.legs || math.Abs(k.amps-full) < full/8): // "208 on all three"
		for _, c := range slices.Concat(between(l1, l2, ""), between(l2, l3, ""), between(l1, l3, "")) {
			if len(k.means) == 0 {
				k.means = []Choice{{}}
			}
			k.means[0].Statements = append(k.means[0].Statements, c.Statements...)
		}
	case k.each:
		one, other := between(l1, n, ""), between(l2, n, "")
		if len(one)+len(other) < 2 {
			return false
		}
		k.means = []Choice{{"", append(one[0].Statements, other[0].Statements...)}}
	case half && n != circuit.None && l2 != n:
		k.means = slices.Concat(between(l1, n, "L1 to N"), between(l2, n, "L2 to N"), between(l1, l2, "L1 to L2"))
	default:
		k.means = between(l1, l2, "")
	}
	return len(k.means) > 0
}

// across takes a reading between the two ends of a part, or from one of them to the
// machine's metal; of several parts each, or any.
func (k *readout) across(np *phrase, parts []circuit.PartID, all bool) bool {
	full := k.r.c.Supply().Volts
	neutral := len(k.poles) == 1 && k.poles[0] == "N"
	if slices.ContainsFunc(parts, func(id circuit.PartID) bool { return len(k.ends(np, id)) != 2 }) || len(k.poles) > 0 && !neutral || k.legs {
		return false
	}
	if k.closed && slices.ContainsFunc(parts, k.r.isLoad) {
		return false
	}
	if k.good && k.volts { // "the timer motor gets its voltage"
		rated := k.r.c.Part(parts[0]).Spec.Volts
		if len(parts) > 1 || !k.r.isLoad(parts[0]) || rated == 0 {
			return false
		}
		k.amps, k.unit = rated, "volts"
	}
	k.ground = k.ground || k.megohms && len(parts) > 0 && k.r.c.Part(parts[0]).Kind.Heats() // so many are of its sheath
	live := k.unit == "volts" || k.unit == "" && k.amps > full/3 && k.amps < full*1.2
	half := k.each && len(parts) == 1 && k.r.legVolts() < full && math.Abs(k.amps-k.r.legVolts()) < full/8                                                              // "120 on each side of the heater"
	one := (k.one || k.other) && len(parts) == 1 && k.unit != "ohms" && !k.ground && k.r.legVolts() < full && (k.amps == 0 || math.Abs(k.amps-k.r.legVolts()) < full/8) // "120 on one side of the heater, 0 on the other"
	if live = live || one; (k.ground || neutral || half || one) && live && (len(parts) == 1 || k.each) && k.r.isLoad(parts[0]) {
		k.unit = "volts"
		for _, id := range parts {
			k.toNeutral(id, len(parts) > 1)
		}
		return len(k.means) > 0
	}
	if k.unit == "" && (k.volts || k.at && !k.ground && k.amps > full/3 && k.amps < full*1.2 && (k.r.isLoad(parts[0]) || k.r.ofContact(np) || k.r.c.Part(parts[0]).Kind == circuit.KindConnector)) {
		k.unit = "volts"
	}
	if p := k.r.c.Part(parts[0]); len(p.Terminals) > 2 && p.Kind != circuit.KindConnector && (p.Kind == circuit.KindControl && k.unit != "volts" || k.unit == "volts" && k.amps != 0 && math.Abs(k.amps-p.Spec.Volts) > p.Spec.Volts/8 && !k.ofCoil(np) && !k.r.ofContact(np)) {
		return false // not across that winding
	}
	mode := k.r.c.OffMode()
	if k.calling && k.r.isLoad(parts[0]) && !k.r.uses(k.mode, k.r.machine.loads[parts[0]][0]) {
		k.mode = circuit.None // it calls for that one
	}
	switch sensor := k.r.c.Part(parts[0]).Kind == circuit.KindSensor; {
	case k.unit == "volts" && k.mode == circuit.None && k.r.isLoad(parts[0]):
		mode = k.r.modeHeard(parts[0])
	case k.unit == "volts" && k.mode == circuit.None && k.r.c.Part(parts[0]).Kind == circuit.KindConnector:
		mode = k.r.modeBeyond(k.ends(np, parts[0]), circuit.None)
	case k.unit == "volts" && k.mode == circuit.None:
		return false
	case k.unit == "" && (!k.measuring && !sensor || sensor && k.amps < leastOhms):
		return false
	case k.unit == "" && !sensor && (k.amps > mostOhms || live && k.mode != circuit.None): // "fan relay 120 in bake" is of volts
		return false
	case k.unit == "":
		k.unit = "ohms"
	}
	ends := func(id circuit.PartID) (circuit.TerminalID, circuit.TerminalID) {
		at := k.r.thence(k.ends(np, id), k.inside)
		if k.ground {
			return at[0], k.r.c.ChassisTerminal()
		}
		return at[0], at[1]
	}
	if all && k.unit == "volts" && k.mode == circuit.None { // each as it is on
		one := Choice{}
		for _, id := range parts {
			of := k.read([]circuit.PartID{id}, "", ends, k.unit, k.r.modeHeard(id))
			if len(of) == 0 {
				return false
			}
			one.Statements = append(one.Statements, of[0].Statements...)
		}
		k.means = []Choice{one}
		return true
	}
	if all || len(parts) == 1 {
		k.means = k.read(parts, "", ends, k.unit, mode)
		return len(k.means) > 0
	}
	for _, id := range parts {
		if k.unit == "volts" && k.mode == circuit.None && k.r.isLoad(id) {
			mode = k.r.modeHeard(id)
		}
		k.means = append(k.means, k.read([]circuit.PartID{id}, k.r.c.Part(id).Label, ends, k.unit, mode)...)
	}
	return len(k.means) == len(parts)
}

// closedAtRest are the ends of the one contact that a switch of several closes while the
// machine stands shut and off: those that are meant where none is named.
func (r *reader) closedAtRest(id circuit.PartID) []circuit.TerminalID {
	p := r.c.Part(id)
	if p.Kind != circuit.KindDoorSwitch && p.Kind != circuit.KindSwitch {
		return p.Terminals
	}
	var out []circuit.TerminalID
	for _, branch := range p.Branches {
		if b := r.c.Branch(branch); b.Role == circuit.Contact && b.Rule.Actuator == circuit.ByPosition && b.Rule.Closed[r.c.Mode(r.c.OffMode()).Position[id]] {
			out = append(out, b.A, b.B)
		}
	}
	return out
}

// modeHeard is the mode that what is said of a part's load is of, where none is said.
func (r *reader) modeHeard(part circuit.PartID) circuit.ModeID {
	if m := r.usualMode(); r.before != nil && r.uses(m, r.machine.loads[part][0]) {
		return m
	}
	n, err := symptom(r.c, r.machine.loads[part][0], circuit.Dead, circuit.None)
	if err != nil {
		return circuit.None
	}
	m, err := r.c.FindMode(n.Mode)
	if err != nil {
		return circuit.None
	}
	return m
}

// A bare figure beside a sensor is its ohms from here on (a thermometer's stays below,
// in an oven that bakes), beside a heater or a contact up to there.
const leastOhms, mostOhms = 600, 200

// read is one choice, of a reading for each part; none where no meter shows it there.
func (k *readout) read(parts []circuit.PartID, label string, ends func(circuit.PartID) (p, q circuit.TerminalID), unit string, mode circuit.ModeID) []Choice {
	if k.mode != circuit.None && (unit != "ohms" || !k.r.isLoad(parts[0])) { // "element in the drawer 116 ohms"
		mode = k.mode
	}
	var out []Statement
	for _, id := range parts {
		st := k.r.clauses[0].blank(OfPlace, &said{key: "reads"})
		st.Part, st.Mode, st.Amount, st.Unit, st.Words, st.hedge = id, mode, k.amps, unit, k.said, k.hedge
		if st.From, st.To = ends(id); st.From != circuit.None && len(k.inside) > 0 {
			st.Part = k.r.c.Terminal(st.From).Part
		}
		if st.From == circuit.None || st.To == circuit.None || mode == circuit.None {
			return nil
		}
		if _, err := reading(k.r.c, &st); err != nil {
			return nil
		}
		out = append(out, st)
	}
	return []Choice{{label, out}}
}

// ofCoil reports whether a phrase names a coil, not the contacts beside it.
func (k *readout) ofCoil(np *phrase) bool {
	return anyIn(strings.Fields(strings.Join(np.said, " ")), k.r.l.Meter.Coil)
}

// numbers reports whether a figure is no reading but tells, right behind a name, which of
// several parts it is.
func (k *readout) numbers(clause []raw, i int) bool {
	shows := func(w raw) bool { return isFigure(w.word) || slices.Contains(k.r.l.Meter.Open, w.word) }
	if i == 0 || i+1 == len(clause) || !isFigure(clause[i].word) || !shows(clause[i+1]) && !(slices.Contains(k.r.l.Meter.Measuring, clause[i+1].word) && slices.ContainsFunc(clause[i+2:], shows)) {
		return false
	}
	t := k.r.l.alone(clause[i-1].word)
	return (t.has(isNoun) || t.has(isWhere)) && slices.ContainsFunc(k.r.machine.parts, func(set map[string]bool) bool { return set[clause[i].word] })
}

// drives takes volts at a relay's coil: it is driven, or is not.
func (k *readout) drives(np *phrase, before *lastRead) bool {
	isRelay := func(id circuit.PartID) bool { return k.r.c.Part(id).Kind == circuit.KindRelay && k.r.isNoLoad(id) } // of another it is read
	if !k.ofCoil(np) || k.unit == "ohms" || !k.shown || k.ranges {
		return false
	}
	relays := k.r.parts(np, isRelay)
	for _, of := range []*phrase{before.of, k.spoken} {
		if of != nil && len(relays) == 0 && len(np.where) == 0 && !np.all {
			relays = k.r.parts(of, isRelay) // "240 into the relay, 12 V on its coil"
		}
	}
	relays = k.near(np, k.standing(k.r.likeliest(np, relays)), before.of)
	if len(relays) == 0 {
		return false
	}
	what := "coil_fed"
	if k.amps == 0 {
		what = "coil_unfed"
	}
	for _, id := range relays {
		st := k.r.clauses[0].blank(OfPlace, &said{key: what})
		st.Part, st.Words = id, k.said
		k.means = append(k.means, Choice{k.r.c.Part(id).Label, []Statement{st}})
	}
	k.unit = "volts"
	*before = lastRead{of: k.r.phraseOf(relays[0]), unit: k.unit, mode: k.mode}
	return true
}

// fed takes volts where a part brings the supply.
func (k *readout) fed(part circuit.PartID, before *lastRead) bool {
	ok := k.supply(part)
	if ok {
		*before = lastRead{unit: "volts", legs: true, fed: part + 1}
	}
	return ok
}

// supplying is where the supply was read right before, else the terminal block: "outlet 240 hot to hot, 120 each to neutral".
func (k *readout) supplying(before *lastRead) circuit.PartID {
	if before.legs && before.fed > 0 {
		return before.fed - 1
	}
	return k.r.partKind(circuit.KindTerminalBlock)
}

// oneOfLike reports whether what names the machine names each of several in it as well.
func (r *reader) oneOfLike(np *phrase) bool {
	n := 0
	for id := range r.machine.parts {
		if r.isLoad(circuit.PartID(id)) && r.machine.parts[id][np.said[0]] {
			n++
		}
	}
	return n > 1
}

// of takes what was read of what a phrase names.
func (k *readout) of(np *phrase, before *lastRead) bool {
	np = k.meantBy(np, before)
	if full := k.r.c.Supply().Volts; k.r.isMachine(np) && !k.r.oneOfLike(np) && k.at && k.unit != "ohms" && !k.ground && math.Abs(k.amps-full) < full/8 {
		return k.fed(k.r.partKind(circuit.KindTerminalBlock), before) // "240 at the unit"
	}
	if wall := slices.IndexFunc(k.r.c.Parts(), func(p circuit.Part) bool { return p.Kind == circuit.KindConnector && k.r.fedByLegs(p.ID) }); wall >= 0 && k.r.isSocket(np) && len(np.where) == 0 && !np.all && k.unit != "ohms" && k.amps >= k.r.legVolts()*3/4 && (k.spoken == nil || len(k.spoken.where) == 0) {
		return k.fed(circuit.PartID(wall), before) // "receptacle reads 208", where burners have theirs
	}
	if k.drives(np, before) {
		return true
	}
	if of := before.of; len(np.nouns) == 0 || k.r.stands(&phrase{nouns: np.nouns}) && len(np.where) > 0 { // "upper 12 ohms, lower OL"
		if of == nil && k.spoken != nil && k.r.namesOnly(k.spoken, circuit.KindSensor) {
			of = k.spoken // "lower sensor reads open, upper one 1100"
		}
		if of != nil && k.r.carries(of, np) {
			np.nouns, np.said = of.nouns, of.said
		}
	}
	if k.spoken != nil && len(np.where) == 0 && !np.all && len(k.r.likeliest(np, k.r.parts(np, k.r.isLoad))) > 1 {
		with := *np
		if with.where = k.spoken.where; len(k.r.parts(&with, k.r.isLoad)) > 0 {
			np = &with // "the left front switch is burnt, coil checks 27"
		}
	}
	if k.paired && k.atTerminals(np) {
		*before = lastRead{of: np, unit: k.unit, mode: k.mode}
		return true
	}
	together := k.r.region(np) && k.r.parallel(k.r.parts(np, k.r.isLoad))
	if len(np.nouns) == 0 && k.unit == "" && !k.at && !k.volts && !(k.measuring && k.amps <= mostOhms) || k.r.region(np) && !together || k.r.isMachine(np) && !k.r.oneOfLike(np) { // "240 at the heater", of two: which is asked
		return false
	}
	if k.atTerminals(np) {
		*before = lastRead{of: np, unit: k.unit, mode: k.mode}
		return true
	}
	if of := before.of; of != nil && k.at && !k.ground && len(k.poles) == 0 && k.reaches(of, np) { // "sensor 1.08 k at the plug, OL at the board"
		if k.zero && before.unit == "ohms" { // nothing there that was a moment ago
			k.amps, k.unit, k.zero, k.volts = math.Inf(1), "ohms", false, false
		}
		k.inside = []*phrase{np}
		np = of
	}
	if k.comesIn(np, before) {
		return true
	}
	those := []func(circuit.PartID) bool{k.r.fedByLegs, k.r.isLoad, anyPart}
	if k.r.ofContact(np) {
		those = []func(circuit.PartID) bool{k.r.isNoLoad} // a timer's is not its motor
	}
	for _, counts := range those {
		parts := k.near(np, k.standing(k.r.likeliest(np, k.r.parts(np, counts))), before.of)
		if k.mode != circuit.None && len(parts) > 1 { // "240 at the element in bake"
			main := k.r.mainLoads(k.mode)
			if used := slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool { return !anyIn(k.r.machine.loads[id], main) }); len(used) > 0 {
				parts = used
			}
		}
		if len(parts) == 1 && k.r.fedByLegs(parts[0]) && !slices.Contains(k.r.parts(np, anyPart), parts[0]) {
			continue // "the igniter plug" is no cord
		}
		if together && len(parts) > 1 {
			parts = parts[:1] // a meter sees all of them there
		}
		if len(parts) == 1 && k.r.fedByLegs(parts[0]) {
			at := np.where
			if k.spoken != nil && len(at) == 0 && k.r.isSocket(np) {
				at = k.spoken.where // "the left rear coil is good, 0 V at the receptacle"
			}
			if of := k.r.parts(&phrase{where: at}, k.r.isSurface); len(of) == 1 && k.at { // "170 volts at the left front receptacle"
				return k.across(np, of, false)
			}
			ok := k.fed(parts[0], before)
			if ok && k.r.c.Part(parts[0]).Kind == circuit.KindBreaker {
				before.of = np // "one pole of the breaker is dead, 120 in, 0 out"
			}
			return ok
		}
		if len(parts) > 0 {
			ok := k.across(np, parts, np.all && !np.joint || k.each && (!k.ground || math.IsInf(k.amps, 1)))
			if ok {
				*before = lastRead{of: np, unit: k.unit, mode: k.mode, megohms: k.megohms}
			}
			return ok
		}
	}
	return false
}
