package page_test

import (
	"errors"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/netlists"
	"legtrace/render/page"
	"legtrace/render/report"
)

// hiddenFault is a drill of the demo range whose fault is one part, in one
// place.
func hiddenFault(t testing.TB, level drill.Level, number uint64) (*circuit.Circuit, *drill.Drill) {
	t.Helper()
	c, err := netlists.ReadFile("catalog:range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	d, err := drill.New(t.Context(), c, drill.Options{Level: level, Faults: 1, Number: number})
	if err != nil {
		t.Fatal(err)
	}
	return c, d
}

// hiddenPart is the part that a drill's fault lies in.
func hiddenPart(t testing.TB, c *circuit.Circuit, d *drill.Drill) string {
	t.Helper()
	b := c.Branch(d.Hidden()[0].Cause.Faults[0].Branch)
	if b.Part == circuit.None {
		return c.Wire(b.Wire).Name
	}
	return c.Part(b.Part).Name
}

// played is the engine's own session of some moves.
func played(t testing.TB, c *circuit.Circuit, d *drill.Drill, moves ...string) *drill.Session {
	t.Helper()
	s := d.Start()
	for _, line := range moves {
		m, err := drill.Parse(c, line)
		if err == nil {
			_, err = s.Play(m)
		}
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
	}
	return s
}

func drillQuery(level drill.Level, number uint64, moves ...string) string {
	q := url.Values{"drill": {fmt.Sprintf("%d.1.%d.0", level, number)}, "move": moves}
	return q.Encode()
}

var (
	tagged  = regexp.MustCompile(`(?s)<[^>]*>`)
	stepsIn = regexp.MustCompile(`(?s)<ol class="steps">(.*?)</ol>`)
)

// plainText takes the markup off.
func plainText(s string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tagged.ReplaceAllString(s, " "))), " ")
}

// stepsOf reads what a drill's page says was done, a line for each step.
func stepsOf(t testing.TB, page string) []string {
	t.Helper()
	m := stepsIn.FindStringSubmatch(page)
	if m == nil {
		return nil
	}
	var out []string
	for _, li := range strings.Split(m[1], "</li>") {
		if text := plainText(li); text != "" {
			out = append(out, text)
		}
	}
	return out
}

func TestDrillShowsWhatTheEngineSays(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	moves := []string{"try broil", "ohms broil_1 broil_2", "prove", "volts broil_1 broil_2 in bake", "off", "dead", "prove", "dead", "lift broil_1",
		"ohms broil_1 broil_2", "refit broil_1", "on", "prove", "lowz broil_2 tb_n", "amps w11", "off", "prove", "dead", "name oven_lamp"}
	for level := drill.Apprentice; level <= drill.Master; level++ {
		for _, number := range []uint64{3, 17, 1 << 60} {
			c, d := hiddenFault(t, level, number)
			s := played(t, c, d, moves...)
			var want []string
			for _, step := range s.Steps() {
				want = append(want, fmt.Sprintf("%s %s min %s", step.Move.Words(c), minutes(step.Minutes), strings.Join(step.Said, " ")))
			}
			shown := get(t, at+"/bench?"+drillQuery(level, number, moves...))
			if diff := cmp.Diff(want, stepsOf(t, shown)); diff != "" {
				t.Errorf("level %d, number %d: the engine's steps and the page's differ:\n%s", level, number, diff)
			}
			for _, said := range d.Complaint().Said {
				if !strings.Contains(plainText(shown), said) {
					t.Errorf("level %d, number %d: the complaint lacks %q", level, number, said)
				}
			}
			if bar := plainText("<" + between(t, shown, `id="drill-bar"`, "</div>")); !strings.HasPrefix(bar, minutes(s.Minutes())+" min") || !strings.Contains(bar, "supply off") {
				t.Errorf("level %d, number %d: the bar says %q after %v minutes", level, number, bar, s.Minutes())
			}
		}
	}
}

// drillReading is what the engine's meter shows after some moves.
func drillReading(t testing.TB, level drill.Level, number uint64, moves ...string) string {
	t.Helper()
	c, d := hiddenFault(t, level, number)
	steps := played(t, c, d, moves...).Steps()
	return strings.Join(steps[len(steps)-1].Said, " ")
}

