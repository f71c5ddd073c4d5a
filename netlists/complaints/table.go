package complaints

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Language is a table of words. It must not be changed once made.
type Language struct {
	Name string
	// byFirst holds every phrase by each word that it may begin with.
	byFirst map[string][]*pattern
	phrases map[string]*pattern
	// vocabulary are the words of all phrases; skip those that may stand within
	// a phrase and say nothing; forms and endings tell of inflected words.
	vocabulary, skip, between map[string]bool
	forms                     map[string]string
	// single lists the words of the table, for the nearest to a slip.
	single   []string
	ordinary map[string]bool // those of the language that tell nothing of a machine
	below    map[string]bool
	figures  func() []*regexp.Regexp
	short    map[string][]short // what is short for others, by each word that it may begin with
	named    map[string]bool    // words of counting that name parts of the machine
	// ofVerb are the features of what a verb can only be said of, by its words.
	ofVerb map[string]string
	particles
}

// particles are words that a rule knows by itself, and what a table holds as written.
type particles struct {
	Endings        []string
	Past, Happened []string
	Lights         string // those of a house
	Glow           string // what an igniter does, and a burner does not
	Others, Swap   string
	Appliances     []string // of a kind each
	Rooms          []string // that are told by a number: "apt 4b"
	Plenty         []string // of water, that does not run out
	Ordinals       []string // words of counting that may name a part: "the second heater"
	Hear           string   // "I can hear the motor"
	Control        string   // what is set: "demonstration off"
	Times          []string // of a day, a week or a year: "quit Sunday"
	Even           string   // "not even the light": as what was said before
	Speak          string   // what a display does
	Hours          string   // in a number that holds its unit: "half an hour"
	Infinitive     string
	HeadFirst      bool   `toml:"head_first"` // a noun stands before what singles it out
	Manner         string // the ending of words that tell how
	Gone           string
	Denial         string   // the word that all denials are forms of
	Nothing        string   // "nothing happens"
	Side           string   // "the L2 side"
	Brings, Makes  []string // that something comes of what was done: "makes it heat"
	Shut, Ajar     []string // what a door is that is not open, or is
	Back           string   // what "comes back" ends in
	Down           []string // "turn it down"
	Still, Nor, Or string
	And            string // and how it is typed in haste
	// What is said of a temperature that is off what was set: too low by some unknown,
	// and too high and too low by so many degrees.
	Under          string
	HotBy          string `toml:"hot_by"`
	ColdBy         string `toml:"cold_by"`
	AndShort       string `toml:"and_short"`
	On, Top        string
	Held           []string            // a button: "stops when I let go"
	Often          []string            // time and again
	Former         []string            // of what was replaced
	Ended          []string            // of a program that is over
	Midway         []string            // while it runs: "halfway through"
	Windings       []string            // of a motor
	Now            []string            // what sets how it is beside how it was
	Again          string              // "not heating again"
	Why            []string            // what begins a question of what is so
	Then           []string            // what tells that one thing followed another
	Properly       []string            // how something is done
	Too            []string            // as was said of another
	Contrast       []string            // what may set one thing beside another: "dead while the other works"
	Both           []string            // of two
	Formerly       []string            // what tells that it is so no more
	Long           []string            // times for which a repair holds
	High           string              // the highest of them
	Settings       []string            // of a knob, as a state may be called
	Has            []string            // verbs of having: "has no light" is no denial of it
	Into           []string            // what a thing is swapped into
	Faults         []string            // what stays, or moves, as parts are swapped
	Tested, Found  []string            // verbs of measuring and finding
	Prongs         []string            // of a plug, where no other thing is named
	Plugs          []string            // what a wire's end may be called that is a plug
	Beforehand     []string            // what begins what came next
	Coded          []string            // words for a code that is not told
	Handles        []string            // what somebody does to a thing, or did not yet
	Chosen         []string            // what somebody sets a machine to
	Warmed         []string            // what a heater on a wall heats
	Touch          []string            // that tell what a hand feels
	Warm           []string            // what a breaker or a plug feels like that has a bad contact
	Lit            []string            // verbs of fire: of a lamp, that it is lit
	Reaches        []string            // verbs of what gets to where it should be
	Counted        []string            // what a figure may be a number of, and no reading
	Keys           []string            // what a hand presses, beside a display
	Looks          []string            // verbs of seeing: what "looks good" may yet be dead
	SwitchedOff    []string            `toml:"switched_off"` // words that together tell that all was set to off
	Presses        []string            // verbs of what a hand does to a thing, not to work it
	Turned         []string            // verbs of what people do with what follows
	Answers        []string            // to what stands before them
	ByHand         []string            `toml:"by_hand"` // verbs that tell of a breaker what people do with it
	Taken          []string            // verbs of what people take out
	People         []string            // words before them that say so
	Modes          map[string][]string // what modes are called, by their names
	Nouns          []noun
	Verbs          map[string]verb
	Say            map[string]string
	ConditionNames map[string]string `toml:"condition_names"`
	Baking         baking
	Spell          spell
	Clamp          clamp
	Meter          instrument
	Trial          trial
	Burning        burning
	Planned        planned
	Expected       expected
}

