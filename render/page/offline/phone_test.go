package offline_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/netlists"
	"legtrace/render/page/offline"
)

const demo = "range-electronic"

// machine reads one of the catalog.
func machine(t *testing.T, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// saved writes a machine's page to a file.
func saved(t *testing.T, name string) string {
	t.Helper()
	html, err := offline.Save(t.Context(), machine(t, name), name+".toml")
	if err != nil {
		t.Fatal(err)
	}
	return write(t, html)
}

func write(t *testing.T, html []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o666); err != nil {
		t.Fatal(err)
	}
	return file
}

// volts is what the engine itself says of two terminals of the demo.
func volts(t *testing.T, mode, red, black string, faults ...string) string {
	t.Helper()
	c := machine(t, demo)
	m, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	var present []circuit.Fault
	for _, ref := range faults {
		f, err := c.ParseFault(ref)
		if err != nil {
			t.Fatal(err)
		}
		present = append(present, f...)
	}
	var at [2]circuit.TerminalID
	for i, ref := range [2]string{red, black} {
		if at[i], err = c.FindTerminal(ref); err != nil {
			t.Fatal(err)
		}
	}
	b := meter.New(c, meter.DefaultInstrument())
	out, err := b.Live(m, present)
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.Volts(out, meter.Volts, at[0], at[1])
	if err != nil {
		t.Fatal(err)
	}
	return r.String()
}

// reads places the probes and compares the meter with the engine.
func (b *phone) reads(mode, red, black string, faults ...string) {
	b.t.Helper()
	b.choose("#red", red)
	b.choose("#black", black)
	if got, want := b.text("#reading"), volts(b.t, mode, red, black, faults...); got != want {
		b.t.Errorf("in %s with %q, %s to %s reads %q, want %q", mode, faults, red, black, got, want)
	}
}

// A technician with a phone and no signal breaks the broil relay and a wire,
// probes, sets a switch by hand, and sends the link to another.
func TestSavedPageOnAPhone(t *testing.T) {
	b := open(t, saved(t, demo), "")
	if !strings.Contains(b.text("#loads"), "Broil element") || !eval[bool](b, `!!document.querySelector("#drawing svg")`) {
		t.Error("nothing is seen before the engine runs")
	}
	b.choose("#mode", "broil")
	b.choose("#pick", "part:broil_relay")
	b.thumb("#tabs a[href='#look']")
	b.thumb("[data-break='broil_relay.contact:open']")
	b.until(`document.querySelector("#broken").textContent.includes("Broil relay contact open")`)
	b.until(`document.querySelector("#drawing .fault")`)
	for _, pair := range [][2]string{{"broil_relay.com", "broil_relay.no"}, {"broil_element.1", "broil_element.2"}, {"broil_element.1", "terminal_block.N.out"}} {
		b.reads("broil", pair[0], pair[1], "broil_relay.contact:open")
	}
	b.thumb("#look p:last-child a") // choose another
	b.choose("#pick", "wire:w19")
	b.thumb("[data-break='w19:open']")
	b.until(`document.querySelectorAll("#broken li").length === 2`)
	b.reads("broil", "broil_element.1", "broil_element.2", "broil_relay.contact:open", "w19:open")
	b.reads("broil", "dlb_relay.no", "terminal_block.N.out", "broil_relay.contact:open", "w19:open")

	b.thumb("#tabs a[href='#controls']")
	lamp := func() string { return b.text("#loads tr[data-load=oven_lamp]") }
	dark := lamp()
	b.choose("#put-door_switch", "door_switch:closed")
	b.until(`location.hash.includes("set=door_switch")`)
	if lit := lamp(); !strings.Contains(dark, "off") || !strings.Contains(lit, "100 %") {
		t.Errorf("with its switch set by hand the oven lamp has %q, before %q", lit, dark)
	}
	b.thumb("#undo")
	b.until(`!location.hash.includes("set=")`)
	if got := lamp(); got != dark {
		t.Errorf("undone, the oven lamp has %q, before %q", got, dark)
	}
	b.thumb("#redo")
	b.until(`location.hash.includes("set=")`)
	b.restores()
	eval[bool](b, `(document.querySelector("a.skip").click(), true)`)
	if !eval[bool](b, `location.hash.includes("set=") && document.activeElement.id === "meter"`) {
		t.Error("the link to the meter takes the state out of the address")
	}
	if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %d pixels wide", wide)
	}
}

