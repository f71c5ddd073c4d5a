package page_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legtrace/circuit/drill"
	"legtrace/netlists"
	"legtrace/render/lessons"
	"legtrace/render/page"
	"legtrace/render/page/desk"
	"legtrace/render/report"
)

// move presses a button that makes a move of a drill, and waits for its step.
func (b *browser) move(line string) {
	b.T.Helper()
	steps := eval[int](b, `document.querySelectorAll(".steps > li").length`)
	button := fmt.Sprintf("#drill:not([hidden]) [data-do='%s'], #meter [data-do='%[1]s'], #look:not([hidden]) [data-do='%[1]s']", line)
	if !eval[bool](b, fmt.Sprintf("!!document.querySelector(%q)", button)) {
		b.T.Fatalf("no button makes the move %q: %s", line, eval[[]string](b, `[...document.querySelectorAll("[data-do]")].map((e) => e.dataset.do)`))
	}
	b.Press(button)
	b.Until(fmt.Sprintf(`document.querySelectorAll(".steps > li").length === %d`, steps+1))
}

// A learner begins a drill, is stopped at an unsafe act, reads what the engine
// has the meter read, names the part and sees the score; the link restores it.
func TestDrillWithAMouse(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/?door=learn&mode=bake&fault=w12:open#drill", 1280, 900)
	const number = 17
	c, d := hiddenFault(t, drill.Journeyman, number)
	b.Choose("#drill-level", "2")
	b.Do(chromedp.SendKeys(chromedp.CSS("#drill-number"), fmt.Sprint(number)))
	b.Press("#drill-go")
	b.Until(`location.search.includes("drill=2.1.17.0") && !location.search.includes("fault=") && document.querySelector("#drill blockquote")`)
	if got := b.Text("#drill blockquote"); got != strings.Join(d.Complaint().Said, "") {
		t.Errorf("the customer says %q, want %q", got, d.Complaint().Said)
	}
	if eval[bool](b, `[...document.querySelectorAll("#tabs a")].some((a) => ["#loads", "#visit", "#breaks", "#standing"].includes(a.hash)) || !!document.querySelector("#drawing .fault, #drawing text.volts")`) {
		t.Error("the page shows more than a learner may see")
	}
	b.Choose("#mode", "broil")
	b.move("try broil")
	b.Choose("[name=meter][value=ohms]", "ohms")
	eval[bool](b, `(() => { document.querySelector("[name=meter][value=ohms]").click(); return true; })()`)
	b.Until(`document.querySelector("#meter").dataset.function === "ohms"`)
	b.Press("[data-zoom=load]")
	b.Choose("#red", "thermal_fuse.1")
	b.Choose("#black", "thermal_fuse.2")
	moves := []string{"try broil", "ohms fuse_line fuse_load", "off", "prove", "dead", "ohms fuse_line fuse_load", "name " + hiddenPart(t, c, d)}
	b.move(moves[1])
	stopped := played(t, c, d, moves[:2]...).Steps()[1]
	alert := `document.querySelector(".screen [role=alert]")`
	if got := eval[string](b, alert+` ? `+alert+`.textContent : ""`); got != strings.Join(stopped.Said, " ") || stopped.Unsafe == nil {
		t.Errorf("the unsafe act is told by %q, want %q", got, stopped.Said)
	}
	b.Choose("#red", "thermal_fuse.2") // the alert is old by then, and not read out again
	if eval[bool](b, `!!document.querySelector(".screen [role=alert]") || !document.querySelector(".screen .stopped")`) {
		t.Error("the alert is told once more for a probe that was moved")
	}
	b.Choose("#red", "thermal_fuse.1")
	b.Press("#supply-off")
	b.Until(`document.querySelectorAll(".steps > li").length === 3 && document.querySelector("#supply-off").getAttribute("aria-current") === "true"`)
	b.move("prove")
	b.move("dead")
	b.move(moves[5])
	so := played(t, c, d, moves[:6]...)
	if got, want := b.Text("#reading"), strings.Join(so.Steps()[5].Said, " "); got != want {
		t.Errorf("the meter reads %q, want %q", got, want)
	}
	if got := b.Text("#drill-bar"); !strings.HasPrefix(got, minutes(so.Minutes())+" min") {
		t.Errorf("%q after %v minutes", got, so.Minutes())
	}
	b.Choose("#name-of", hiddenPart(t, c, d))
	b.Press("#name-it")
	b.Until(`document.querySelector("#debrief caption")`)
	sum, err := report.New(c).Drill(t.Context(), played(t, c, d, moves...))
	if err != nil {
		t.Fatal(err)
	}
	score := b.Text("#debrief caption")
	if score != fmt.Sprintf("%d points", sum.Points) || sum.End != string(drill.Found) {
		t.Errorf("scored %q, the engine has %d and says %s", score, sum.Points, sum.End)
	}
	b.Until(`document.querySelector("#drawing .fault")`)
	before, told := eval[string](b, "location.href"), b.Text("#drill")
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until("true")
	if got := b.Text("#drill"); got != told || eval[string](b, "location.href") != before {
		t.Errorf("the link restores %q, want %q", got, told)
	}
	b.Press("#another")
	b.Until(`location.search.includes("drill=2.1.18.0") && document.querySelectorAll(".steps > li").length === 0 && !document.querySelector("#drawing .fault")`)
	b.Press("#leave")
	b.Until(`!location.search.includes("drill=") && !document.querySelector("#tabs a[href='#look']")`)
	b.Press("#drill-go") // no number: one is drawn
	b.Until(`/drill=1\.1\.[1-9]\d{0,3}\.0/.test(location.search)`)
	b.Press("#undo")
	b.Until(`!location.search.includes("drill=")`)
}

