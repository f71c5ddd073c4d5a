package report

import (
	"fmt"
	"io"
	"slices"

	"legtrace/circuit/drill"
)

// Class is a class's answers to a set of drills.
type Class struct {
	Document string         `json:"document" help:"which document this is"`
	Title    string         `json:"title" help:"the set's"`
	Learners []ClassLearner `json:"learners" help:"by name, in the order of the answers"`
	Rows     []ClassRow     `json:"rows" help:"a row for each learner and drill"`
}

// ClassLearner is one learner's sum.
type ClassLearner struct {
	Learner string  `json:"learner" help:"name"`
	Points  float64 `json:"points" help:"mean over all drills of the set"`
	Found   int     `json:"found" help:"drills whose faults were found"`
	Unsafe  int     `json:"unsafe" help:"acts that were stopped"`
	// Mastered is worked out by the engine's own rule.
	Mastered bool         `json:"mastered" help:"three in a row, each found within 1.25 of the best plan's minutes, nothing unsafe"`
	Met      []ClassNovel `json:"met" help:"drills by how new their faults were: met before, same kind, new kind, new machine"`
}

// ClassNovel counts a learner's drills of one novelty.
type ClassNovel struct {
	Novelty string `json:"novelty" help:"how new"`
	Tried   int    `json:"tried" help:"drills answered"`
	Found   int    `json:"found" help:"of these, found"`
}

// ClassRow is one learner's answer to one drill.
type ClassRow struct {
	Learner string        `json:"learner" help:"name"`
	Drill   string        `json:"drill" help:"name in the set"`
	Kind    string        `json:"kind" help:"what kind of fault was hidden"`
	Novelty string        `json:"novelty" help:"how new it was to the learner; empty for no answer"`
	End     string        `json:"end" help:"found, not found, gave up, time is up, or no answer"`
	Points  int           `json:"points" help:"0 to 100"`
	Yours   drill.Figures `json:"yours" help:"the learner's figures"`
	Best    drill.Figures `json:"best" help:"the best plan's"`
	Unsafe  []string      `json:"unsafe" help:"the rules broken, in order"`
	Skipped int           `json:"skipped" help:"moves that were not understood, or could not be made"`
	Trouble string        `json:"trouble" help:"the first of them, and why"`
}

// NewClass makes the document.
func NewClass(title string, rows []drill.Row) *Class {
	out := &Class{Document: "class", Title: oneLine(title), Learners: []ClassLearner{}, Rows: []ClassRow{}}
	scores := map[string][]drill.Score{}
	for _, row := range rows {
		if row.Answered {
			scores[oneLine(row.Learner)] = append(scores[oneLine(row.Learner)], row.Score)
		}
		r := ClassRow{Learner: oneLine(row.Learner), Drill: row.Drill, Kind: row.Kind, Novelty: string(row.Novelty), End: string(row.Score.End), Points: row.Score.Points,
			Yours: row.Score.Yours, Best: row.Score.Best, Unsafe: []string{}, Skipped: row.Skipped, Trouble: oneLine(row.Trouble)}
		if !row.Answered {
			r.End = "no answer"
		}
		for _, rule := range row.Rules {
			r.Unsafe = append(r.Unsafe, string(rule))
		}
		out.Rows = append(out.Rows, r)
		out.add(r)
	}
	for i := range out.Learners {
		n := 0
		for _, r := range out.Rows {
			if r.Learner == out.Learners[i].Learner {
				n++
			}
		}
		l := &out.Learners[i]
		l.Points = round(l.Points / float64(n))
		l.Mastered = drill.Mastered(scores[l.Learner])
	}
	return out
}

func (c *Class) add(r ClassRow) {
	i := slices.IndexFunc(c.Learners, func(l ClassLearner) bool { return l.Learner == r.Learner })
	if i < 0 {
		i = len(c.Learners)
		c.Learners = append(c.Learners, ClassLearner{Learner: r.Learner})
		for _, n := range drill.Novelties() {
			c.Learners[i].Met = append(c.Learners[i].Met, ClassNovel{Novelty: string(n)})
		}
	}
	l := &c.Learners[i]
	l.Points += float64(r.Points)
	l.Unsafe += r.Yours.Unsafe
	found := r.End == string(drill.Found)
	if found {
		l.Found++
	}
	for i := range l.Met {
		if n := &l.Met[i]; n.Novelty == r.Novelty {
			n.Tried++
			if found {
				n.Found++
			}
		}
	}
}

