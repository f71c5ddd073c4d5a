package offline_test

import (
	"encoding/json"
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/cmd/library"
	"legtrace/render/page/desk"
)

// addresses are states of any machine: in a mode with faults, by hand, probed,
// drawn as a strip, a job under way, a drill given up, a lesson.
func addresses(c *circuit.Circuit) []string {
	modes, wires, load := c.Modes(), c.Wires(), c.Branch(c.Loads()[0]).Ref
	mode := modes[len(modes)/2].Name
	q := func(pairs ...string) string {
		v := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		return "?" + v.Encode()
	}
	out := []string{
		"?",
		q("mode", mode),
		q("mode", mode, "supply", "off", "meter", "ohms", "red", c.Terminal(wires[0].To).Ref, "black", c.Terminal(wires[len(wires)-1].From).Ref),
		q("mode", modes[len(modes)-1].Name, "fault", wires[0].Name+":open", "fault", wires[len(wires)/2].Name+":high_resistance=4", "pick", "wire:"+wires[1].Name),
		q("mode", mode, "load", load, "view", "feed", "meter", "amps", "clamp", wires[0].Name),
		q("mode", mode, "complaint", "it is cold", "note", "load~"+mode+"~"+load+"~dead"),
		"?drill=1.1.7.0&move=off&move=prove&move=give-up",
		"?lesson=2",
		q("mode", "nowhere", "fault", "nothing:open", "red", "<b>", "set", "no:such", "note", "none"),
	}
	for _, p := range c.Parts() {
		if len(p.Positions) > 1 {
			out = append(out, q("mode", mode, "set", p.Name+":"+p.Positions[1], "pick", "part:"+p.Name))
			break
		}
	}
	return out
}

// answer asks the engine in a saved page.
func (b *phone) answer(path, query string) (html, state string) {
	b.T.Helper()
	ask, err := json.Marshal([]string{path, query})
	if err != nil {
		b.T.Fatal(err)
	}
	got := eval[[]string](b, "Home.ask(..."+string(ask)+").then((a) => [a.html, a.state], (e) => ['error: ' + e.message, ''])")
	return got[0], got[1]
}

// What the engine in the page answers is what the server answers, to the byte.
func TestEngineAnswersAsTheServer(t *testing.T) {
	for i, name := range []string{"dryer", demo, "oven-230", "water-heater-208", "range-slide-in-3wire"} {
		if i > 0 && !circuittest.Nightly {
			break
		}
		t.Run(name, func(t *testing.T) {
			c := machine(t, name)
			d := desk.NewShop(c, library.New("").Alone())
			b := open(t, saved(t, name), "")
			all := addresses(c)
			if i > 0 { // a few of each
				all = []string{all[i%len(all)], all[3], all[len(all)-1]}
			}
			for k, query := range all {
				q, err := url.ParseQuery(query[1:])
				if err != nil {
					t.Fatal(err)
				}
				for j, path := range []string{"/bench", "/drawing", "/breaks", "/standing", "/visit", "/told", "/debrief", "/learn"} {
					if !d.Has(path) || !circuittest.Sampled(j+k, 3) {
						continue
					}
					want, err := d.Answer(t.Context(), desk.Request{Path: path, Query: q, File: name + ".toml"})
					if err != nil {
						t.Fatalf("%s%s: %v", path, query, err)
					}
					html, state := b.answer(path, query)
					if state != "?"+want.State {
						t.Errorf("%s%s shows the state %s, want ?%s", path, query, state, want.State)
					}
					if html != string(want.Body) {
						t.Errorf("%s%s (want -, got +):\n%.3000s", path, query, cmp.Diff(strings.Split(string(want.Body), "\n"), strings.Split(html, "\n")))
					}
				}
			}
		})
	}
}

// Who asks for another state does not wait until the last is worked out.
func TestOvertakenQuestionIsGivenUp(t *testing.T) {
	b := open(t, saved(t, demo), "")
	b.Until("document.documentElement.classList.contains('scripted')")
	got := eval[[]string](b, `(async () => {
		const order = [];
		const say = (name) => (promise) => promise.then(() => order.push(name), (e) => order.push(name + ": " + e.message));
		const first = say("visit")(Home.ask("/visit", "?mode=broil&note=load~broil~broil_element~dead&note=load~bake~bake_element~normal"));
		const second = say("drawing")(Home.ask("/drawing", "?mode=broil"));
		await new Promise((then) => setTimeout(then, 20));
		await Promise.all([first, second, say("bench")(Home.ask("/bench", "?mode=bake"))]);
		return order;
	})()`)
	if want := []string{"drawing: overtaken", "visit: context canceled", "bench"}; cmp.Diff(want, got) != "" {
		t.Error(cmp.Diff(want, got))
	}
	if html, _ := b.answer("/visit", "?note=load~broil~broil_element~dead"); !strings.Contains(html, "suspects") {
		t.Errorf("asked again, the engine answers %.300s", html)
	}
}

// An engine that stops, as for want of memory, is started again by the next tap.
func TestEngineThatStopsIsStartedAgain(t *testing.T) {
	b := open(t, saved(t, demo)+"#?door=explore", `globalThis.workers = []; const own = Worker;
		globalThis.Worker = function (address) { workers.push(new own(address)); return workers.at(-1); };`)
	b.Choose("#mode", "broil")
	eval[bool](b, `(workers[1].onmessage({ data: { ended: "out of memory" } }), true)`)
	b.reads("broil", "broil_element.1", "broil_element.2")
	if n := eval[int](b, "workers.length"); n != 3 { // the first unpacked it
		t.Errorf("%d workers were started, want 3", n)
	}
}
