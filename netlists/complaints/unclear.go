package complaints

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// Unclear is the error of a sentence of which something has to be asked.
type Unclear struct {
	Heard Heard
	l     *Language
}

func (u *Unclear) Error() string {
	var parts []string
	say := func(key string, args ...any) { parts = append(parts, fmt.Sprintf(u.l.Say[key], args...)) }
	for _, q := range u.Heard.Questions {
		if len(q.Choices) == 0 {
			say("say_what", q.Words)
			continue
		}
		var labels []string
		for _, c := range q.Choices {
			labels = append(labels, c.Label)
		}
		if q.Doubt != "" {
			say("say_otherwise", q.Words, labels[0], q.Doubt)
			continue
		}
		say("say_which", q.Words, strings.Join(labels, ", "))
	}
	if len(u.Heard.Statements)+len(u.Heard.Questions) == 0 {
		say("say_nothing")
	}
	if len(u.Heard.Unknown) > 0 {
		say("say_unknown", strings.Join(u.Heard.Unknown, " "))
	}
	if u.Heard.Perhaps != "" {
		say("say_perhaps", u.Heard.Perhaps)
	}
	if len(parts) == 0 {
		say("say_fault")
	}
	return strings.Join(parts, "; ")
}

// Open notes what was said with its questions left open: one of the loads that
// may have been meant behaves so. Left are the words of what cannot be left open,
// and those not understood; where nothing else was said they are an error.
func (u *Unclear) Open(c *circuit.Circuit) (notes []visit.Note, left []string, err error) {
	if notes, err = u.Heard.notes(c); err != nil {
		return nil, nil, err
	}
	for _, q := range u.Heard.Questions {
		if q.Doubt != "" {
			left = append(left, q.Words)
			continue
		}
		if q.What == "code" { // nobody read it: still it is of what the control sees
			notes, left = append(notes, visit.Note{Told: "some_code"}), append(left, q.Words)
			continue
		}
		if more, ok := q.oneLeg(c); ok {
			notes = append(notes, more...)
			continue
		}
		var of []visit.Note
		var each [][]visit.Note
		for _, choice := range q.Choices {
			more, err := Notes(c, choice.Statements)
			if err != nil {
				return nil, nil, err
			}
			if len(more) > 0 && !slices.ContainsFunc(more, func(n visit.Note) bool { return n.State == "" }) {
				of, each = append(of, more...), append(each, more)
			}
		}
		if len(of) == 0 || len(of) < len(q.Choices) {
			left = append(left, q.Words)
			continue
		}
		if n := len(each[0]); !slices.ContainsFunc(each, func(more []visit.Note) bool { return len(more) != n }) {
			for i := range n { // "one is cold, the other is warm"
				of = nil
				for _, more := range each {
					of = append(of, more[i])
				}
				notes = append(notes, visit.AnyOf(of))
			}
			continue
		}
		notes = append(notes, visit.AnyOf(of))
	}
	if len(notes) == 0 {
		return nil, nil, u
	}
	return notes, append(left, u.Heard.Unknown...), nil
}

// LeftOpen stands for the choice where a question is not answered, Dropped where what it is
// about is said in other words.
const LeftOpen, Dropped = -1, -2

// Answered notes what was said with some questions answered, by which choice is meant;
// those left open are so as by [Unclear.Open].
func (u *Unclear) Answered(c *circuit.Circuit, meant []int) (notes []visit.Note, left []string, err error) {
	h := u.Heard
	h.Statements, h.Questions = slices.Clone(h.Statements), nil
	for i, q := range u.Heard.Questions {
		if i < len(meant) && meant[i] >= 0 && meant[i] < len(q.Choices) {
			h.Statements = append(h.Statements, q.Choices[meant[i]].Statements...)
		} else if i >= len(meant) || meant[i] != Dropped {
			h.Questions = append(h.Questions, q)
		}
	}
	notes, left, err = (&Unclear{h, u.l}).Open(c)
	return visit.Quiet(c, notes), left, err
}

