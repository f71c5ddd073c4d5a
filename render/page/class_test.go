package page_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/drill"
	"legtrace/render/page"
	"legtrace/render/page/desk"
)

// comeIn lets a learner in, and gives the cookie.
func comeIn(t *testing.T, at string, c *page.Class, name string) string {
	t.Helper()
	code, _, header := ask(t, "GET", at+"/?door=learn&code="+strings.ToLower(c.Code)+"&name="+url.QueryEscape(name), nil)
	if code != http.StatusSeeOther || header.Get("Location") != "/?door=learn" {
		t.Fatalf("%s: status %d to %q", name, code, header.Get("Location"))
	}
	cookie, _, _ := strings.Cut(header.Get("Set-Cookie"), ";")
	return cookie
}

// One link lets all in. A preview or a HEAD spends nothing; a wrong code is told;
// the teacher's table is the teacher's.
func TestOneLinkLetsAClassIn(t *testing.T) {
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	if code, body, _ := ask(t, "GET", at+"/", nil); code != http.StatusUnauthorized || !strings.Contains(body, "Code on the wall") {
		t.Errorf("without a code: status %d: %s", code, body)
	}
	link := class.Link(strings.TrimPrefix(at, "http://"))
	for range 3 {
		for _, method := range []string{"HEAD", "GET"} {
			if code, _, header := ask(t, method, link, nil); code != http.StatusOK || header.Get("Set-Cookie") != "" {
				t.Errorf("%s of the link: status %d", method, code)
			}
		}
		if _, _, header := ask(t, "HEAD", link+"&name=x", nil); header.Get("Set-Cookie") != "" {
			t.Error("a HEAD came in")
		}
	}
	ann, other := comeIn(t, at, class, "Ann"), comeIn(t, at, class, "Ann")
	if ann == other {
		t.Error("two learners have one cookie")
	}
	for _, cookie := range []string{ann, other} {
		if code, _, _ := ask(t, "GET", at+"/?mode=broil", map[string]string{"Cookie": cookie}); code != http.StatusOK {
			t.Errorf("with a cookie: status %d", code)
		}
	}
	if code, _, _ := ask(t, "GET", at+"/class", map[string]string{"Cookie": ann}); code != http.StatusForbidden {
		t.Errorf("the table for a learner: status %d", code)
	}
	if code, body, _ := ask(t, "GET", at+"/?code=AAAAAA", nil); code != http.StatusUnauthorized || !strings.Contains(body, "not the code on the wall") {
		t.Errorf("a wrong code: status %d", code)
	}
	code, _, header := ask(t, "GET", at+"/?teacher="+class.Teacher, nil)
	if code != http.StatusSeeOther || header.Get("Location") != "/class" {
		t.Fatalf("the teacher: status %d to %q", code, header.Get("Location"))
	}
	teacher, _, _ := strings.Cut(header.Get("Set-Cookie"), ";")
	_, body, _ := ask(t, "GET", at+"/class", map[string]string{"Cookie": teacher})
	for _, want := range []string{class.Code, "QR code of " + link, ">Ann<", ">Ann 2<", "came in"} {
		if !strings.Contains(body, want) {
			t.Errorf("the teacher's page does not say %q", want)
		}
	}
}

// Whoever guesses codes is made to wait, and nobody else is.
func TestCodesCannotBeGuessedAway(t *testing.T) {
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	cookie := comeIn(t, at, class, "Ann")
	last := 0
	for range 30 {
		last, _, _ = ask(t, "GET", at+"/?code=AAAAAA", nil)
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("after thirty wrong codes: status %d", last)
	}
	if code, _, _ := ask(t, "GET", at+"/", map[string]string{"Cookie": cookie}); code != http.StatusOK {
		t.Errorf("who is in is put out: status %d", code)
	}
}

// The table grows with every move, and keeps how a drill ended though moves are
// taken back.
func TestTheTeachersTableGrows(t *testing.T) {
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	cookie := map[string]string{"Cookie": comeIn(t, at, class, "Ann")}
	step := func(path string, moves ...string) {
		t.Helper()
		if code, body, _ := ask(t, "GET", at+path+drillQuery(1, 20, moves...), cookie); code != http.StatusOK {
			t.Fatalf("status %d: %.300s", code, body)
		}
	}
	row := func() page.Row { return class.Rows()[0] }
	if r := row(); r.Learner != "Ann" || r.Drill != "" {
		t.Errorf("before: %+v", r)
	}
	step("/bench?", "try broil")
	if r := row(); r.Moves != 1 || r.End != string(drill.Open) || r.Machine != "range-electronic" {
		t.Errorf("after a move: %+v", r)
	}
	step("/bench?", "try broil", "ohms broil_1 broil_2")
	if r := row(); r.Moves != 2 || r.Unsafe != 1 {
		t.Errorf("after an unsafe one: %+v", r)
	}
	step("/bench?", "give-up")
	step("/debrief?", "give-up")
	if r := row(); r.End != string(drill.GaveUp) || r.Points != "0" {
		t.Errorf("given up: %+v", r)
	}
	step("/bench?", "name broil_element")
	if r := row(); r.End != string(drill.GaveUp) {
		t.Errorf("after giving up a right name counts: %+v", r)
	}
}

