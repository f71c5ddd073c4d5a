package page_test

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"legtrace/circuit"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/page"
)

// fileSource reads a machine from a file, as the command does.
func fileSource(file string) page.Source {
	return page.Source{
		Name: file,
		Load: func() (*circuit.Circuit, []page.Problem) {
			c, err := netlists.ReadFile(file)
			if err == nil {
				return c, nil
			}
			var out []page.Problem
			for _, line := range strings.Split(err.Error(), "\n") {
				out = append(out, page.Problem{Text: line})
			}
			return nil, out
		},
		Stamp: func() string {
			data, _ := os.ReadFile(file)
			return string(data)
		},
	}
}

// demo writes the demo range to a file of the test's own.
func demo(t testing.TB) string {
	t.Helper()
	src, err := netlists.Source("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "range.toml")
	if err := os.WriteFile(file, src, 0o666); err != nil {
		t.Fatal(err)
	}
	return file
}

// serve serves a machine until the test ends, and returns where.
func serve(t testing.TB, source page.Source, opt page.Options) string {
	t.Helper()
	return serveUntil(t, context.Background(), source, opt)
}

// serveUntil is serve that may end before.
func serveUntil(t testing.TB, ctx context.Context, source page.Source, opt page.Options) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	opt.Poll = 20 * time.Millisecond
	site, problems, err := page.New(source, opt)
	if err != nil {
		t.Fatal(err, problems)
	}
	ctx, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- site.Serve(ctx, l) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the server did not stop in good order: %v", err)
		}
	})
	return "http://" + l.Addr().String()
}

// get fetches an address and wants it to be answered.
func get(t testing.TB, address string) string {
	t.Helper()
	code, body, _ := ask(t, http.MethodGet, address, nil)
	if code != http.StatusOK {
		t.Fatalf("%s: status %d: %s", address, code, body)
	}
	return body
}

func ask(t testing.TB, method, address string, header map[string]string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequest(method, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range header {
		if k == "Host" {
			r.Host = v
		}
		r.Header.Set(k, v)
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(body), answer.Header
}

var readingIn = regexp.MustCompile(`<output id="reading">([^<]*)</output>`)

func readingOf(t testing.TB, html string) string {
	t.Helper()
	m := readingIn.FindStringSubmatch(html)
	if m == nil {
		t.Fatalf("no reading in:\n%.600s", html)
	}
	return m[1]
}

func TestMeterShowsWhatTheSolverGives(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, c := range []struct{ name, query, want string }{
		{"across the broil element, sound", "mode=broil&red=broil_element.1&black=broil_element.2", "239 V"},
		{"across the open relay", "mode=broil&fault=broil_relay.contact:open&red=broil_relay.com&black=broil_relay.no", "240 V"},
		{"across the element with its relay open", "mode=broil&fault=broil_relay.contact:open&red=broil_element.1&black=broil_element.2", "0 V"},
		{"both ends of the dead element, to neutral", "mode=broil&fault=broil_relay.contact:open&red=broil_element.1&black=terminal_block.N.out", "120 V"},
		{"supply off, the house side of the breaker", "mode=broil&supply=off&red=breaker.L1.in&black=breaker.L2.in", "240 V"},
		{"supply off, behind the breaker", "mode=broil&supply=off&red=terminal_block.L1.out&black=terminal_block.N.out", "0 V"},
		{"clamp on the element's wire", "mode=broil&meter=amps&clamp=w15", "14.1 A"},
		{"ohms of an open fuse", "mode=broil&supply=off&meter=ohms&fault=thermal_fuse:open&red=thermal_fuse.1&black=thermal_fuse.2", "OL"},
		{"the fan's switch set by hand", "mode=off&set=fan_thermostat:closed&red=cooling_fan.1&black=cooling_fan.2", "120 V"},
		{"the fan's switch as the mode has it", "mode=off&meter=lowz&red=cooling_fan.1&black=terminal_block.N.out", "0 V"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := readingOf(t, get(t, at+"/bench?"+c.query)); got != c.want {
				t.Errorf("reads %s, want %s", got, c.want)
			}
		})
	}
}

func TestMeterRefusesWhatWouldBeDangerous(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, c := range []struct{ name, query, want string }{
		{"ohms with the supply on", "mode=broil&meter=ohms&red=broil_element.1&black=broil_element.2", "The supply is on."},
		{"continuity with the supply on", "mode=off&meter=continuity&red=thermal_fuse.1&black=thermal_fuse.2", "The supply is on."},
		{"ohms on the house side", "supply=off&meter=ohms&red=breaker.L1.in&black=breaker.L2.in", "stays live with the breaker off"},
		{"ohms behind a welded breaker", "supply=off&meter=ohms&fault=breaker.L1:welded&red=thermal_fuse.1&black=thermal_fuse.2", "stays live with the breaker off"},
		{"volts at pins that are for a dead machine", "mode=bake&red=control.S1&black=control.S2", "with the supply off only"},
		{"both probes at one place", "red=chassis&black=chassis", "Both probes are on chassis"},
	} {
		t.Run(c.name, func(t *testing.T) {
			html := get(t, at+"/bench?"+c.query)
			if !strings.Contains(html, "<strong>Refused.</strong>") || !strings.Contains(html, c.want) || readingIn.MatchString(html) {
				t.Errorf("not refused with %q:\n%.900s", c.want, html)
			}
		})
	}
}

func TestTwoBrowsersDoNotMix(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	states := []struct{ query, want string }{
		{"mode=broil&red=broil_element.1&black=broil_element.2", "239 V"},
		{"mode=broil&red=broil_element.1&black=broil_element.2&fault=thermal_fuse:open", "0 V"},
		{"mode=off&set=fan_thermostat:closed&red=cooling_fan.1&black=cooling_fan.2", "120 V"},
		{"mode=bake&red=bake_element.1&black=bake_element.2", "239 V"},
		{drillQuery(1, 3, "prove", "volts tb_l1 tb_l2"), drillReading(t, 1, 3, "prove", "volts tb_l1 tb_l2")},
		{drillQuery(3, 8, "prove", "lowz tb_l1 tb_n in bake"), drillReading(t, 3, 8, "prove", "lowz tb_l1 tb_n in bake")},
	}
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for j := range 25 {
				s := states[(i+j)%len(states)]
				if got := readingOf(t, get(t, at+"/bench?"+s.query)); got != s.want {
					t.Errorf("%s reads %s, want %s", s.query, got, s.want)
				}
			}
		})
	}
	all.Wait()
}

