package page_test

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/page"
)

// A machine of one's own is described by thumb, wire by wire, kept when the tab is
// ended, and its open limit is then found.
func TestAMachineIsDescribedAndThenDiagnosed(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{Library: library.New("")})
	b := open(t, at+"/?door=describe", 390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch)
	b.Describe(b.Thumb)
	b.Named()
	if ids := eval[[]string](b, `[...document.querySelectorAll("#sheet :is(td, th), #mode-row :is(label, legend)")].map((e) => e.textContent).filter((s) => /[a-z]\.[A-Za-z0-9]|_/.test(s))`); len(ids) > 0 {
		t.Errorf("names of the file stand where labels should: %q", ids)
	}
	text := eval[string](b, `document.querySelector("#sheet-text").value`)
	if _, err := netlists.Read("small-oven.toml", []byte(text)); err != nil {
		t.Errorf("%v\n%s", err, text)
	}
	// Killed and begun again, it goes on with every line, and every step back.
	b.Do(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html.scripted")))
	b.Thumb("#sheet-drafts li button")
	b.Until(`document.querySelectorAll("#sheet-wires tbody tr").length === 10`)
	if again := eval[string](b, `document.querySelector("#sheet-text").value`); again != text {
		t.Errorf("kept is\n%s\nwant\n%s", again, text)
	}
	b.Until(`document.querySelector("#drawing #part-bake")`) // it takes its room on the screen
	b.Thumb("#sheet-undo")
	b.Until(`!document.querySelector("#sheet-text").value.includes('at = "bake.2"')`)
	// What is typed and what is tapped are one.
	b.Thumb("#as-text summary")
	eval[bool](b, `(() => { const t = document.querySelector("#sheet-text"); t.value = t.value.replace("watts = 2500 }", "watts = 2600 } # off the plate"); return true; })()`)
	b.Thumb("#sheet-typed")
	b.Until(`document.querySelector("#sheet-parts").textContent.includes("2600 W")`)
	b.Line("title Small oven")
	b.Until(`document.querySelector("#sheet-text").value.includes('title = "Small oven"')`)
	if typed := eval[string](b, `document.querySelector("#sheet-text").value`); !strings.Contains(typed, "# off the plate") {
		t.Errorf("the comment is gone:\n%s", typed)
	}
	b.Thumb("#sheet-find")
	b.Until(`document.body.dataset.door === "find"`)
	b.Thumb("[data-opening='Bake dead']")
	b.Until(`document.querySelector("#suspects-h")`)
	if found := b.Text("#visit"); !strings.Contains(found, "Limit") {
		t.Errorf("the limit is no suspect: %s", found)
	}
}

// What is handed over to be written down or rung out is answered, whatever it is,
// and nothing is read beside the catalog.
func TestWhatIsWrittenDownReadsNoFile(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{Library: library.New("")})
	brings := http.Header{"Legtrace-Brings": {"1"}}
	for path, bodies := range map[string][]string{
		"/describe?file=x.toml&line=title+x": {"from = \"../../go.mod\"\nname = \"x\"\n", "from = \"/etc/passwd\"\n", "[", "\x00", "name = \"x\"\n[parts]\nx = 3\n"},
		"/ringout?":                          {"", "{}", `{"pins":["a","b"],"heard":[{"in":"x","a":"a","b":"z","beeps":true}]}`, `{"pins":["a","a"]}`},
	} {
		for _, body := range bodies {
			r, err := http.NewRequest(http.MethodPost, at+path, strings.NewReader(body))
			if err != nil {
				t.Fatal(err)
			}
			r.Header = brings.Clone()
			answer, err := http.DefaultClient.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			said, err := io.ReadAll(answer.Body)
			answer.Body.Close()
			if err != nil || answer.StatusCode >= 500 {
				t.Errorf("%s %q: status %d, error %v", path, body, answer.StatusCode, err)
			}
			if strings.HasPrefix(body, "from") && !strings.Contains(string(said), "which is not at hand here") {
				t.Errorf("%q: %s", body, said)
			}
		}
	}
}

// A kind that is chosen stands alone, and again among all; its poles begin with those
// that the line names, and what is wrong is said where one looks.
func TestANewPartByThumb(t *testing.T) {
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/?door=describe", 0)
	b.Press("#sheet-begin button")
	b.Until(`!document.querySelector("#sheet-work").hidden`)
	b.Wire("block.L1", "BK", "12", "fuse")
	b.Until(`!document.querySelector("#part-row").hidden`)
	kinds := func() int {
		return eval[int](b, `[...document.querySelectorAll("[data-kind]")].filter((e) => e.checkVisibility()).length`)
	}
	all := kinds()
	b.Press("[data-kind=terminal_block]")
	if n := kinds(); n != 1 {
		t.Errorf("%d kinds stand there once one is chosen", n)
	}
	b.Press("[data-kind=terminal_block]")
	if n := kinds(); n != all {
		t.Errorf("%d kinds to choose from again, %d before", n, all)
	}
	b.Press("[data-kind=terminal_block]")
	if got := eval[string](b, `document.querySelector("#part-needs [name=more]").value`); got != "L1 " {
		t.Errorf("its poles begin with %q", got)
	}
	b.Press("#part-add")
	b.Until(`document.querySelector("#part-row").dataset.part === "fuse"`)
	b.Press("[data-kind=fuse]")
	b.Press("#part-add")
	b.Until(`document.querySelector("#part-row").hidden && document.querySelector("#sheet").textContent.includes("Block L1")`)
	b.Wire("fuse 2", "RD", "12", "Block L1 (incoming)")
	b.Until(`document.querySelectorAll("#sheet-wires tbody tr").length === 2 || !document.querySelector("#sheet-wrong").hidden`)
	if got := eval[string](b, `document.querySelector("#sheet-text").value`); !strings.Contains(got, `"fuse.2"`) {
		t.Errorf("two labels come to\n%s\n%s\n%s", got, b.Text("#sheet-wrong"), eval[[]string](b, `[...document.querySelectorAll("#sheet-ends option")].map((e) => e.value)`))
	}
	b.Fill("#line-row [name=line]", "fuse.9 RD 12 block.L1")
	b.Press("#line-row button")
	b.Until(`!document.querySelector("#sheet-wrong").hidden`)
	if below := eval[float64](b, `document.querySelector("#line-row").getBoundingClientRect().top - document.querySelector("#sheet-wrong").getBoundingClientRect().bottom`); below < 0 || below > 40 {
		t.Errorf("what is wrong stands %.0f pixels above the line", below)
	}
}
