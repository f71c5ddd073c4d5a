package report

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit/visit"
)

// Tally is what finished, proved visits came to.
type Tally struct {
	Document string       `json:"document" help:"which document this is"`
	Visits   int          `json:"visits" help:"visits counted"`
	Left     []Left       `json:"left" help:"visits that were not counted"`
	Priors   []TallyPrior `json:"priors" help:"what failed, beside common practice, the most frequent first"`
	Said     []TallySaid  `json:"said" help:"what a complaint was taken for, and what had failed"`
	Words    []TallySaid  `json:"words" help:"the words it was said in, of those the program knows"`
	Moves    []TallyMove  `json:"moves" help:"minutes that tests took"`
	Notes    []string     `json:"notes" help:"what was done besides"`
}

// Left counts visits that were not counted.
type Left struct {
	Why    string `json:"why" help:"why"`
	Visits int    `json:"visits" help:"how many"`
}

// TallyPrior is one figure of a netlist's [priors].
type TallyPrior struct {
	Name     string  `json:"name" help:"kind of part or way to fail, as [priors] has it"`
	Failed   float64 `json:"failed" help:"failures counted; in fractions where a verdict left several causes"`
	Expected float64 `json:"expected" help:"failures that common practice expects on the machines visited"`
	Common   float64 `json:"common" help:"the figure by common practice"`
	Learnt   float64 `json:"learnt" help:"the figure with what was counted"`
	Low      float64 `json:"low" help:"nine chances in ten that it is at least this"`
	High     float64 `json:"high" help:"and at most this"`
}

// TallySaid is what had failed where something was said.
type TallySaid struct {
	Said   string       `json:"said" help:"what was said"`
	Times  float64      `json:"times" help:"failures it was said of"`
	Failed []TallyShare `json:"failed" help:"what had failed, the most frequent first"`
}

// TallyShare is a count of one kind of part.
type TallyShare struct {
	Kind  string  `json:"kind" help:"kind of part"`
	Times float64 `json:"times" help:"failures"`
}

// TallyMove is what one kind of test took.
type TallyMove struct {
	Move      string  `json:"move" help:"kind of test"`
	Times     int     `json:"times" help:"tests that a clock was looked at for"`
	Minutes   float64 `json:"minutes" help:"their mean"`
	Deviation float64 `json:"deviation" help:"their standard deviation; 0 for fewer than two"`
}

// NewTally makes the document.
func NewTally(t *visit.Tally) *Tally {
	d := &Tally{Document: "tally", Visits: t.Visits, Left: []Left{}, Priors: []TallyPrior{}, Said: saidOf(t.Said), Words: saidOf(t.Words), Moves: []TallyMove{}, Notes: []string{}}
	for _, why := range slices.Sorted(maps.Keys(t.Left)) {
		d.Left = append(d.Left, Left{oneLine(why), t.Left[why]})
	}
	for _, p := range t.Priors() {
		d.Priors = append(d.Priors, TallyPrior{oneLine(p.Name), round(p.Failed), round(p.Expected), p.Common, round(p.Learnt), round(p.Low), round(p.High)})
	}
	for _, name := range slices.Sorted(maps.Keys(t.Moves)) {
		m := t.Moves[name]
		d.Moves = append(d.Moves, TallyMove{oneLine(name), m.N, round(m.Mean()), round(m.Deviation())})
	}
	return d
}

func saidOf(in map[string]map[string]float64) []TallySaid {
	out := []TallySaid{}
	for said, failed := range in {
		s := TallySaid{Said: oneLine(said), Failed: []TallyShare{}}
		for kind, n := range failed {
			s.Times += n
			s.Failed = append(s.Failed, TallyShare{oneLine(kind), round(n)})
		}
		s.Times = round(s.Times)
		slices.SortFunc(s.Failed, func(a, b TallyShare) int {
			return cmp.Or(cmp.Compare(b.Times, a.Times), cmp.Compare(a.Kind, b.Kind))
		})
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b TallySaid) int {
		return cmp.Or(cmp.Compare(b.Times, a.Times), cmp.Compare(a.Said, b.Said))
	})
	return out
}

// mostSaid is how many lines a table of what was said has.
const mostSaid = 20

func (d *Tally) blocks(p *page) {
	p.heading("What the visits came to")
	p.para(0, d.counted())
	p.heading("What failed")
	right := func(title string, width int) column { return column{title: title, right: true, width: width} }
	var rows [][]string
	for _, x := range d.Priors {
		if x.Failed > 0 || x.Expected >= 0.5 {
			rows = append(rows, []string{x.Name, rounded(x.Failed), rounded(x.Expected), rounded(x.Common), asStrong(rounded(x.Learnt)), rounded(x.Low) + " to " + rounded(x.High)})
		}
	}
	p.table(2, []column{{title: "kind or way"}, right("failed", 8), right("expected", 9), right("common", 8), right("learnt", 8), right("9 in 10", 18)}, rows)
	p.para(2, "Expected is what common practice gives on these machines. Learnt is common practice as if ten failures had gone into it, with these added: few visits change little.")
	d.said(p, "What was complained of", d.Said)
	d.said(p, "In which words", d.Words)
	if len(d.Moves) > 0 {
		p.heading("Minutes")
		p.table(2, []column{{title: "test"}, right("times", 8), right("mean", 8), right("deviation", 10)}, each(d.Moves, func(m TallyMove) []string {
			return []string{m.Move, fmt.Sprint(m.Times), fmt.Sprintf("%.1f", m.Minutes), fmt.Sprintf("%.1f", m.Deviation)}
		}))
	}
	p.heading("For a netlist")
	p.add(verbatimBlock{"toml", d.TOML()})
	p.para(0, d.Notes...)
}

// counted says how many visits were, and were not.
func (d *Tally) counted() string {
	s := count(d.Visits, "finished, proved visit", "finished, proved visits") + "."
	for _, l := range d.Left {
		s += fmt.Sprintf(" Left out, %s: %d.", l.Why, l.Visits)
	}
	return s
}

func (d *Tally) said(p *page, title string, list []TallySaid) {
	if len(list) == 0 {
		return
	}
	p.heading(title)
	var rows [][]string
	for _, s := range list[:min(mostSaid, len(list))] {
		failed := each(s.Failed, func(f TallyShare) string { return f.Kind + " " + rounded(f.Times) })
		rows = append(rows, []string{s.Said, rounded(s.Times), strings.Join(failed, ", ")})
	}
	p.table(2, []column{{title: "said", width: 24}, {title: "times", width: 7, right: true}, {title: "failed"}}, rows)
}

// TOML is a table of [priors] to be put into a netlist.
func (d *Tally) TOML() string {
	var b strings.Builder
	b.WriteString("[priors] # learnt from " + count(d.Visits, "visit", "visits") + "\n")
	for _, x := range d.Priors {
		if x.Failed > 0 || x.Expected >= 0.5 {
			fmt.Fprintf(&b, "%s = %s # %s to %s; common practice %s\n", x.Name, rounded(x.Learnt), rounded(x.Low), rounded(x.High), rounded(x.Common))
		}
	}
	return b.String()
}

// rounded writes a number to three places.
func rounded(v float64) string {
	s := strconv.FormatFloat(v, 'g', 3, 64)
	if strings.Contains(s, "e") {
		s = strconv.FormatFloat(v, 'f', 0, 64)
	}
	return s
}
