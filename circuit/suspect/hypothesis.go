package suspect

import (
	"encoding/binary"
	"math"
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/trace"
)

// Class is a group of single faults that no listed test point tells apart.
// Members are what it might be; each member is one cause, which may show as
// several faults at once (a supply that is low on every leg).
type Class struct {
	Members []Cause
	// Prior is the members' together.
	Prior float64

	sizes *sizes // of the first member
	// common is set for a cause of several faults, which is not paired.
	common bool
}

// Cause is one thing gone wrong.
type Cause struct {
	Faults []circuit.Fault
	Label  string
	Prior  float64
	// Part names the part to blame where that is not the first fault's.
	Part string

	only *circuit.ModeID // it is there in this mode and no other
	hot  bool            // it is there once the machine is hot
	// cycles: it is there now and then while the machine is hot.
	cycles bool
	// lasts is what of one that cycles is there all the time.
	lasts []circuit.Fault
	// airless: what its heat opened is not cooled, as its air is blocked.
	airless bool
	// setting: nothing is wrong but how it is set, which whoever looks sees.
	setting bool
	// wiring: it is how the wires of Part may come back from a repair; later: from
	// one of this visit's, so that it was not there from the start.
	wiring, later bool
}

// acrossEnds is how often loads of a kind are shorted from end to end, beside others:
// what heats gives way to the sheath around it instead, and touches metal toSheath times
// as often as others; a fan's fine winding burns through. What takes less than fineWatts is
// finer still, and is shorted fineShorted times as often (common practice, no source).
var acrossEnds = map[circuit.Kind]float64{circuit.KindElement: 0.15, circuit.KindSurfaceElement: 0.15, circuit.KindFan: 0.3}

const fineWatts, fineShorted = 10, 0.2

// guardOpen is how often a motor's own protector is open beside other limits: it closes
// again once the winding has cooled (common practice, no source).
const toSheath, guardOpen = 2, 0.4

// fuseHolds is how often a thermal fuse is closed for good beside contacts that weld: it
// has none, and somebody bridged it (common practice, no source).
const fuseHolds = 0.1

// single is one way that a branch goes wrong, of its usual size.
func single(c *circuit.Circuit, f circuit.Fault) Cause {
	b := c.Branch(f.Branch)
	share, label := c.Way(f.Kind.String()), c.Label(f.Branch)
	switch {
	case f.Kind == circuit.HighResistance:
		label += " high resistance"
	case f.Kind == circuit.Grounded:
		label += " grounded to chassis"
	case f.Kind == circuit.Drifted && b.Sensor != nil && f.Factor == usualOff:
		label += " drifted"
	case f.Kind == circuit.Drifted && b.Sensor != nil && f.Factor < 1:
		share, label = share/2, label+" part shorted or wet"
	case f.Kind == circuit.Drifted && b.Sensor != nil:
		share, label = share/2, label+" with too many ohms"
	case f.Kind == circuit.Drifted && b.Role == circuit.Contact:
		share, label = c.Way("uncalibrated"), c.Part(b.Part).Label+" out of calibration"
	case f.Kind == circuit.Drifted && f.Factor < 1:
		share, label = c.Way("part_shorted"), label+" part shorted"
	case f.Kind == circuit.Drifted:
		share, label = c.Way("aged"), label+" with too many ohms"
	default:
		label = c.Describe(f)
	}
	switch kind := kindOf(c, f.Branch); {
	case f.Kind == circuit.Short && b.Role == circuit.Load && b.Watts < fineWatts:
		share *= fineShorted
	case f.Kind == circuit.Short && acrossEnds[kind] > 0:
		share *= acrossEnds[kind]
	case f.Kind == circuit.Grounded && kind.Heats() && b.Role == circuit.Load:
		share *= toSheath
	case windingGuard(c, f):
		share *= guardOpen
	case f.Kind == circuit.Welded && kind == circuit.KindThermalFuse:
		share *= fuseHolds
	case f.Kind == circuit.Welded && kind == circuit.KindThermostat && letsOffBy(c, f.Branch) &&
		slices.ContainsFunc(c.Part(b.Part).Branches, func(id circuit.BranchID) bool { return !letsOffBy(c, id) }):
		share *= worksOften
	}
	return Cause{Faults: []circuit.Fault{f}, Label: label, Prior: c.BranchPrior(f.Branch) * share}
}

