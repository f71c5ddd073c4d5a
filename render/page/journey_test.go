package page_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/netlists"
	"legtrace/render/page"
)

// volts is what the engine itself says of two terminals.
func volts(t *testing.T, file, mode, fault, red, black string) string {
	t.Helper()
	c, err := netlists.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	m, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	faults, err := c.ParseFault(fault)
	if err != nil {
		t.Fatal(err)
	}
	var at [2]circuit.TerminalID
	for i, ref := range [2]string{red, black} {
		if at[i], err = c.FindTerminal(ref); err != nil {
			t.Fatal(err)
		}
	}
	b := meter.New(c, meter.DefaultInstrument())
	out, err := b.Live(m, faults)
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.Volts(out, meter.Volts, at[0], at[1])
	if err != nil {
		t.Fatal(err)
	}
	return r.String()
}

// A technician breaks the broil relay, reads what the solver gives, forgets
// what was broken and finds it by following the next test.
func TestJourneyWithAMouse(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/", 1280, 900)
	b.choose("#mode", "broil")
	b.press("[data-zoom=load]")
	b.mouse("#part-broil_relay [data-box]")
	b.press("#look [data-break='broil_relay.contact:open']")
	b.until(`document.querySelector("#broken").textContent.includes("Broil relay contact open")`)
	b.until(`document.querySelector("#drawing .fault")`)
	b.mouse("[data-terminal='broil_relay.com']")
	b.mouse("[data-terminal='broil_relay.no']")
	want := volts(t, file, "broil", "broil_relay.contact:open", "broil_relay.com", "broil_relay.no")
	if got := b.text("#reading"); got != want {
		t.Errorf("the meter reads %q across the open relay, want %q", got, want)
	}
	if got := eval[int](b, `document.querySelectorAll("#overlay .probe-letter").length`); got != 2 {
		t.Errorf("%d probes are drawn", got)
	}

	b.press("#tabs a[href='#breaks']")
	x, y := b.spot("#breaks .cuts li:nth-child(2)")
	b.do(chromedp.MouseEvent("mouseMoved", x, y))
	b.until(`document.querySelectorAll("#overlay .spot").length > 0`)

	b.press("#tabs a[href='#visit']")
	b.press("#said-add")
	for range 12 {
		if b.text("#suspects-h") != "Suspects" {
			break
		}
		b.follow()
	}
	end := b.text("#suspects-h")
	if !strings.HasPrefix(end, "Found: Broil relay") && !strings.HasPrefix(end, "Likeliest: Broil relay") {
		t.Fatalf("following the next test leads to %q", end)
	}

	before := eval[string](b, "location.href")
	found := b.text(".suspects")
	b.do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.until("true")
	if got := eval[string](b, "location.href"); got != before {
		t.Errorf("reloading leads to %s, from %s", got, before)
	}
	if got := b.text(".suspects"); got != found || !strings.Contains(b.text("#broken"), "Broil relay contact open") {
		t.Errorf("the link restores %q, want %q", got, found)
	}
	b.press("#undo")
	b.until(`document.querySelector("#suspects-h").textContent === "Suspects"`)
	b.press("#redo")
	b.until(`document.querySelector("#suspects-h").textContent !== "Suspects"`)
}

// follow makes the next test on this page's own machine and notes what came
// out.
func (b *browser) follow() {
	b.t.Helper()
	noted := eval[int](b, `document.querySelectorAll(".noted li").length`)
	if !eval[bool](b, `!!document.querySelector(".test")`) {
		b.t.Fatalf("no test is proposed: %s", b.text("#visit"))
	}
	trial := eval[bool](b, `document.querySelector(".test").dataset.trial === "true"`)
	b.press(".test .try")
	if !trial {
		b.press(".test .take")
	} else {
		b.until("true")
		if eval[int](b, `(() => { let n = 0; for (const s of document.querySelectorAll(".test:first-of-type select")) {
			const state = document.querySelector("#loads tr[data-load='" + s.dataset.of + "']").dataset.state;
			s.value = s.dataset.of + ":" + ({ on: "normal", weak: "weak", "on against the mode": "normal", "too much": "normal" }[state] || "dead"); n++;
		} return n; })()`) == 0 {
			b.t.Fatal("a trial with nothing to look at")
		}
		b.press(".test form button")
	}
	b.until(fmt.Sprintf("document.querySelectorAll('.noted li').length > %d", noted))
}

