package offline_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"legtrace/circuit"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/page/browsertest"
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
	return write(t, page(t, name))
}

// pages are those that tests have saved, by machine; of every machine by no name.
var pages sync.Map

// page is a machine's page, saved once.
func page(t *testing.T, name string) []byte {
	t.Helper()
	if html, ok := pages.Load(name); ok {
		return html.([]byte)
	}
	html := anew(t, built(t), name)
	pages.Store(name, html)
	return html
}

// anew saves a machine's page with an engine.
func anew(t *testing.T, e *offline.Engine, name string) []byte {
	t.Helper()
	if name == "" {
		return whole(t, e, offline.Page{Library: library.New("")})
	}
	return whole(t, e, offline.Page{Machine: machine(t, name), File: name + ".toml", Library: library.New(""), Alone: true})
}

// wholeTool is the saved page with every machine.
func wholeTool(t *testing.T) []byte {
	t.Helper()
	return page(t, "")
}

func whole(t *testing.T, e *offline.Engine, p offline.Page) []byte {
	t.Helper()
	html, err := offline.Save(t.Context(), e, p)
	if err != nil {
		t.Fatal(err)
	}
	return html
}

var build = sync.OnceValues(func() (*offline.Engine, error) { return offline.Build(context.Background()) })

// built is the engine of the source as it stands, for all tests.
func built(t *testing.T) *offline.Engine {
	t.Helper()
	e, err := build()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func write(t *testing.T, html []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o666); err != nil {
		t.Fatal(err)
	}
	return file
}

// reads places the probes and compares the meter with the engine.
func (b *phone) reads(mode, red, black string, faults ...string) {
	b.T.Helper()
	b.Choose("#red", red)
	b.Choose("#black", black)
	if got, want := b.Text("#reading"), browsertest.Volts(b.T, machine(b.T, demo), mode, red, black, faults...); got != want {
		b.T.Errorf("in %s with %q, %s to %s reads %q, want %q", mode, faults, red, black, got, want)
	}
}

// A technician with a phone and no signal breaks the broil relay and a wire,
// probes, sets a switch by hand, and sends the link to another.
func TestSavedPageOnAPhone(t *testing.T) {
	b := open(t, saved(t, demo)+"#?door=explore", "")
	if !strings.Contains(b.Text("#loads"), "Broil element") || !eval[bool](b, `!!document.querySelector("#drawing svg")`) {
		t.Error("nothing is seen before the engine runs")
	}
	b.Choose("#mode", "broil")
	b.Choose("#pick", "part:broil_relay")
	b.Thumb("#tabs a[href='#look']")
	b.Thumb("[data-break='broil_relay.contact:open']")
	b.Until(`document.querySelector("#broken").textContent.includes("Broil relay contact open")`)
	b.Until(`document.querySelector("#drawing .fault")`)
	for _, pair := range [][2]string{{"broil_relay.com", "broil_relay.no"}, {"broil_element.1", "broil_element.2"}, {"broil_element.1", "terminal_block.N.out"}} {
		b.reads("broil", pair[0], pair[1], "broil_relay.contact:open")
	}
	b.Thumb("#look p:last-child a") // choose another
	b.Choose("#pick", "wire:w19")
	b.Thumb("[data-break='w19:open']")
	b.Until(`document.querySelectorAll("#broken li").length === 2`)
	b.reads("broil", "broil_element.1", "broil_element.2", "broil_relay.contact:open", "w19:open")
	b.reads("broil", "dlb_relay.no", "terminal_block.N.out", "broil_relay.contact:open", "w19:open")

	b.Thumb("#tabs a[href='#controls']")
	b.Until(`document.querySelector("#put-door_switch")`)
	lamp := func() string { return b.Text("#loads tr[data-load=oven_lamp]") }
	dark := lamp()
	b.Choose("#put-door_switch", "door_switch:closed")
	b.Until(`location.hash.includes("set=door_switch")`)
	if lit := lamp(); !strings.Contains(dark, "off") || !strings.Contains(lit, "normal") {
		t.Errorf("with its switch set by hand the oven lamp has %q, before %q", lit, dark)
	}
	b.Thumb("#undo")
	b.Until(`!location.hash.includes("set=")`)
	if got := lamp(); got != dark {
		t.Errorf("undone, the oven lamp has %q, before %q", got, dark)
	}
	b.Thumb("#menu > summary")
	b.Thumb("#redo")
	b.Until(`location.hash.includes("set=")`)
	b.restores()
	if sheets, _ := b.answer("/sheets", "?mode=broil"); strings.Count(sheets, `<g class="diagram">`) < 2 {
		t.Errorf("for paper the machine is cut into %.200s", sheets)
	}
	eval[bool](b, `(document.querySelector("a.skip").click(), true)`)
	if !eval[bool](b, `location.hash.includes("set=") && document.activeElement.id === "side"`) {
		t.Error("the link to the meter takes the state out of the address")
	}
	if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %d pixels wide", wide)
	}
}

