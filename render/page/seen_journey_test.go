package page_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"legtrace/cmd/library"
	"legtrace/render/page"
)

// Full is the diagram alone and all of it, and leads back to what was seen; whoever
// goes through another door meanwhile sees what is behind it.
func TestWholeDiagramAtATap(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := on(t, at+"/?door=find&note=load~broil~broil_element~dead&note=load~bake~bake_element~normal&note=read~broil~ohms~broil_1~broil_2~~16.4", 0)
	b.Until(`document.querySelector("#visit > .test") && document.querySelector("#overlay .probe")`)
	const view = `document.querySelector("#drawing svg").getAttribute("viewBox")`
	was := eval[string](b, view)
	b.Press("[data-zoom=full]")
	if high := eval[float64](b, `document.querySelector("#drawing").getBoundingClientRect().height / innerHeight`); high < 0.8 {
		t.Errorf("alone the diagram has %.0f %% of the height", 100*high)
	}
	if out := eval[int](b, `(() => { const f = document.querySelector("#drawing").getBoundingClientRect(); return [...document.querySelectorAll("#drawing [data-terminal]")].map((e) => e.getBoundingClientRect()).filter((r) => r.left < f.left || r.right > f.right || r.top < f.top || r.bottom > f.bottom).length; })()`); out > 0 {
		t.Errorf("%d terminals are out of sight", out)
	}
	b.Press("[data-zoom=full]")
	if now := eval[string](b, view); now != was {
		t.Errorf("seen was %s, and now is %s", was, now)
	}
	b.Press("[data-zoom=full]")
	b.Press("#door-explore")
	b.Until(`document.querySelector("#loads").checkVisibility()`)
}

// What is found is seen on the diagram, mended at a tap, and looked at before power;
// once it is proved the report is a tap away.
func TestFoundSeenMendedAndWrittenByTaps(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer&visit=abcde&note=say~dryer+runs+but+no+heat&note=read~timed_dry~ohms~heater_1~heater_2~~10.3&note=read~timed_dry~ohms~thermal_cutoff.1~thermal_cutoff.2~~OL", 0)
	b.Until(`document.querySelector("#suspects-h.found") && document.querySelector("#drawing svg")`)
	if !eval[bool](b, `(() => { const f = document.querySelector("#drawing").getBoundingClientRect(), r = document.querySelector("#part-thermal_cutoff").getBoundingClientRect(); return r.left >= f.left && r.right <= f.right && r.top >= f.top && r.bottom <= f.bottom; })()`) {
		t.Error("what is found is out of sight on the diagram")
	}
	if got := b.Text(".mend"); !strings.Contains(got, "(heater box, behind the back panel)") {
		t.Errorf("of the repair it says %q", got)
	}
	b.Press(".mend .undo")
	b.Until(`document.querySelector("#visit > .test") && !document.querySelector(".mend")`)
	b.Press("#visit > .test [data-answer=OL]")
	b.Press("#done-new")
	b.Until(`document.querySelector(".checks .test")`)
	if got := eval[string](b, `new URLSearchParams(location.search).get("done")`); got != "Thermal cut-off replaced" {
		t.Errorf("done is %q", got)
	}
	if !eval[bool](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), r = document.querySelector("#visit > .cautions p").getBoundingClientRect(); return r.top >= s.top && r.bottom <= s.bottom; })()`) {
		t.Error("what comes before power is out of sight")
	}
	b.Press(".checks [data-all]")
	b.Press("[data-open=written]")
	if !eval[bool](b, `document.querySelector("#print-report").checkVisibility() && !!document.activeElement.closest("#written")`) {
		t.Error("the report is not there to be printed, or the keyboard is elsewhere")
	}
}

// What is behind a tab is seen once that is tapped, beneath what the meter shows.
func TestPanelOfATabIsSeen(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, probes := range []string{"", "&red=broil_element.1&black=broil_element.2"} {
		b := on(t, at+"/?door=explore&mode=broil"+probes, 0)
		b.Press("#tabs a[href='#breaks']")
		b.Until(`document.querySelector("#breaks .cuts")`)
		if hid := eval[string](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), m = document.querySelector("#meter .screen").getBoundingClientRect(), r = document.querySelector("#breaks-h").getBoundingClientRect();
			return r.top < m.bottom ? "under the meter" : r.bottom > s.top + s.height * .6 ? "far below" : ""; })()`); hid != "" {
			t.Errorf("%q: the panel's heading is %s", probes, hid)
		}
	}
}

