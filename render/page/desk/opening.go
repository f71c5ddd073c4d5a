package desk

import (
	"cmp"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// opening is something seen that a visit may begin with, at a tap.
type opening struct {
	Label string
	// Words stand for what the customer said.
	Words string
	lines []string
}

// openings are some of one kind.
type openings struct {
	Title string
	List  []opening
}

// openings lists what is most often wrong: that what heats, turns or lights does
// not, or not enough, or does not stop, what concerns the machine as a whole, and what is
// told of it.
func (b *bench) openings(mode string) []openings {
	var loads []*circuit.Branch
	for _, id := range b.c.Loads() {
		br := b.c.Branch(id)
		if br.Part == circuit.None {
			continue
		}
		if k := b.c.Part(br.Part).Kind; k.Heats() || k == circuit.KindLamp || k == circuit.KindMotor || k == circuit.KindFan {
			loads = append(loads, br)
		}
	}
	slices.SortStableFunc(loads, func(x, y *circuit.Branch) int { return cmp.Compare(y.Watts, x.Watts) })
	var out []openings
	for _, kind := range []struct {
		title string
		state circuit.LoadState
	}{{"Does nothing", circuit.Dead}, {"Too little", circuit.Weak}, {"Does not go off", circuit.StaysOn}} {
		o := openings{Title: kind.title}
		for _, br := range loads {
			n, err := visit.Symptom(b.c, br.Ref, kind.state.String(), "")
			if err != nil {
				continue
			}
			label := b.c.Label(br.ID)
			o.List = append(o.List, opening{label, label + " " + kind.state.String(), linesOf(visit.Quiet(b.c, []visit.Note{n}))})
		}
		out = append(out, o)
	}
	whole := openings{Title: "The whole machine"}
	for _, o := range []struct {
		label string
		note  visit.Note
	}{
		{"Nothing works", visit.Note{Mode: mode, AllDead: true}}, {"The breaker trips", visit.Note{Trips: true}},
		{"A relay buzzes or chatters", visit.Note{Mode: mode, Chatters: true}},
	} {
		whole.List = append(whole.List, opening{o.label, o.label, linesOf([]visit.Note{o.note})})
	}
	return append(append(out, whole), toldOf()...)
}

func linesOf(notes []visit.Note) []string {
	var out []string
	for _, n := range notes {
		out = append(out, n.Line())
	}
	return out
}