// restores opens the page's link anew, as whoever got it does.
func (b *phone) restores() {
	b.T.Helper()
	link := eval[string](b, "location.href")
	shown := func() string {
		return strings.Join([]string{b.Text("#broken"), b.Text("#reading"), b.Text("#loads"), eval[string](b, `document.querySelector("#mode")?.value ?? ""`)}, "|")
	}
	before := shown()
	b.Do(chromedp.Navigate("about:blank"), chromedp.Navigate(link), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until("true")
	if got := shown(); got != before || eval[string](b, "location.href") != link {
		b.T.Errorf("the link %s restores %q, want %q", link, got, before)
	}
}

// The visit of a cold broil element, its tests made on the page's own machine.
func TestSavedPageLeadsThroughAVisit(t *testing.T) {
	file := saved(t, demo)
	b := open(t, file, "")
	b.Do(chromedp.Navigate("file://" + file + "#?door=find&mode=broil&fault=broil_relay.contact:open"))
	b.Until(`document.querySelector("#broken li")`)
	b.Thumb("[data-opening='Broil element dead']")
	before := b.chance()
	for range 2 {
		if !eval[bool](b, `!!document.querySelector("#suspects-h.found")`) {
			b.Follow(b.Thumb)
		}
	}
	if after := b.chance(); after <= before {
		t.Errorf("some tests on, the broil relay is suspected by %g %%, before by %g %%: %s", after, before, b.Text("#visit"))
	}
	seen := b.Text("#visit")
	b.restores()
	if got := b.Text("#visit"); got != seen {
		t.Errorf("the link restores %q, want %q", got, seen)
	}
}

// chance is by how many per cent the broil relay's contact is suspected, alone.
func (b *phone) chance() float64 {
	b.T.Helper()
	return eval[float64](b, `Math.max(0, ...[...document.querySelectorAll(".suspects li")].map((e) => e.textContent.replace(/\s+/g, " "))
		.filter((s) => s.includes("Broil relay contact") && !s.includes(" and ")).map((s) => parseFloat(s.match(/([\d.]+) %/)?.[1] || 0)))`)
}

// What a browser lacks is said, and the machine is seen all the same.
func TestSavedPageWhereSomethingIsMissing(t *testing.T) {
	file := saved(t, demo)
	for _, lack := range []string{"WebAssembly", "DecompressionStream"} {
		t.Run(lack, func(t *testing.T) {
			b := open(t, file, "delete globalThis."+lack)
			b.Until(`document.querySelector("#notices .alert")`)
			if got := b.Text("#notices"); !strings.Contains(got, "lacks") || !strings.Contains(got, lack) {
				t.Errorf("the page says %q", got)
			}
			b.Thumb("#to-explore")
			if got := b.Text("#notices"); !strings.Contains(got, lack) || !strings.Contains(b.Text("#loads"), "Broil element") {
				t.Errorf("after a tap the page says %q", got)
			}
		})
	}
	t.Run("scripts", func(t *testing.T) {
		b := open(t, file, "")
		if _, err := chromedp.Call(b.Ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
			t.Fatal(err)
		}
		b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("noscript p")))
		if got := b.Text("noscript"); !strings.Contains(got, "Scripts are off") {
			t.Errorf("the page says %q", got)
		}
		if !strings.Contains(b.Text("#loads"), "Broil element") || !eval[bool](b, `!!document.querySelector("#drawing svg path")`) {
			t.Error("the machine is not seen")
		}
	})
	// Where workers are refused the engine runs in the page, once.
	for how, worker := range map[string]string{
		"workers":         "throw new Error('refused');",
		"workers' script": "this.postMessage = this.terminate = () => {}; setTimeout(() => this.onerror({ preventDefault() {}, message: 'refused' }));",
	} {
		t.Run(how, func(t *testing.T) {
			b := open(t, file+"#?door=explore", `globalThis.Worker = function () { `+worker+` }; globalThis.started = 0;
				const start = WebAssembly.instantiate; WebAssembly.instantiate = (...all) => (started++, start(...all));`)
			b.Choose("#mode", "broil")
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
		b.Until(`document.querySelector("#notices .alert")`)
		if got := b.Text("#notices"); !strings.HasPrefix(got, "No answer: ") {
			t.Errorf("with %s damaged the page says %q", id, got)
		}
		b.Thumb("#to-explore")
		if got := b.Text("#notices"); !strings.HasPrefix(got, "No answer: ") {
			t.Errorf("with %s damaged, after a tap the page says %q", id, got)
		}
	}
}
