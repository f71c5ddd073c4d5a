package page_test

import (
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"legtrace/circuit/circuittest"
	"legtrace/cmd/library"
	"legtrace/render/page"
	"legtrace/render/page/browsertest"
)

// axe is the script of axe-core, which holds a page against the Web Content
// Accessibility Guidelines 2.2 (W3C Recommendation, 2023); .ci/run fetches it and
// names its place.
func axe(t *testing.T) string {
	t.Helper()
	place := os.Getenv("LEGTRACE_AXE")
	script, err := os.ReadFile(place)
	switch {
	case err == nil:
		return string(script) + "; true"
	case os.Getenv("CI") == "true" && place != "unreachable":
		t.Fatal("LEGTRACE_AXE names no axe.min.js, and CI=true says that it has to be there: ", err)
	}
	t.Skip("LEGTRACE_AXE names no axe.min.js of axe-core: accessibility is not checked by it")
	return ""
}

// Nothing on any screen shuts out who sees little, hears the page read, or has
// only keys: a drill under way and its end among them, in light, in dark, and in
// colours that the person forces.
func TestEveryScreenByAxe(t *testing.T) {
	script := axe(t)
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	b := on(t, at+"/", 0)
	const m = "machine=catalog:range-electronic"
	const seen = "&note=load~broil~broil_element~dead&note=load~bake~bake_element~normal&note=told~shock~~~~"
	const found = seen + "&note=read~broil~ohms~broil_1~broil_2~~OL"
	screens := []string{
		at + "/?", at + "/?door=find", at + "/?door=describe", at + "/?door=find&machine=family:range", at + "/?door=find&" + m, at + "/?door=find&" + m + seen,
		at + "/?door=find&" + m + found + "&done=replaced",
		at + "/?door=explore&" + m + "&mode=broil&red=broil_element.1&black=broil_element.2&fault=w12:open",
		at + "/?door=explore&pick=part:broil_relay&" + m + "#look", at + "/?door=explore&" + m + "#controls", at + "/?door=explore&" + m + "#breaks",
		at + "/?door=learn&" + m, at + "/?lesson=both-ends&" + m, at + "/?lesson=both-ends&circuit=small&mode=heat&load=element&lit=part:element&" + m, at + "/?lesson=both-ends&wall=1&" + m,
		at + "/?drill=1.1.3.0&" + m, at + "/?drill=1.1.3.0&move=try lf_surface&" + m, at + "/?drill=1.1.3.0&move=give-up&" + m,
	}
	for i, address := range screens {
		schemes[0].force(b)
		b.Do(chromedp.Navigate("about:blank"), chromedp.Navigate(strings.ReplaceAll(address, " ", "%20")), chromedp.WaitReady(chromedp.CSS("html.scripted main")))
		b.Until("true")
		if got := b.Text("#notices"); strings.Contains(got, "Left out") {
			t.Errorf("%s: %s", address, got)
		}
		for _, colours := range schemes {
			if colours != schemes[0] && i%8 != 3 && !circuittest.Nightly {
				continue // the nightly run has each screen in each
			}
			colours.force(b)
			colours.check(b, script, i%8 == 7 || circuittest.Nightly)
		}
	}

	class := page.NewClass()
	school := serve(t, fileSource(demo(t)), page.Options{Open: true, Class: class})
	for _, address := range []string{class.Link(strings.TrimPrefix(school, "http://")), school + "/?teacher=" + class.Teacher} {
		b := &browser{browsertest.Open(t, browsertest.Page{Address: address, Home: school, Width: 390, Height: 844, Ready: "main"})}
		for _, colours := range schemes {
			colours.force(b)
			colours.check(b, script, true)
		}
	}
}

// scheme is how a browser is told to colour pages.
type scheme struct{ feature, value string }

var schemes = []scheme{{"prefers-color-scheme", "light"}, {"prefers-color-scheme", "dark"}, {"forced-colors", "active"}}

func (s scheme) force(b *browser) {
	b.T.Helper()
	features := []*emulation.MediaFeature{{Name: s.feature, Value: s.value}}
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features}); err != nil {
		b.T.Fatal(err)
	}
}

// check has axe look at what is shown. All but contrast is as in light. A drawing,
// which is most of the work, is made alike for every screen.
func (s scheme) check(b *browser, script string, drawing bool) {
	b.T.Helper()
	rules := ""
	if s.value != "light" {
		rules = `, runOnly: { type: "rule", values: ["color-contrast"] }`
	}
	what := "document"
	if !drawing {
		what = `{ exclude: [["main svg"]] }`
	}
	eval[bool](b, script)
	bad := eval[[]string](b, `axe.run(`+what+`, { resultTypes: ["violations"]`+rules+` }).then(({ violations }) =>
		violations.map((v) => v.id + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 110) + " " + n.any.map((c) => c.message).join(" ").slice(0, 150)).join(" | ")))`)
	if len(bad) > 0 {
		b.T.Errorf("%s, %s:\n%s", eval[string](b, "location.pathname + location.search"), s.value, strings.Join(bad, "\n"))
	}
}
