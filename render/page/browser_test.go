package page_test

import (
	"net/url"
	"os"
	"testing"

	"github.com/chromedp/chromedp"

	"legtrace/render/page/browsertest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Run(m)) }

type browser struct{ *browsertest.Browser }

func eval[T any](b *browser, expression string) T {
	b.T.Helper()
	return browsertest.Eval[T](b.Browser, expression)
}

// open opens an address of a server of ours in a browser of a size.
func open(t *testing.T, address string, width, height int64, opt ...chromedp.EmulateViewportOption) *browser {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	return &browser{browsertest.Open(t, browsertest.Page{Address: address, Home: u.Scheme + "://" + u.Host + "/",
		Width: width, Height: height, View: opt, Ready: "html.scripted"})}
}
