package page_test

import (
	"context"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"legtrace/cmd/library"
	"legtrace/render/page"
)

// A tab that is killed while an answer is being weighed, at once after the tap or
// once the address has it, loses nothing: it is there when the page is opened anew.
func TestAKilledTabLosesNothingJourney(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	for name, moment := range map[string]string{"at the tap": "true", "in the address": `new Promise((then) => {
		const look = () => (location.search.includes("OL") ? then(true) : setTimeout(look, 1)); look(); })`} {
		t.Run(name, func(t *testing.T) {
			b := on(t, at+"/?door=find&machine=catalog:range-electronic", 0)
			b.Press("[data-opening='Broil element dead']")
			b.Until(`document.querySelector("#visit > .test h4")`)
			for range 6 {
				if eval[bool](b, `!!document.querySelector("#visit > .test [data-answer='OL']")`) {
					break
				}
				b.Press("#visit > .test .skip-it")
			}
			eval[bool](b, `(document.querySelector("#visit > .test [data-answer='OL']").click(), `+moment+`)`)
			next, end := chromedp.NewContext(b.Ctx)
			defer end()
			if err := chromedp.Do(next); err != nil {
				t.Fatal(err)
			}
			killed, stop := context.WithTimeout(b.Ctx, time.Second) // the dead do not answer
			chromedp.Call(killed, cdpage.Crash, cdp.Empty{})
			stop()
			b.Ctx = next
			b.Do(chromedp.Navigate(at+"/"), chromedp.WaitReady(chromedp.CSS("html.scripted")))
			b.Press("#kept li a")
			b.Until(`document.querySelector("#suspects-h.found")?.textContent.includes("Broil element open")`)
			b.Forgive()
		})
	}
}
