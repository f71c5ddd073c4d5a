package page_test

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legtrace/netlists"
	"legtrace/render/page"
	"legtrace/render/page/browsertest"
)

// volts is what the engine itself says of two terminals of a file's machine.
func volts(t *testing.T, file, mode, red, black string, faults ...string) string {
	t.Helper()
	c, err := netlists.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return browsertest.Volts(t, c, mode, red, black, faults...)
}

// A technician breaks the broil relay, reads what the solver gives, forgets
// what was broken and finds it by following the next test.
func TestJourneyWithAMouse(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?door=explore", 1280, 900)
	b.Choose("#mode", "broil")
	b.Press("[data-zoom=load]")
	b.Mouse("#part-broil_relay [data-box]")
	b.Press("#look [data-break='broil_relay.contact:open']")
	b.Until(`document.querySelector("#broken").textContent.includes("Broil relay contact open")`)
	b.Until(`document.querySelector("#drawing .fault")`)
	b.Mouse("[data-terminal='broil_relay.com']")
	b.Mouse("[data-terminal='broil_relay.no']")
	want := volts(t, file, "broil", "broil_relay.com", "broil_relay.no", "broil_relay.contact:open")
	if got := b.Text("#reading"); got != want {
		t.Errorf("the meter reads %q across the open relay, want %q", got, want)
	}
	if got := b.Text("#sound"); got != "sound: "+volts(t, file, "broil", "broil_relay.com", "broil_relay.no") {
		t.Errorf("beside it is %q", got)
	}
	if got := b.Text("#loads tr[data-load='broil_element'] .sound"); !strings.HasPrefix(got, "normal, 33") {
		t.Errorf("beside a dead load is %q", got)
	}
	if got := eval[int](b, `document.querySelectorAll("#overlay .probe-letter").length`); got != 2 {
		t.Errorf("%d probes are drawn", got)
	}

	b.Press("#tabs a[href='#breaks']")
	x, y := b.Spot("#breaks .cuts li:nth-child(2)")
	b.Do(chromedp.MouseEvent("mouseMoved", x, y))
	b.Until(`document.querySelectorAll("#overlay .spot").length > 0`)

	b.Press("#door-find")
	b.Press("[data-opening='Broil element dead']")
	for range 12 {
		if b.Text("#suspects-h") != "Suspects" {
			break
		}
		b.Follow(b.Press)
	}
	end := b.Text("#suspects-h")
	if !strings.Contains(end, "enough") || !strings.Contains(end, ": Broil relay") {
		t.Fatalf("following the next test leads to %q", end)
	}

	before := eval[string](b, "location.href")
	found := b.Text(".suspects")
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until("true")
	if got := eval[string](b, "location.href"); got != before {
		t.Errorf("reloading leads to %s, from %s", got, before)
	}
	if got := b.Text(".suspects"); got != found || !strings.Contains(b.Text("#broken"), "Broil relay contact open") {
		t.Errorf("the link restores %q, want %q", got, found)
	}
	b.Press("#undo")
	b.Until(`document.querySelector("#suspects-h").textContent === "Suspects"`)
	b.Press("#menu > summary")
	b.Press("#redo")
	b.Until(`document.querySelector("#suspects-h").textContent !== "Suspects"`)
}

func TestFileIsFollowedInTheBrowser(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?mode=broil&red=broil_element.1&black=broil_element.2", 1280, 900)
	b.Until(`document.querySelector("#drawing").textContent.includes("240 V 3400 W")`)
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
	b.Until(`document.querySelector("#drawing").textContent.includes("240 V 2800 W")`)
	write("watts = 3400", "wats = 3400")
	b.Until(`/range\.toml:\d+:\d+: .*wats/.test(document.querySelector("#notices").textContent)`)
	if !strings.Contains(b.Text("#drawing"), "240 V 2800 W") {
		t.Error("the last good drawing is gone")
	}
	write("watts = 3400", "watts = 3000")
	b.Until(`document.querySelector("#drawing").textContent.includes("240 V 3000 W") && !document.querySelector("#notices").textContent.includes("wats")`)
}

