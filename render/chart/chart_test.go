package chart_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/encoding"
	"gonum.org/v1/gonum/graph/encoding/dot"
	"gonum.org/v1/gonum/graph/multi"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/render/chart"
	"legtrace/render/report"
)

// drawn is a chart read back, as any tool that reads DOT reads it.
type drawn struct{ *multi.DirectedGraph }

type box struct {
	graph.Node
	label string
}

func (b *box) SetAttribute(a encoding.Attribute) error {
	if a.Key == "label" {
		b.label = text(a.Value)
	}
	return nil
}

type arrow struct {
	graph.Line
	label string
}

func (a *arrow) SetAttribute(at encoding.Attribute) error {
	if at.Key == "label" {
		a.label = text(at.Value)
	}
	return nil
}

// text is a label on one line.
func text(label string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(label, `\n`, "\n")), " ")
}

func (d drawn) NewNode() graph.Node { return &box{Node: d.DirectedGraph.NewNode()} }
func (d drawn) NewLine(from, to graph.Node) graph.Line {
	return &arrow{Line: d.DirectedGraph.NewLine(from, to)}
}

func read(t *testing.T, text []byte) drawn {
	t.Helper()
	d := drawn{multi.NewDirectedGraph()}
	if err := dot.UnmarshalMulti(text, d); err != nil {
		t.Fatalf("this is no DOT: %v\n%s", err, text)
	}
	return d
}

// labels are those of the boxes.
func (d drawn) labels() []string {
	var list []string
	for _, n := range graph.NodesOf(d.Nodes()) {
		list = append(list, n.(*box).label)
	}
	return list
}

func test(number int, p float64, what string, ways ...report.PlanBranch) *report.PlanNode {
	return &report.PlanNode{Number: number, P: p, Test: &report.NextTest{Text: what, Good: "0 V"}, Branches: ways}
}

func way(reads string, p float64, then *report.PlanNode) report.PlanBranch {
	return report.PlanBranch{Reads: reads, P: p, Then: then}
}

func end(p float64, what ...string) *report.PlanNode {
	n := &report.PlanNode{P: p}
	for _, w := range what {
		n.Left = append(n.Left, report.Share{Text: w, P: 1 / float64(len(what))})
	}
	return n
}

// Where two places of a plan go on alike there is one box, with both numbers and
// the odds of both ways to it.
func TestWhatGoesOnAlikeIsJoined(t *testing.T) {
	again := func(number int, p float64) *report.PlanNode {
		return test(number, p, "Across the fuse", way("0 V", 0.5, end(p/2, "relay open", "coil open")), way("120 V", 0.5, end(p/2, "fuse open")))
	}
	plan := &report.Plan{Machine: report.Machine{Title: `A "warmer"`}, Root: test(1, 1, "Select <Hot>",
		way("0 V", 0.6, again(2, 0.6)),
		way("trips", 0.3, again(3, 0.3)),
		way("dead", 0.1, end(0.1, "fuse open")))}
	dot, err := chart.Plan(plan)
	if err != nil {
		t.Fatal(err)
	}
	d := read(t, dot)
	want := []string{"1 Select <Hot> Good: 0 V", "2, 3 Across the fuse Good: 0 V", "relay open or coil open 45 % of cases", "fuse open 55 % of cases"}
	got := d.labels()
	if len(got) != len(want) {
		t.Errorf("%d boxes: %q", len(got), got)
	}
	for _, w := range want {
		if !strings.Contains(strings.Join(got, "|")+"|", w+"|") {
			t.Errorf("no box says %q: %q", w, got)
		}
	}
	if n := strings.Count(string(dot), "good:"); n != 2 {
		t.Errorf("%d arrows are marked as good, want those of two tests", n)
	}
	if !strings.Contains(string(dot), "disconnect, lock out") {
		t.Error("the caution is missing")
	}
}

// Of every machine that comes along: the largest load dead, in the mode that uses
// it most. From every test the odds add up, and every end of the plan is there.
func TestPlansOfTheCatalog(t *testing.T) {
	odds := regexp.MustCompile(`(\d+) %$`)
	for _, c := range machines(t) {
		r := report.New(c)
		ask, err := r.Ask("", "", nil, report.Feeding)
		if err != nil {
			t.Fatal(err)
		}
		e, err := suspect.New(c, suspect.Options{Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		if err := e.Add(t.Context(), suspect.Evidence{Symptom: &suspect.Symptom{Mode: ask.Mode, Load: ask.Load, State: circuit.Dead}}); err != nil {
			t.Fatal(err)
		}
		plan, err := r.Plan(t.Context(), e, suspect.NewProgress())
		if err != nil {
			t.Fatal(err)
		}
		dot, err := chart.Plan(plan)
		if err != nil {
			t.Fatal(err)
		}
		d := read(t, dot)
		for _, n := range graph.NodesOf(d.Nodes()) {
			sum, ways := 0.0, 0
			for _, to := range graph.NodesOf(d.From(n.ID())) {
				for _, l := range graph.LinesOf(d.Lines(n.ID(), to.ID())) {
					ways++
					if m := odds.FindStringSubmatch(l.(*arrow).label); m != nil {
						p, _ := strconv.ParseFloat(m[1], 64)
						sum += p
					} else {
						t.Errorf("%s: no odds on %q", c.Name(), l.(*arrow).label)
					}
				}
			}
			if ways > 0 && (sum < 100-float64(ways) || sum > 100+float64(ways)) {
				t.Errorf("%s: the odds from %q add up to %g %%", c.Name(), n.(*box).label, sum)
			}
		}
		for _, part := range ends(plan.Root) {
			if !strings.Contains(strings.Join(d.labels(), "|"), text(part)) {
				t.Errorf("%s: no end is %q", c.Name(), part)
			}
		}
	}
}

func ends(n *report.PlanNode) []string {
	var list []string
	for _, l := range n.Left {
		list = append(list, l.Text)
	}
	for _, b := range n.Branches {
		list = append(list, ends(b.Then)...)
	}
	return list
}

// Each load, contact and coil of a machine lies between two runs of wire.
func TestMapsOfTheCatalog(t *testing.T) {
	for _, c := range machines(t) {
		dot, err := chart.Nets(c)
		if err != nil {
			t.Fatal(err)
		}
		d := read(t, dot)
		seen := map[string]bool{}
		for _, n := range graph.NodesOf(d.Nodes()) {
			words := strings.Fields(n.(*box).label)
			ref := words[len(words)-1]
			if _, err := c.FindBranch(ref); err != nil || c.Branch(must(c.FindBranch(ref))).Part == circuit.None {
				continue
			}
			seen[ref] = true
			if in, out := d.To(n.ID()).Len(), d.From(n.ID()).Len(); in != 1 || out != 1 {
				t.Errorf("%s: %s lies between %d and %d runs", c.Name(), ref, in, out)
			}
		}
		for _, id := range c.Loads() {
			if b := c.Branch(id); b.A != circuit.None && c.Runs()[b.A] != c.Runs()[b.B] && !seen[b.Ref] {
				t.Errorf("%s: the map has no %s", c.Name(), b.Ref)
			}
		}
	}
}

func machines(t *testing.T) []*circuit.Circuit {
	t.Helper()
	var list []*circuit.Circuit
	for _, e := range netlists.Catalog() {
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	return list
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