// On a phone, by thumb and with leads: nothing is wider than the screen, and the
// button that takes the reading is in sight.
func TestDrillOnAPhone(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/?"+drillQuery(drill.Apprentice, 3, "off", "prove", "dead")+"&mode=broil&meter=ohms", 390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch)
	b.Press("#hand-look")
	b.Press("[data-zoom=load]")
	b.Choose("#load", "broil_element")
	b.Until(`document.querySelector("#drawing .part.interest[id='part-broil_element']")`)
	b.Press("[data-zoom=load]")
	b.Finger("#part-broil_element [data-box]")
	b.Until(`document.querySelector("#look:not([hidden]) h2").textContent === "Broil element"`)
	b.move("lift broil_1")
	b.Until(`document.querySelector("#look [data-do='refit broil_1']")`)
	b.Press("#hand-red")
	b.Thumb("[data-terminal='broil_element.1']")
	b.Press("#hand-black")
	b.Finger("[data-terminal='broil_element.2']")
	b.Until(`document.querySelector("#take")`)
	if !eval[bool](b, `(() => { const r = document.querySelector("#take").getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight && r.height >= 40; })()`) {
		t.Error("the button that takes the reading is out of sight, or too small")
	}
	b.Press("#take")
	c, d := hiddenFault(t, drill.Apprentice, 3)
	b.Until(`document.querySelector("#reading")`)
	want := played(t, c, d, "off", "prove", "dead", "lift broil_1", "ohms broil_1 broil_2 in broil").Steps()[4]
	if got := b.Text("#reading"); got != strings.Join(want.Said, " ") {
		t.Errorf("the meter reads %q, want %q", got, want.Said)
	}
	for _, panel := range []string{"drill", "look", "learn"} {
		b.Press("#tabs a[href='#" + panel + "']")
		if wide := eval[int](b, "document.scrollingElement.scrollWidth"); wide > 390 {
			t.Errorf("with %s open the page is %d pixels wide", panel, wide)
		}
	}
}

