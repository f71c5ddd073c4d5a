package page_test

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// patience is how long a page may take to do anything.
const patience = 15 * time.Second

// browser is one tab of a real browser, with all that it complains about and
// asks for.
type browser struct {
	t   *testing.T
	ctx context.Context

	mu       sync.Mutex
	problems []string
	asked    map[string]bool // schemes and hosts
}

// chromium finds the browser. Where CI=true it has to be there.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
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

// open starts a browser of a size and opens an address in it. When the test
// ends the browser must have complained of nothing and asked nobody but home.
func open(t *testing.T, address string, width, height int64, opt ...chromedp.EmulateViewportOption) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	flags := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()))
	for _, f := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync"} {
		flags = append(flags, chromedp.Flag(f, true))
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(), flags...)
	t.Cleanup(stop)
	ctx, closeTab := chromedp.NewContext(alloc)
	t.Cleanup(closeTab)
	b := &browser{t: t, ctx: ctx, asked: map[string]bool{}}
	_, logging := chromedp.Call(ctx, log.Enable, cdp.Empty{})
	_, networking := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	_, focus := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	if err := errors.Join(chromedp.Listen(ctx, b.heard), logging, networking, focus); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(width, height, opt...), chromedp.Navigate(address), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	t.Cleanup(func() { b.quiet(address) })
	return b
}

// heard keeps what the browser tells.
func (b *browser) heard(event any) {
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
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			b.problems = append(b.problems, fmt.Sprint("console: ", e.Type))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			b.problems = append(b.problems, e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		if u, err := url.Parse(e.Request.URL); err == nil && u.Scheme != "data" && u.Scheme != "blob" {
			b.asked[u.Scheme+"://"+u.Host] = true
		}
	}
}

// quiet wants no complaint and no request to any other host.
func (b *browser) quiet(address string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		b.t.Errorf("the browser complains: %s", p)
	}
	u, err := url.Parse(address)
	if err != nil {
		b.t.Fatal(err)
	}
	for host := range b.asked {
		if host != u.Scheme+"://"+u.Host {
			b.t.Errorf("the page asked %s", host)
		}
	}
	if len(b.asked) == 0 {
		b.t.Error("no request was heard of, so nothing was checked")
	}
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%v\nthe page: %.1500s", err, b.body())
	}
}

func (b *browser) body() string {
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body ? document.body.innerText : ""`))
	if err != nil {
		return err.Error()
	}
	return s
}

// eval works an expression out in the page.
func eval[T any](b *browser, expression string) T {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for the page to be idle and an expression to be true.
func (b *browser) until(expression string) {
	b.t.Helper()
	whole := "document.body.dataset.busy === undefined && !!(" + expression + ")"
	deadline := time.Now().Add(patience)
	for !eval[bool](b, whole) {
		if time.Now().After(deadline) {
			b.t.Fatalf("never came: %s\nthe page: %.1500s", expression, b.body())
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// choose picks an option as a person does, by its value.
func (b *browser) choose(selector, value string) {
	b.t.Helper()
	if !eval[bool](b, fmt.Sprintf(`(() => { const s = document.querySelector(%q); if (!s) return false; s.value = %q;
		if (s.value !== %[2]q) return false; s.dispatchEvent(new Event("change", { bubbles: true })); return true; })()`, selector, value)) {
		b.t.Fatalf("%s has no option %q", selector, value)
	}
	b.until("true")
}

// press clicks what can be seen.
func (b *browser) press(selector string) {
	b.t.Helper()
	b.do(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
	b.until("true")
}

// spot is where something is on the screen.
func (b *browser) spot(selector string) (x, y float64) {
	b.t.Helper()
	at := eval[[]float64](b, fmt.Sprintf(`(() => { const r = document.querySelector(%q).getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, selector))
	return at[0], at[1]
}

// mouse clicks on a piece of the drawing.
func (b *browser) mouse(selector string) {
	b.t.Helper()
	x, y := b.spot(selector)
	b.do(chromedp.MouseClickXY(x, y))
	b.until("true")
}

// thumb scrolls to something and taps it.
func (b *browser) thumb(selector string) {
	b.t.Helper()
	eval[bool](b, fmt.Sprintf(`(() => { document.querySelector(%q).scrollIntoView({ block: "center" }); return true; })()`, selector))
	b.finger(selector)
}

// finger taps on a piece of the drawing.
func (b *browser) finger(selector string) {
	b.t.Helper()
	x, y := b.spot(selector)
	b.do(chromedp.TapXY(x, y))
	b.until("true")
}

func (b *browser) text(selector string) string {
	b.t.Helper()
	return eval[string](b, fmt.Sprintf(`(document.querySelector(%q) || { textContent: "" }).textContent.replace(/\s+/g, " ").trim()`, selector))
}

// named wants everything that can be worked to have a name for a screen reader.
func (b *browser) named() {
	b.t.Helper()
	unnamed := eval[[]string](b, `[...document.querySelectorAll("a, button, select, textarea, input:not([type=hidden])")].filter((e) =>
		!(e.getAttribute("aria-label") || e.textContent.trim() || (e.labels && e.labels.length && e.labels[0].textContent.trim()))).map((e) => e.outerHTML.slice(0, 120))`)
	if len(unnamed) > 0 {
		b.t.Errorf("without a name for a screen reader: %q", unnamed)
	}
}
