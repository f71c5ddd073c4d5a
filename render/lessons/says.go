package lessons

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// Sentence is one of a text, with what a drawing shows of it: the state that it
// speaks of, and lit there what it names.
type Sentence struct {
	Text string
	Show Show
}

// Told is what a step says, sentence by sentence.
type Told struct{ Say, Then, Ask, Answer []Sentence }

// Tells parts a step into sentences. One that names nothing goes on from the one before.
func (p *Part) Tells(step *Step) Told {
	var t Told
	last := p.base(step)
	for _, k := range []struct {
		text string
		out  *[]Sentence
	}{{step.Say, &t.Say}, {step.Then, &t.Then}, {step.Ask, &t.Ask}, {step.Answer, &t.Answer}} {
		*k.out = p.says(step, k.text, &last)
	}
	return t
}

// Says parts what stands before a lesson's parts, or after them, into sentences. They
// are shown on the machine at hand, or where that has nothing to show on the small circuit.
func (l *Lesson) Says(text string) []Sentence {
	p := &l.Parts[len(l.Parts)-1]
	if p.on == nil {
		p = &l.Parts[0]
	}
	none := Step{}
	last := p.base(&none)
	return p.says(&none, text, &last)
}

func (p *Part) says(step *Step, text string, last *Show) []Sentence {
	var out []Sentence
	for _, said := range sentences(text) {
		if show := p.shows(step, said); !show.None() {
			*last = show
		}
		out = append(out, Sentence{said, *last})
	}
	return out
}

// base is the step's own state, else the machine as the lesson has it.
func (p *Part) base(step *Step) Show {
	if p.on == nil || !step.Show.None() {
		return step.Show
	}
	out := p.on.show(p.on.busy, p.on.load)
	out.Small = p.Circuit != nil
	return out
}

// shows is what a sentence speaks of: the row of the step's table that it repeats most
// of, or the mode that it names, and what else of the machine it names; nothing where it
// names nothing of all that.
func (p *Part) shows(step *Step, said string) Show {
	s := p.on
	if s == nil {
		return Show{}
	}
	out, told := p.base(step), false
	if row := step.repeated(said); row != nil {
		out, told = row.Show, true
	}
	for i := range s.c.Modes() {
		if id := circuit.ModeID(i); !told && strings.Contains(said, s.mode(id)) {
			out.Mode, told = s.c.Mode(id).Name, true
		}
	}
	if strings.Contains(strings.ToLower(said), "supply off") {
		out.Off, told = true, true
	}
	if out.Lit = s.named(said); len(out.Lit) == 0 && !told {
		return Show{}
	}
	return out
}

// repeated is the row whose cells a sentence has most of, of several alike the one it
// has first; nil where it has none that would be known again.
func (s *Step) repeated(said string) *Row {
	var out *Row
	most, first := 1, len(said) // one figure alone tells nothing
	for i := range s.Rows {
		n, from := 0, len(said)
		for _, cell := range s.Rows[i].Cells {
			k := at(said, cell)
			if len(cell) < 3 || k < 0 {
				continue
			}
			if from = min(from, k); strings.ContainsFunc(cell, letter) {
				n += 2
			} else {
				n++
			}
		}
		if (n > most || n == most && from < first && out != nil) && !s.Rows[i].Show.None() {
			most, first, out = n, from, &s.Rows[i]
		}
	}
	return out
}

// at finds whole words in a text, whatever their first letter's case; -1 where they are
// not there.
func at(text, words string) int {
	if words == "" {
		return -1
	}
	for i := 0; i+len(words) <= len(text); i++ {
		if (text[i]^words[0])&^0x20 == 0 && strings.EqualFold(text[i:i+len(words)], words) && !inWord(text[:i], text[i+len(words):]) {
			return i
		}
	}
	return -1
}

// inWord reports whether what stands between two texts is a piece of a longer word.
func inWord(before, after string) bool {
	after = strings.TrimPrefix(after, "s")
	word := func(c byte) bool { return letter(rune(c)) || c >= '0' && c <= '9' }
	return before != "" && word(before[len(before)-1]) || after != "" && word(after[0])
}

// letter reports whether a rune, or a byte of one, is of a word.
func letter(r rune) bool { return r|0x20 >= 'a' && r|0x20 <= 'z' || r >= 0x80 }

// sentences parts a text.
func sentences(text string) []string {
	var out []string
	from := 0
	for i := 0; i+2 < len(text); i++ {
		if strings.IndexByte(".?!", text[i]) >= 0 && text[i+1] == ' ' && text[i+2] < 'a' {
			out, from = append(out, text[from:i+1]), i+2
		}
	}
	if rest := strings.TrimSpace(text[from:]); rest != "" {
		out = append(out, rest)
	}
	return out
}

// name is what a text may call pieces of the drawing by.
type name struct {
	words string
	lit   []string
}

// maxLit is how many pieces a sentence lights.
const maxLit = 24