func TestKeysAlone(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/?door=explore", 1280, 900)
	reach := func(selector string) {
		t.Helper()
		for range 120 {
			if eval[bool](b, `document.activeElement && document.activeElement.matches("`+selector+`")`) {
				return
			}
			b.Do(chromedp.KeyEvent(kb.Tab))
		}
		t.Fatalf("the tab key does not lead to %s", selector)
	}
	reach("#mode")
	b.Do(chromedp.KeyEvent("Bake"))
	b.Until(`document.querySelector("#mode").value === "bake" && location.search.includes("mode=bake")`)
	reach("#drawing")
	b.Do(chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent("r"))
	b.Until(`document.querySelector("#meter").dataset.red`)
	b.Do(chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowDown), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent("b"))
	b.Until(`document.querySelector("#meter").dataset.black && document.querySelector(".screen").dataset.state !== "idle"`)
	if b.Text("#say") == "" {
		t.Error("the reading is not said to a screen reader")
	}
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`!document.querySelector("#look").hidden && document.querySelector("#look .ways")`)
	reach("#look [data-break]")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`document.querySelector("#broken li")`)
	reach("#broken a")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`!document.querySelector("#broken li")`)
	b.Named()

	reach("#door-learn")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`document.body.dataset.door === "learn"`)
	reach("#tabs a[href='#drill']")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`!document.querySelector("#drill").hidden`)
	reach("#drill-go")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`location.search.includes("drill=1.1.") && document.querySelector("#drill .moves")`)
	reach("#drill [data-do=prove]")
	b.Do(chromedp.KeyEvent(kb.Enter))
	b.Until(`document.querySelectorAll(".steps > li").length === 1`)
	if got := b.Text("#say"); !strings.Contains(got, "known source") {
		t.Errorf("what came of the move is said as %q", got)
	}
	if got := eval[string](b, `document.activeElement.dataset.do || ""`); got != "prove" {
		t.Errorf("the focus is on %q after the move", got)
	}
	b.Named()
}

func TestPhone(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?mode=broil&fault=broil_relay.contact:open", 390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch)
	b.Finger("[data-terminal='broil_element.1']")
	b.Press("#hand-black")
	b.Finger("[data-terminal='broil_element.2']")
	want := volts(t, file, "broil", "broil_element.1", "broil_element.2", "broil_relay.contact:open")
	if got := b.Text("#reading"); got != want {
		t.Errorf("the meter reads %q, want %q", got, want)
	}
	if !eval[bool](b, `document.querySelector("#note").getBoundingClientRect().bottom <= document.querySelector(".screen").getBoundingClientRect().bottom && document.querySelector("#mode").offsetWidth > 200`) {
		t.Error("what the reading means is cut off, or the mode's name")
	}
	b.Press("#hand-look")
	b.Finger("#part-broil_element [data-box]")
	b.Until(`!document.querySelector("#look").hidden && document.querySelector("#look h2").textContent === "Broil element"`)
	for _, panel := range []string{"loads", "look", "controls", "breaks", "standing"} {
		b.Press("#tabs a[href='#" + panel + "']")
		if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > 390 {
			t.Errorf("with %s open the page is %d pixels wide", panel, wide)
		}
	}
	if !eval[bool](b, `(() => { const r = document.querySelector("#reading").getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight; })()`) {
		t.Error("the reading is out of sight")
	}
	small := eval[[]string](b, `[...document.querySelectorAll("a.button, a.key, button, select, .functions span, #tabs a, #doors a, .tools a")]
		.filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 120))`)
	if len(small) > 0 {
		t.Errorf("too small for a thumb: %q", small)
	}
	// Over plain HTTP a browser has no clipboard to write to; that it was copied is seen.
	eval[bool](b, `(Object.defineProperty(navigator, "clipboard", { value: undefined }), document.querySelector("#menu").open = true)`)
	b.Press("#copy")
	b.Until(`document.querySelector("#say").textContent.includes("copied") && document.querySelector("#say").offsetHeight > 20`)
}
