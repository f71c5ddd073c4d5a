package schematic

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/netlists"
)

// window is what a printed sheet shows of the diagram.
var window = regexp.MustCompile(`<svg x="(\d+)" y="(\d+)" width="(\d+)" height="(\d+)" viewBox="(\d+) (\d+) (\d+) (\d+)"`)

func TestSheetsShowTheWholeDiagram(t *testing.T) {
	for _, paper := range Papers {
		d := drawn(t, demo(t), 1)
		d.Date = "2026-03-01"
		sheets, err := Sheets(context.Background(), d, paper)
		if err != nil {
			t.Fatal(err)
		}
		l, err := layOut(context.Background(), &d)
		if err != nil {
			t.Fatal(err)
		}
		p := l.page()
		width, height := p.inner.x+2*band, p.inner.y+2*band
		covered := map[[2]int]bool{}
		for i, svg := range sheets {
			if len(sheets) > 1 && !strings.Contains(string(svg), fmt.Sprintf(">%d of %d<", i+1, len(sheets))) {
				t.Errorf("%s: sheet %d does not carry its number", paper.Name, i+1)
			}
			if !strings.Contains(string(svg), "2026-03-01") {
				t.Errorf("%s: sheet %d has no date", paper.Name, i+1)
			}
			for _, m := range window.FindAllStringSubmatch(string(svg), -1) {
				v := numbers(t, strings.Join(m[1:], " "))
				if v[2] != v[6] || v[3] != v[7] {
					t.Errorf("%s: sheet %d is scaled unlike the others", paper.Name, i+1)
				}
				for x := int(v[4]); x < int(v[4]+v[6]); x++ {
					for y := int(v[5]); y < int(v[5]+v[7]); y += 50 {
						covered[[2]int{x, y / 50}] = true
					}
				}
			}
		}
		if len(sheets) == 1 {
			continue
		}
		for x := range width {
			for y := range height / 50 {
				if !covered[[2]int{x, y}] {
					t.Fatalf("%s: the diagram is on no sheet at %d, %d", paper.Name, x, y*50)
				}
			}
		}
	}
}

// baseOf is the machine that one of the catalog is a variant of.
func baseOf(t testing.TB, c *circuit.Circuit) *circuit.Circuit {
	t.Helper()
	name := netlists.Base(netlists.CatalogPrefix + c.Name())
	if name == "" {
		return nil
	}
	base, err := netlists.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return base
}

// Nothing but wires is cut, and type is large enough to be read: every machine's
// diagram fits one sheet of A3 with wires' names 1.8 mm and parts' 2.5 mm tall, and
// two of A4, three for ranges with no gap about their middle.
func TestCutBetweenRungsAndColumns(t *testing.T) {
	const rounding = 1e-9 // millimetres
	crossings, three := 0, 0
	for _, c := range shipped(t) {
		l := busiest(t, c, baseOf(t, c))
		for _, of := range []struct {
			paper  string
			sheets int
		}{{"a3", 1}, {"a4", 3}} {
			paper, err := FindPaper(of.paper)
			if err != nil {
				t.Fatal(err)
			}
			l, err := l.fitted(context.Background(), paper)
			if err != nil {
				t.Fatal(err)
			}
			k := l.cutFor(paper)
			wires, parts := smallSize*k.scale, partSize*k.scale
			t.Logf("%-26s %s: %d sheets, wires' names %.2f mm, parts' %.2f mm, %d crossings", c.Name(), of.paper, k.sheets(), wires, parts, l.score()[0])
			if k.sheets() > of.sheets || wires < 1.8-rounding || parts < 2.5-rounding {
				t.Errorf("%s on %s: %d sheets, type of %.2f and %.2f mm", c.Name(), of.paper, k.sheets(), wires, parts)
			}
			three += btoi(k.sheets() == 3)
			if of.paper == "a3" {
				crossings = max(crossings, l.score()[0])
			}
			for _, u := range l.units {
				b := u.withPins()
				for _, x := range k.xs {
					if b.x0+band < x && x < b.x1+band {
						t.Errorf("%s on %s: %s is cut at x %d", c.Name(), of.paper, u.part.Name, x)
					}
				}
				for _, y := range k.ys {
					if b.y0+band < y && y < b.y1+band {
						t.Errorf("%s on %s: %s is cut at y %d", c.Name(), of.paper, u.part.Name, y)
					}
				}
			}
		}
	}
	if crossings > 15 || three > 5 {
		t.Errorf("%d crossings on A3, at most 15; %d machines take three of A4, at most 5", crossings, three)
	}
}

