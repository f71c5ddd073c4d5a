// Package browsertest uses a page in a real browser, for tests: [Open] opens one,
// and what the browser complains about or asks of anybody but the page's own home
// fails the test. The tests of a package share one browser, which [Run] ends; each
// page has a store and a history of its own in it, as if nobody had used it before.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"legtrace/circuit/circuittest"
)

// patience is how long a page may take to do anything: a test that hangs ends, one
// on a busy computer does not.
const patience = 5 * time.Minute

// idleLooks is after how many looks in a row at a page that does nothing and waits
// for nothing what is awaited will not come: some ten seconds, and longer on a busy
// computer, as each look is answered by the browser.
const idleLooks = 500

// Browser is one tab of a real browser, with all that it complains about and
// asks for.
type Browser struct {
	T   *testing.T
	Ctx context.Context

	mu       sync.Mutex
	problems []string
	asked    []string
	waits    map[network.RequestID]bool // requests without an answer as yet
}

// shared is the browser of all tests of a package, once one has been opened.
var shared struct {
	sync.Mutex
	ctx  context.Context
	stop func()
}

// Run runs the tests of a package and ends their browser.
func Run(m *testing.M) int {
	code := m.Run()
	shared.Lock()
	defer shared.Unlock()
	if shared.stop != nil {
		shared.stop()
	}
	return code
}

// start starts the browser, unless it runs.
func start(t *testing.T) context.Context {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	if shared.ctx != nil {
		return shared.ctx
	}
	flags := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun)
	for _, f := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync"} {
		flags = append(flags, chromedp.Flag(f, true))
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(), flags...)
	ctx, end := chromedp.NewContext(alloc)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	shared.ctx, shared.stop = ctx, func() { end(); stop() }
	return ctx
}

// Page says what is opened, and how.
type Page struct {
	Address string
	// Home is what the address of everything asked for begins with.
	Home string
	// Width and Height are of the screen in pixels; View is of a phone, say.
	Width, Height int64
	View          []chromedp.EmulateViewportOption
	// First runs in the page before its own scripts.
	First string
	// Ready is a selector of what is there once the page can be used.
	Ready string
}

// chromium finds the browser. Where CI=true it has to be there. Its shell without
// windows shows pages by the same code at half the work, so that the nightly run
// alone prefers the whole browser.
func chromium(t *testing.T) string {
	t.Helper()
	const shell = "chromium-headless-shell"
	names := []string{"chromium", "chromium-browser", "google-chrome", shell}
	if !circuittest.Nightly {
		names = append([]string{shell}, names...)
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatal("no chromium found, and CI=true says that it has to be there")
	}
	t.Skip("no chromium found: the page is not tried in a browser")
	return ""
}

// Open opens a page. When the test ends the browser
// must have complained of nothing and asked for nothing but what is home's.
func Open(t *testing.T, p Page) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	ctx, closeTab := chromedp.NewContext(start(t), chromedp.WithNewBrowserContext())
	t.Cleanup(closeTab)
	b := &Browser{T: t, Ctx: ctx, waits: map[network.RequestID]bool{}}
	_, logging := chromedp.Call(ctx, log.Enable, cdp.Empty{})
	_, networking := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	_, focus := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	_, script := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: p.First})
	if err := errors.Join(chromedp.Listen(ctx, b.heard), logging, networking, focus, script); err != nil {
		t.Fatal(err)
	}
	b.Do(chromedp.EmulateViewport(p.Width, p.Height, p.View...), chromedp.Navigate(p.Address), chromedp.WaitReady(chromedp.CSS(p.Ready)))
	t.Cleanup(func() { b.quiet(p.Home) })
	return b
}

