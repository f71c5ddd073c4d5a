package browsertest

import (
	"fmt"
	"strings"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Fill types into a field that is empty, or in the place of what it holds.
func (b *Browser) Fill(selector, text string) {
	b.T.Helper()
	if !Eval[bool](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); if (!e) return false; e.scrollIntoView({ block: "center" }); e.focus(); e.value = ""; return true; })()`, selector)) {
		b.T.Fatalf("no field %s\nthe page: %.1500s", selector, b.Body())
	}
	b.Do(chromedp.SendKeys(chromedp.CSS(selector), text))
}

// Wire enters a wire in the row for one.
func (b *Browser) Wire(from, colour, gauge, to string) {
	b.T.Helper()
	for _, f := range [][2]string{{"from", from}, {"colour", colour}, {"gauge", gauge}, {"to", to}} {
		b.Fill("#wire-row [name="+f[0]+"]", f[1])
	}
	b.Do(chromedp.SendKeys(chromedp.CSS("#wire-row [name=to]"), kb.Enter))
}

// Part says what a part is that a wire names for the first time.
func (b *Browser) Part(name, kind string, fields map[string]string, press func(string)) {
	b.T.Helper()
	b.Until(fmt.Sprintf(`!document.querySelector("#part-row").hidden && document.querySelector("#part-row").dataset.part === %q`, name))
	press("[data-kind=" + kind + "]")
	for field, value := range fields {
		b.Fill("#part-needs [name="+field+"]", value)
	}
	press("#part-add")
}

// Line enters a line.
func (b *Browser) Line(line string) {
	b.T.Helper()
	b.Fill("#line-row [name=line]", line)
	b.Do(chromedp.SendKeys(chromedp.CSS("#line-row [name=line]"), kb.Enter))
}

// Describe writes a small oven down, wire by wire, until it is whole and drawn:
// block, limit, element, and a lamp that a door switch works. Press is how a person
// here presses.
func (b *Browser) Describe(press func(string)) {
	b.T.Helper()
	wires := func(n int) {
		b.T.Helper()
		b.Until(fmt.Sprintf(`document.querySelectorAll("#sheet-wires tbody tr").length === %d`, n))
	}
	b.Fill("#sheet-begin [name=name]", "small-oven")
	press("#sheet-begin button")
	b.Until(`!document.querySelector("#sheet-work").hidden && document.querySelector("#sheet").textContent`)
	b.Line("block: block L1 L2 N")
	b.Until(`document.querySelector("#sheet-parts")`)
	b.Wire("supply.L1", "BK", "10", "block.L1")
	wires(1)
	b.Wire("supply.L2", "red", "10", "block.L2")
	wires(2)
	b.Line("supply.N wh 10 block.N")
	wires(3)
	b.Wire("block.L1", "BK", "12", "limit")
	b.Part("limit", "limit", map[string]string{"place": "back wall"}, press)
	wires(4)
	b.Wire("limit", "BKWH", "12", "bake")
	b.Part("bake", "element", map[string]string{"volts": "240", "watts": "2500"}, press)
	wires(5)
	b.Line("block.L2 rd 12 bake")
	wires(6)
	b.Until(`document.querySelector("#drawing #part-bake")`) // it takes its room on the screen
	b.Wire("block.L1", "BK", "14", "door")
	b.Part("door", "door_switch", nil, press)
	wires(7)
	b.Line("door bu14 lamp wh14 block.N")
	b.Part("lamp", "lamp", map[string]string{"volts": "120", "watts": "40"}, press)
	wires(9)
	b.Line("supply.G gn10 chassis")
	wires(10)
	b.Line("mode off on bake")
	b.Until(`document.querySelector("#sheet-modes").textContent.includes("on: Bake")`)
	// What the mode says is not so, which is said; and taken back.
	b.Line("mode off on lamp bake")
	b.Until(`/small-oven\.toml:\d+:\d+: in Off, Lamp should be on and gets 0 W/.test(document.querySelector("#sheet-found").textContent)`)
	press("#sheet-undo")
	b.Until(`!document.querySelector("#sheet-found").textContent.includes("Lamp should be on")`)
	press("#mode-row summary")
	b.Fill("#new-mode [name=name]", "door_open")
	b.Fill("#new-mode [name=label]", "Door open")
	b.Choose("#new-mode [data-set=door]", "closed")
	for _, load := range []string{"bake", "lamp"} {
		press("#new-mode [data-working=" + load + "]")
	}
	press("#new-mode button:last-of-type")
	b.Until(`document.querySelector("#sheet-modes").textContent.includes("Door open")`)
	for _, point := range []string{"block.L1", "block.L2", "limit.2", "bake.1", "bake.2"} {
		b.Line("point " + point + " 5 min")
		b.Until(fmt.Sprintf(`document.querySelector("#sheet-said").textContent.includes("point") && document.querySelector("#sheet-text").value.includes('at = "%s')`, point))
	}
	if found := b.Text("#sheet-found"); strings.Contains(found, "should be") {
		b.T.Errorf("the machine described does not do what it says: %s", found)
	}
	b.Until(`document.querySelector("#drawing #part-bake")`)
}
