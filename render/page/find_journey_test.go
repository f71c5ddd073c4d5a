package page_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"legtrace/circuit/circuittest"
	"legtrace/cmd/library"
	"legtrace/render/page"
)

// sizes are of screens, upright and lying.
var sizes = []struct {
	width, height int64
	phone         bool
}{{390, 844, true}, {844, 390, true}, {1280, 800, false}, {320, 568, true}, {360, 640, true}, {932, 430, true}, {768, 1024, true}, {1920, 1080, false}}

// on opens an address on a screen.
func on(t *testing.T, address string, i int) *browser {
	t.Helper()
	var opt []chromedp.EmulateViewportOption
	if sizes[i].phone {
		opt = []chromedp.EmulateViewportOption{chromedp.EmulateMobile, chromedp.EmulateTouch}
	}
	return open(t, address, sizes[i].width, sizes[i].height, opt...)
}

// From the first screen three taps lead to the first test; a slip is mended where
// it was made and leaves no trace; another tab goes on with the visit.
func TestFaultIsFoundByThumb(t *testing.T) {
	for i, s := range sizes[:3] {
		t.Run(fmt.Sprintf("%dx%d", s.width, s.height), func(t *testing.T) {
			at := serve(t, page.Source{}, page.Options{Library: library.New("")})
			b := on(t, at+"/", i)
			if !strings.Contains(b.Text("#lobby .cautions"), "prove") {
				t.Error("the first screen has no cautions")
			}
			b.Press("#to-find")
			b.Press(".machines a[href*='range-electronic&']")
			if got := eval[string](b, "document.activeElement.id"); got != "visit-h" {
				t.Errorf("once a machine is chosen the keyboard's place is %q", got)
			}
			// The card is there, to be answered, before the drawing that it goes with.
			eval[bool](b, `(() => { const ask = Home.ask; Home.ask = async (path, ...rest) => {
				if (path === "/drawing") { Home.ask = ask; await new Promise((then) => { Home.draw = then; }); }
				return ask(path, ...rest); }; return true; })()`)
			b.Do(chromedp.Click(chromedp.CSS("[data-opening='Broil element dead']"), chromedp.NodeVisible))
			if got := eval[string](b, `(async () => { const $ = (s) => document.querySelector(s);
				for (let i = 0; i < 500 && !Home.draw; i++) await new Promise((then) => setTimeout(then, 10));
				if (!Home.draw) return "no drawing was asked for";
				await new Promise((then) => setTimeout(then, 300));
				const card = $("#visit > .test"), seen = [card && getComputedStyle(card).opacity, $("#working").hidden, !!$("#drawing svg"), getComputedStyle($("#drawing"), "::before").visibility].join(" ");
				Home.draw();
				return seen; })()`); got != "1 true false visible" {
				t.Errorf("before it is drawn the card is seen so: %s", got)
			}
			b.Until(`document.querySelector("#visit > .test h4") && document.querySelector("#drawing svg")`)
			if !eval[bool](b, `document.querySelector("#visit > .test h4").getBoundingClientRect().top < innerHeight`) {
				t.Error("the first test is out of sight")
			}
			for range 6 { // trials come first: each as on a sound machine, but for broil
				if eval[bool](b, `!!document.querySelector("#visit > .test [data-answer='OL']")`) { // an ohms reading
					break
				}
				b.Press("#visit > .test .skip-it")
			}
			if i == 0 { // on a phone places far apart are seen each in a half, until one is touched
				const both = `[...document.querySelectorAll("#drawing svg")].map((svg) => [...svg.querySelectorAll(".probe.grip")].map((e) => e.getBoundingClientRect()).filter((at) => { const box = svg.getBoundingClientRect(); return at.top >= box.top && at.bottom <= box.bottom; }).length).join(" ")`
				eval[bool](b, `(Diagram.mark({ red: "terminal_block.L1.in", black: "broil_element.2" }), Diagram.focus(["terminal_block.L1.in", "broil_element.2"]), true)`)
				if got := eval[string](b, both); got != "1 1" {
					t.Errorf("probes seen in each half: %s", got)
				}
				b.Finger("#drawing .far")
				if got := eval[string](b, both+` + document.querySelectorAll(".far, #drawing svg + svg").length`); got != "10" {
					t.Errorf("once a half is touched, probes seen and halves: %s", got)
				}
			}
			if got := b.Text("#visit > .test .first"); !strings.Contains(got, "proved dead") {
				t.Errorf("before hands go in it says %q", got)
			}
			before := eval[string](b, "location.search")
			b.Press("#visit > .test [data-type='4']")
			eval[bool](b, `(document.querySelector("#visit > .test [name=answer]").value = "4purple", true)`)
			b.Press("#visit > .test .note")
			b.Until(`!document.querySelector("#visit > .test .error").hidden`)
			if got := b.Text("#visit > .test .error"); !strings.Contains(got, "4purple") {
				t.Errorf("of a slip it says %q", got)
			}
			if now := eval[string](b, "location.search"); now != before || eval[string](b, `document.querySelector("#visit > .test [name=answer]").value`) != "4purple" {
				t.Errorf("the slip leads to %s, or is not there to be mended", now)
			}
			b.Press("#visit > .test [data-answer='OL']")
			b.Until(`document.querySelector("#suspects-h").classList.contains("found")`)
			if strings.Contains(b.Body()+eval[string](b, "location.href"), "purple") {
				t.Error("the slip left a trace")
			}
			if got := b.Text("#suspects-h"); !strings.Contains(got, "Broil element open") {
				t.Errorf("found: %q", got)
			}
			verdict := eval[string](b, `document.querySelector("#report .verdict").textContent`)
			if !strings.Contains(verdict, "Broil element open") {
				t.Errorf("the report says %q", verdict)
			}
			b.Press("#written > summary")
			b.Do(chromedp.SendKeys(chromedp.CSS("[data-job=customer]"), "A. Example"))
			if !eval[bool](b, `document.querySelector("#report-job").textContent.includes("A. Example") && !location.href.includes("Example")`) {
				t.Error("the customer is not in the report, or in the address")
			}
			if !eval[bool](b, `Kept.file().includes('[job]\ncustomer = "A. Example"\n# end of visit')`) {
				t.Errorf("the file has no job: %s", eval[string](b, "Kept.file()"))
			}

			// Another tab has it from the browser's store alone.
			ctx, end := chromedp.NewContext(b.Ctx)
			defer end()
			address := at + "/"
			if err := chromedp.Do(ctx, chromedp.Navigate(address), chromedp.WaitReady(chromedp.CSS("html.scripted"))); err != nil {
				t.Fatal(err)
			}
			b.Ctx = ctx
			b.Until(`document.querySelector("#kept li")`)
			b.Press("#kept li a")
			b.Until(`document.querySelector("#suspects-h.found")`)
			b.Until(`document.querySelector("[data-job=customer]").value === "A. Example"`)
		})
	}
}