func TestAddressRestoresTheState(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	const query = "mode=broil&supply=off&load=bake_element&set=fan_thermostat%3Aopen&fault=w12%3Ahigh%3D4&meter=ohms&red=w&black=chassis&clamp=w15&pick=part%3Abroil_relay&complaint=no+heat+%26+no+light&note=load~broil~broil_element~dead&date=2026-05-01&done=element+%26+wire&after=load~broil~broil_element~normal&lesson=4&drill=2.1.17.60&move=off&move=prove&move=off"
	_, _, header := ask(t, http.MethodGet, at+"/bench?"+query, nil)
	got, err := url.ParseQuery(header.Get("Legtrace-State"))
	if err != nil {
		t.Fatal(err)
	}
	want, _ := url.ParseQuery(query)
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("state is\n%v, want\n%v", got, want)
	}
}

func TestDeedsLeadToStates(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, c := range []struct{ name, query, want string }{
		{"break", "mode=broil&break=w12:high&figure=4", "mode=broil&fault=w12%3Ahigh%3D4"},
		{"break twice", "fault=w12:open&break=w12:open", "fault=w12%3Aopen"},
		{"mend", "fault=w12:open&fault=w13:open&mend=w12:open", "fault=w13%3Aopen"},
		{"mend all", "fault=w12:open&fault=w13:open&mend=all", ""},
		{"set by hand", "set=latch:locked&put=latch:moving", "set=latch%3Amoving"},
		{"set back", "set=latch:locked&put=latch:", ""},
		{"swap", "red=a.1&black=b.2&swap=1", "red=b.2&black=a.1"},
		{"note a symptom", "said=dead&in=broil&about=broil_element", "note=load~broil~broil_element~dead"},
		{"answer a test", "test=read~broil~volts~broil_1~tb_n~&answer=118", "note=read~broil~volts~broil_1~tb_n~~118"},
		{"answer a test by a button", "test=read~broil~volts~broil_1~tb_n~&answer=&answer=118", "note=read~broil~volts~broil_1~tb_n~~118"},
		{"leave a test out", "skip=trial~bake", "note=skip~trial~bake"},
		{"take back", "note=trips~bake&note=trips~broil&back=trips~bake", "note=trips~broil"},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, _, header := ask(t, http.MethodGet, at+"/?"+c.query, nil)
			want := "/?" + c.want
			if code != http.StatusSeeOther || header.Get("Location") != want {
				t.Errorf("status %d to %s, want a redirect to %s", code, header.Get("Location"), want)
			}
		})
	}
}