func minutes(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") }

func between(t testing.TB, s, from, to string) string {
	t.Helper()
	_, rest, ok := strings.Cut(s, from)
	inner, _, closed := strings.Cut(rest, to)
	if !ok || !closed {
		t.Fatalf("nothing between %q and %q in:\n%.900s", from, to, s)
	}
	return inner
}

// While a drill is open no piece of the page tells one hidden fault from
// another: but for the customer's words and the number they are the same.
func TestOpenDrillGivesNothingAway(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	pieces := []string{"/bench", "/drawing", "/breaks", "/standing", "/visit", "/told", "/debrief", "/learn"}
	const rest = "&mode=broil&load=broil_element&pick=part:broil_relay&red=broil_1&black=broil_2&note=load~broil~broil_element~dead&fault=w12:open&supply=off"
	look := func(number uint64) map[string]string {
		_, d := hiddenFault(t, drill.Journeyman, number)
		out := map[string]string{}
		for _, piece := range pieces {
			s := get(t, at+piece+"?"+drillQuery(drill.Journeyman, number)+rest)
			for _, said := range d.Complaint().Said {
				s = strings.ReplaceAll(s, html.EscapeString(said), "")
			}
			s = strings.Join(strings.Fields(strings.ReplaceAll(s, fmt.Sprint(number), "N")), " ")
			out[piece] = strings.NewReplacer("<p></p>", "", "<p> </p>", "", " The customer says: </p>", "</p>", "The customer says:  ", "").Replace(s)
		}
		return out
	}
	// What is kept of the page's own machine must not come up in a drill.
	for _, piece := range []string{"/drawing", "/breaks", "/standing"} {
		get(t, at+piece+"?mode=broil&load=broil_element")
	}
	hidden := map[string]bool{}
	first := look(100001)
	for number := uint64(100001); number < 100009; number++ {
		_, d := hiddenFault(t, drill.Journeyman, number)
		hidden[d.Hidden()[0].Cause.Label] = true
		if diff := cmp.Diff(squeezed(first), squeezed(look(number))); diff != "" {
			t.Errorf("drill %d is told from drill 100001:\n%s", number, diff)
		}
	}
	if len(hidden) < 3 {
		t.Fatalf("only %d faults compared: %v", len(hidden), hidden)
	}
	if strings.Contains(first["/drawing"], ` class="fault`) || strings.Contains(first["/drawing"], "hatch-") || strings.Contains(first["/drawing"], " V<") {
		t.Error("the diagram of an open drill shows faults, suspects or volts")
	}
	for _, piece := range []string{"/breaks", "/standing", "/visit", "/told"} {
		if text := plainText(first[piece]); text != "" {
			t.Errorf("%s says in a drill: %q", piece, text)
		}
	}
}

// squeezed leaves out all white space, which the customer's words leave behind.
func squeezed(m map[string]string) map[string]string {
	out := map[string]string{}
	for k, v := range m {
		out[k] = strings.Join(strings.Fields(v), "")
	}
	return out
}

// Once it is over the page tells what the engine's summary does, and its diagram
// is that of the page's own machine with the same fault in.
func TestDrillsEnd(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	const number = 17
	c, d := hiddenFault(t, drill.Journeyman, number)
	moves := []string{"try broil", "ohms broil_1 broil_2", "off", "prove", "dead", "ohms fuse_line fuse_load", "name " + hiddenPart(t, c, d)}
	sum, err := report.New(c).Drill(t.Context(), played(t, c, d, moves...))
	if err != nil {
		t.Fatal(err)
	}
	query := drillQuery(drill.Journeyman, number, moves...) + "&mode=bake&load=bake_element"
	shown := get(t, at+"/debrief?"+query)
	text := plainText(shown)
	want := []string{fmt.Sprintf("%d points", sum.Points), "you " + minutes(sum.Yours.Minutes), "best plan " + minutes(sum.Best.Minutes), sum.Stories[0].Fault}
	for _, story := range sum.Stories {
		want = append(want, story.Said...)
		for _, st := range story.Feed {
			want = append(want, fmt.Sprintf("%s %s %s", st.Place, station(st.Healthy), station(st.Faulty)))
		}
	}
	for _, test := range sum.Tests {
		want = append(want, test.Text, test.Verdict)
	}
	want = append(want, sum.BestMoves...)
	for _, w := range want {
		if !strings.Contains(text, strings.Join(strings.Fields(w), " ")) {
			t.Errorf("the end does not tell %q:\n%s", w, text)
		}
	}
	ref := c.FaultRef(d.Hidden()[0].Cause.Faults[0])
	whole := get(t, at+"/drawing?mode=bake&load=bake_element&fault="+url.QueryEscape(ref))
	if got := get(t, at+"/drawing?"+query); got != whole {
		t.Errorf("the diagram at the end is not that of the machine with %s", ref)
	}
	if sound := get(t, at+"/drawing?mode=bake&load=bake_element"); sound == whole {
		t.Error("the fault is not in the diagram")
	}
	if !strings.Contains(shown, "fault="+url.QueryEscape(ref)) {
		t.Errorf("the page does not lead to the machine with %s in", ref)
	}
}

func station(v *float64) string {
	if v == nil {
		return "floats"
	}
	return strings.TrimPrefix(fmt.Sprintf("%.0f", *v), "-")
}

func TestMachineWithNothingToHide(t *testing.T) {
	file := filepath.Join(t.TempDir(), "idle.toml")
	if err := os.WriteFile(file, []byte(`name = "idle"
[supply]
system = "split-phase"
[parts]
thermostat = { kind = "thermostat" }
element = { kind = "element", volts = 240, watts = 800 }
[wires]
w1 = { from = "supply.L1", to = "thermostat.1" }
w2 = { from = "thermostat.2", to = "element.1" }
w3 = { from = "supply.L2", to = "element.2" }
[modes.hot]
set = { thermostat = "open" }
off = ["element"]
`), 0o666); err != nil {
		t.Fatal(err)
	}
	c, err := netlists.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := drill.New(t.Context(), c, drill.Options{}); !errors.Is(err, drill.ErrNothingShows) {
		t.Fatalf("the machine is none with nothing to hide: %v", err)
	}
	at := serve(t, fileSource(file), page.Options{})
	text := plainText(get(t, at+"/bench?door=learn&drill=1.1.1.0"))
	if !strings.Contains(text, drill.ErrNothingShows.Error()) || !strings.Contains(text, "Level") {
		t.Errorf("the page does not say why there is no drill: %s", text)
	}
}

func TestMovesOfADrillLeadToStates(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	full := strings.TrimPrefix(strings.Repeat("&move=prove", 120), "&")
	for _, c := range []struct{ name, query, want string }{
		{"begin", "mode=broil&fault=w12:open&supply=off&set=latch:moving&begin=1&level=2&faults=3&number=42&budget=60", "door=learn&drill=2.3.42.60"},
		{"begin without a number", "begin=1&level=1&faults=1&number=&budget=", "door=learn&drill=1.1.1.0"},
		{"another one", "mode=bake&drill=2.1.17.60&move=off&begin=2.1.18.60", "door=learn&drill=2.1.18.60"},
		{"a visit waits", "note=trips~bake&begin=1.1.5.0", "door=learn&note=trips~bake&drill=1.1.5.0"},
		{"a move", "drill=1.1.5.0&move=off&do=prove", "drill=1.1.5.0&move=off&move=prove"},
		{"the same move again", "drill=1.1.5.0&move=off&move=on&do=off", "drill=1.1.5.0&move=off&move=on&move=off"},
		{"name a part from a list", "drill=1.1.5.0&do=name&of=broil_element", "drill=1.1.5.0&move=name+broil_element"},
		{"a move without a drill", "mode=bake&do=off", "mode=bake"},
		{"leave", "mode=bake&drill=1.1.5.0&move=off&leave=1", "mode=bake"},
		{"no move beyond the last", "drill=1.1.5.0&" + full + "&do=off", "drill=1.1.5.0&" + full},
		{"but to give up", "drill=1.1.5.0&" + full + "&do=give-up", "drill=1.1.5.0&" + full + "&move=give-up"},
		{"once", "drill=1.1.5.0&" + full + "&move=give-up&do=give-up", "drill=1.1.5.0&" + full + "&move=give-up"},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, _, header := ask(t, http.MethodGet, at+"/?"+c.query, nil)
			got, err := url.ParseQuery(strings.TrimPrefix(header.Get("Location"), "/?"))
			if err != nil {
				t.Fatal(err)
			}
			want, _ := url.ParseQuery(c.want)
			if code != http.StatusSeeOther || !cmp.Equal(got, want) {
				t.Errorf("status %d to %v, want %v", code, got, want)
			}
		})
	}
}

