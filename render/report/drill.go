package report

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/drill"
)

// DrillSummary is how a drill went.
type DrillSummary struct {
	Document  string        `json:"document" help:"which document this is"`
	Machine   Machine       `json:"machine" help:"the machine"`
	Number    uint64        `json:"number" help:"the number that repeats the drill"`
	Level     int           `json:"level" help:"1 to 3"`
	Faults    []Fault       `json:"faults" help:"what was hidden"`
	Budget    float64       `json:"budget" help:"minutes allowed; 0 for as long as it takes"`
	Complaint []string      `json:"complaint" help:"what the customer said"`
	End       string        `json:"end" help:"found, not found, gave up, or time is up"`
	Points    int           `json:"points" help:"0 to 100"`
	Unweighed bool          `json:"unweighed" help:"out of patience: no points, best plan, chance or worth of tests is known"`
	Yours     drill.Figures `json:"yours" help:"the learner's figures"`
	Best      drill.Figures `json:"best" help:"the best plan's"`
	Moves     []DrillMove   `json:"moves" help:"what was done, in order"`
	Stories   []FaultStory  `json:"stories" help:"what each fault did"`
	Tests     []TestWorth   `json:"tests" help:"what each test was worth"`
	BestMoves []string      `json:"best_moves" help:"what the best plan did, and saw"`
}

// DrillMove is one move of a drill.
type DrillMove struct {
	Text    string  `json:"text" help:"as typed"`
	Said    string  `json:"said" help:"what came of it"`
	Minutes float64 `json:"minutes" help:"what it took"`
	Unsafe  string  `json:"unsafe" help:"the rule it broke; empty for none"`
}

// FaultStory says what a fault did.
type FaultStory struct {
	Fault     string    `json:"fault" help:"in words"`
	Place     string    `json:"place" help:"where on the machine"`
	Mode      string    `json:"mode" help:"the mode told of"`
	Load      string    `json:"load" help:"the load whose feed is told of"`
	Said      []string  `json:"said" help:"the story, a sentence each"`
	Reference string    `json:"reference" help:"where the voltages are read to"`
	Feed      []Station `json:"feed" help:"places along the feed, through the load"`
	ModeRef   string    `json:"-" help:"the mode by name"`
	LoadRef   string    `json:"-" help:"the load by name; empty where what is told of is none of the machine's loads"`
}

// Station is a place on a feed, healthy beside faulty.
type Station struct {
	Place   string   `json:"place" help:"test point or terminal, or across which load"`
	Healthy *float64 `json:"healthy_volts" help:"on a sound machine; null where it floats"`
	Faulty  *float64 `json:"faulty_volts" help:"on this one; null where it floats"`
	Changed bool     `json:"changed" help:"the two differ"`
	Fault   bool     `json:"fault" help:"the first place beyond the fault"`
}

// TestWorth is what a test was worth.
type TestWorth struct {
	Text    string  `json:"text" help:"the move"`
	Showed  string  `json:"showed" help:"what it showed"`
	Healthy string  `json:"healthy" help:"what a sound machine shows; empty where it was no test of the fault"`
	Verdict string  `json:"verdict" help:"gave it away, narrowed it down, spoke against it, or waste"`
	Bits    float64 `json:"bits" help:"information it gave"`
	Before  float64 `json:"before" help:"the hidden fault's chance before"`
	After   float64 `json:"after" help:"and after"`
	Minutes float64 `json:"minutes" help:"what it took"`
}

// Drill sums a session up. Where patience ends first (see [circuit.Within]), the
// summary has what needs no weighing, and says so.
func (r namer) Drill(ctx context.Context, s *drill.Session) (*DrillSummary, error) {
	d := s.Drill()
	score, why, err := weighed(ctx, s)
	unweighed := err != nil && context.Cause(ctx) == circuit.ErrPatience
	if unweighed {
		score, why = drill.Score{End: s.End(), Yours: s.Figures()}, &drill.Explanation{Best: []string{}}
		why.Faults, err = s.Stories()
	}
	if err != nil {
		return nil, err
	}
	opt := d.Options()
	out := &DrillSummary{Document: "drill", Machine: r.machine(), Number: opt.Number, Level: int(opt.Level), Budget: opt.Budget,
		Faults: []Fault{}, Complaint: d.Complaint().Said, End: string(score.End), Points: score.Points, Unweighed: unweighed, Yours: score.Yours, Best: score.Best,
		Moves: []DrillMove{}, Stories: []FaultStory{}, Tests: []TestWorth{}, BestMoves: why.Best}
	for _, step := range s.Steps() {
		m := DrillMove{Text: step.Text, Said: strings.Join(step.Said, " "), Minutes: round(step.Minutes)}
		if step.Unsafe != nil {
			m.Unsafe = string(step.Unsafe.Rule)
		}
		out.Moves = append(out.Moves, m)
	}
	for _, f := range why.Faults {
		out.Faults = append(out.Faults, Fault{Ref: f.Ref, Text: oneLine(f.Fault)})
		story := FaultStory{Fault: oneLine(f.Fault), Place: oneLine(f.Place), Mode: oneLine(f.Mode), Load: oneLine(f.Load), Said: append([]string{}, f.Said...), Reference: f.Reference, Feed: []Station{}, ModeRef: r.c.Mode(f.ModeID).Name}
		if slices.Contains(r.c.Loads(), f.LoadID) {
			story.LoadRef = r.c.Branch(f.LoadID).Ref
		}
		for _, st := range f.Feed {
			story.Feed = append(story.Feed, Station{oneLine(st.Place), determined(st.Healthy), determined(st.Faulty), st.Changed, st.Fault})
		}
		out.Stories = append(out.Stories, story)
	}
	for _, t := range why.Tests {
		out.Tests = append(out.Tests, TestWorth{t.Text, t.Showed, t.Healthy, string(t.Verdict), round(t.Bits), round(t.Before), round(t.After), round(t.Minutes)})
	}
	return out, nil
}