var classColumns = []string{"learner", "drill", "end", "points", "minutes", "best_minutes", "tests", "best_tests", "live_tests", "best_live_tests", "unsafe", "wrong", "foretold", "right", "kind", "novelty", "skipped", "trouble"}

func (c *Class) csv(w io.Writer) error {
	return writeCSV(w, classColumns, func(yield func([]string) bool) {
		for _, r := range c.Rows {
			if !yield([]string{cell(r.Learner), cell(r.Drill), r.End, fmt.Sprint(r.Points), fmt.Sprint(round(r.Yours.Minutes)), fmt.Sprint(round(r.Best.Minutes)),
				fmt.Sprint(r.Yours.Tests), fmt.Sprint(r.Best.Tests), fmt.Sprint(r.Yours.LiveTests), fmt.Sprint(r.Best.LiveTests),
				fmt.Sprint(r.Yours.Unsafe), fmt.Sprint(r.Yours.Wrong), fmt.Sprint(r.Yours.Foretold), fmt.Sprint(r.Yours.Right), r.Kind, r.Novelty, fmt.Sprint(r.Skipped), cell(r.Trouble)}) {
				return
			}
		}
	})
}

func (c *Class) blocks(p *page) {
	title := c.Title
	if title == "" {
		title = "Class"
	}
	p.heading(title)
	right := func(title string) column { return column{title: title, right: true, width: 9} }
	var rows [][]string
	for _, r := range c.Rows {
		rows = append(rows, []string{r.Learner, r.Drill, r.End, fmt.Sprint(r.Points), fmt.Sprintf("%.0f/%.0f", r.Yours.Minutes, r.Best.Minutes),
			fmt.Sprintf("%d/%d", r.Yours.Tests, r.Best.Tests), fmt.Sprintf("%d/%d", r.Yours.LiveTests, r.Best.LiveTests), fmt.Sprint(r.Yours.Unsafe)})
	}
	p.table(2, []column{{title: "learner", width: 13}, {title: "drill"}, {title: "end", width: 10}, right("points"), right("minutes"), right("tests"), right("live"), right("unsafe")}, rows)
	p.para(2, "Minutes, tests and live tests: the learner's / the best plan's.")
	p.heading("By learner")
	rows = nil
	var met [][]string
	for _, l := range c.Learners {
		rows = append(rows, []string{l.Learner, fmt.Sprintf("%.0f", l.Points), fmt.Sprint(l.Found), fmt.Sprint(l.Unsafe), map[bool]string{true: "yes", false: "-"}[l.Mastered]})
		row := []string{l.Learner}
		for _, n := range l.Met {
			row = append(row, fmt.Sprintf("%d/%d", n.Found, n.Tried))
		}
		met = append(met, row)
	}
	p.table(2, []column{{title: "learner", width: 30}, right("points"), right("found"), right("unsafe"), right("mastered")}, rows)
	p.para(2, fmt.Sprintf("Mastered: %d in a row, each found within %g times the best plan's minutes, nothing unsafe.", drill.MasteryRow, drill.MasteryShare))
	p.heading("By how new the fault was to the learner: found/tried")
	columns := []column{{title: "learner", width: 20}}
	for _, n := range drill.Novelties() {
		columns = append(columns, column{title: string(n), right: true, width: 11})
	}
	p.table(2, columns, met)
	for _, r := range c.Rows {
		for _, rule := range r.Unsafe {
			p.para(2, fmt.Sprintf("%s, %s: stopped: %s", r.Learner, r.Drill, rule))
		}
		if r.Trouble != "" {
			p.para(2, fmt.Sprintf("%s, %s: %s", r.Learner, r.Drill, r.Trouble))
		}
	}
}
