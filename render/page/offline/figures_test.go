package offline_test

import (
	"fmt"
	"html"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/systeminfo"
	"github.com/chromedp/chromedp"

	"legtrace/circuit/circuittest"
)

// mostBytes is what a saved page may have, of all machines or of one: that has its
// diagram, for who has scripts off, and is the larger.
const mostBytes = 5000 << 10

// mostMegabytes is what a tab with a saved page may have in memory of its own where one
// visit was led, and mostOfThree where three were opened. One that nobody watches has
// some twenty fewer.
const mostMegabytes, mostOfThree = 148, 160

// Size, start, answers and memory, on the demo and on the largest machine of
// the catalog. Times are told, size and memory held.
func TestFigures(t *testing.T) {
	if !circuittest.Nightly {
		t.Skip("measures; the size of the whole tool is held elsewhere")
	}
	for _, name := range []string{demo, "range-slide-in-3wire"} {
		t.Run(name, func(t *testing.T) {
			file := saved(t, name)
			info, err := os.Stat(file)
			if err != nil {
				t.Fatal(err)
			}
			if info.Size() > mostBytes {
				t.Errorf("the saved page has %d bytes, at most %d are wanted", info.Size(), mostBytes)
			}
			b := open(t, file+"#?mode=bake", "")
			b.answer("/bench", "?mode=bake")
			const seen = `performance.getEntriesByName("first-contentful-paint")[0].startTime`
			t.Logf("%.1f MB; seen after %.0f ms, first answer after %.0f ms from opening", float64(info.Size())/1e6, eval[float64](b, seen), eval[float64](b, "performance.now()"))
			b.Until("true")
			for _, a := range [][]string{
				{"/bench", "?fault=w01:open", "?fault=w02:open", "?fault=w03:open"},
				{"/drawing", "?fault=w01:open", "?fault=w02:open", "?fault=w03:open"},
				{"/breaks", "?mode=bake&load=bake_element", "?mode=broil&load=broil_element", "?mode=lf_surface&load=lf_element"},
				{"/visit", "?note=load~bake~bake_element~dead", "?note=load~bake~bake_element~weak", "?note=load~broil~broil_element~dead"},
			} {
				var took []string
				for _, query := range a[1:] {
					took = append(took, fmt.Sprintf("%.0f", eval[float64](b, fmt.Sprintf("(async () => { const began = performance.now(); await Home.ask(%q, %q); return performance.now() - began; })()", a[0], query))))
				}
				t.Logf("%-9s in %s ms", a[0], strings.Join(took, ", "))
			}
			// What the browser keeps for who watches it is not the page's.
			if _, err := chromedp.Call(b.Ctx, network.Disable, cdp.Empty{}); err != nil {
				t.Fatal(err)
			}
			if n := b.megabytes(); n > mostOfThree {
				t.Errorf("the tab has %d MB of memory of its own, at most %d are wanted", n, mostOfThree)
			} else {
				t.Logf("the tab has %d MB of memory of its own", n)
			}
		})
	}
}

// mostMillis is what may be taken of the processor, in milliseconds, of answers the
// largest of a few. They were measured with two cores shared by twenty programs, and
// go down only.
var mostMillis = map[string]int{"first answer": 4400, "tap": 130, "complaint": 5600, "answer": 2000}

// A machine is chosen, a wire broken, and a visit led from the complaint through
// three answers: what each takes of the processor, and the tab in memory, in the file
// with all machines.
func TestFiguresOfAVisit(t *testing.T) {
	if !circuittest.Nightly {
		t.Skip("measures")
	}
	const machine = "?machine=catalog:" + demo
	b := open(t, write(t, wholeTool(t)), "")
	took := map[string]int{}
	last := 0
	lap := func(what string) {
		t.Helper()
		now := b.millis()
		took[what] = max(took[what], now-last)
		t.Logf("%-12s %5d ms of the processor, the tab has %d MB", what, now-last, b.megabytes())
		last = now
	}
	b.answer("/bench", machine+"&door=explore")
	lap("first answer")
	b.answer("/drawing", machine+"&door=explore")
	lap("drawing")
	for _, fault := range []string{"w01:open", "w02:open", "w03:open", "w04:open", "w05:open"} {
		b.answer("/bench", machine+"&door=explore&mode=bake&fault="+fault)
		lap("bench " + fault)
	}
	took["tap"] = took["bench w05:open"]
	b.answer("/bench", machine+"&door=find")
	b.answer("/ready", machine+"&door=find")
	lap("made ready")
	_, state := b.answer("/bench", machine+"&door=find&tell=broiler+barely+glows,+bake+is+fine")
	for i := range 4 {
		card, _ := b.answer("/visit", state)
		lap([]string{"complaint", "answer"}[min(i, 1)])
		b.answer("/drawing", state)
		if lap("drawing"); i == 3 {
			break
		}
		key := regexp.MustCompile(`data-answer="[^"]*" href="/([^"]*)"`).FindStringSubmatch(card)
		if key == nil {
			t.Fatalf("no test to answer: %s", card)
		}
		_, state = b.answer("/bench", html.UnescapeString(key[1]))
	}
	for what, most := range mostMillis {
		if took[what] == 0 || took[what] > most {
			t.Errorf("%s took %d ms of the processor, at most %d are wanted", what, took[what], most)
		}
	}
	if n := b.megabytes(); n > mostMegabytes {
		t.Errorf("the tab has %d MB of memory of its own, at most %d are wanted", n, mostMegabytes)
	}
}

// millis is what the browser's page processes have taken of the processor.
func (b *phone) millis() int {
	b.T.Helper()
	list, err := chromedp.CallBrowser(b.Ctx, systeminfo.GetProcessInfo, cdp.Empty{})
	if err != nil {
		b.T.Fatal(err)
	}
	seconds := 0.0
	for _, p := range list.ProcessInfo {
		if p.Type == "renderer" {
			seconds += p.CPUTime
		}
	}
	return int(1000 * seconds)
}

// megabytes is what the browser's largest page process has in memory of its
// own.
func (b *phone) megabytes() int {
	b.T.Helper()
	list, err := chromedp.CallBrowser(b.Ctx, systeminfo.GetProcessInfo, cdp.Empty{})
	if err != nil {
		b.T.Fatal(err)
	}
	most := 0
	for _, p := range list.ProcessInfo {
		status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.ID))
		if p.Type != "renderer" || err != nil {
			continue
		}
		for line := range strings.Lines(string(status)) {
			var kilobytes int
			if n, _ := fmt.Sscanf(line, "RssAnon: %d kB", &kilobytes); n == 1 {
				most = max(most, kilobytes>>10)
			}
		}
	}
	return most
}
