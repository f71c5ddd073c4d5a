package offline_test

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"legtrace/render/page/browsertest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Run(m)) }

type phone struct{ *browsertest.Browser }

func eval[T any](b *phone, expression string) T {
	b.T.Helper()
	return browsertest.Eval[T](b.Browser, expression)
}

// open opens a file on a phone; first runs in the page before the page's own
// scripts.
func open(t *testing.T, file, first string) *phone {
	t.Helper()
	home := "file://" + strings.FieldsFunc(file, func(r rune) bool { return r == '?' || r == '#' })[0]
	return &phone{browsertest.Open(t, browsertest.Page{Address: "file://" + file, Home: home, Width: 390, Height: 844,
		View: []chromedp.EmulateViewportOption{chromedp.EmulateMobile, chromedp.EmulateTouch}, First: first, Ready: "#drawing"})}
}