// restores opens the page's link anew, as whoever got it does.
func (b *phone) restores() {
	b.t.Helper()
	link := eval[string](b, "location.href")
	shown := func() string {
		return strings.Join([]string{b.text("#broken"), b.text("#reading"), b.text("#loads"), eval[string](b, `document.querySelector("#mode").value`)}, "|")
	}
	before := shown()
	b.do(chromedp.Navigate("about:blank"), chromedp.Navigate(link), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.until("true")
	if got := shown(); got != before || eval[string](b, "location.href") != link {
		b.t.Errorf("the link %s restores %q, want %q", link, got, before)
	}
}

// The visit of a cold broil element, its tests made on the page's own machine.
func TestSavedPageLeadsThroughAVisit(t *testing.T) {
	file := saved(t, demo)
	b := open(t, file, "")
	b.do(chromedp.Navigate("file://" + file + "#visit?mode=broil&fault=broil_relay.contact:open"))
	b.until(`document.querySelector("#broken li")`)
	b.thumb("#said-add")
	before := b.chance()
	for range 2 {
		b.follow()
	}
	if after := b.chance(); after <= before {
		t.Errorf("two tests on, the broil relay is suspected by %g %%, before by %g %%: %s", after, before, b.text("#visit"))
	}
	seen := b.text("#visit")
	b.restores()
	if got := b.text("#visit"); got != seen {
		t.Errorf("the link restores %q, want %q", got, seen)
	}
}

// chance is by how many per cent the broil relay's contact is suspected, alone.
func (b *phone) chance() float64 {
	b.t.Helper()
	return eval[float64](b, `Math.max(0, ...[...document.querySelectorAll(".suspects li")].map((e) => e.textContent.replace(/\s+/g, " "))
		.filter((s) => s.includes("Broil relay contact") && !s.includes(" and ")).map((s) => parseFloat(s.match(/([\d.]+) %/)?.[1] || 0)))`)
}

// follow makes the next test on this page's own machine and notes what came
// out.
func (b *phone) follow() {
	b.t.Helper()
	noted := eval[int](b, `document.querySelectorAll(".noted li").length`)
	if !eval[bool](b, `!!document.querySelector(".test")`) {
		b.t.Fatalf("no test is proposed: %s", b.text("#visit"))
	}
	trial := eval[bool](b, `document.querySelector(".test").dataset.trial === "true"`)
	b.thumb(".test .try")
	if !trial {
		b.thumb(".test .take")
	} else {
		if eval[int](b, `(() => { let n = 0; for (const s of document.querySelectorAll(".test:first-of-type select[data-of]")) {
			const state = document.querySelector("#loads tr[data-load='" + s.dataset.of + "']").dataset.state;
			s.value = s.dataset.of + ":" + ({ on: "normal", weak: "weak", "on against the mode": "normal", "too much": "normal" }[state] || "dead"); n++;
		} return n; })()`) == 0 {
			b.t.Fatal("a trial with nothing to look at")
		}
		b.thumb(".test form button")
	}
	b.until(fmt.Sprintf("document.querySelectorAll('.noted li').length > %d", noted))
}

// What a browser lacks is said, and the machine is seen all the same.
func TestSavedPageWhereSomethingIsMissing(t *testing.T) {
	file := saved(t, demo)
	for _, lack := range []string{"WebAssembly", "DecompressionStream"} {
		t.Run(lack, func(t *testing.T) {
			b := open(t, file, "delete globalThis."+lack)
			b.until(`document.querySelector("#notices .alert")`)
			if got := b.text("#notices"); !strings.Contains(got, "lacks") || !strings.Contains(got, lack) {
				t.Errorf("the page says %q", got)
			}
			b.choose("#mode", "bake")
			if got := b.text("#notices"); !strings.Contains(got, lack) || !strings.Contains(b.text("#loads"), "Broil element") {
				t.Errorf("after a tap the page says %q", got)
			}
		})
	}
	t.Run("scripts", func(t *testing.T) {
		b := open(t, file, "")
		if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			t.Fatal(err)
		}
		b.do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("noscript p")))
		if got := b.text("noscript"); !strings.Contains(got, "Scripts are off") {
			t.Errorf("the page says %q", got)
		}
		if !strings.Contains(b.text("#loads"), "Broil element") || !eval[bool](b, `!!document.querySelector("#drawing svg path")`) {
			t.Error("the machine is not seen")
		}
	})
	// Where workers are refused the engine runs in the page, once.
	for how, worker := range map[string]string{
		"workers":         "throw new Error('refused');",
		"workers' script": "this.postMessage = this.terminate = () => {}; setTimeout(() => this.onerror({ preventDefault() {}, message: 'refused' }));",
	} {
		t.Run(how, func(t *testing.T) {
			b := open(t, file, `globalThis.Worker = function () { `+worker+` }; globalThis.started = 0;
				const start = WebAssembly.instantiateStreaming; WebAssembly.instantiateStreaming = (...all) => (started++, start(...all));`)
			b.choose("#mode", "broil")
			b.reads("broil", "broil_element.1", "broil_element.2")
			if n := eval[int](b, "started"); n != 1 {
				t.Errorf("%d engines were started", n)
			}
		})
	}
}

// A file that was damaged on its way says so.
func TestSavedPageDamaged(t *testing.T) {
	html, err := os.ReadFile(saved(t, demo))
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"engine", "machine"} {
		before, rest, found := strings.Cut(string(html), `id="`+id+`">`)
		_, after, ended := strings.Cut(rest, "</script>")
		if !found || !ended {
			t.Fatalf("the page has no %s", id)
		}
		b := open(t, write(t, []byte(before+`id="`+id+`">H4sIAAAAAAAA/6uuBQBDv6ajAgAAAA==</script>`+after)), "")
		b.until(`document.querySelector("#notices .alert")`)
		if got := b.text("#notices"); !strings.HasPrefix(got, "No answer: ") {
			t.Errorf("with %s damaged the page says %q", id, got)
		}
		b.choose("#mode", "bake")
		if got := b.text("#notices"); !strings.HasPrefix(got, "No answer: ") {
			t.Errorf("with %s damaged, after a tap the page says %q", id, got)
		}
	}
}
