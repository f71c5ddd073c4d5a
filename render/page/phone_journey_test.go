package page_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legtrace/cmd/library"
	"legtrace/render/page"
)

// From any door that was opened first the way back leads to the first screen.
func TestBackToTheFirstScreen(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, door := range []string{"find", "explore", "learn"} {
		b := on(t, at+"/?door="+door, 0)
		b.Press("#home")
		b.Until(`document.querySelector("#to-find")?.checkVisibility()`)
		if eval[bool](b, `[...document.querySelectorAll(".panel:not(#lobby)")].some((e) => e.checkVisibility())`) {
			t.Errorf("from %s a panel of that door is left", door)
		}
		b.Press("#to-explore")
		b.Until(`document.querySelector("#loads").checkVisibility()`)
		if got := b.Text("[data-zoom=load]"); got != "Load" {
			t.Errorf("from %s the key to the load is called %q", door, got)
		}
	}
}

// After an answer the screen reader hears the card that stands there now, and the
// card is seen from its top; while it is weighed the old keys are off.
func TestTheNewCardIsSaidAndSeen(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := on(t, at+"/?door=find&note=load~broil~broil_element~dead&note=load~bake~bake_element~normal", 0)
	b.Until(`document.querySelector("#visit > .test")`)
	title := func() string { return b.Text("#visit > .test h4") }
	for range 2 {
		before := title()
		eval[bool](b, `(document.querySelector("#side").scrollTop = 160, true)`)
		eval[bool](b, `(document.querySelector("#visit > .test .skip-it").click(), document.querySelector("#visit > .test .skip-it").click(), true)`)
		b.Until("true")
		if title() == before {
			t.Fatalf("%q stands there still", before)
		}
		if got := b.Text("#say"); !strings.HasSuffix(got, "Next test: "+title()) {
			t.Errorf("said is %q, shown %q", got, title())
		}
		if !eval[bool](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), r = document.querySelector("#visit > .test h4").getBoundingClientRect(); return r.top >= s.top && r.bottom <= s.bottom; })()`) {
			t.Error("the card's title is out of sight")
		}
	}
	if n := eval[int](b, `new URLSearchParams(location.search).getAll("note").filter((n) => n.startsWith("skip")).length`); n != 2 {
		t.Errorf("two answers left %d notes", n)
	}
	if date := eval[string](b, `new URLSearchParams(location.search).get("date") || ""`); len(date) != len("2026-05-01") {
		t.Errorf("the visit's day is %q", date)
	}
}

// What a drill with predictions asks never covers the panel, and the reading's
// key is there, off, until something was said.
func TestDrillOnASmallPhone(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := on(t, at+"/?begin=1&level=1&number=7&foretell=1", 4)
	if !eval[bool](b, `document.querySelector("#foretell button[disabled]").textContent === "Take the reading"`) {
		t.Error("the key that the help names is not there")
	}
	b.Press("#drill [data-do=prove]")
	eval[bool](b, `(document.querySelector("#side").scrollTop = 1e6, true)`)
	if left := eval[float64](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), m = document.querySelector("#meter .screen").getBoundingClientRect(); return s.bottom - Math.max(s.top, m.bottom); })()`); left < 180 {
		t.Errorf("the meter leaves %.0f pixels of the panel", left)
	}
	if wide := eval[int](b, `document.querySelector("#side").scrollWidth - document.querySelector("#side").clientWidth`); wide > 0 {
		t.Errorf("the panel is %d pixels too wide", wide)
	}
}