// heard keeps what the browser tells.
func (b *Browser) heard(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		b.problems = append(b.problems, text)
	case *runtime.EventConsoleAPICalled:
		b.problems = append(b.problems, fmt.Sprint("console: ", e.Type))
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			b.problems = append(b.problems, e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		b.asked = append(b.asked, e.Request.URL)
		if strings.HasPrefix(e.Request.URL, "http") && e.Type != network.ResourceTypeEventSource {
			b.waits[e.RequestID] = true
		}
	case *network.EventLoadingFinished:
		delete(b.waits, e.RequestID)
	case *network.EventLoadingFailed:
		delete(b.waits, e.RequestID)
	}
}

// quiet wants no complaint, and no request for anything but home's and what is
// in the page itself.
func (b *Browser) quiet(home string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		b.T.Errorf("the browser complains: %s", p)
	}
	for _, url := range b.asked {
		if !strings.HasPrefix(url, home) && !strings.HasPrefix(url, "data:") && !strings.HasPrefix(url, "blob:") && url != "about:blank" {
			b.T.Errorf("the page asked for %.200s", url)
		}
	}
	if len(b.asked) == 0 {
		b.T.Error("no request was heard of, so nothing was checked")
	}
}

// Forgive drops what the browser complained of so far.
func (b *Browser) Forgive() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.problems = nil
}

// Do takes steps, each as long as the page's patience lasts.
func (b *Browser) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	ctx, stop := context.WithTimeout(b.Ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.T.Fatalf("%v\nthe page: %.1500s", err, b.Body())
	}
}

// Go takes steps that may be taken again: a browser asked for page after page loses
// the end of a navigation now and then.
func (b *Browser) Go(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	for range 3 {
		ctx, stop := context.WithTimeout(b.Ctx, patience/20)
		err := chromedp.Do(ctx, steps...)
		stop()
		if err == nil {
			return
		}
	}
	b.Do(steps...)
}

// Body is all the text on the page.
func (b *Browser) Body() string {
	ctx, stop := context.WithTimeout(b.Ctx, patience)
	defer stop()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body ? document.body.innerText : ""`))
	if err != nil {
		return err.Error()
	}
	return s
}

// Eval works an expression out in the page, and waits where it is a promise.
func Eval[T any](b *Browser, expression string) T {
	b.T.Helper()
	ctx, stop := context.WithTimeout(b.Ctx, patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.T.Fatalf("%s: %v", expression, err)
	}
	return v
}

// Until waits for the page to be idle and an expression to be true. Where the page
// stays idle and has asked for nothing that is still to come, it waits no longer.
func (b *Browser) Until(expression string) {
	b.T.Helper()
	whole := "(async () => document.body.dataset.busy !== undefined ? 'busy' : await (" + expression + ") ? 'so' : 'idle')()"
	begun := time.Now()
	for looks := 0; ; looks++ {
		switch is := Eval[string](b, whole); {
		case is == "so":
			return
		case is == "busy" || b.asking():
			looks = 0
		}
		if looks > idleLooks || time.Since(begun) > patience {
			b.T.Fatalf("never came: %s\nthe page: %.1500s", expression, b.Body())
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// asking tells whether the page waits for an answer.
func (b *Browser) asking() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.waits) > 0
}

// seen waits for something to be there and to be seen.
func (b *Browser) seen(selector string) {
	b.T.Helper()
	b.Until(fmt.Sprintf("document.querySelector(%q)?.checkVisibility()", selector))
}

// Choose picks an option as a person does, by its value.
func (b *Browser) Choose(selector, value string) {
	b.T.Helper()
	if !Eval[bool](b, fmt.Sprintf(`(() => { const s = document.querySelector(%q); if (!s) return false; s.value = %q;
		if (s.value !== %[2]q) return false; s.dispatchEvent(new Event("change", { bubbles: true })); return true; })()`, selector, value)) {
		b.T.Fatalf("%s has no option %q\nthe page: %.1500s", selector, value, b.Body())
	}
	b.Until("true")
}

// Press clicks what can be seen.
func (b *Browser) Press(selector string) {
	b.T.Helper()
	b.seen(selector)
	b.Do(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
	b.Until("true")
}

// Spot is where something is on the screen.
func (b *Browser) Spot(selector string) (x, y float64) {
	b.T.Helper()
	at := Eval[[]float64](b, fmt.Sprintf(`(() => { const r = document.querySelector(%q).getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, selector))
	return at[0], at[1]
}