func TestNoSuchDrill(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, id := range []string{"1", "0.1.1.0", "4.1.1.0", "1.0.1.0", "1.4.1.0", "1.1.-1.0", "1.1.99999999999999999999.0", "1.1.1.10000", "1.1.1.1.1", "a.b.c.d"} {
		if html := get(t, at+"/bench?mode=bake&drill="+id); !strings.Contains(html, "No drill: ") {
			t.Errorf("%s is not refused", id)
		}
	}
}

// A class makes the same drill at the same time, each in their own way.
func TestClassOnOneDrill(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	c, d := hiddenFault(t, drill.Master, 9)
	ways := [][]string{{"prove", "volts broil_1 broil_2 in broil"}, {"try bake", "prove", "volts bake_1 tb_n"}, {"off", "prove", "dead", "ohms fuse_line fuse_load"}, {"ohms fuse_line fuse_load"}}
	var want []string
	for _, way := range ways {
		steps := played(t, c, d, way...).Steps()
		want = append(want, strings.Join(steps[len(steps)-1].Said, " "))
	}
	var all sync.WaitGroup
	for learner := range 8 {
		all.Go(func() {
			for i := range 12 {
				n := (learner + i) % len(ways)
				steps := stepsOf(t, get(t, at+"/bench?"+drillQuery(drill.Master, 9, ways[n]...)))
				if len(steps) != len(ways[n]) || !strings.HasSuffix(steps[len(steps)-1], want[n]) {
					t.Errorf("%v leads to %q, want %q", ways[n], steps, want[n])
				}
			}
		})
	}
	all.Wait()
}

