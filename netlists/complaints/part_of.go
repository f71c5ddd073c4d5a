package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// ofPart are states told of what is no load: a fuse that is good, a limit that
// is open.
var ofPart = map[string]string{"normal": "found_good", "dead": "found_bad", "weak": "found_bad"}

func (r *reader) ofPart(k *clause, s *said, about string, p *phrase) {
	as := r.opensAsItShould(k, &said{class: isHistory, key: about, words: s.words, from: s.from})
	if as == nil {
		r.withheld = true
		return
	}
	about = as.key
	first := anyPart
	if r.ofContact(p) {
		first = r.isNoLoad
	}
	parts := r.likeliest(p, r.partsFirst(p, first))
	if worked := r.besideWorks(p, parts); worked != circuit.None {
		parts = []circuit.PartID{worked}
	} else if last := r.lastPart(p, parts); last != circuit.None {
		parts = []circuit.PartID{last} // "the cooling fan is seized, fan windings open"
	} else if len(p.where) == 0 && (!p.all || anyIn(strings.Fields(strings.Join(p.said, " ")), r.l.Windings)) {
		for _, o := range slices.Backward(r.heard.Statements) { // of which something was told last that is wrong
			if id := r.partOf(&o); id != circuit.None && slices.Contains(parts, id) && !notAmiss[o.What] {
				parts = []circuit.PartID{id}
				break
			}
		}
	}
	if own := r.companion(p); own != circuit.None {
		parts = []circuit.PartID{own}
	}
	st := k.blank(OfPlace, s)
	st.What = about
	r.choose(p, s, r.ofParts(st, parts), k)
}
