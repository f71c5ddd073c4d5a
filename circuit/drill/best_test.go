package drill_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// tries lists everything a learner of the small heater might test, supply off,
// each with what it would read, and both modes to look at.
func tries(c *circuit.Circuit) []string {
	out := []string{"try heat", "try off"}
	for i, p := range c.Points() {
		for _, q := range c.Points()[:i] {
			out = append(out, "ohms "+q.Name+" "+p.Name+" in heat")
		}
	}
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); b.Role == circuit.Contact || b.Role == circuit.Load {
			out = append(out, "ohms "+c.Terminal(b.A).Ref+" "+c.Terminal(b.B).Ref+" in heat")
		}
	}
	return out
}

// cheapest finds, by trying every sequence of up to two tests, the least that
// any learner could have paid to be left with nothing but the hidden fault and
// those that no listed point tells from it. Which faults are left is worked out
// here on a bench of its own, from intervals that do not meet.
func cheapest(t *testing.T, d *drill.Drill) (float64, []string) {
	t.Helper()
	c := d.Circuit()
	b := meter.New(c, meter.DefaultInstrument())
	var all []suspect.Cause
	for _, cl := range suspect.Classes(c) {
		all = append(all, cl.Members...)
	}
	type look struct {
		test string
		cell []int // by cause
	}
	var looks []look
	// The complaint is known to begin with.
	agrees := func(cause suspect.Cause) bool {
		for _, ev := range d.Complaint().Evidence {
			o, err := b.Live(ev.Symptom.Mode, cause.Faults)
			if err != nil || (len(o.Tripped) > 0) != ev.Symptom.Trips {
				return false
			}
			if ev.Symptom.Load == circuit.None {
				continue
			}
			sound, err := b.Live(ev.Symptom.Mode, nil)
			if err != nil || circuit.JudgeLoad(o, sound, ev.Symptom.Load) != ev.Symptom.State {
				return false
			}
		}
		return true
	}
	all = slices.DeleteFunc(all, func(cause suspect.Cause) bool { return !agrees(cause) })
	hidden := slices.IndexFunc(all, func(cause suspect.Cause) bool { return cause.Label == d.Hidden()[0].Cause.Label })
	if hidden < 0 {
		t.Fatalf("%s does not fit its own complaint", d.Hidden()[0].Cause.Label)
	}
	own := map[string]bool{}
	for _, m := range d.Hidden()[0].Class.Members {
		own[m.Label] = true
	}
	for _, line := range tries(c) {
		m, err := drill.Parse(c, line)
		if err != nil {
			t.Fatal(err)
		}
		l := look{test: line}
		var readings []meter.Reading
		var seen []string
		for _, cause := range all {
			if m.Verb == drill.Try {
				o, err := b.Live(m.Mode, cause.Faults)
				if err != nil {
					t.Fatal(err)
				}
				sound, err := b.Live(m.Mode, nil)
				if err != nil {
					t.Fatal(err)
				}
				key := fmt.Sprint(len(o.Tripped) > 0)
				for _, id := range suspect.SeenLoads(c) {
					key += circuit.JudgeLoad(o, sound, id).String()
				}
				at := slices.Index(seen, key)
				if at < 0 {
					at, seen = len(seen), append(seen, key)
				}
				l.cell = append(l.cell, at)
				continue
			}
			o, err := b.Dead(m.Mode, cause.Faults)
			if err != nil {
				t.Fatal(err)
			}
			r := b.Quick(o, m.Function, m.P, m.Q)
			at := slices.IndexFunc(readings, func(s meter.Reading) bool { return !s.Differs(r) })
			if at < 0 {
				at, readings = len(readings), append(readings, r)
			}
			l.cell = append(l.cell, at)
		}
		looks = append(looks, l)
	}
	settled := func(tests []int) bool {
		for i, cause := range all {
			if own[cause.Label] {
				continue
			}
			left := true
			for _, k := range tests {
				left = left && looks[k].cell[i] == looks[k].cell[hidden]
			}
			if left {
				return false
			}
		}
		return true
	}
	best, how := math.Inf(1), []string(nil)
	consider := func(tests ...int) {
		if !settled(tests) {
			return
		}
		s := d.Start()
		var moves []string
		for _, k := range tests {
			m, err := drill.Parse(c, looks[k].test)
			if err != nil {
				t.Fatal(err)
			}
			if m.Verb != drill.Try && s.On() {
				moves = append(moves, "off", "prove", "dead")
				play(t, s, "off", "prove", "dead")
			}
			if m.Verb == drill.Try && !s.On() {
				moves = append(moves, "on")
				play(t, s, "on")
			}
			moves = append(moves, looks[k].test)
			play(t, s, looks[k].test)
		}
		safe(t, s)
		if cost := s.Figures().Cost(); cost < best {
			best, how = cost, moves
		}
	}
	consider()
	for i := range looks {
		consider(i)
		for j := range looks {
			if i != j {
				consider(i, j)
			}
		}
	}
	return best, how
}