// worksOften is how many times as often the contact of a thermostat that heat opens and
// closes stays closed as another of its contacts, which only a hand moves (common practice,
// no source).
const worksOften = 3

// letsOffBy reports whether a contact, one of several of a thermostat, is what opens as it
// lets heat off: in a mode that differs from another by that alone.
func letsOffBy(c *circuit.Circuit, id circuit.BranchID) bool {
	b := c.Branch(id)
	if b.Rule.Actuator != circuit.ByPosition || len(c.Part(b.Part).Branches) < 2 {
		return false
	}
	modes := c.Modes()
	for i := range modes {
		for j := range modes {
			on, off := &modes[i], &modes[j]
			if b.Rule.Closed[on.Position[b.Part]] && !b.Rule.Closed[off.Position[b.Part]] && off.ID != c.OffMode() && alikeBut(on, off, b.Part) {
				return true
			}
		}
	}
	return false
}

// alikeBut reports whether all parts but one stand alike in two modes.
func alikeBut(a, b *circuit.Mode, but circuit.PartID) bool {
	for i, at := range a.Position {
		if circuit.PartID(i) != but && at != b.Position[i] {
			return false
		}
	}
	return slices.Equal(a.Drives, b.Drives)
}

// singleFaults lists every way a branch may go wrong, each of its usual size:
// those of a dictionary, and what only a figure shows.
func singleFaults(c *circuit.Circuit) []circuit.Fault {
	out := meter.SingleFaults(c)
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		switch {
		case b.Sensor != nil:
			out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: usualOff})
		case b.Role == circuit.Contact && c.CanFail(circuit.Fault{Kind: circuit.Drifted, Branch: b.ID}):
			out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: usualHotter})
		case c.CanFail(circuit.Fault{Kind: circuit.Seized, Branch: b.ID}):
			out = append(out, circuit.Fault{Kind: circuit.Seized, Branch: b.ID})
			fallthrough
		case b.Role == circuit.Load && winds(c.Part(b.Part).Kind):
			out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: usualShorted},
				circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: usualAged})
		}
	}
	return out
}

// winds tells the kinds whose wire or winding may lose or gain ohms.
func winds(k circuit.Kind) bool {
	return k == circuit.KindElement || k == circuit.KindSurfaceElement || k == circuit.KindMotor
}

// classes lists every single fault, grouped by what the listed points and extra
// ones can tell apart, with what causes one fault and another by it. Wires that
// were lifted once part what they join.
func classes(c *circuit.Circuit, tracer *trace.Tracer, extra []circuit.TerminalID, lifted map[circuit.WireID]bool, made []Cause) []Class {
	listed := map[circuit.TerminalID]bool{}
	for _, p := range c.Points() {
		listed[p.Terminal] = true
	}
	for _, t := range extra {
		listed[t] = true
	}
	// A switch, a fuse or a load can be probed at its own terminals.
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); probeable(c, b) {
			listed[b.A], listed[b.B] = true, true
		}
	}
	segment := map[circuit.BranchID]int{}
	for i, run := range tracer.Segments(func(t circuit.TerminalID) bool { return listed[t] }) {
		for _, id := range run {
			segment[id] = i
		}
	}
	type key struct {
		kind    circuit.FaultKind
		segment int
	}
	index := map[key]int{}
	var out []Class
	add := func(k key, shared bool, cause Cause) {
		if i, ok := index[k]; ok && shared {
			out[i].Members = append(out[i].Members, cause)
			out[i].Prior += cause.Prior
			return
		}
		if shared {
			index[k] = len(out)
		}
		out = append(out, Class{Members: []Cause{cause}, Prior: cause.Prior})
	}
	run := runs(c, lifted)
	for _, f := range singleFaults(c) {
		b := c.Branch(f.Branch)
		if f.Kind == circuit.Grounded && b.Role == circuit.Join {
			// Wherever on its run a wire touches the chassis, the run does.
			add(key{f.Kind, -1 - int(run[b.A])}, b.Wire == circuit.None || !lifted[b.Wire], single(c, f))
			continue
		}
		series := f.Kind == circuit.Open || f.Kind == circuit.HighResistance && b.Role != circuit.Load
		add(key{f.Kind, segment[f.Branch]}, series, single(c, f))
	}
	for i := range c.Controls() {
		drives := drivesOf(c, c.Controls()[i].Part)
		p := c.Part(c.Controls()[i].Part)
		for _, d := range drives {
			relay := c.Part(c.Branch(d).Part)
			add(key{circuit.Open, segment[d]}, true, ofPart(c, p, c.Way("undriven")/float64(len(drives)), "does not drive "+relay.Label, []circuit.Fault{{Kind: circuit.Open, Branch: d}}))
		}
	}
	for _, cause := range append(commonCauses(c), made...) {
		out = append(out, Class{Members: []Cause{cause}, Prior: cause.Prior, common: true})
	}
	total := 0.0
	for _, cl := range out {
		total += cl.Prior
	}
	for i := range out {
		out[i].Prior /= total
		for j := range out[i].Members {
			out[i].Members[j].Prior /= total
		}
		members := out[i].Members
		sort.SliceStable(members, func(a, b int) bool { // whatever the order of the file
			if members[a].Prior != members[b].Prior {
				return members[a].Prior > members[b].Prior
			}
			return members[a].Label < members[b].Label
		})
		out[i].sizes = sizesOf(c, &members[0])
	}
	return out
}