// The machine's name is read whole on the smallest screens too.
func TestMachinesNameIsWhole(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	for _, i := range []int{0, 3} {
		b := on(t, at+"/?door=find&machine=catalog:range-electronic", i)
		if !eval[bool](b, `(() => { const h = document.querySelector("h1"); return h.scrollWidth <= h.clientWidth && h.scrollHeight <= h.clientHeight + 1; })()`) {
			t.Errorf("at %d pixels the name is cut off", sizes[i].width)
		}
	}
}

// What a drill comes to is seen once it is given up, and not the complaint again.
func TestFaultOfADrillIsSeen(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	b := on(t, at+"/?drill=1.1.3.0", 0)
	b.Press("[data-do=give-up]")
	b.Until(`document.querySelector("#debrief table")`)
	if !eval[bool](b, `(() => { const s = document.querySelector("#side").getBoundingClientRect(), m = document.querySelector("#meter .screen").getBoundingClientRect(), r = document.querySelector("#debrief h3").getBoundingClientRect(); return r.top >= m.bottom && r.bottom <= s.bottom; })()`) {
		t.Error("the fault is out of sight")
	}
}

// Neither a probe nor its lead covers the name of a part, where the suspects' figures
// stand beside it too.
func TestProbesCoverNoName(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer&visit=abcde&note=say~dryer+runs+but+no+heat&note=read~timed_dry~volts~tb_l1~tb_l2~~240&note=skip~read~timed_dry~ohms~heater_1~heater_2~&note=read~timed_dry~ohms~thermal_cutoff.1~thermal_cutoff.2~~0&note=read~timed_dry~ohms~high_limit.1~limit_load~~0", 0)
	b.Until(`document.querySelector("#visit > .test[data-red='cycling_thermostat.1']") && document.querySelectorAll("#overlay path.probe").length === 2`)
	if n := eval[int](b, `(() => { const names = [...document.querySelectorAll("#drawing text.label")].map((e) => e.getBBox());
		return [...document.querySelectorAll("#overlay path.probe")].filter((lead) => [0.5, 0.75, 1].some((at) => { const p = lead.getPointAtLength(at * lead.getTotalLength());
			return names.some((b) => p.x > b.x && p.x < b.x + b.width && p.y > b.y && p.y < b.y + b.height); })).length; })()`); n > 0 {
		t.Errorf("%d probes lie over a name", n)
	}
}

// A card is answered, and the next one comes, before the report of the one before.
func TestCardWaitsForNoReport(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=find&machine=catalog:dryer", 0)
	b.Do(chromedp.SendKeys(chromedp.CSS("#tell"), "dryer runs but no heat"))
	if got := eval[string](b, `(async () => {
		const ask = Home.ask, card = () => (document.querySelector("#visit > .test h4") || {}).textContent;
		const until = async (so) => { for (let i = 0; i < 3000 && !so(); i++) await new Promise((then) => setTimeout(then, 20)); };
		Home.ask = (path, ...rest) => path === "/told" ? new Promise(() => {}) : ask(path, ...rest);
		document.querySelector("#tell-add").click();
		await until(() => document.body.dataset.busy === "told");
		const first = card();
		document.querySelector("#visit > .test [data-answer]").click();
		await until(() => card() !== first && document.body.dataset.busy === "told");
		return !first ? "no card" : card() === first ? "the card stays" : document.querySelector("#report") ? "a report" : "";
	})()`); got != "" {
		t.Errorf("without a report there is %s", got)
	}
}