// Mouse clicks on a piece of the drawing.
func (b *Browser) Mouse(selector string) {
	b.T.Helper()
	x, y := b.Spot(selector)
	b.Do(chromedp.MouseClickXY(x, y))
	b.Until("true")
}

// Thumb scrolls to something and taps it.
func (b *Browser) Thumb(selector string) {
	b.T.Helper()
	if !Eval[bool](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); if (!e) return false; e.scrollIntoView({ block: "center" }); return true; })()`, selector)) {
		b.T.Fatalf("no %s to tap\nthe page: %.1500s", selector, b.Body())
	}
	b.Finger(selector)
}

// Finger taps on a piece of the drawing.
func (b *Browser) Finger(selector string) {
	b.T.Helper()
	x, y := b.Spot(selector)
	b.Do(chromedp.TapXY(x, y))
	b.Until("true")
}

// Text is what something says.
func (b *Browser) Text(selector string) string {
	b.T.Helper()
	return Eval[string](b, fmt.Sprintf(`(document.querySelector(%q) || { textContent: "" }).textContent.replace(/\s+/g, " ").trim()`, selector))
}

// Named wants everything that can be worked to have a name for a screen reader.
func (b *Browser) Named() {
	b.T.Helper()
	unnamed := Eval[[]string](b, `[...document.querySelectorAll("a, button, select, textarea, input:not([type=hidden])")].filter((e) =>
		!(e.getAttribute("aria-label") || e.textContent.trim() || (e.labels && e.labels.length && e.labels[0].textContent.trim()))).map((e) => e.outerHTML.slice(0, 120))`)
	if len(unnamed) > 0 {
		b.T.Errorf("without a name for a screen reader: %q", unnamed)
	}
}

// Follow makes the next test of a visit on the page's own machine and notes what
// came out. Press is how a person here presses.
func (b *Browser) Follow(press func(selector string)) {
	b.T.Helper()
	noted := Eval[int](b, `document.querySelectorAll(".noted li").length`)
	if !Eval[bool](b, `!!document.querySelector(".test")`) {
		b.T.Fatalf("no test is proposed: %s", b.Text("#visit"))
	}
	trial := Eval[bool](b, `document.querySelector(".test").dataset.trial === "true"`)
	if !Eval[bool](b, `!!document.querySelector(".test").querySelector(".try")`) {
		// The page has a meter, and no ears for what a move asks.
		press(".test .skip-it")
		b.Until(fmt.Sprintf("document.querySelectorAll('.noted li').length > %d", noted))
		return
	}
	press(".test .try")
	const state = `const state = (ref) => { const s = document.querySelector("#loads tr[data-load='" + ref + "']").dataset.state; return { off: "dead" }[s] || s; };`
	b.Until("true")
	switch {
	case !trial:
		press(".test .take")
	case Eval[bool](b, `!!document.querySelector(".test .look[data-of]")`):
		is := Eval[string](b, `(() => { `+state+` return state(document.querySelector(".test .look[data-of]").dataset.of); })()`)
		press(fmt.Sprintf(".test .look [data-state='%s']", is))
	default:
		if Eval[int](b, `(() => { `+state+` let n = 0; for (const s of document.querySelector(".test").querySelectorAll("select[data-of]")) {
			s.value = s.dataset.of + ":" + state(s.dataset.of); n++;
		} return n; })()`) == 0 {
			b.T.Fatal("a trial with nothing to look at")
		}
		press(".test .look .note")
	}
	b.Until(fmt.Sprintf("document.querySelectorAll('.noted li').length > %d", noted))
}
