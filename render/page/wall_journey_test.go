package page_test

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legtrace/render/page"
	"legtrace/render/page/browsertest"
)

// look keeps a picture of the page where LEGTRACE_SHOTS names a folder.
func look(t *testing.T, b *browser, name string) {
	t.Helper()
	dir := os.Getenv("LEGTRACE_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.Ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(dir+"/"+name+".png", png, 0o600); err != nil {
		t.Fatal(err)
	}
}

// A teacher shows a lesson on the wall: the diagram and the meter alone, and a
// pointer's keys go from one state of the machine to the next and back.
func TestALessonOnTheWall(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/?lesson=both-ends", 1280, 800)
	b.Do(chromedp.Click(chromedp.CSS("#on-wall")), chromedp.WaitReady(chromedp.CSS("html.scripted body[data-wall] #wall-next")))
	if got := b.Text(".wall-title"); !strings.Contains(got, "Both ends live and nothing across") {
		t.Errorf("the wall is titled %q", got)
	}
	if got := b.Text(".wall-points"); !strings.Contains(got, "tell a lost feed from a broken element") {
		t.Errorf("the wall begins with %q", got)
	}
	if small := eval[float64](b, `Math.min(...[...document.querySelectorAll("#drawing svg text")].filter((e) => e.checkVisibility()).map((e) => parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a))`); small < 9 {
		t.Errorf("the wall's diagram has text of %.1f pixels", small)
	}
	on := func(caption string) {
		t.Helper()
		for range 12 {
			b.Do(chromedp.KeyEvent(kb.PageDown))
			b.Until("true")
			if strings.Contains(b.Text(".wall-caption"), caption) {
				return
			}
		}
		t.Fatalf("the wall never comes to %q", caption)
	}
	on("sound")
	on("relay contact open")
	on("L2 lost")
	b.Until(`document.querySelector("#reading")?.textContent.startsWith("0 V")`)
	if got := b.Text(".wall-points"); !strings.Contains(got, "120.0 V") && !strings.Contains(got, "119") {
		t.Errorf("of a lost leg the wall says %q", got)
	}
	look(t, b, "wall")
	for _, hidden := range []string{"#top", "#learn", "#tabs", "#tools", ".cautions-first"} {
		if eval[bool](b, `document.querySelector("`+hidden+`")?.offsetParent !== null && document.querySelector("`+hidden+`").getClientRects().length > 0`) {
			t.Errorf("%s is on the wall", hidden)
		}
	}
	if size := eval[float64](b, `parseFloat(getComputedStyle(document.querySelector(".wall-caption")).fontSize)`); size < 28 {
		t.Errorf("the caption is %g pixels high", size)
	}
	if share := eval[float64](b, `document.querySelector("#drawing").getBoundingClientRect().height / innerHeight`); share < 0.4 {
		t.Errorf("the diagram has %.0f per cent of the height", 100*share)
	}
	b.Do(chromedp.KeyEvent(kb.PageUp))
	b.Until(`document.querySelector(".wall-caption").textContent.includes("relay contact open")`)
	b.Do(chromedp.Click(chromedp.CSS("#wall-away")), chromedp.WaitReady(chromedp.CSS("html.scripted body:not([data-wall]) #lesson")))
}

// A learner comes in by the code on the wall, says before each reading what a
// good one shows, and the teacher's table has it.
func TestALearnerOfAClassInTheBrowser(t *testing.T) {
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	b := &browser{browsertest.Open(t, browsertest.Page{Address: at + "/?door=learn&code=" + class.Code, Home: at + "/", Width: 390, Height: 844, Ready: "form"})}
	look(t, b, "come-in")
	b.Do(chromedp.SendKeys(chromedp.CSS("[name=name]"), "Ann"), chromedp.Click(chromedp.CSS("form button")), chromedp.WaitReady(chromedp.CSS("html.scripted #drill-begin")))
	b.Press("#tabs a[href='#drill']")
	b.Choose("#drill-kind", "sensor")
	b.Do(chromedp.SetAttributeValue(chromedp.CSS("#drill-foretell"), "checked", ""))
	b.Press("#drill-go")
	b.Until(`document.querySelector("#foretell")`)
	look(t, b, "foretell")
	b.Do(chromedp.SendKeys(chromedp.CSS("#foretell [name=of]"), "240"))
	b.Choose("#foretell [name=why]", "fed")
	b.Press("#expect")
	b.Until(`!document.querySelector("#foretell") && document.querySelector("#meter .screen").textContent.includes("reads 240 (fed)")`)
	if rows := class.Rows(); len(rows) != 1 || rows[0].Learner != "Ann" || rows[0].Moves != 1 {
		t.Errorf("the teacher's table: %+v", rows)
	}

	teacher := &browser{browsertest.Open(t, browsertest.Page{Address: at + "/?teacher=" + class.Teacher, Home: at + "/", Width: 1280, Height: 800, Ready: "#class-table th[scope=row]"})}
	look(t, teacher, "teacher")
	b.Press("#drill a[data-do='prove']")
	teacher.Until(`document.querySelector("#class-table tbody td:nth-child(6)").textContent === "2"`)
	if got := teacher.Text("#class-table tbody td"); got != class.Rows()[0].Title || got == class.Rows()[0].Machine {
		t.Errorf("the machine is called %q there", got)
	}
}
