package complaints

import "slices"

// way is how what is said came to what it is said of.
type way uint8

const (
	named     way = iota // its clause names it
	listed               // a clause before names it, and says nothing of it
	placed               // it stands where it is said to be: "no heat from the broiler"
	region               // all that heats in a place
	ofIt                 // "it"
	goesOn               // what was spoken of last
	ofSetting            // what a mode is for
	ofVerb               // all that it can be said of: "no heat"
	ofMachine            // the machine
	others               // the rest, or all of a kind but one
	byDenial             // it is not, and no word tells what: "no bake"
	implied              // what was said last is said, or denied, of it as well
)

var wayNames = [...]string{"named", "listed", "placed", "a region", "it", "spoken of last", "a setting", "a verb", "the machine", "the others", "by denial", "implied"}

func (w way) String() string { return wayNames[w] }

// nameless reports whether a way is of no name in the clause itself.
func (w way) nameless() bool { return w == ofIt || w == goesOn || w == ofVerb || w == ofMachine }

// strays are words of whose thing a statement may be said that names nothing itself. Of
// what is joined so one in six is not meant where they stand, and else one in forty
// (TestSentencesWrittenApart): words of no language right before it, of the machine any,
// and what it was asked about before which one it is.
func (r *reader) strays(s *Statement) (out []string) {
	k := r.clauses[s.clause]
	if !s.way.nameless() && !s.driven {
		return nil
	}
	for i, t := range r.tokens {
		o := r.clauses[r.of[i]]
		dead := s.What == "all_dead" && s.nameless && (!o.made || o == k)
		before := s.About == OfLoad && o == k.from && !o.made && (s.driven || s.nameless && len(o.subjects) == 0)
		if t.unknown && (dead || before) && !r.l.vocabulary[t.text] && !r.l.tellsHow(t.text) {
			out = append(out, t.text)
		}
	}
	for _, q := range r.heard.Questions {
		if s.way == ofMachine && k.it && len(q.Choices) > 1 && q.Choices[0].Statements[0].clause < s.clause && !slices.Contains(out, q.Words) {
			out = append(out, q.Words) // "a burner sparked, and now it is dead"
		}
	}
	return out
}
