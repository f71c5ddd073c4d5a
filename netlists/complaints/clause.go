package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// said is what a clause says of its subjects.
type said struct {
	class   class
	key     string
	words   string
	code    string
	plain   bool   // an adjective
	of      string // features of what it can only be said of
	past    bool   // it was so on an occasion
	from    span
	only    *phrase // of no others of the kind
	implied bool    // by no word of its own
}

// trips reports whether it tells that something tripped, or that it did not.
func (s said) trips() bool {
	return s.class == isWhole && (s.key == "trips" || s.key == "trips_residual" || s.key == "no_trip")
}

// clause is a piece of a sentence between stops.
type clause struct {
	id       int
	from     *clause // which it goes on from
	next     *clause // which follows it after a comma
	made     bool    // something was made of it
	lost     bool    // it has a word that is not known
	at       [roles]span
	subjects []*phrase
	places   []*phrase
	modes    []circuit.ModeID
	sized    bool // the mode is a size of ring
	said     []said
	when     string
	rarely   bool // sometimes
	but      bool // of all that was named before only its own subject is not so
	rest     bool // everything else
	others   bool // all others of the kind
	other    bool // the other one
	same     bool // as what was spoken of before
	amount   float64
	unit     string
	side     string // above or below
	takes    bool
	words    []string
	not      bool
	// strange are unknown words where a subject should stand.
	strange []string
	house   bool      // it is of a thing of the house
	butOnly []*phrase // of which only the subject is so
	after   bool      // the last subject came after what is said: "replaced the fuse"
	it      bool      // it was spoken of
	lasting bool
	// aux is the last word, where it is one like "does"; past says that it was so.
	aux, past bool
	ceased    bool
	happened  bool // on an occasion
	formerly  bool // it is so no more
	every     bool
	both      bool // of two
	odd       bool // it has words that are not known
	except    bool
	verbless  bool // what was denied, or kept on, was not understood
	theory    bool // what somebody thinks is no evidence
	will      bool
	quoted    bool             // it is what a display says
	object    bool             // it was done to something else
	subbed    bool             // it has a clause that tells when
	also      bool             // "the clock stopped and the lamp"
	partly    bool             // some of it
	bare      bool             // denied by no verb: "but not the left one"
	isNot     bool             // denied by a verb of being, before which stood
	before    int              // so many subjects
	denied    int              // the words up to the last that denies
	unsaid    bool             // it says as another does that was not understood
	then      bool             // it tells what followed
	now       bool             // it tells how it is now
	figure    bool             // it holds one that counts nothing
	lead      []circuit.ModeID // those that were named before anything else
	waited    int
	brought   bool      // what was done brings it about
	ahead     bool      // it tells what came next: "before it lights"
	kin       *phrase   // what the others are
	trails    bool      // nothing parts it from what was said before
	mends     bool      // it tells that a joint was made good
	asks      bool      // it ends in a question mark
	tillOff   bool      // it goes on until somebody turns it off
	tried     []*phrase // what somebody turns on, in what tells when
}

// trips reports whether a clause tells of what trips.
func (k *clause) trips() bool { return slices.ContainsFunc(k.said, said.trips) }

// firstWord is the word that a clause begins with; empty where it has none of its own.
func (k *clause) firstWord() string {
	if len(k.words) == 0 {
		return ""
	}
	return k.words[0]
}

// lastWord is the word that a clause ends with; empty where it has none of its own.
func (k *clause) lastWord() string {
	if len(k.words) == 0 {
		return ""
	}
	return k.words[len(k.words)-1]
}

// enter adds a mode to those that a clause speaks of.
func (k *clause) enter(m circuit.ModeID, from span) {
	if len(k.subjects)+len(k.said) == 0 {
		k.lead = append(k.lead, m)
	}
	k.modes = append(k.modes, m)
	k.at[ofMode].join(from)
}

// blank is a statement of a clause, with nothing said yet.
func (k *clause) blank(about About, s *said) Statement {
	st := Statement{About: about, What: s.key, Load: circuit.None, Part: circuit.None, Mode: circuit.None, When: k.when,
		Words: strings.Join(k.words, " "), wording: wording{then: k.then, clause: k.id, nameless: len(k.subjects)+len(k.places)+len(k.modes) == 0, happened: (s.past || k.happened) && !k.will && !k.lasting && !k.rarely}}
	if len(k.modes) > 0 {
		st.Mode = k.modes[0]
	}
	return st
}

// circumstance is a clause that tells when: "when I open the door".
type circumstance struct {
	until, after, any bool
	although          bool // it changes nothing: "even when"
	only              bool // not otherwise
	unless            bool // of what is not so, only then; of what is so, not then
	told              bool // something was said of what it names
	thing             bool // it names a thing of the household
	like              bool // it tells what something is like, and nothing that is so
	off, on           bool // it tells what was turned so
	stated            bool // it says how something is
	acted             bool // it has a verb
	gerund            bool // what somebody does, with no word for when
	when              string
	phrases           []*phrase
	modes             []circuit.ModeID
	words             []string
	begin             int
	from              span
	loose             bool // nothing was made of a word in it
}

// heatless reports whether what comes tells that there is no heat, and goes with no
// subject of the clause: none of them heats, or something was seen of them.
func (p *parser) heatless(rest []token) bool {
	n := content(rest)
	if n == nil || len(p.k.said) == 0 || len(p.k.subjects)+len(p.k.places) == 0 && p.np == nil || !n.is(isState, "dead") || !p.r.l.denies(n.text) || p.r.l.saidOf(n) != heating {
		return false
	}
	hot := func(np *phrase) bool {
		return slices.ContainsFunc(p.r.parts(np, p.r.isLoad), func(id circuit.PartID) bool { return p.r.c.Part(id).Kind.Heats() })
	}
	return !slices.ContainsFunc(p.k.subjects, hot) || p.r.c.StoresHeat() && p.k.said[len(p.k.said)-1].class == isSeen
}

// seenAt reports whether a clause ends in what was seen, or where.
func (p *parser) seenAt() bool {
	n := len(p.k.said)
	return n > 0 && p.k.said[n-1].class == isSeen && (p.np != nil || len(p.k.places) > 0)
}

// found reports whether what comes tells of another thing that was found: "the plug is burnt
// and I found a loose wire".
func (p *parser) found(rest []token) bool {
	for i := range rest {
		if n := &rest[i]; !n.has(pronoun) && !slices.Contains(p.r.l.People, n.text) {
			return len(p.k.said) > 0 && slices.Contains(p.r.l.Found, n.text)
		}
	}
	return false
}