// No plan made without knowing the fault beats the best made knowing it; ours
// stays near, and names the fault without a wrong part.
func TestBestPlanAgainstBruteForce(t *testing.T) {
	c := heater(t)
	var ours, least float64
	n := 0
	for _, ref := range []string{"fuse:open", "limit:open", "element:open", "switch:open", "lamp:open", "switch:welded", "element:short", "w3:open"} {
		d := hide(t, c, ref)
		best, err := d.Best(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		got := best.Figures()
		want, how := cheapest(t, d)
		t.Logf("%s: %v at %.0f, knowing it %v at %.0f", ref, texts(best), got.Cost(), how, want)
		if best.End() != drill.Found || got.Unsafe > 0 {
			t.Errorf("%s: the best plan: %s, %+v", ref, best.End(), got)
		}
		if math.IsInf(want, 1) {
			continue // more than two tests are needed
		}
		if got.Wrong == 0 && got.Cost() < want-1e-9 && !named(best, ref) {
			t.Errorf("%s: %v costs %g, and no sequence less than %g, by %v", ref, texts(best), got.Cost(), want, how)
		}
		ours, least = ours+got.Cost(), least+want
		n++

		// Whoever takes the cheapest way gets all points, or as near as it is
		// to the best plan's.
		s := d.Start()
		play(t, s, how...)
		play(t, s, "fit "+part(ref))
		score, err := s.Score(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		ourCost, theirs := got.Cost()+gamble(t, c, best), want+gamble(t, c, s)
		expected := int(math.Round(100 * min(1, max(1, ourCost)/max(1, theirs))))
		// A class of several members counts here by the member, there whole.
		if diff := score.Points - expected; diff < -1 || diff > 1 {
			t.Errorf("%s by %v: %d points, expected %d", ref, how, score.Points, expected)
		}
	}
	if n < 5 {
		t.Fatalf("only %d faults can be told by two tests", n)
	}
	t.Logf("mean cost %.1f, knowing the fault %.1f", ours/float64(n), least/float64(n))
	if ours > 2.5*least {
		t.Errorf("mean cost %.1f, knowing the fault %.1f", ours/float64(n), least/float64(n))
	}
}

// gamble is what naming the part at the end of a session is charged for: a wrong
// part's minutes by the probability that one of the other parts is to blame, by
// all that was seen.
func gamble(t *testing.T, c *circuit.Circuit, s *drill.Session) float64 {
	t.Helper()
	e, err := suspect.New(c, suspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	seen := s.Drill().Complaint().Evidence
	for _, step := range s.Steps() {
		seen = append(slices.Clone(seen), step.Evidence...)
	}
	for _, ev := range seen {
		if err := e.Add(context.Background(), ev); err != nil {
			t.Fatal(err)
		}
	}
	steps := s.Steps()
	name := steps[len(steps)-1].Move.Named
	right := 0.0
	for _, x := range e.Suspects(math.MaxInt) {
		for _, cause := range x.Causes {
			for _, m := range cause.Members {
				if part(c.FaultRef(m.Faults[0])) == name {
					right += x.P / float64(len(cause.Members))
				}
			}
		}
	}
	return drill.WrongPartMinutes * (1 - right)
}

// A part named on the complaint alone, and luckily right, is charged for the
// gamble: it is worth less than the straight way.
func TestLuckyGuessIsWorthLessThanATest(t *testing.T) {
	score := func(moves ...string) drill.Score {
		s := hide(t, heater(t), "element:open").Start()
		play(t, s, moves...)
		out, err := s.Score(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	lucky, straight := score("fit element"), score("off", "prove", "dead", "ohms el_1 el_2 in heat", "name element")
	if lucky.End != drill.Found || lucky.Points >= straight.Points || lucky.Yours.Chance < 10 {
		t.Errorf("guessed at once: %d points, %.0f minutes for the gamble; with a test %d", lucky.Points, lucky.Yours.Chance, straight.Points)
	}
	if straight.Yours.Chance > drill.WrongPartMinutes*(1-suspect.Sure) {
		t.Errorf("after the test that shows it, naming is charged %.1f minutes", straight.Yours.Chance)
	}
}

// named reports whether the plan was sure of the right part on what the priors
// say, short of proof.
func named(s *drill.Session, ref string) bool {
	steps := s.Steps()
	return len(steps) > 0 && steps[len(steps)-1].Text == "name "+part(ref) && s.Figures().Tests < 2
}

func part(ref string) string {
	for i, r := range ref {
		if r == ':' || r == '.' {
			return ref[:i]
		}
	}
	return ref
}

func texts(s *drill.Session) []string {
	var out []string
	for _, step := range s.Steps() {
		out = append(out, step.Text)
	}
	return out
}

// A needless test, a live one, an unsafe act or a wrong part never raises the
// points.
func TestPointsFallWithCost(t *testing.T) {
	c := heater(t)
	way := []string{"off", "prove", "dead", "ohms el_1 el_2 in heat", "name element"}
	score := func(moves ...string) drill.Score {
		d := hide(t, c, "element:open")
		s := d.Start()
		play(t, s, moves...)
		out, err := s.Score(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	clean := score(way...)
	if clean.Points < 50 {
		t.Errorf("the straight way is worth %d points", clean.Points)
	}
	for _, more := range [][]string{
		{"try heat", "try off", "try heat", "try off", "try heat"},
		{"prove", "volts el_1 el_2 in heat"},
		{"ohms el_1 el_2"},
		{"fit limit", "on"},
	} {
		if got := score(append(slices.Clone(more), way...)...); got.Points >= clean.Points {
			t.Errorf("%v first: %d points, without %d", more, got.Points, clean.Points)
		}
	}
	if p := score("try heat").Points; p != 0 {
		t.Errorf("not found, and %d points", p)
	}
	if p := score("give up").Points; p != 0 {
		t.Errorf("given up, and %d points", p)
	}
}

// BenchmarkDebrief plays and explains drills of two faults on the largest range.
func BenchmarkDebrief(b *testing.B) {
	c := machine(b, "range-slide-in")
	for number := range uint64(4) {
		b.Run(fmt.Sprint("number", number+1), func(b *testing.B) {
			for b.Loop() {
				d, err := drill.New(context.Background(), c, drill.Options{Level: drill.Journeyman, Number: number + 1, Faults: 2})
				if err != nil {
					b.Fatal(err)
				}
				if _, err := d.Best(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
