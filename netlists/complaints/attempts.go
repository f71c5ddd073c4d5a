package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// attempt is something that was tried, of which it was not yet said what came of it.
type attempt struct {
	key   string // "bridged", "pulled"
	on    []*phrase
	words string
	from  span
}

// came tells by what became of an attempt what the two say together.
var came = map[string]map[string]string{
	"bridged": {"normal": "bridged_works", "works_again": "bridged_works", "dead": "bridged_no_help", "no_help": "bridged_no_help"},
	"pulled":  {"quits": "wire_stops", "dead": "wire_stops"},
	"swapped": {"normal": "like_works_here", "dead": "like_dead_here"},
}

// attempt keeps what was tried until it is said what came of it.
func (r *reader) attempt(k *clause, s *said) {
	on := append(slices.Clone(k.subjects), k.places...)
	if words := strings.Fields(s.words); len(on) == 0 { // "set to manual", which closes the contact that is called so
		for _, c := range r.machine.called {
			if len(c.words) == 1 && c.words[0] == words[len(words)-1] {
				on = []*phrase{{nouns: []int{c.noun}, said: c.words, words: c.words}}
			}
		}
	}
	if r.done = nil; len(on) > 0 {
		r.done = &attempt{s.key, on, s.words, s.from}
	}
}

// cameOf puts down what came of an attempt, and reports whether it did.
func (r *reader) cameOf(k *clause, s *said) bool {
	d := r.done
	if d == nil || came[d.key][s.key] == "" || len(d.on) == 0 {
		return false
	}
	r.done = nil
	r.now.join(d.from)
	for _, p := range d.on {
		r.now.join(p.from)
	}
	st := k.blank(OfHistory, s)
	st.What, st.Mode, st.When = came[d.key][s.key], circuit.None, ""
	first := func(id circuit.PartID) bool { return !r.isLoad(id) }
	if d.key != "bridged" {
		first = r.isLoad
	}
	parts := r.parts(d.on[0], first)
	parts = r.likeliest(d.on[0], parts)
	what := said{key: st.What, words: d.words}
	choices := r.ofParts(st, parts)
	for i := range choices {
		if d.key == "pulled" && r.isLoad(parts[i]) {
			choices[i].Statements[0].Part, choices[i].Statements[0].Load = circuit.None, r.machine.loads[parts[i]][0]
		}
	}
	r.choose(d.on[0], &what, choices, k)
	return true
}