// spell is how a language tells that something is hot for a time.
type spell struct {
	// Words may stand between hot and Cold, Passes tell that it was so for a time.
	Words, Cold, Passes []string
}

// Known lists the words of a text that the table holds, in order, each once:
// no name of a person is among them but one that is a word of the table too.
func (l *Language) Known(text string) []string {
	var out []string
	for _, w := range split(text) {
		if w.mark == 0 && l.vocabulary[w.word] && !l.skip[w.word] && !slices.Contains(out, w.word) {
			out = append(out, w.word)
		}
	}
	return out
}

// class is the part of speech of a phrase, as far as it matters here.
type class uint8

const (
	filler class = iota + 1
	ends
	joins
	not
	isNot
	little
	always
	sometimes
	same
	cease
	keeps
	takes
	aux
	things
	house // things of a house that work by themselves
	exceptOf
	adjective
	article
	will
	with
	aim
	only
	none
	thinks
	its
	past
	pronoun
	someOf
	all
	restOf
	modePrep
	placePrep
	offMode
	isVerb
	isState
	isWhole
	isSeen
	isHistory
	isCondition
	isUnit
	isNumber
	isCode
	isNoun
	isWhere
	isSide
	isSub
	isCircum
	isStanding
	isMode
	aside
)

// sense is one meaning of a phrase: its class and a key within it.
type sense struct {
	class class
	key   string
	n     int // of a noun, a number, a mode
}

// noun is a row of the table of nouns.
type noun struct {
	Say    []string `toml:"say"`
	Is     []string `toml:"is"`
	Region bool     `toml:"region"`
	Joint  bool     `toml:"joint"`
	// Itself says that such a joint is its part's own, as a contact is, and no wire's
	// end; Coded that its colour is its name: a wire.
	Itself bool `toml:"itself"`
	Coded  bool `toml:"coded"`
	// Of is a word that what stands there has in its name; Verb says that the
	// noun is also what is done with it: "it won't bake"; Machine that the whole
	// is meant.
	Of   string `toml:"of"`
	Verb bool   `toml:"verb"`
	// Trips is what is said where what it names opens: "trips", "trips_residual".
	Trips   string `toml:"trips"`
	Machine bool   `toml:"machine"`
	// Pronoun says that it stands for the noun before: "the lower one".
	Pronoun bool `toml:"pronoun"`
	// Whole says that its coils are not told apart by a size: a small burner is no
	// inner coil.
	Whole bool `toml:"whole"`
	// Driven says that it is turned by what its part is: a drum by its motor.
	Driven bool `toml:"driven"`
}

type verb struct {
	Say    []string `toml:"say"`
	Yes    string   `toml:"yes"`
	No     string   `toml:"no"`
	Little string   `toml:"little"`
	// Of are the features of what is meant where nothing is named.
	Of string `toml:"of"`
	// Device says that it is a verb only of what trips.
	Device bool `toml:"device"`
	// About are words that speak of it without being it.
	About []string `toml:"about"`
}

// file is a table as written.
type file struct {
	particles
	Language                                                 string
	Contractions, Pieces                                     map[string]string
	Between, Figures, About                                  []string
	Forms, Grammar, States, Whole, Seen, History, Conditions map[string][]string
	When, Standing, Units, Codes, Where                      map[string][]string
	Circum                                                   map[string][]string `toml:"circumstances"`
	Ordinary                                                 struct{ Things, Remarks, Others string }
	Numbers                                                  struct {
		Words        map[string]int
		Above, Below []string
	}
}

var grammar = map[string]class{"ends": ends, "joins": joins, "not": not, "is_not": isNot, "little": little, "always": always,
	"sometimes": sometimes, "same": same, "cease": cease, "keeps": keeps, "takes": takes, "aux": aux, "things": things, "house": house, "except": exceptOf, "adjective": adjective, "article": article, "will": will, "with": with, "aim": aim, "only": only, "none": none, "thinks": thinks, "its": its, "past": past, "pronoun": pronoun, "some": someOf, "all": all, "rest": restOf, "mode": modePrep, "place": placePrep, "off": offMode, "filler": filler, "skip": filler, "aside": aside}

// plain reports whether a text is folded already, as most of a table is, but for a mark
// that may stand in it.
func plain(s string, mark byte) bool {
	last := byte(' ')
	for i := range len(s) {
		c := s[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && (c != mark && c != ' ' || c == ' ' && last == ' ') {
			return false
		}
		last = c
	}
	return last != ' '
}

// fold writes a phrase in small letters without accents, apostrophes and
// hyphens, its words one blank apart.
func fold(s string) string {
	if plain(s, ' ') {
		return s
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’', r == '`':
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// amount writes a figure as a meter shows it.
func amount(x float64) string {
	if math.IsInf(x, 1) {
		return "OL"
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}