func TestStrangeStatesAreSaidAndNotFatal(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	html := get(t, at+"/?mode=brol&load=nothing&fault=thermal_fuze:open&red=here&pick=part:gone&set=latch:sideways&set=gone:on")
	for _, want := range []string{"did you mean &#34;broil&#34;", "unknown load &#34;nothing&#34;", "did you mean &#34;thermal_fuse&#34;", "&#34;here&#34;", "&#34;gone&#34;", "has no position &#34;sideways&#34;"} {
		if !strings.Contains(html, want) {
			t.Errorf("page does not say %s", want)
		}
	}
}

func TestFollowsTheFile(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	events, err := http.Get(at + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer events.Body.Close()
	lines := make(chan string, 16)
	go func() {
		var b [4096]byte
		for {
			n, err := events.Body.Read(b[:])
			if err != nil {
				return
			}
			lines <- string(b[:n])
		}
	}()
	wait := func(want string) {
		t.Helper()
		deadline := time.After(10 * time.Minute)
		for {
			select {
			case l := <-lines:
				if strings.Contains(l, want) {
					return
				}
			case <-deadline:
				t.Fatalf("no event with %s", want)
			}
		}
	}
	wait(`"edition":1`)
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	write := func(s string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(s), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write(strings.Replace(string(src), "watts = 3400", "wats = 3400", 1))
	wait("range.toml:")
	html := get(t, at+"/?mode=broil")
	if !strings.Contains(html, "The file has slips") || !strings.Contains(html, "3400 W") {
		t.Error("the last good drawing is not kept beside the error")
	}
	write(strings.Replace(string(src), "watts = 3400", "watts = 2800", 1))
	wait(`"problems":[]`)
	if html := get(t, at+"/?mode=broil"); !strings.Contains(html, "2800 W") || strings.Contains(html, "The file has slips") {
		t.Error("the new machine is not shown")
	}
}

// A question that takes more work than was allowed is given up in words; lighter
// ones are answered.
func TestPatienceIsCountedInWork(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{Patience: 1})
	code, body, _ := ask(t, "GET", at+"/visit?door=find&note=load~broil~broil_element~dead", nil)
	if code != http.StatusServiceUnavailable || !strings.Contains(body, "more than 1 thousand solutions") || !strings.Contains(body, "--patience 2") {
		t.Errorf("a search beyond its budget: status %d: %s", code, body)
	}
	if code, _, _ := ask(t, "GET", at+"/bench?mode=broil", nil); code != http.StatusOK {
		t.Errorf("a reading meanwhile: status %d", code)
	}
}

// What is still asked is not called no fault, and no suspects are told of it; and the
// customer is lent no words of a machine that they do not have.
func TestNothingIsClaimedOfWhatIsNotYetSaid(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	if body := get(t, at+"/visit?door=find&machine=catalog:dryer"); strings.Contains(body, "broil") || !strings.Contains(body, "own words") {
		t.Errorf("a dryer is begun with:\n%s", body)
	}
	const said = "?door=find&machine=catalog:range-smooth-top&complaint=hot+surface+light+stays+on&note=say~hot+surface+light+stays+on"
	body := get(t, at+"/visit"+said) + get(t, at+"/told"+said)
	if !strings.Contains(body, "which is meant?") || strings.Contains(body, "Nothing that was said") || strings.Contains(body, `id="suspected"`) {
		t.Errorf("of a lamp that is one of four it says:\n%s", body)
	}
}

// On paper too a place is called as on the machine.
func TestSheetsHaveNoNamesOfTheNetlist(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	body := get(t, at+"/sheets?door=explore&machine=catalog:dryer&mode=timed_dry&fault=heater:open")
	rest := strings.Index(body, "for want of room")
	if rest < 0 {
		t.Fatal("every wire has room: choose a machine where one has not")
	}
	if named := regexp.MustCompile(`\w+_switch\.\w+`).FindString(body[rest:]); named != "" {
		t.Errorf("a place is called %s", named)
	}
}