// weighed is what a session is worth beside the best plan, and why.
func weighed(ctx context.Context, s *drill.Session) (drill.Score, *drill.Explanation, error) {
	score, err := s.Score(ctx)
	if err != nil {
		return score, nil, err
	}
	why, err := s.Explain(ctx)
	return score, why, err
}

// Unweighed is what is said where patience ended first.
const Unweighed = "Weighing this drill takes more work than is allowed: there is no score and no best plan. What follows needs neither."

// determined is a figure, or nil for what is not determined.
func determined(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return new(round(v))
}

func (d *DrillSummary) blocks(p *page) {
	title := fmt.Sprintf("%s: %d points", circuit.UpperFirst(d.End), d.Points)
	if d.Unweighed {
		title = circuit.UpperFirst(d.End) + ", not scored"
	}
	p.heading(title)
	if d.Unweighed {
		p.para(2, Unweighed)
	}
	figures := func(title string, f drill.Figures) []string {
		chance := fmt.Sprintf("%.0f min", f.Chance)
		if d.Unweighed {
			chance = "not known"
		}
		return []string{title, fmt.Sprintf("%.0f", f.Minutes), fmt.Sprint(f.Tests), fmt.Sprint(f.LiveTests), fmt.Sprint(f.Unsafe), fmt.Sprint(f.Wrong), chance}
	}
	rows := [][]string{figures("you", d.Yours)}
	if !d.Unweighed {
		rows = append(rows, figures("best plan", d.Best))
	}
	p.table(2, []column{{title: ""}, {title: "minutes", right: true}, {title: "tests", right: true}, {title: "live tests", right: true}, {title: "unsafe", right: true}, {title: "wrong parts", right: true}, {title: "chance taken", right: true}},
		rows)
	if d.Yours.Foretold > 0 {
		p.para(2, fmt.Sprintf("Of %d readings foretold, %d had value and reason right.", d.Yours.Foretold, d.Yours.Right))
	}
	for _, s := range d.Stories {
		p.story(s)
	}
	if len(d.Tests) > 0 {
		p.heading("What your tests were worth")
		p.table(2, []column{{title: "test", width: 24}, {title: "showed", width: 16}, {title: "sound machine", width: 16}, {title: "bits", right: true, width: 4}, {title: "worth"}}, each(d.Tests, func(t TestWorth) []string {
			return []string{t.Text, t.Showed, t.Healthy, fmt.Sprintf("%.1f", t.Bits), t.Verdict}
		}))
	}
	if !d.Unweighed {
		p.heading("The best plan")
		p.para(2, d.BestMoves...)
	}
	p.cautions()
}

func (p *page) story(s FaultStory) {
	p.heading("The fault: " + s.Fault)
	if s.Place != "" {
		p.para(2, "Where: "+s.Place)
	}
	p.para(2, s.Said...)
	if len(s.Feed) == 0 {
		return
	}
	volts := func(v *float64) string {
		if v == nil {
			return "floats"
		}
		return fmt.Sprintf("%.0f", positive(*v))
	}
	var rows [][]string
	for _, st := range s.Feed {
		mark := ""
		switch {
		case st.Fault:
			mark = "<- the fault lies here"
		case st.Changed:
			mark = "differs"
		}
		rows = append(rows, []string{st.Place, volts(st.Healthy), volts(st.Faulty), mark})
	}
	p.para(2, fmt.Sprintf("Along the feed of the %s in %q, volts to %s:", s.Load, s.Mode, s.Reference))
	p.table(4, []column{{title: "place", width: 34}, {title: "sound", right: true, width: 7}, {title: "this one", right: true, width: 8}, {title: ""}}, rows)
}