func TestFileIsFollowedInTheBrowser(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?mode=broil&red=broil_element.1&black=broil_element.2", 1280, 900)
	b.until(`document.querySelector("#drawing").textContent.includes("240 V 3400 W")`)
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	write := func(old, new string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(strings.Replace(string(src), old, new, 1)), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("watts = 3400", "watts = 2800")
	b.until(`document.querySelector("#drawing").textContent.includes("240 V 2800 W")`)
	write("watts = 3400", "wats = 3400")
	b.until(`/range\.toml:\d+:\d+: .*wats/.test(document.querySelector("#notices").textContent)`)
	if !strings.Contains(b.text("#drawing"), "240 V 2800 W") {
		t.Error("the last good drawing is gone")
	}
	write("watts = 3400", "watts = 3000")
	b.until(`document.querySelector("#drawing").textContent.includes("240 V 3000 W") && !document.querySelector("#notices").textContent.includes("wats")`)
}

func TestKeysAlone(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/", 1280, 900)
	reach := func(selector string) {
		t.Helper()
		for range 120 {
			if eval[bool](b, `document.activeElement && document.activeElement.matches("`+selector+`")`) {
				return
			}
			b.do(chromedp.KeyEvent(kb.Tab))
		}
		t.Fatalf("the tab key does not lead to %s", selector)
	}
	reach("#mode")
	b.do(chromedp.KeyEvent("Bake"))
	b.until(`document.querySelector("#mode").value === "bake" && location.search.includes("mode=bake")`)
	reach("#drawing")
	b.do(chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent("r"))
	b.until(`document.querySelector("#meter").dataset.red`)
	b.do(chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent("b"))
	b.until(`document.querySelector("#meter").dataset.black && document.querySelector(".screen").dataset.state !== "idle"`)
	if b.text("#say") == "" {
		t.Error("the reading is not said to a screen reader")
	}
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`!document.querySelector("#look").hidden && document.querySelector("#look .ways")`)
	reach("#look [data-break]")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`document.querySelector("#broken li")`)
	reach("#broken a")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`!document.querySelector("#broken li")`)
	b.named()

	reach("#tabs a[href='#drill']")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`!document.querySelector("#drill").hidden`)
	reach("#drill-go")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`location.search.includes("drill=1.1.") && document.querySelector("#drill .moves")`)
	reach("#drill [data-do=prove]")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`document.querySelectorAll(".steps > li").length === 1`)
	if got := b.text("#say"); !strings.Contains(got, "known source") {
		t.Errorf("what came of the move is said as %q", got)
	}
	if got := eval[string](b, `document.activeElement.dataset.do || ""`); got != "prove" {
		t.Errorf("the focus is on %q after the move", got)
	}
	b.named()
}

func TestPhone(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?mode=broil&fault=broil_relay.contact:open", 390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch)
	b.finger("[data-terminal='broil_element.1']")
	b.press("#hand-black")
	b.finger("[data-terminal='broil_element.2']")
	want := volts(t, file, "broil", "broil_relay.contact:open", "broil_element.1", "broil_element.2")
	if got := b.text("#reading"); got != want {
		t.Errorf("the meter reads %q, want %q", got, want)
	}
	b.press("#hand-look")
	b.finger("#part-broil_element [data-box]")
	b.until(`!document.querySelector("#look").hidden && document.querySelector("#look h2").textContent === "Broil element"`)
	for _, panel := range []string{"loads", "look", "controls", "breaks", "standing", "visit", "drill", "learn", "care"} {
		b.press("#tabs a[href='#" + panel + "']")
		if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > 390 {
			t.Errorf("with %s open the page is %d pixels wide", panel, wide)
		}
	}
	if !eval[bool](b, `(() => { const r = document.querySelector("#reading").getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight; })()`) {
		t.Error("the reading is out of sight")
	}
	small := eval[[]string](b, `[...document.querySelectorAll("header a, header button, header select, #meter select, #meter .functions span, .hand button, #tabs a")]
		.filter((e) => e.offsetParent && e.getBoundingClientRect().height < 40).map((e) => e.outerHTML.slice(0, 120))`)
	if len(small) > 0 {
		t.Errorf("too small for a thumb: %q", small)
	}
}