func TestLessonInTheBrowser(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{})
	b := open(t, at+"/?door=learn&mode=broil", 1280, 900)
	c, err := netlists.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	l, err := lessons.New(c, nil).Lesson(2)
	if err != nil {
		t.Fatal(err)
	}
	b.Press("#tabs a[href='#learn']")
	if got := eval[int](b, `document.querySelectorAll("#learn .lessons li").length`); got != len(lessons.List()) {
		t.Errorf("%d lessons are listed", got)
	}
	b.Do(chromedp.Focus(chromedp.CSS("#learn .lessons li:nth-child(2) a")), chromedp.KeyEvent(kb.Enter))
	b.Until(`document.querySelector("#lesson h3") && location.search.includes("lesson=both-ends")`)
	if got := b.Text("#lesson h3"); got != "2. "+l.Title {
		t.Errorf("the lesson is %q", got)
	}
	for _, part := range l.Parts {
		for _, step := range part.Steps {
			for _, row := range step.Rows {
				cells := strings.ReplaceAll(strings.Join(row.Cells, ""), " ", "")
				if !eval[bool](b, fmt.Sprintf(`[...document.querySelectorAll("#lesson tr")].some((r) => r.textContent.replace(/\s+/g, "") === %q)`, cells)) {
					t.Errorf("no row of a table on the page says %q", row.Cells)
				}
			}
		}
	}
	if !eval[bool](b, `document.querySelector("#lesson figure img").complete && document.querySelector("#lesson figure img").naturalWidth > 100`) {
		t.Error("the small circuit is not drawn")
	}

	// A line of the table on the machine is shown: its fault in the drawing, the
	// probes across the element, and the lesson still open.
	b.Press(`#lesson .part:last-of-type tr:nth-child(3) th a`)
	b.Until(`location.search.includes("fault=supply.L2%3Aopen") && location.search.includes("lesson=both-ends")`)
	if got := b.Text("#reading"); !strings.HasPrefix(got, "0 V") {
		t.Errorf("across the element with L2 lost the page reads %q", got)
	}
	b.Press(`#lesson .question summary`)
	b.Until(`document.querySelector("#lesson .question details").open`)

	// A sentence is shown too, of the small circuit on the small circuit, and the
	// answer that it is of stays open.
	eval[bool](b, `(document.querySelector("#lesson .question .says:nth-child(2)").click(), true)`)
	b.Until(`location.search.includes("circuit=small") && document.querySelector("#drawing #part-indicator") && document.querySelectorAll("#overlay .spot").length > 2`)
	if !eval[bool](b, `document.querySelector("#lesson .question details").open && document.querySelectorAll("#lesson .says[aria-current=true]").length === 1`) {
		t.Error("the answer was shut, or more than one sentence is shown")
	}
	if got := b.Text("#say"); got != "Shown on the diagram." {
		t.Errorf("of a sentence that is shown it says %q", got)
	}
	b.Press("#undo")
	b.Until(`!location.search.includes("circuit=small") && !document.querySelector("#drawing #part-indicator")`)
	b.Press("#undo")
	b.Until(`!location.search.includes("fault=")`)
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Until(`document.querySelector("#learn:not([hidden]) #lesson")`)
	b.Press("#undo")
	b.Until(`!document.querySelector("#lesson") && !location.search.includes("lesson=")`)
}

// A visit is mended, proved, and printed by itself with its drawing; its file is the
// one that the commands read.
func TestReportInTheBrowser(t *testing.T) {
	file := demo(t)
	at := serve(t, fileSource(file), page.Options{Library: desk.Library{VisitFile: visitFile}})
	b := open(t, at+"/?"+visitAddress("", nil, "load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~ohms~broil_1~broil_2~broil_1~OL")+"&mode=broil", 1280, 900)
	b.Until(`document.querySelectorAll("#drawing [fill^='url(#hatch']").length > 0`)
	b.Do(chromedp.SendKeys(chromedp.CSS("#done"), "element replaced"+kb.Enter))
	b.Until(`document.querySelectorAll(".check").length > 0`)
	hidden := func(what string) (all bool) {
		for _, media := range []string{"print", ""} {
			if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media}); err != nil {
				t.Fatal(err)
			}
			if media != "" {
				all = eval[bool](b, fmt.Sprintf(`[...document.querySelectorAll(%q)].every((e) => getComputedStyle(e).display === "none")`, what))
			}
		}
		return all
	}
	if hidden(".check .test") {
		t.Error("a check that is left to do is not printed")
	}
	for range 10 {
		if eval[int](b, `document.querySelectorAll(".check form").length`) == 0 {
			break
		}
		left := eval[int](b, `document.querySelectorAll(".check form").length`)
		if !eval[bool](b, `document.querySelector(".check .test").dataset.trial === "true"`) {
			t.Fatal("this machine's proof has a reading, which the test does not answer")
		}
		b.Press(".check form .note")
		if got := eval[int](b, `document.querySelectorAll(".check form").length`); got != left {
			t.Error("a check is noted though nobody said what was seen")
		}
		eval[bool](b, `(() => { for (const s of document.querySelectorAll(".check:has(form) select[required]")) s.value = s.dataset.of + ":normal"; return true; })()`)
		b.Press(".check form .note")
		b.Until(fmt.Sprintf(`document.querySelectorAll(".check form").length === %d`, left-1))
	}
	if got := b.Text("#proof-said"); !strings.HasPrefix(got, "Proved") {
		t.Errorf("the proof says %q", got)
	}
	b.Press("#written > summary")
	eval[bool](b, `(() => { window.print = () => { window.printed = document.documentElement.dataset.print; }; return true; })()`)
	b.Press("#print-report")
	if got := eval[string](b, "window.printed || ''"); got != "report" {
		t.Errorf("what is printed is %q", got)
	}
	if !hidden("#sheets .flag") {
		t.Error("flags are printed, and not what they stand at")
	}
	// A wire's name is 1.8 mm high at the least, as drawn for paper.
	high := eval[[]float64](b, `[...document.querySelectorAll("#sheets > div > svg:has(g.diagram)")].map((s) => parseFloat(s.getAttribute("width")) / s.viewBox.baseVal.width * 10)`)
	if len(high) == 0 || slices.Min(high) < 1.79 {
		t.Errorf("the names of wires are printed %.2f mm high", high)
	}
	on := true
	pdf, err := chromedp.Call(b.Ctx, cdpage.PrintToPDF, cdpage.PrintToPDFParams{PreferCSSPageSize: &on})
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(pdf.Data, []byte("/Type /Page\n")); n != 1+len(high) {
		t.Errorf("the report is printed on %d pages, the diagram on %d of them", n, len(high))
	}
	if !eval[bool](b, `!document.querySelector("#sheets") && !!document.querySelector("#drawing svg")`) {
		t.Error("printed, the page has not its drawing again")
	}
	// One sheet is chosen by its picture; nothing else is printed.
	b.Press("#menu summary")
	b.Press("#print-sheet")
	b.Until(`document.querySelectorAll("dialog#sheets[open] button svg g.diagram").length > 0`)
	b.Press("#sheets > div button")
	if got := eval[string](b, "window.printed || ''"); got != "sheet" {
		t.Errorf("what is printed is %q", got)
	}
	if pdf, err = chromedp.Call(b.Ctx, cdpage.PrintToPDF, cdpage.PrintToPDFParams{PreferCSSPageSize: &on}); err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(pdf.Data, []byte("/Type /Page\n")); n != 1 {
		t.Errorf("one sheet is printed on %d pages", n)
	}
	shown := eval[string](b, `getComputedStyle(document.querySelector("#report")).display`)
	if shown != "block" {
		t.Errorf("the report is not shown: %s", shown)
	}
	job := fileOn(t, `id="file-text">`+eval[string](b, `document.querySelector("#file-text").value`)+"</textarea>", file)
	if d := reportOf(t, job); !d.Proved || d.Repair != "element replaced" {
		t.Errorf("the file's report has repair %q, proved %v", d.Repair, d.Proved)
	}
	saved := eval[string](b, `(() => { const made = []; const was = URL.createObjectURL; URL.createObjectURL = (blob) => { made.push(blob.size); return was(blob); };
		document.querySelector("#keep-file").click(); return made.join(); })()`)
	if want := fmt.Sprint(eval[int](b, `new TextEncoder().encode(document.querySelector("#file-text").value).length`)); saved != want {
		t.Errorf("a download of %s bytes, want %s", saved, want)
	}
}

