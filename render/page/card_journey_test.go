package page_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"legtrace/cmd/library"
	"legtrace/render/page"
)

// told opens the search of a machine with what the customer says of it.
func told(t *testing.T, at, machine, words string, size int) *browser {
	t.Helper()
	b := on(t, at+"/?door=find&machine=catalog:"+machine+"&note="+url.QueryEscape("say~"+words), size)
	b.Until(`document.querySelector("#visit > *:not(h2, .help)") && document.querySelector("#drawing svg")`)
	return b
}

// On the smallest phones, either way up, the first card is there without a finger
// moved: the test, what comes before it, where, what is good, and the keys for it; and
// the diagram has its share.
func TestTheFirstCardIsSeenAtOnce(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	for _, size := range []int{0, 1, 4} {
		for _, k := range [][2]string{{"range-electronic", "broiler barely glows, bake is fine"}, {"dryer", "no heat but it tumbles"}, {"range-electronic", "nothing works at all"}} {
			b := told(t, at, k[0], k[1], size)
			b.Until(`document.querySelector("#visit > .test")`)
			got := eval[string](b, `(() => {
				const side = document.querySelector("#side").getBoundingClientRect(), card = document.querySelector("#visit > .test"), bar = card.querySelector(".keys").getBoundingClientRect();
				const out = [];
				for (const s of ["h4", "dl :is(.first, .live)", "dl .red + dd", "dl .black + dd", ".good"]) {
					const r = card.querySelector(s).getBoundingClientRect();
					if (r.top < side.top || r.bottom > bar.top + 1) out.push(s + " ends at " + Math.round(r.bottom) + ", the keys begin at " + Math.round(bar.top));
				}
				for (const e of card.querySelectorAll(".reading > .keys .key")) {
					const r = e.getBoundingClientRect(), seen = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
					if (r.bottom > innerHeight || r.height < 44 || r.width < 44 || seen !== e) out.push(e.textContent + " is not to be pressed");
				}
				const share = document.querySelector("#drawing").getBoundingClientRect().height / innerHeight;
				if (share < 0.39) out.push("the diagram has " + share);
				return out.join("; "); })()`)
			if got != "" {
				t.Errorf("%dx%d, %s, %q: %s", sizes[size].width, sizes[size].height, k[0], k[1], got)
			}
		}
	}
}

// Where the next test has no probes, what is to be looked at or moved is in the
// middle of the diagram, and marked.
func TestWhatIsLookedAtIsInTheMiddle(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := told(t, at, "range-electronic", "nothing works at all", 4)
	for range 6 {
		b.Until(`document.querySelector("#visit > .test")`)
		if eval[bool](b, `document.querySelector("#visit > .test").dataset.at !== ""`) {
			break
		}
		b.Press("#visit > .test .skip-it")
	}
	got := eval[string](b, `(() => {
		const f = document.querySelector("#drawing").getBoundingClientRect(), all = [...document.querySelectorAll("#overlay .spot")].map((e) => e.getBoundingClientRect());
		if (!all.length) return "nothing is marked";
		const x = all[0].x + all[0].width / 2, y = all[0].y + all[0].height / 2;
		return x > f.left && x < f.right && y > f.top && y < f.bottom && Math.min(Math.abs(x - f.x - f.width / 2) / f.width, Math.abs(y - f.y - f.height / 2) / f.height) < 0.3 ? "" : [x, y, f.x, f.y, f.width, f.height].join(" "); })()`)
	if got != "" {
		t.Errorf("%s: %s", b.Text("#visit > .test h4"), got)
	}
	if first := b.Text("#visit > .test"); strings.Contains(first, "breaker") && strings.Contains(first, "proved dead") {
		t.Errorf("the breaker is switched with the supply off: %s", first)
	}
}

// What has to be done before any test is said to be done at a tap.
func TestGasIsClearedByAKey(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := told(t, at, "dryer", "it smells of gas and does not heat", 4)
	if eval[bool](b, `!!document.querySelector("#visit .test")`) {
		t.Error("a test is proposed before the gas is cleared")
	}
	if !eval[bool](b, `(() => { const r = document.querySelector("#ended").getBoundingClientRect(); return r.height >= 44 && r.bottom < innerHeight; })()`) {
		t.Error("the key is out of sight")
	}
	b.Press("#ended")
	b.Until(`document.querySelector("#visit > .test") && !document.querySelector("#ended, #visit > .first")`)
	if notes := eval[[]string](b, `new URLSearchParams(location.search).getAll("note")`); len(notes) != 2 {
		t.Errorf("noted is %q", fmt.Sprint(notes))
	}
}