// A sealed drill opens on the page that has the word, and its page does not say
// what it hides.
func TestASealedDrillOnThePage(t *testing.T) {
	seal, err := drill.NewSeal("three blue lamps")
	if err != nil {
		t.Fatal(err)
	}
	file := demo(t)
	c, _ := fileSource(file).Load()
	faults, err := c.ParseFault("oven_sensor:open")
	if err != nil {
		t.Fatal(err)
	}
	d, err := drill.With(c, drill.Options{Foretell: true}, faults)
	if err != nil {
		t.Fatal(err)
	}
	code, err := seal.Close(d)
	if err != nil {
		t.Fatal(err)
	}
	with := serve(t, fileSource(file), page.Options{Library: desk.Library{Seal: seal}})
	status, _, header := ask(t, "GET", with+"/?begin=1&code="+code, nil)
	if status != http.StatusSeeOther {
		t.Fatalf("begun: status %d", status)
	}
	_, body, _ := ask(t, "GET", with+header.Get("Location"), nil)
	for _, want := range []string{"A drill that was set", "stays cold", "A good one would read"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(body, "oven_sensor:open") || strings.Contains(body, "sensor open") {
		t.Error("the page gives the fault away")
	}
	_, body, _ = ask(t, "GET", with+header.Get("Location")+"&move=expect+240+fed&move=off&move=prove&move=dead&move=name+oven_sensor", nil)
	if !strings.Contains(body, "Right: oven sensor open") {
		t.Errorf("named rightly: %.500s", body)
	}
	without := serve(t, fileSource(file), page.Options{})
	if _, body, _ = ask(t, "GET", without+header.Get("Location"), nil); !strings.Contains(body, "opens on the teacher&#39;s own page alone") {
		t.Error("a page without the word does not say why")
	}
}

// A square is square, and as wide as a terminal takes.
func TestSquareOfALink(t *testing.T) {
	s, err := page.Square("http://192.168.100.100:24024/?code=ACDEFG")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(s, "\n"), "\n")
	for _, l := range lines {
		if n := len([]rune(l)); n > 80 || n != len([]rune(lines[0])) || regexp.MustCompile(`[^█▀▄ ]`).MatchString(l) {
			t.Errorf("%d wide: %q", n, l)
		}
	}
}

// Forty learners at one drill, some at its end: a move is not held up by the
// sums of others, and nobody is refused. In the nightly run they go on from drill to
// drill for five minutes.
func TestAClassOfForty(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	const learners = 40
	lasts, pause, begun := time.Duration(0), 50*time.Millisecond, time.Now()
	if circuittest.Nightly {
		lasts, pause = 5*time.Minute, 2*time.Second // a person looks before tapping again
	}
	var mu sync.Mutex
	var moves, sums []time.Duration
	var all sync.WaitGroup
	for i := range learners {
		cookie := map[string]string{"Cookie": comeIn(t, at, class, fmt.Sprint("Learner ", i+1))}
		all.Go(func() {
			timed := func(into *[]time.Duration, path string, number uint64, list ...string) {
				begun := time.Now()
				code, body, _ := ask(t, "GET", at+path+drillQuery(2, number, list...), cookie)
				mu.Lock()
				defer mu.Unlock()
				*into = append(*into, time.Since(begun))
				if code != http.StatusOK {
					t.Errorf("%s: status %d: %.200s", path, code, body)
				}
			}
			for number := uint64(17 + i%3); ; number++ {
				done := []string{}
				for _, m := range []string{"try broil", "try bake", "off", "prove", "dead"} {
					done = append(done, m)
					timed(&moves, "/bench?", number, done...)
					time.Sleep(pause + time.Duration(7*i)*time.Millisecond)
				}
				done = append(done, "give-up")
				timed(&moves, "/bench?", number, done...)
				timed(&sums, "/debrief?", number, done...)
				if time.Since(begun) > lasts {
					return
				}
			}
		})
	}
	all.Wait()
	if rows := class.Rows(); len(rows) != len(sums) { // one for each drill of each
		t.Errorf("%d rows", len(rows))
	}
	for _, k := range []struct {
		what string
		took []time.Duration
	}{{"moves", moves}, {"sums", sums}} {
		slices.Sort(k.took)
		n := len(k.took)
		t.Logf("%d %s: half within %v, 99 %% within %v, slowest %v", n, k.what, k.took[n/2], k.took[n*99/100], k.took[n-1])
	}
}