// On paper: the cautions first, the diagram, the panel that is open, black on
// white, and nothing that is worked by hand.
func TestPrintedPage(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := open(t, at+"/?mode=broil&fault=broil_relay.contact:open&red=broil_1&black=broil_2#breaks", 1280, 900)
	eval[bool](b, `(() => { document.documentElement.dataset.theme = "dark"; return true; })()`)
	if got := eval[[]string](b, `[...document.querySelectorAll("#overlay .probe-letter")].map((e) => e.textContent + " " + getComputedStyle(e).fill + " on " + getComputedStyle(e.previousSibling).fill)`); len(got) != 2 ||
		got[0] != "B rgb(31, 37, 42) on rgb(227, 232, 236)" {
		t.Errorf("in the dark the probes' letters are %q", got)
	}
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	const visible = `[...document.querySelectorAll("body *")].filter((e) => e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().width > 0)`
	if got := eval[[]string](b, visible+`.filter((e) => e.matches("button, select, input, textarea, nav a, [role=button]")).map((e) => e.outerHTML.slice(0, 90))`); len(got) > 0 {
		t.Errorf("controls are printed: %q", got)
	}
	if got := eval[[]string](b, visible+`.filter((e) => e.matches(".panel")).map((e) => e.id)`); len(got) != 1 || got[0] != "breaks" {
		t.Errorf("printed are the panels %q", got)
	}
	order := eval[[]float64](b, `[".cautions-first", "#drawing", "#breaks"].map((s) => document.querySelector(s).getBoundingClientRect().top)`)
	if !slices.IsSorted(order) || order[0] == order[1] {
		t.Errorf("cautions, diagram and panel stand at %v", order)
	}
	coloured := eval[[]string](b, visible+`.flatMap((e) => ["color", "backgroundColor", "borderTopColor", "fill", "stroke"].map((p) => [e, p, getComputedStyle(e)[p]]))
		.filter(([, , c]) => { const m = /^rgb\((\d+), (\d+), (\d+)\)$/.exec(c); return m && (m[1] !== m[2] || m[2] !== m[3]); })
		.map(([e, p, c]) => p + " " + c + " of " + e.outerHTML.slice(0, 80)).slice(0, 5)`)
	if len(coloured) > 0 {
		t.Errorf("printed in colour: %q", coloured)
	}
}