// A part is found by a piece of its name, in any case of letters; what is not
// there is said where it was typed.
func TestFoundByAPieceOfItsName(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := on(t, at+"/?door=explore#look", 0)
	b.Do(chromedp.SendKeys(chromedp.CSS("#jump"), "xyzzy"+kb.Enter))
	b.Until(`document.querySelector("#jump-none").textContent.includes("xyzzy")`)
	eval[bool](b, `(document.querySelector("#jump").value = "", true)`)
	b.Do(chromedp.SendKeys(chromedp.CSS("#jump"), "broil rel"))
	b.Press("#jump-form button")
	b.Until(`document.querySelector("#look-h").textContent === "Broil relay"`)
	if !eval[bool](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), r = document.querySelector("#look-h").getBoundingClientRect(); return r.top >= s.top && r.bottom <= s.bottom; })()`) {
		t.Error("what was found is not seen from its name on")
	}
	if got := b.Text("#look .terminals"); strings.Contains(got, "broil_relay") {
		t.Errorf("its terminals go by names of the file: %s", got)
	}
}

// The menu shuts by Escape and with the door that is gone through, and what was
// forgotten is brought back.
func TestMenuShutsAndForgettingIsUndone(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer&visit=abcde&note=load~heat~heater~dead", 0)
	menu := `document.querySelector("#menu").open`
	b.Press("#menu > summary")
	b.Do(chromedp.KeyEvent(kb.Escape))
	b.Until("!" + menu)
	b.Press("#menu > summary")
	b.Press("#home")
	b.Until("!" + menu)
	n := eval[int](b, `document.querySelectorAll("#kept li").length`)
	if n == 0 {
		t.Fatal("no visit is kept")
	}
	b.Press("#kept li button[aria-label^=Forget]")
	b.Until(`document.querySelector("#kept .alert button")`)
	if got := eval[int](b, `document.querySelectorAll("#kept li").length`); got != n-1 {
		t.Errorf("%d visits, %d after one was forgotten", n, got)
	}
	b.Press("#kept .alert button")
	if got := eval[int](b, `document.querySelectorAll("#kept li").length`); got != n {
		t.Errorf("%d visits after it was brought back", got)
	}
}

// The teacher's address leads to the table each time, and stands in no bar.
func TestTheTeachersAddressAgain(t *testing.T) {
	class := page.NewClass()
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	_, _, header := ask(t, http.MethodGet, at+"/?teacher="+class.Teacher, nil)
	teacher, _, _ := strings.Cut(header.Get("Set-Cookie"), ";")
	code, _, header := ask(t, http.MethodGet, at+"/?teacher="+class.Teacher, map[string]string{"Cookie": teacher})
	if code != http.StatusSeeOther || header.Get("Location") != "/class" {
		t.Errorf("opened again: status %d to %q", code, header.Get("Location"))
	}
	if header.Get("Set-Cookie") != "" {
		t.Error("a browser that is in is let in once more")
	}
}

// Where nothing that was said is a fault no test is proposed, and the sentence is
// mended where it stands.
func TestNoTestWhileNoFaultIsUnderstood(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer", 0)
	b.Do(chromedp.SendKeys(chromedp.CSS("#tell"), "no heet but it tumbles and the frobnicator clicks"))
	b.Press("#tell-add")
	b.Until(`document.querySelector(".unknown")`)
	if eval[bool](b, `!!document.querySelector("#visit .test, #visit .bar, #done-form")`) {
		t.Error("a test or a repair is proposed")
	}
	if got := b.Text("#suspects-h"); !strings.Contains(got, "nothing to test for") {
		t.Errorf("it says %q", got)
	}
	eval[bool](b, `(document.querySelector("[name=retell]").value = "no heat but it tumbles", true)`)
	b.Press(".more-said:has([name=retell]) button")
	b.Until(`document.querySelector("#visit > .test") && !document.querySelector(".unknown")`)
	if got := eval[string](b, `new URLSearchParams(location.search).getAll("note").join()`); strings.Contains(got, "frobnicator") {
		t.Errorf("what was mended is still there: %s", got)
	}
}

// A word that may be meant is offered where the sentence stands, at a tap.
func TestAWordThatMayBeMeantIsOffered(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer", 0)
	b.Do(chromedp.SendKeys(chromedp.CSS("#tell"), "no heet but it tumbles"))
	b.Press("#tell-add")
	b.Until(`document.querySelector("#perhaps-0")`)
	if got := b.Text("#perhaps-0"); !strings.Contains(got, "“heat” for “heet”") {
		t.Errorf("offered is %q", got)
	}
	b.Press("#perhaps-0")
	b.Until(`document.querySelector("#visit > .test") && !document.querySelector(".unknown")`)
	if got := eval[string](b, `new URLSearchParams(location.search).get("complaint")`); got != "no heat but it tumbles" {
		t.Errorf("the complaint is now %q", got)
	}
}

// A proof is of the machine as its check has it: dead first, with what may have made
// the fault; once power was on, that is gone.
func TestAProofBeforeAndAfterPower(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?machine=catalog:range-electronic&door=find&visit=abcde&note=say~broiler+barely+glows%2C+bake+is+fine&note=read~broil~ohms~broil_1~broil_2~~16.4&note=read~broil~ohms~fuse_line~fuse_load~~0&note=read~broil~ohms~oven_limit.1~oven_limit.2~~0&note=read~broil~ohms~broil_2~bake_2~~0&note=read~broil~ohms~broil_out~broil_1~~0&note=read~broil~amps~broil_out~broil_1~~14.1&note=read~broil~volts~relay_com~broil_out~~35&done=broil+relay+replaced", 0)
	b.Until(`document.querySelector(".checks .test")`)
	if got := b.Text(".mend"); !strings.Contains(got, "Fit a new broil relay") {
		t.Errorf("of the repair it says %q", got)
	}
	live := func() bool {
		return eval[bool](b, `!!document.querySelector("#drawing text.volts, #drawing .layer.volts *")`)
	}
	before := func() bool { return eval[bool](b, `!!document.querySelector("#visit > .cautions")`) }
	b.Until(`document.querySelector("#drawing svg")`)
	if live() || !before() {
		t.Errorf("before power: volts on the diagram %v, what may have made it %v", live(), before())
	}
	if eval[bool](b, `(() => { const [field, key] = [...document.querySelectorAll(".checks .reading [name=answer], .checks .reading .note")].map((e) => e.getBoundingClientRect()); return Math.abs(field.top - key.top) > 8; })()`) {
		t.Error("the field of a check and its key stand apart")
	}
	b.Press(".checks .reading [data-answer=OL]")
	b.Until(`document.querySelectorAll(".judged").length === 1 && document.querySelector("#drawing text.volts, #drawing .layer.volts *")`)
	b.Press(".checks [data-all]")
	b.Until(`document.querySelectorAll(".judged").length === 2`)
	if before() || !strings.Contains(b.Text("#proof-said"), "Proved") {
		t.Errorf("proved it says %q, and what may have made it %v", b.Text("#proof-said"), before())
	}
}

// A family is asked in words, and after lamps that the same machines have but once.
func TestAFamilyIsAskedInWords(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=family:range", 0)
	var asked []string
	for range 20 {
		asked = append(asked, strings.Join(eval[[]string](b, `[...document.querySelectorAll("#lobby-h, #lobby .machines a.button")].map((e) => e.innerText)`), "; "))
		if !eval[bool](b, `!!document.querySelector("#lobby .machines a.button")`) {
			break
		}
		eval[bool](b, `([...document.querySelectorAll("#lobby .machines a.button")].pop().click(), true)`)
		b.Until("true")
	}
	all := strings.Join(asked, "\n")
	for words, times := range map[string]int{"hot-surface lamp, Left rear hot-surface lamp": 1, "Left rear hot-surface lamp": 1, "120/240 V split-phase": 1, "split-phase-240": 0, "or none": 0} {
		if n := strings.Count(all, words); n != times {
			t.Errorf("%q stands %d times:\n%s", words, n, all)
		}
	}
}

// Of several readings on a card each is noted of its own two places, typed by the pad
// into the field that was gone to, whichever are left empty.
func TestEachReadingOfACardIsOfItsOwnPlaces(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer", 0)
	b.Do(chromedp.SendKeys(chromedp.CSS("#tell"), "dryer is completely dead"))
	b.Press("#tell-add")
	b.Until(`document.querySelectorAll("#visit > .test [name=along]").length === 2`)
	if !eval[bool](b, `!!document.activeElement.closest("#visit")`) {
		t.Error("whoever uses keys has lost their place when the first test comes")
	}
	of := eval[string](b, `document.querySelectorAll("#visit > .test [name=goes]")[1].value`)
	if got := b.Text("#visit > .test"); !strings.Contains(got, "Terminal block L1 to Terminal block N (good 107 to 134 V)") {
		t.Errorf("one hot to neutral is read with it, and it says %q", got)
	}
	eval[bool](b, `(document.querySelectorAll("#visit > .test [name=along]")[1].focus(), true)`)
	for _, key := range []string{"1", "1", "9"} {
		b.Press("#visit > .test [data-type='" + key + "']")
	}
	b.Press("#visit > .test .note")
	b.Until(`new URLSearchParams(location.search).getAll("note").length === 2`)
	if got := eval[string](b, `new URLSearchParams(location.search).getAll("note")[1]`); got != of+"~119" {
		t.Errorf("119 V of %s is noted as %s", of, got)
	}
}