// What is said in words is shown as understood, asked where it could be several
// things, and refused in place where nothing can be made of it.
func TestComplaintInWords(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:range-electronic", 0)
	say := func(words string) {
		b.Do(chromedp.SendKeys(chromedp.CSS("#tell"), words))
		b.Press("#tell-add")
	}
	say("purple monkeys")
	b.Until(`!document.querySelector("#tell-error").hidden`)
	if eval[bool](b, `location.search.includes("purple")`) {
		t.Error("what cannot be understood is in the address")
	}
	eval[bool](b, `(document.querySelector("#tell").value = "", true)`)
	say("the burner is dead and the xylophone too")
	b.Until(`document.querySelector(".asks .key")`)
	if got := b.Text(".unknown"); !strings.Contains(got, "xylophone") {
		t.Errorf("not understood is %q", got)
	}
	b.Press(".asks .key:first-child")
	b.Until(`!document.querySelector(".asks") && document.querySelector("#understood .noted li")`)
	n := eval[int](b, `document.querySelectorAll("#understood .noted li").length`)
	b.Press("#understood .noted li a")
	b.Until(fmt.Sprintf(`document.querySelectorAll("#understood .noted li").length < %d`, n))
	// What endangers people stands before everything, and is called out.
	b.Until(`document.querySelector("#tell-form") && !document.querySelector("#understood")`)
	say("I smell gas")
	b.Until(`document.querySelector("#visit > h2 + [role=alert]")`)
	if got := b.Text("#visit > [role=alert]"); !strings.Contains(got, "No test before") {
		t.Errorf("of gas is said %q", got)
	}
}