// named lists the pieces of the drawing that a text names, each once and in its order:
// the longest name that stands in a place is the one that is meant there.
func (s *subject) named(text string) []string {
	if s.names == nil {
		s.names = s.lexicon()
	}
	hits := make([][]string, len(text)) // where they stand
	for _, n := range s.names {
		for i := at(text, n.words); i >= 0; i = at(text, n.words) {
			text = text[:i] + strings.Repeat("\x00", len(n.words)) + text[i+len(n.words):]
			hits[i] = n.lit
		}
	}
	var out []string
	for _, lit := range hits {
		for _, piece := range lit {
			if !slices.Contains(out, piece) && len(out) < maxLit {
				out = append(out, piece)
			}
		}
	}
	return out
}

// called is what pieces are called in a lesson's texts besides their own names: a group
// of them, or a kind.
const called = "leg:legs neutral:neutral metal:metal earth:metal frame:metal sheath:metal supply:supply service:supply outlet:supply conductor:supply " +
	"feed:feed joint:feed current:feed contact:contacts switch:contacts load:load loads:loads coil:relay block:terminal_block screw:terminal_block board:control heater:element"

// lexicon is all that the machine's pieces are called, the longest names first: by
// their labels and places, by the kind that they are of, by what they do in the feed.
func (s *subject) lexicon() []name {
	var out []name
	groups, kinds := map[string][]string{}, []string(nil)
	add := func(words string, lit []string) {
		if len(lit) > 0 {
			out = append(out, name{words, lit})
		}
	}
	for i := range s.c.Terminals() {
		t := s.c.Terminal(circuit.TerminalID(i))
		lit := []string{"t:" + t.Ref}
		add(s.c.PlaceLabel(circuit.TerminalID(i)), lit)
		add(t.Ref, lit)
	}
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		lit := []string{s.piece(b.ID)}
		add(s.c.Label(b.ID), lit)
		add(b.Ref, lit)
	}
	group := func(name string, ids []circuit.BranchID) {
		for _, id := range ids {
			groups[name] = append(groups[name], s.piece(id))
		}
	}
	for _, end := range s.feed(s.load).Ends {
		for _, hop := range end.Hops {
			group("feed", []circuit.BranchID{hop.Branch})
		}
	}
	group("feed", []circuit.BranchID{s.load})
	group("load", []circuit.BranchID{s.load})
	group("loads", s.c.Loads())
	group("contacts", s.contacts())
	groups["metal"] = []string{"t:" + s.c.Terminal(s.c.ChassisTerminal()).Ref}
	for _, id := range s.conductors() {
		lit := s.along(id)
		add(s.conductor(id), lit)
		of := "legs"
		if id == s.c.Supply().Neutral {
			of = "neutral"
		}
		groups[of] = append(groups[of], lit...)
		groups["supply"] = append(groups["supply"], lit...)
	}
	for i := range s.c.Parts() {
		p := s.c.Part(circuit.PartID(i))
		add(p.Label, []string{"part:" + p.Name})
		if k := p.Kind.String(); groups[k] == nil && p.Kind != circuit.KindSupply {
			groups[k] = s.kind(p.Kind, groups["feed"])
			kinds = append(kinds, k)
		}
	}
	for _, word := range strings.Fields(called) {
		word, of, _ := strings.Cut(word, ":")
		add(word, groups[of])
	}
	for _, k := range kinds {
		add(strings.ReplaceAll(k, "_", " "), groups[k])
	}
	slices.SortStableFunc(out, func(a, b name) int { return len(b.words) - len(a.words) })
	return out
}

// along are the wires joined with where a conductor comes in, behind the house's guards
// too.
func (s *subject) along(conductor circuit.BranchID) []string {
	runs, t := s.c.Runs(), s.c.Branch(conductor).B
	lit := []string{"t:" + s.c.Terminal(t).Ref}
	reached := map[int32]bool{runs[t]: true}
	for i := range s.c.Branches() {
		if b := s.c.Branch(circuit.BranchID(i)); b.Part != circuit.None && s.c.Part(b.Part).Kind.Guards() && reached[runs[b.A]] {
			reached[runs[b.B]] = true
		}
	}
	for w := range s.c.Wires() {
		if wire := s.c.Wire(circuit.WireID(w)); reached[runs[wire.From]] {
			lit = append(lit, "wire:"+wire.Name)
		}
	}
	return lit
}

// kind lists the parts of a kind: those in the feed, or where none of them is all.
func (s *subject) kind(k circuit.Kind, feed []string) (out []string) {
	var all []string
	for i := range s.c.Parts() {
		p := s.c.Part(circuit.PartID(i))
		if p.Kind != k {
			continue
		}
		all = append(all, "part:"+p.Name)
		if slices.Contains(feed, "part:"+p.Name) {
			out = append(out, "part:"+p.Name)
		}
	}
	if len(out) == 0 {
		return all
	}
	return out
}

// piece is what of the drawing stands for a branch.
func (s *subject) piece(id circuit.BranchID) string {
	switch b := s.c.Branch(id); {
	case b.Wire != circuit.None:
		return "wire:" + s.c.Wire(b.Wire).Name
	case b.Role == circuit.Source:
		return "t:" + s.c.Terminal(b.B).Ref
	default:
		return "part:" + s.c.Part(b.Part).Name
	}
}