// runs numbers terminals by what wires and connectors join, lifted wires left
// out.
func runs(c *circuit.Circuit, lifted map[circuit.WireID]bool) []int32 {
	if len(lifted) == 0 {
		return c.Runs()
	}
	groups := circuit.NewGroups(len(c.Terminals()))
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Join && (b.Wire == circuit.None || !lifted[b.Wire]) {
			groups.Join(int32(b.A), int32(b.B))
		}
	}
	for i := range groups {
		groups[i] = groups.Of(int32(i))
	}
	return groups
}

// probeable reports whether a branch is a part that a technician would measure
// by itself: neither wire nor connector, nor anything of the house's.
func probeable(c *circuit.Circuit, b *circuit.Branch) bool {
	if b.Wire != circuit.None || b.A == circuit.None || b.B == circuit.None {
		return false
	}
	return b.Role != circuit.Join && !c.Part(b.Part).Kind.Guards()
}

// hypothesis is a set of classes, each of which is taken to be present.
type hypothesis struct {
	classes []int32 // sorted; empty: nothing wrong
	// cells are the sizes, by class: a cell's place, or usual.
	cells []int32
	// stays tell by class which repairs brought it and took it away; nil: none did.
	stays []stay
	logp  float64 // unnormalised log posterior
	bad   float64 // log likelihood of what a sound machine does not explain
}

// likeliestFirst sorts hypotheses, of as likely ones the first first.
func likeliestFirst(hyps []hypothesis) []hypothesis {
	return inOrder(hyps, likeliestOrder(hyps))
}

// digit is how many bits of a key are sorted by at once.
const digit = 11

// likeliestOrder lists their places so. There are tens of thousands, and they are
// sorted at every piece of evidence: by digits, the lowest first (radix sort), as
// comparing each with many others takes ten times as long.
func likeliestOrder(hyps []hypothesis) []int32 {
	keys, order := make([]uint64, len(hyps)), make([]int32, len(hyps))
	for i := range hyps {
		keys[i], order[i] = downward(hyps[i].logp), int32(i)
	}
	nextKeys, nextOrder := make([]uint64, len(keys)), make([]int32, len(keys))
	var starts [1 << digit]int32
	for shift := 0; shift < 64 && len(keys) > 1; shift += digit {
		clear(starts[:])
		for _, k := range keys {
			starts[k>>shift&(1<<digit-1)]++
		}
		if int(starts[keys[0]>>shift&(1<<digit-1)]) == len(keys) {
			continue // all alike
		}
		at := int32(0)
		for d, n := range starts {
			starts[d], at = at, at+n
		}
		for i, k := range keys {
			to := &starts[k>>shift&(1<<digit-1)]
			nextKeys[*to], nextOrder[*to] = k, order[i]
			*to++
		}
		keys, nextKeys, order, nextOrder = nextKeys, keys, nextOrder, order
	}
	return order
}

