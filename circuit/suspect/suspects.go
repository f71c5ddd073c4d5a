package suspect

import (
	"math"
	"slices"
	"sort"

	"legtrace/circuit"
)

// Suspect is an explanation with its probability among those considered.
type Suspect struct {
	// Causes are the classes of faults taken together; none means nothing
	// wrong. Within each, members cannot be told apart at the listed points.
	Causes []Class
	// P is the probability, normalised over what was considered.
	P float64

	// Mistaken is set where what was seen is explained by nothing: it was told
	// or read wrong, whatever else may be the matter.
	Mistaken bool
	// Alike is the number of like parts, any one of which it may be, where what
	// was seen parts none of them; 0 for others. Its one cause then has them all
	// as members.
	Alike int
	// When is the likelier occasion of what a sheet has left of it: see [Size].
	When string

	core []int32
}

// Suspects ranks the explanations, most probable first, up to a number. Faults
// that have nothing to do with what was seen are left out of an explanation.
func (e *Engine) Suspects(most int) []Suspect {
	ps := e.posterior()
	index := map[string]int{}
	var key []byte
	var out []Suspect
	for i, core := range e.cores() {
		key = appendNumbers(key[:0], core)
		at, ok := index[string(key)]
		if !ok {
			at = len(out)
			index[string(key)] = at
			s := Suspect{core: core, Mistaken: len(core) == 0 && e.speaks()}
			for _, k := range core {
				s.Causes = append(s.Causes, e.classes[k])
			}
			out = append(out, s)
		}
		out[at].P += ps[i]
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(most, len(out))]
}

// mistaken is the probability that nothing explains what was seen.
func (e *Engine) mistaken() (sum float64) {
	if !e.speaks() {
		return 0
	}
	ps := e.posterior()
	for i, core := range e.cores() {
		if len(core) == 0 {
			sum += ps[i]
		}
	}
	return sum
}

// fewAlike is the number of like suspects from which they are listed as one.
const fewAlike = 4

// Listed is [Engine.Suspects] with parts of one kind and rating that fail alike
// and are equally likely taken as one, with their count.
func (e *Engine) Listed(most int) []Suspect {
	type kin struct {
		fault   circuit.FaultKind
		part    circuit.Kind
		z       complex128
		members int
		p       int64 // of the chance, to nine places
	}
	of := map[kin][]int{}
	all := e.Suspects(math.MaxInt)
	kinOf := func(s *Suspect) (kin, bool) {
		if len(s.Causes) != 1 || len(s.Causes[0].Members[0].Faults) != 1 {
			return kin{}, false
		}
		f := s.Causes[0].Members[0].Faults[0]
		b := e.c.Branch(f.Branch)
		k := kin{fault: f.Kind, z: b.Z, members: len(s.Causes[0].Members), p: int64(math.Round(s.P * 1e9))}
		if b.Part != circuit.None {
			k.part = e.c.Part(b.Part).Kind
		}
		return k, true
	}
	for i := range all {
		if k, ok := kinOf(&all[i]); ok {
			of[k] = append(of[k], i)
		}
	}
	var out []Suspect
	for i := range all {
		k, ok := kinOf(&all[i])
		switch group := of[k]; {
		case !ok || len(group) < fewAlike:
			out = append(out, all[i])
		case group[0] == i:
			one := Suspect{Alike: len(group), Causes: []Class{{}}}
			for _, at := range group {
				one.P += all[at].P
				one.Causes[0].Members = append(one.Causes[0].Members, all[at].Causes[0].Members...)
				one.Causes[0].Prior += all[at].Causes[0].Prior
			}
			out = append(out, one)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(most, len(out))]
}

// speaks reports whether anything was seen, since the last repair, that a sound
// machine does not show.
func (e *Engine) speaks() bool {
	return slices.ContainsFunc(e.singles, func(s *singles) bool { return s.bad() && e.since(s.ev) })
}

// PartChance sums the probability that a part or wire, by the branch's part
// name or wire name, is at fault in some explanation, most probable first.
func (e *Engine) PartChance() []Chance {
	sum := map[string]float64{}
	ps := e.posterior()
	for i, core := range e.cores() {
		for _, k := range core {
			for _, m := range e.classes[k].Members {
				sum[m.blames(e.c)] += ps[i] * m.Prior / e.classes[k].Prior
			}
		}
	}
	var out []Chance
	for name, p := range sum {
		out = append(out, Chance{name, p})
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].P != out[j].P {
			return out[i].P > out[j].P
		}
		return out[i].Name < out[j].Name
	})
	return out
}

// Blamed is the branch that a cause is laid to: that of its first fault, or of
// the part that did it.
func (m *Cause) Blamed(c *circuit.Circuit) circuit.BranchID {
	if id, err := c.FindPart(m.Part); err == nil && len(c.Part(id).Branches) > 0 {
		return c.Part(id).Branches[0]
	}
	return m.Faults[0].Branch
}

// blames names the part or wire that a cause is laid to.
func (m *Cause) blames(c *circuit.Circuit) string {
	b := c.Branch(m.Blamed(c))
	if b.Part != circuit.None {
		return c.Part(b.Part).Name
	}
	return b.Ref
}

// Chance is the probability that a part or wire is at fault.
type Chance struct {
	Name string
	P    float64
}

// posterior normalises the weights; hypotheses are sorted already. It is asked a dozen
// times for an answer, of tens of thousands: what came of the same weights before is told
// again, and not to be changed.
func (e *Engine) posterior() []float64 {
	n, best, total := len(e.hyps), math.Inf(-1), 0.0
	same := len(e.weights) == n
	for i := range e.hyps {
		logp := e.hyps[i].logp
		best, same = max(best, logp), same && e.weights[i] == logp
	}
	if same {
		return e.chances
	}
	e.weights, e.chances = make([]float64, n), make([]float64, n)
	for i := range e.hyps {
		e.weights[i] = e.hyps[i].logp
		e.chances[i] = math.Exp(e.weights[i] - best)
		total += e.chances[i]
	}
	for i := range e.chances {
		e.chances[i] /= total
	}
	return e.chances
}

// Entropy is the uncertainty left, in bits.
func (e *Engine) Entropy() float64 {
	h := 0.0
	for _, p := range e.posterior() {
		if p > 0 {
			h -= p * math.Log2(p)
		}
	}
	return h
}