// Choose finds the choice that an answer to a question means: its number, its label or
// words of it that no other has; -1 where it is none.
func (q *Question) Choose(answer string) int {
	if n, err := strconv.Atoi(strings.TrimSpace(answer)); err == nil && n >= 1 && n <= len(q.Choices) {
		return n - 1
	}
	said, at := strings.Fields(fold(answer)), -1
	for i, choice := range q.Choices {
		words := strings.Fields(fold(choice.Label))
		if fold(choice.Label) == strings.Join(said, " ") {
			return i
		}
		if len(said) == 0 || slices.ContainsFunc(said, func(w string) bool { return !slices.Contains(words, w) }) {
			continue
		}
		if at >= 0 {
			return -1
		}
		at = i
	}
	return at
}

// Complaint reads what a customer says: "LOAD STATE in MODE" as
// [visit.Complaint] has it or, failing that, in the language's own words. What
// was not understood is returned beside the notes; an error of type [*Unclear]
// says that something has to be asked first. What was noted before tells which of
// several is meant.
func (in *Listener) Complaint(sentence string, before ...visit.Note) ([]visit.Note, Heard, error) {
	if notes, err := visit.Complaint(in.c, sentence); err == nil {
		return notes, Heard{}, nil
	}
	h := in.read(sentence, contextOf(in.c, before))
	h.recall(in.c, before)
	notes, err := h.notes(in.c)
	if err != nil {
		return nil, h, err
	}
	if len(h.Questions) > 0 || len(notes) == 0 {
		return notes, h, &Unclear{h, in.l}
	}
	return visit.Quiet(in.c, notes), h, nil
}

// Listeners are those of one machine, one in each language, made when they are asked.
type Listeners []func() *Listener

// ListenTo knows what is said of a machine in every language.
func ListenTo(c *circuit.Circuit) (ls Listeners) {
	for _, language := range []func() *Language{English, Spanish} {
		ls = append(ls, sync.OnceValue(func() *Listener { return language().Listener(c) }))
	}
	return ls
}

// Complaint is [Listener.Complaint] in the language that has most words of a
// sentence, with what may be meant by words not understood.
func (ls Listeners) Complaint(sentence string, before ...visit.Note) (notes []visit.Note, h Heard, l *Language, err error) {
	best := ls.best(sentence)
	notes, h, err = best.Complaint(sentence, before...)
	best.perhaps(&h, sentence, before)
	var unclear *Unclear
	if errors.As(err, &unclear) {
		unclear.Heard = h
	}
	return notes, h, best.l, err
}

// best is the one in the language that has most words of a sentence.
func (ls Listeners) best(sentence string) *Listener {
	best := ls[0]()
	for i := 1; i < len(ls) && best.l.strange(sentence) > 0; i++ {
		if in := ls[i](); in.l.strange(sentence) < best.l.strange(sentence) {
			best = in
		}
	}
	return best
}

// Known is [Language.Known] in the language that has most words of a text.
func (ls Listeners) Known(text string) []string { return ls.best(text).l.Known(text) }

// Repaired are the parts that words of what was done may mean: "relay replaced".
func (ls Listeners) Repaired(words string) []circuit.PartID {
	_, h, _, _ := ls.Complaint(words)
	all := slices.Clone(h.Statements)
	for _, q := range h.Questions {
		for _, choice := range q.Choices {
			all = append(all, choice.Statements...)
		}
	}
	var out []circuit.PartID
	for _, s := range all {
		if s.Part == circuit.None && s.Load != circuit.None {
			s.Part = ls[0]().c.Branch(s.Load).Part
		}
		if s.Part != circuit.None && !slices.Contains(out, s.Part) {
			out = append(out, s.Part)
		}
	}
	return out
}

// strange counts the words of a text that the table does not hold.
func (l *Language) strange(text string) (n int) {
	for _, w := range split(text) {
		if w.mark == 0 && len(w.word) > 1 && !l.vocabulary[w.word] && !l.skip[w.word] && len(l.bases(w.word)) == 0 {
			n++ // a letter is of no language
		}
	}
	return n
}