// downward is a number that is the less the more x is; the most where x is none.
func downward(x float64) uint64 {
	if math.IsNaN(x) {
		return math.MaxUint64
	}
	bits := math.Float64bits(x + 0) // of the two zeros one
	if bits>>63 == 0 {
		return ^(bits | 1<<63)
	}
	return bits
}

// inOrder are hypotheses at some places.
func inOrder(hyps []hypothesis, order []int32) []hypothesis {
	out := make([]hypothesis, len(order))
	for i, at := range order {
		out[i] = hyps[at]
	}
	return out
}

// numbersKey is a list of numbers as the key of a map.
func numbersKey(list []int32) string { return string(appendNumbers(nil, list)) }

func appendNumbers(key []byte, list []int32) []byte {
	for _, n := range list {
		key = binary.LittleEndian.AppendUint32(key, uint32(n))
	}
	return key
}

// Chances of what is wrong before anything is seen (common practice, no
// source): a call is made for a reason, and two faults at once are rare.
const (
	priorNone   = 0.02
	priorPair   = 0.05 // of all pairs together, against all singles
	priorTriple = 0.002
)

// faults returns what a hypothesis puts wrong, by each class's first member.
func (e *Engine) faults(h *hypothesis) []circuit.Fault {
	var out []circuit.Fault
	for i, k := range h.classes {
		out = append(out, e.classes[k].sizes.mid(h.cells[i])...)
	}
	return out
}

// present returns what of it is there now in a mode, with the supply on or removed: what
// comes and goes may be away.
func (e *Engine) present(h *hypothesis, mode circuit.ModeID, live, away bool) []circuit.Fault {
	h = h.at(len(e.mends))
	if len(h.cells) == 1 && h.cells[0] != usual && (away || e.classes[h.classes[0]].sizes.cells[h.cells[0]].occasion.gone(mode, live)) {
		return e.classes[h.classes[0]].Members[0].lasts
	}
	return e.faults(h)
}

// mostPaired is the number of classes up to which every pair of them is
// weighed; of more, those with a class that explains much by itself, see
// [Engine.extend].
const mostPaired = 420

// hypotheses lists none, every single class by its cells of sizes and, from
// order 2, every pair of classes, of their usual sizes, that are not the same
// branch twice.
func (e *Engine) hypotheses(order int) []hypothesis {
	out := []hypothesis{{logp: math.Log(priorNone)}}
	n := int32(len(e.classes))
	for i := int32(0); i < n; i++ {
		if e.classes[i].Members[0].later {
			continue
		}
		for k, cell := range e.classes[i].sizes.cells {
			out = append(out, hypothesis{classes: []int32{i}, cells: []int32{int32(k)}, logp: math.Log(e.classes[i].Prior * cell.share)})
		}
	}
	if order < 2 || n > mostPaired {
		return out
	}
	asUsual := []int32{usual, usual}
	paired := make([]int32, 0, n) // which are
	for i := range n {
		if !e.classes[i].common {
			paired = append(paired, i)
		}
	}
	pairs := len(paired) * (len(paired) - 1) / 2
	out, both := slices.Grow(out, pairs), make([]int32, 0, 2*pairs)
	for at, i := range paired {
		for _, j := range paired[at+1:] {
			if e.exclusive(i, j) {
				continue
			}
			both = append(both, i, j)
			out = append(out, hypothesis{classes: both[len(both)-2 : len(both) : len(both)], cells: asUsual, logp: math.Log(2 * priorPair * e.usually(i) * e.usually(j))})
		}
	}
	return out
}

// usually is the prior of a class at sizes about its usual one.
func (e *Engine) usually(k int32) float64 { return e.classes[k].Prior * e.classes[k].sizes.share }

// exclusive reports whether two classes are faults of the same branch.
func (e *Engine) exclusive(i, j int32) bool {
	for _, f := range e.classes[i].Members[0].Faults {
		for _, g := range e.classes[j].Members[0].Faults {
			if f.Branch == g.Branch {
				return true
			}
		}
	}
	return false
}
