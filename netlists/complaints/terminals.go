package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// ends are those of a part, or of its winding that a phrase means: of a motor's two the
// main one, where the other was not said.
func (k *readout) ends(np *phrase, id circuit.PartID) []circuit.TerminalID {
	at, loads := k.r.c.Part(id).Terminals, k.r.machine.loads[id]
	if k.r.c.Part(id).Kind == circuit.KindConnector && len(at) == 4 {
		return k.r.pins(at)
	}
	if len(loads) == 0 && len(at) == 3 {
		return k.r.closedAtRest(id)
	}
	if len(at) == 2 || len(loads) == 0 {
		return at
	}
	b := k.r.c.Branch(loads[0])
	if start := slices.ContainsFunc(np.said, func(s string) bool { return slices.Contains(k.r.l.Meter.Start, s) }); start && b.Start != circuit.None {
		b = k.r.c.Branch(b.Start)
	}
	return []circuit.TerminalID{b.A, b.B}
}

// pair takes out of a clause two terminals of one part, by their own names: "com to no",
// "H1-H2". The supply's poles are read elsewhere.
func (k *readout) pair(clause []raw) []raw {
	for i := range clause {
		to := i + 1
		if to < len(clause) && slices.Contains(k.r.l.Meter.Through, clause[to].word) {
			to++
		} else if !clause[i].hyphen && !(i > 0 && slices.Contains(k.r.l.Meter.At, clause[i-1].word)) {
			continue
		}
		if to < len(clause) && clause[to].word == k.r.l.Clamp.Neutral && !k.r.isPole(clause[i].word) && k.r.isTerminal(clause[i].word) && slices.ContainsFunc(clause, func(w raw) bool { return isFigure(w.word) }) {
			k.poles = []string{clause[i].word} // "H1 to neutral 120 V"
			return slices.Delete(slices.Clone(clause), i, to+1)
		}
		if to == len(clause) || isFigure(clause[i].word) || k.r.isPole(clause[i].word) && k.r.isPole(clause[to].word) {
			continue
		}
		k.poles = []string{clause[i].word, clause[to].word}
		if k.paired = slices.ContainsFunc(k.r.c.Parts(), func(p circuit.Part) bool { a, b := k.terminals(p.ID); return a != circuit.None && b != circuit.None }); k.paired {
			return slices.Delete(slices.Clone(clause), i, to+1)
		}
		k.poles = nil
	}
	return clause
}

// terminals are those of a part that are called as the poles: of one alone the other is
// neutral, none where it has not all of them.
func (k *readout) terminals(id circuit.PartID) (p, q circuit.TerminalID) {
	at := [2]circuit.TerminalID{circuit.None, circuit.None}
	if len(k.poles) == 1 {
		at[1] = k.neutral()
	}
	for i, name := range k.poles {
		for _, t := range k.r.c.Part(id).Terminals {
			if strings.EqualFold(k.r.c.Terminal(t).Name, name) {
				at[i] = t
			}
		}
		if at[i] == circuit.None {
			return circuit.None, circuit.None
		}
	}
	return at[0], at[1]
}

// atTerminals takes volts at a part's lettered terminals, one to neutral or two, and ohms
// between two: "120 V at the timer's M", "TC to N OL".
func (k *readout) atTerminals(np *phrase) bool {
	full, n, unit := k.r.c.Supply().Volts, len(k.poles), "volts"
	mode := k.r.usualMode()
	switch volts := k.amps >= full/3 && k.amps <= full*1.2; {
	case n == 0 || n > 2:
		return false
	case k.unit == "" && k.r.rated(k.poles, k.amps):
	case k.paired && (k.unit == "ohms" || k.unit == "" && !volts && !k.volts && k.measuring):
		unit, mode = "ohms", k.r.c.OffMode()
	case k.unit == "ohms" || k.unit == "" && k.amps != 0 && !volts:
		return false
	}
	if loads := k.r.parts(&phrase{where: np.where}, k.r.isLoad); unit == "volts" && len(np.where) > 0 && len(loads) > 0 {
		mode = k.r.modeUsing(k.r.machine.loads[loads[0]][0])
	}
	parts, board := k.r.parts(np, anyPart), k.r.isControl(np)
	if len(np.words) == 0 || board { // "P1 to P2 open", "com at the board"
		for i := range k.r.c.Parts() {
			parts = append(parts, k.r.c.Parts()[i].ID)
		}
	}
	parts = slices.DeleteFunc(parts, func(id circuit.PartID) bool { p, _ := k.terminals(id); return p == circuit.None })
	if board {
		parts = k.r.onBoard(np, parts, k)
	}
	for _, id := range k.r.likeliest(np, parts) {
		at := mode
		if p, q := k.terminals(id); unit == "volts" && k.mode == circuit.None && len(np.where) == 0 && k.r.c.Part(id).Kind == circuit.KindCyclingSwitch {
			if at = k.r.modeBeyond([]circuit.TerminalID{p, q}, id); k.r.legBy(p, false) != "" { // as its own burner is on
				at = k.r.c.OffMode()
			}
		}
		k.means = append(k.means, k.read([]circuit.PartID{id}, k.r.c.Part(id).Label, k.terminals, unit, at)...)
	}
	k.unit = unit
	return len(k.means) > 0
}

// neutral is where volts to it are read, the machine's metal where there is none.
func (k *readout) neutral() circuit.TerminalID {
	if n := k.r.fed(k.r.partKind(circuit.KindTerminalBlock), "N"); n != circuit.None {
		return n
	}
	return k.r.c.ChassisTerminal()
}

// toNeutral takes volts between the ends of a load and neutral, or metal where there is
// none, of both or of either; which is told of one of several loads.
func (k *readout) toNeutral(part circuit.PartID, which bool) {
	n, was := k.neutral(), k.means
	if k.ground {
		n = k.r.c.ChassisTerminal()
	}
	k.means = nil
	for i, end := range k.r.c.Part(part).Terminals {
		more := k.read([]circuit.PartID{part}, k.r.c.PlaceName(end), func(circuit.PartID) (p, q circuit.TerminalID) { return end, n }, "volts", k.r.modeHeard(part))
		if i > 0 && k.each && len(k.means)*len(more) == 1 {
			k.means[0].Statements = append(k.means[0].Statements, more[0].Statements...)
		} else {
			k.means = append(k.means, more...)
		}
	}
	if which && len(k.means) == 1 {
		k.means[0].Label = k.r.c.Part(part).Label
	}
	k.means = append(was, k.means...)
}
