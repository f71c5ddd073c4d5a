package complaints

import "slices"

// spells takes out of what is said of a tank that its water is hot for a time and cold
// then: it runs out. Of what else is hot at first, and cold then, something quits.
func (r *reader) spells(words []raw) []raw {
	s := &r.l.Spell
	if !r.c.StoresHeat() || len(s.Cold) == 0 {
		return words
	}
	in := func(list []string, at int) bool {
		return at >= 0 && at < len(words) && slices.Contains(list, words[at].word)
	}
	for hot := 0; hot < len(words); hot++ {
		if !slices.Contains(r.l.Warm, words[hot].word) {
			continue
		}
		cold := hot + 1
		for cold < len(words) && (words[cold].mark == ',' || isFigure(words[cold].word) || in(s.Words, cold)) && !in(s.Cold, cold) {
			cold++
		}
		if !in(s.Cold, cold) {
			continue
		}
		from, to := hot, cold+1
		for in(s.Words, from-1) {
			from--
		}
		for in(s.Words, to) || in(s.Cold, to) {
			to++
		}
		passes := slices.ContainsFunc(words[from:to], func(w raw) bool { return slices.Contains(s.Passes, w.word) })
		if !passes || to < len(words) && (words[to].mark == 0 || slices.ContainsFunc(words[to:], func(w raw) bool { return slices.Contains(r.l.Warm, w.word) })) {
			continue
		}
		st := r.clauses[0].blank(OfWhole, &said{key: "runs_out"})
		st.Words = joined(words[from:to])
		r.put(st)
		words = slices.Replace(words, from, to, raw{mark: ','})
		hot = from
	}
	return words
}