// On every screen nothing is wider than it, the diagram has two fifths of the
// height, one thing scrolls, and what is tapped is large enough.
func TestScreensFit(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	const m = "machine=catalog:range-electronic"
	const seen = "&note=load~broil~broil_element~dead&note=load~bake~bake_element~normal"
	b := on(t, at+"/", 0)
	for i, s := range sizes {
		for k, q := range []string{"?", "?door=find", "?door=find&" + m, "?door=find&" + m + seen, "?door=find&" + m + seen + "&note=read~broil~ohms~broil_1~broil_2~~OL&done=replaced",
			"?door=explore&" + m + "&mode=broil&red=broil_element.1&black=broil_element.2", "?door=explore&pick=part:broil_relay&" + m + "#look", "?door=learn&" + m, "?drill=1.1.3.0&" + m} {
			if i > 1 && (i+k)%4 != 0 && !circuittest.Nightly { // a few of each
				continue
			}
			where := fmt.Sprintf("%dx%d %s", s.width, s.height, q)
			b.Go(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateMobile, chromedp.EmulateTouch), chromedp.Navigate(at+"/"+q), chromedp.WaitReady(chromedp.CSS("html.scripted")))
			b.Until("true")
			if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > int(s.width) {
				t.Errorf("%s is %d wide", where, wide)
			}
			if high := eval[float64](b, `document.body.dataset.stage ? document.querySelector("#drawing").getBoundingClientRect().height / innerHeight : 1`); high < 0.395 {
				t.Errorf("%s: the diagram has %.0f %% of the height", where, 100*high)
			}
			if got := eval[[]string](b, `[...document.querySelectorAll("body *")].filter((e) => e.scrollHeight > e.clientHeight + 1 && ["auto", "scroll"].includes(getComputedStyle(e).overflowY) && e.clientHeight > 0)
				.map((e) => e.id || e.className).filter((id) => !["side", "notices", "file-text"].includes(id) && !/screen|came|wide/.test(id))`); len(got) > 0 {
				t.Errorf("%s: these scroll too: %q", where, got)
			}
			if small := eval[[]string](b, `[...document.querySelectorAll("a.button, a.key, button, select, summary, input:not([type=radio], [type=hidden]), #tabs a, #doors a, .tools a, .three a, .machines a, .noted a")]
				.filter((e) => e.checkVisibility() && e.getBoundingClientRect().width > 1 && (e.getBoundingClientRect().height < 43.5)).map((e) => e.outerHTML.slice(0, 90)).slice(0, 4)`); len(small) > 0 {
				t.Errorf("%s: too small for a thumb: %q", where, small)
			}
			if least := eval[float64](b, `(() => { const s = document.querySelector("#drawing svg"); if (!s || !document.body.dataset.stage || document.body.dataset.door !== "explore") return 9;
				document.querySelector("[data-zoom=fit]").click(); const k = s.getScreenCTM().a; return k * Math.min(...[...s.querySelectorAll("text[font-size]")].map((t) => +t.getAttribute("font-size"))); })()`); least < 8.9 {
				t.Errorf("%s: the smallest text has %.1f pixels at fit", where, least)
			}
		}
	}
	b.Named()
	// Colours that the person forces keep what is chosen to be seen.
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "forced-colors", Value: "active"}}}); err != nil {
		t.Fatal(err)
	}
	b.Do(chromedp.Navigate(at+"/?door=explore&"+m), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until("true")
	if same := eval[[]string](b, `["#doors a", "#tabs a", "#views a", ".supply a", ".hand button"].filter((s) => new Set([...document.querySelectorAll(s)].map((e) => getComputedStyle(e).backgroundColor)).size < 2)`); len(same) > 0 {
		t.Errorf("with forced colours nothing shows what is chosen of %q", same)
	}
}

// A browser that keeps the page has it when the server is gone.
func TestPageIsKeptForWhenThereIsNoServer(t *testing.T) {
	tool := func(context.Context) ([]byte, error) {
		return []byte("<!doctype html><html lang=en class=scripted><title>kept</title><p id=kept-page>kept</p>"), nil
	}
	ctx, stop := context.WithCancel(t.Context())
	at := serveUntil(t, ctx, page.Source{}, page.Options{Library: library.New(""), Tool: tool})
	if _, body, header := ask(t, http.MethodGet, at+"/manifest.webmanifest", nil); !strings.Contains(body, `"start_url"`) || header.Get("Content-Type") != "application/manifest+json" {
		t.Errorf("the manifest is %s", body)
	}
	b := on(t, at+"/", 0)
	eval[bool](b, `navigator.serviceWorker.ready.then(() => true)`)
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Press("#to-find")
	stop()
	b.Until(`fetch("/bench").then(() => false, () => true)`)
	b.Press(".machines a")
	b.Until(`document.querySelector("#notices .alert") && document.querySelector("#notices").textContent.includes("does not answer")`)
	if !eval[bool](b, `document.querySelector("#notices button").getBoundingClientRect().bottom <= document.querySelector("#notices").getBoundingClientRect().bottom`) {
		t.Error("the key to try again is out of sight")
	}
	eval[bool](b, `(window.asked = "", Home.ask = (path, query) => { asked = path + query; return Promise.reject(new Error("gone")); }, true)`)
	b.Press("#notices button")
	if got := eval[string](b, "asked"); !strings.Contains(got, "machine=") {
		t.Errorf("once more it asks for %q, not for what was tapped", got)
	}
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("#kept-page")))
	b.Forgive()
}
