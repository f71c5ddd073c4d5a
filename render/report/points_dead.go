package report

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// lockOut are the steps before anything is opened. With the proof that what comes open is
// dead they repeat what OSHA 29 CFR 1910.147 and 1910.333 ask for, as something to follow;
// they are no legal advice.
func (r namer) lockOut() []string {
	return []string{
		"Whoever is in the house knows that the machine is out of use.",
		"Breaker off or plug pulled; locked and tagged, key in the pocket.",
		"Tried: nothing comes on. Timers and self-resetting parts may start a machine that looks off.",
		"Meter proved on a known live source: ______ V.",
	}
}

// lockedAgain is the box wherever the supply goes off again.
const lockedAgain = "Breaker off or plug pulled; locked and tagged again, key in the pocket. Tried: nothing comes on. Meter proved on a known live source: ______ V."

// provedAgain follows what a meter showed dead.
const provedAgain = "Meter proved once more on the live source: ______ V."

// restored are the boxes before live steps: what OSHA 29 CFR 1910.147(e) asks for
// before energy is restored, as something to follow, and how the machine has to stand.
func restored(stands string) []string {
	return []string{
		"Every lead that was lifted is back on, no tool or bare strand left inside, nothing touches what it should not.",
		stands,
		"Lock off, supply on.",
	}
}

// before are the boxes to tick where the supply is turned before a step.
func (x *listing) before(i int) []string {
	was := "removed" // the machine is made safe before the first that is probed
	if i > 0 && x.state(i-1) != "shut" {
		was = x.state(i - 1)
	}
	switch now := x.state(i); {
	case now == "on" && x.sheet.Steps[i].Awaited(x.c): // watched last
		shut := restored("Every cover that was opened is on again, probes off.")
		if was == "on" {
			shut = slices.Concat(x.locked(), shut)
		}
		return shut
	case now == "shut" || now == was:
		return []string{}
	case now == "on":
		return restored("Nobody at the machine; probes clipped on beforehand where they can be.")
	}
	x.proved = nil
	return []string{lockedAgain}
}

// locked are the boxes where the supply goes off at the end of live work, with the proof
// of what lies open.
func (x *listing) locked() []string {
	x.proved = nil
	var all []int
	for k := range x.sheet.Steps {
		if all = append(all, k); slices.ContainsFunc(x.ends(k), x.atBlock) {
			return []string{lockedAgain, "Dead where the supply comes in: " + x.deadPairs() + ".", provedAgain}
		}
	}
	return append([]string{lockedAgain}, x.proof(len(all)-1, all)...)
}

// proof has what some steps lay open proved dead, where that was not done yet: the supply
// where it comes in, elsewhere what stays live with the machine off, or what is to be
// probed. What a person is exposed to is what is to be proved (OSHA 29 CFR
// 1910.333(b)(2)(iv)(B)).
func (x *listing) proof(at int, steps []int) []string {
	out, printed := []string{}, []string{}
	once := func(key string, step int, by doing, boxes ...string) {
		if !slices.Contains(printed, key) && !x.done(x.proved[key], step) {
			printed = append(printed, key)
			x.proved[key] = append(x.proved[key], by)
			out = append(out, boxes...)
		}
	}
	by := x.doingAt(at)
	prove := func(t circuit.TerminalID, step int) {
		by = x.doingAt(at)
		by.always = by.always || x.liesOpen(t) // proved whatever is read
		within := x.within(t)
		once(within, step, by, x.deadWithin(within)...)
	}
	if x.proved == nil {
		x.proved = map[string][]doing{}
	}
	for _, k := range steps {
		if in := x.sheet.Supply; len(in) > 0 && len(x.ends(k)) > 0 && x.isOpen(in[0].At, k) {
			prove(in[0].At, k)
		}
		for _, t := range x.ends(k) {
			if x.c.Terminal(t).Ref != circuit.ChassisName {
				prove(t, k)
			}
		}
	}
	if len(out) > 0 {
		once(provedAgain, at, by, provedAgain)
	}
	return out
}

