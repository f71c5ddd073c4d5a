package offline_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"legtrace/cmd/library"
	"legtrace/render/page/desk"
)

// held keeps what workers are told by a page opened with "?held", until they are let
// go. The address says so: the browser loses its sessionStorage now and then where
// one file is opened after another.
const held = `{
	let kept = location.search === "?held" ? [] : undefined;
	const own = Worker;
	globalThis.Worker = function (address) {
		const worker = new own(address), post = worker.postMessage.bind(worker);
		worker.postMessage = (task) => kept ? kept.push(() => post(task)) : post(task);
		return worker;
	};
	globalThis.free = () => { kept.forEach((post) => post()); kept = undefined; return true; };
}`

// One file has all machines: a person opens it, chooses one before the engine has
// started and is asked what it does as the server asks, is at the first test after three taps, and
// finds the visit again when the file is opened anew. A netlist of their own is taken in, and one
// that is none is told by line and column.
func TestWholeToolInOneFile(t *testing.T) {
	html := wholeTool(t)
	if len(html) > mostBytes {
		t.Errorf("the tool has %d bytes, at most %d are wanted", len(html), mostBytes)
	}
	file := write(t, html)
	b := open(t, file+"?held", held)
	b.Thumb("#to-find")
	b.Until(`document.querySelector(".machines")`)
	b.Thumb(".machines a[href*='catalog%3Adryer&']")
	b.Until(`document.querySelector("[data-opening]")`)
	state := eval[string](b, "Home.query()")
	for _, path := range []string{"/bench", "/visit"} {
		want, err := desk.NewShop(nil, library.New("")).Answer(t.Context(), desk.Request{Path: path, Query: desk.Query(state)})
		if err != nil {
			t.Fatal(err)
		}
		if got, at := b.answer(path, state); got != string(want.Body) || at != "?"+want.State {
			t.Errorf("%s%s, worked out when it was saved, is of %s (want -, got +):\n%.3000s", path, state, at, cmp.Diff(string(want.Body), got))
		}
	}
	eval[bool](b, "free()")
	b.Thumb("[data-opening='Drum motor dead'], [data-opening]")
	b.Until(`document.querySelector("#visit > .test h4") && document.querySelector("#drawing svg")`)
	b.Do(chromedp.Navigate("about:blank"), chromedp.Navigate("file://"+file), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until(`document.querySelector("#kept li a")`)
	b.Thumb("#kept li a")
	b.Until(`document.querySelector("#visit > .test h4")`)

	const own = `name = "lamp"\ntitle = "My lamp"\n[supply]\nsystem = "single-phase"\n[parts]\nlamp = { kind = "lamp", volts = 120, watts = 60, label = "Lamp" }\n[wires]\nw1 = { from = "supply.L1", to = "lamp.1" }\nw2 = { from = "lamp.2", to = "supply.N" }\n[modes.on]\non = ["lamp"]\n`
	give := func(text string) {
		eval[bool](b, `(() => { const all = new DataTransfer(); all.items.add(new File(["`+strings.ReplaceAll(text, `"`, `\"`)+`"], "lamp.toml"));
			const field = document.querySelector("#own input[type=file]"); field.files = all.files; field.dispatchEvent(new Event("change")); return true; })()`)
	}
	b.Do(chromedp.Navigate("about:blank"), chromedp.Navigate("file://"+file+"#?door=find"), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until(`document.querySelector("#own input[type=file]")`)
	give(strings.ReplaceAll(own, "watts", "wats"))
	b.Until(`/lamp\.toml:6:\d+: .*wats/.test(document.querySelector("#own").textContent)`)
	give(own)
	b.Until(`document.querySelector("h1").textContent === "My lamp" && location.hash.includes("machine=own")`)
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until(`document.querySelector("h1").textContent === "My lamp"`) // the engine is new: the browser brings the netlist
}