func benchmarkPath(b *testing.B, path string) {
	h := handler(b, demo(b))
	for b.Loop() {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1"+path, nil))
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}

// A learner's tap waits for this after ten moves.
func BenchmarkReadingInADrill(b *testing.B) {
	moves := []string{"try broil", "prove", "volts broil_1 broil_2", "off", "prove", "dead", "ohms broil_1 broil_2", "lift broil_1", "ohms broil_1 broil_2", "ohms fuse_line fuse_load"}
	benchmarkPath(b, "/bench?"+drillQuery(drill.Journeyman, 17, moves...))
}

// The first request for a drill makes it: each here is another number.
func BenchmarkBeginADrill(b *testing.B) {
	h := handler(b, demo(b))
	number := uint64(0)
	for b.Loop() {
		number++
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1/bench?"+drillQuery(drill.Journeyman, number), nil))
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}

func BenchmarkOpenALesson(b *testing.B) { benchmarkPath(b, "/learn?lesson=2") }

// A finished drill that nobody has asked about yet: the score, the explanation
// and the best plan.
func BenchmarkEndOfADrill(b *testing.B) {
	h := handler(b, demo(b))
	number := uint64(0)
	for b.Loop() {
		number++
		w := httptest.NewRecorder()
		moves := []string{"try broil", "off", "prove", "dead", "ohms broil_1 broil_2", "give-up"}
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1/debrief?"+drillQuery(drill.Journeyman, number, moves...), nil))
		if w.Code != http.StatusOK || !slices.Contains(strings.Fields(w.Body.String()), "points</caption><thead><tr><th") {
			b.Fatal(w.Code)
		}
	}
}