// atBlock reports whether a terminal is laid open together with where the supply comes in.
func (x *listing) atBlock(t circuit.TerminalID) bool {
	return slices.ContainsFunc(x.sheet.Supply, func(c suspect.Conductor) bool { return x.within(c.At) == x.within(t) })
}

// isOpen reports whether a terminal lies open as a step is made.
func (x *listing) isOpen(t circuit.TerminalID, step int) bool {
	return !slices.ContainsFunc(x.c.PanelsTo(x.c.PlaceOf(t)), func(id circuit.PanelID) bool { return !x.done(x.opened[id], step) })
}

// liesOpen reports whether a terminal was laid open for whoever comes by.
func (x *listing) liesOpen(t circuit.TerminalID) bool {
	always := func(d doing) bool { return d.always }
	return !slices.ContainsFunc(x.c.PanelsTo(x.c.PlaceOf(t)), func(id circuit.PanelID) bool { return !slices.ContainsFunc(x.opened[id], always) })
}

// within names what is laid open by one panel, or the place where none lies before it.
func (r namer) within(t circuit.TerminalID) string {
	place := r.c.PlaceOf(t)
	if way := r.c.PanelsTo(place); len(way) > 0 {
		return oneLine(r.c.Panels()[way[len(way)-1]].Label)
	}
	return oneLine(place)
}

// deadWithin are the boxes that prove dead what one panel lays open.
func (x *listing) deadWithin(within string) []string {
	var out []string
	here := func(t circuit.TerminalID) bool { return t != circuit.None && x.within(t) == within }
	if slices.ContainsFunc(x.sheet.Supply, func(c suspect.Conductor) bool { return here(c.At) }) {
		out = append(out, "Dead where the supply comes in: "+x.deadPairs()+".")
	} else {
		out = append(out, "Dead before anything there is touched: "+x.deadEnds(here)+".")
	}
	charged := func(p circuit.Part) bool {
		return p.Kind == circuit.KindCapacitor && slices.ContainsFunc(p.Terminals, here)
	}
	if slices.ContainsFunc(x.c.Parts(), charged) {
		out = append(out, capacitorCaution)
	}
	return out
}

// deadPairs are the readings that prove a machine dead where the supply comes in, of what
// conductors are brought to it.
func (x *listing) deadPairs() string {
	names := each(x.sheet.Supply, func(c suspect.Conductor) string { return x.c.Branch(c.Branch).Name })
	var out []string
	for i, a := range names {
		for _, b := range names[i+1:] {
			out = append(out, a+"-"+b)
		}
	}
	for _, a := range names {
		out = append(out, a+"-metal")
	}
	return strings.Join(out, " __ ") + " __ V"
}

// mostEnds is how many ends are named that are to read dead to metal.
const mostEnds = 3

// deadEnds names the ends in reach that would be live with the machine off, one for each
// conductor; where there are none, those that the steps probe.
func (x *listing) deadEnds(here func(circuit.TerminalID) bool) string {
	var ends []string
	add := func(t circuit.TerminalID) {
		if label := x.probe(t).Label; here(t) && len(ends) < mostEnds && !slices.Contains(ends, label) {
			ends = append(ends, label)
		}
	}
	for _, n := range x.standing.Nodes {
		if k := slices.IndexFunc(n.Terminals, here); k >= 0 {
			add(n.Terminals[k])
		}
	}
	for i := 0; len(ends) == 0 && i < len(x.sheet.Steps); i++ {
		if s := &x.sheet.Steps[i]; s.Probing() {
			add(s.Probes.P)
			add(s.Probes.Q)
		}
	}
	return strings.Join(ends, " __, ") + " __ V, each to metal"
}

// capacitorCaution is for machines with one (common practice, no source).
const capacitorCaution = "With the supply off, discharge each capacitor through a resistor of some 20 kilohms and 5 W held across its terminals with insulated probes, for five seconds; then read its volts: near 0. A screwdriver across it can burn eyes and hands."
