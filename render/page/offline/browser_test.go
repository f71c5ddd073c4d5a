package offline_test

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
)

// patience is how long a page may take to do anything.
const patience = 30 * time.Second

// phone is one tab of a real browser, of a phone's size, with all that it
// complains about and asks for.
type phone struct {
	t   *testing.T
	ctx context.Context

	mu       sync.Mutex
	problems []string
	asked    []string
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

// open starts a browser and opens a file in it; first runs in the page before
// the page's own scripts. When the test ends the browser must have complained of
// nothing and asked for nothing but the file.
func open(t *testing.T, file, first string) *phone {
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
	b := &phone{t: t, ctx: ctx}
	_, logging := chromedp.Call(ctx, log.Enable, cdp.Empty{})
	_, networking := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	_, focus := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	_, script := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: first})
	if err := errors.Join(chromedp.Listen(ctx, b.heard), logging, networking, focus, script); err != nil {
		t.Fatal(err)
	}
	address := "file://" + file
	b.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch), chromedp.Navigate(address), chromedp.WaitReady(chromedp.CSS("#drawing")))
	t.Cleanup(func() { b.quiet(address) })
	return b
}

// heard keeps what the browser tells.
func (b *phone) heard(event any) {
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
	}
}

// quiet wants no complaint and no request for anything but the file and what is
// in it.
func (b *phone) quiet(address string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		b.t.Errorf("the browser complains: %s", p)
	}
	for _, url := range b.asked {
		if !strings.HasPrefix(url, address) && !strings.HasPrefix(url, "data:") && !strings.HasPrefix(url, "blob:") {
			b.t.Errorf("the page asked for %.200s", url)
		}
	}
	if len(b.asked) == 0 {
		b.t.Error("no request was heard of, so nothing was checked")
	}
}

func (b *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%v\nthe page: %.1500s", err, b.body())
	}
}

func (b *phone) body() string {
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body ? document.body.innerText : ""`))
	if err != nil {
		return err.Error()
	}
	return s
}

// eval works an expression out in the page, and waits where it is a promise.
func eval[T any](b *phone, expression string) T {
	b.t.Helper()
	ctx, stop := context.WithTimeout(b.ctx, patience)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for the page to be idle and an expression to be true.
func (b *phone) until(expression string) {
	b.t.Helper()
	whole := "document.body.dataset.busy === undefined && !!(" + expression + ")"
	deadline := time.Now().Add(patience)
	for !eval[bool](b, whole) {
		if time.Now().After(deadline) {
			b.t.Fatalf("never came: %s\nthe page: %.1500s", expression, b.body())
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// choose picks an option as a person does, by its value.
func (b *phone) choose(selector, value string) {
	b.t.Helper()
	if !eval[bool](b, fmt.Sprintf(`(() => { const s = document.querySelector(%q); if (!s) return false; s.value = %q;
		if (s.value !== %[2]q) return false; s.dispatchEvent(new Event("change", { bubbles: true })); return true; })()`, selector, value)) {
		b.t.Fatalf("%s has no option %q\nthe page: %.1500s", selector, value, b.body())
	}
	b.until("true")
}

// thumb scrolls to something and taps it.
func (b *phone) thumb(selector string) {
	b.t.Helper()
	at := eval[[]float64](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); if (!e) return [0, 0]; e.scrollIntoView({ block: "center" });
		const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, selector))
	if at[0] == 0 {
		b.t.Fatalf("no %s to tap\nthe page: %.1500s", selector, b.body())
	}
	b.do(chromedp.TapXY(at[0], at[1]))
	b.until("true")
}

func (b *phone) text(selector string) string {
	b.t.Helper()
	return eval[string](b, fmt.Sprintf(`(document.querySelector(%q) || { textContent: "" }).textContent.replace(/\s+/g, " ").trim()`, selector))
}