// Where a wire is cut both sheets name it and each other.
func TestCutWiresAreReferredToBothWays(t *testing.T) {
	d := drawn(t, demo(t), 1)
	sheets, err := Sheets(context.Background(), d, Papers[0])
	if err != nil {
		t.Fatal(err)
	}
	onward := regexp.MustCompile(`class="onward"[^>]*>([^<]*) \x{2192} (\d+)<`)
	to := map[string]bool{}
	for i, svg := range sheets {
		for _, m := range onward.FindAllStringSubmatch(string(svg), -1) {
			to[fmt.Sprint(m[1], i+1, ">", m[2])] = true
			if !strings.Contains(string(sheets[int(number(t, m[2]))-1]), m[1]) {
				t.Errorf("sheet %d sends %s to sheet %s, which does not name it", i+1, m[1], m[2])
			}
		}
	}
	if len(to) < 5 {
		t.Errorf("only %d wires go on elsewhere: %v", len(to), to)
	}
}

func TestSmallMachineTakesOneSheet(t *testing.T) {
	sheets, err := Sheets(context.Background(), Drawing{Circuit: rungs(t, 4), Load: -1}, Papers[0])
	if err != nil {
		t.Fatal(err)
	}
	if len(sheets) != 1 {
		t.Errorf("%d sheets", len(sheets))
	}
}

func TestLegendSheetHoldsItsText(t *testing.T) {
	for _, c := range shipped(t) {
		d := drawn(t, c, 1)
		d.Tables, d.Charts = Tables, []ModeContacts{{d.Mode, d.Conducts}}
		sheets, err := Sheets(context.Background(), d, Papers[0])
		if err != nil {
			t.Fatal(err)
		}
		for i, svg := range sheets {
			if len(sheets) == 1 || window.Match(svg) {
				continue
			}
			svg = regexp.MustCompile(`width="[\d.]+mm" height="[\d.]+mm" viewBox="0 0 ([\d.]+) ([\d.]+)"`).ReplaceAll(svg, []byte(`width="$1" height="$2"`))
			sheet := readSheet(t, svg)
			sheet.textFlaws(nil, func(format string, args ...any) {
				t.Errorf("%s, sheet %d: "+format, append([]any{c.Name(), i + 1}, args...)...)
			})
		}
	}
}

func TestSingleLoadViewIsCutBetweenItsLines(t *testing.T) {
	s := stripOf(t, demo(t), "broil")
	sheets, err := StripSheets(s, Papers[0])
	if err != nil {
		t.Fatal(err)
	}
	whole := readSheet(t, []byte(renderStrip(t, s)))
	next := 0.0
	for _, svg := range sheets {
		for _, m := range window.FindAllStringSubmatch(string(svg), -1) {
			v := numbers(t, strings.Join(m[1:], " "))
			if v[5] != next {
				t.Errorf("a column begins at %g, the last ended at %g", v[5], next)
			}
			next = v[5] + v[7]
			for _, text := range append(whole.texts, whole.tagTexts...) {
				if text.box.y0 < next && next < text.box.y1 {
					t.Errorf("%q is cut in two", text.s)
				}
			}
		}
	}
	if next != whole.height {
		t.Errorf("the columns end at %g of %g", next, whole.height)
	}
}

func TestUnknownPaperIsRefused(t *testing.T) {
	_, err := FindPaper("b5")
	if want := `page "b5": it is one of a4, a3, letter, tabloid, wall`; fmt.Sprint(err) != want {
		t.Errorf("error %v, want %s", err, want)
	}
}
