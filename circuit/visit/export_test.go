package visit

import (
	"slices"

	"legtrace/circuit"
)

// Kinds are the words of every kind of note there is.
func Kinds() (out []string) {
	for _, k := range kinds {
		out = append(out, k.word)
	}
	return out
}

// On is a note as another machine has it.
func (n Note) On(from, to *circuit.Circuit) (Note, bool) { return n.on(from, to) }

// IsAt is the answer that one of a family's machines has to a question.
func (j *Job) IsAt(q Question, at int) string {
	all := j.family.questions
	return all[slices.IndexFunc(all, func(o Question) bool { return o.Key == q.Key })].is[at]
}

// Traits are what is seen of a machine from outside.
func Traits(c *circuit.Circuit) (out []string) {
	for _, t := range traits(c) {
		out = append(out, t.is)
	}
	return out
}
