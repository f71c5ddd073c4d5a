package desk

import (
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// talesAt are what may be told of a place, or of none, at a tap; what is told of a load and
// codes are said in words.
var talesAt = []struct {
	title, keys string
	// whole are those of the machine as a whole, a tap each as a visit begins.
	whole string
}{
	{"Seen, heard or smelt", "burnt melted discoloured parted bare blistered loose wet crossed sparks smell noise squeal feels_hot click no_click stiff looks_good",
		"smell sparks noise shock gas beeps flashing lights_dim lights_bright door_locked"},
	{"Before it began", "self_clean moved storm spill repair new_cord kitchen meddled dry sudden gradual",
		"self_clean moved storm spill repair new_cord kitchen sudden gradual"},
	{"Tried already", "replaced no_help failed_again good_elsewhere like_works_here like_dead_here bridged_works bridged_no_help wire_stops found_good found_bad shorted welded reset works_again once",
		"reset works_again once"},
}

// taleGroup are tales under a title.
type taleGroup struct {
	Title string
	List  []report.Named
}

func talesNamed(keys string) (out []report.Named) {
	words := map[string]string{}
	for _, t := range suspect.Tales() {
		words[t.What], _, _ = strings.Cut(t.Words, ":") // what it means is told once it is noted
	}
	for _, key := range strings.Fields(keys) {
		out = append(out, report.Named{Ref: key, Label: circuit.UpperFirst(words[key])})
	}
	return out
}

// Tales are what may be told of a place.
func (v *view) Tales() (out []taleGroup) {
	for _, g := range talesAt {
		out = append(out, taleGroup{g.title, talesNamed(g.keys)})
	}
	return out
}

// toldOf are the openings of what is told of the machine as a whole.
func toldOf() (out []openings) {
	for _, g := range talesAt {
		o := openings{Title: g.title}
		for _, t := range talesNamed(g.whole) {
			o.List = append(o.List, opening{t.Label, t.Label, linesOf([]visit.Note{{Told: t.Ref}})})
		}
		out = append(out, o)
	}
	return out
}

// doubted is an answer with how sure it is: "about" is not sure, "jumps" jumps up to another.
func doubted(answer, doubt, upTo string) string {
	switch {
	case answer == "" || doubt == "":
	case doubt == "about":
		return answer + ", not sure"
	case doubt == "jumps":
		return "jumps between " + answer + " and " + upTo
	}
	return answer
}
