package schematic

import (
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// pen draws a symbol around its middle, turned as the symbol is, in page
// coordinates.
type pen struct {
	out     *strings.Builder
	at      point
	upright bool    // local x runs down
	flip    bool    // local x runs left
	half    float64 // from the middle to a pin
	scale   float64 // 0 means 1
	turned  bool    // upside down
}

func (p *pen) place(x, y float64) (float64, float64) {
	if p.flip {
		x = -x
	}
	if p.upright {
		x, y = y, x
	}
	if p.turned {
		y = -y
	}
	return float64(p.at.x) + p.scaled(x), float64(p.at.y) + p.scaled(y)
}

func (p *pen) scaled(v float64) float64 {
	if p.scale == 0 {
		return v
	}
	return v * p.scale
}

// line draws a line through pairs of x and y.
func (p *pen) line(class string, xy ...float64) { p.path(class, false, xy) }

// area draws a closed outline through pairs of x and y.
func (p *pen) area(class string, xy ...float64) { p.path(class, true, xy) }

func (p *pen) path(class string, closed bool, xy []float64) {
	var d strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		x, y := p.place(xy[i], xy[i+1])
		d.WriteString([]string{"L", "M"}[btoi(i == 0)] + num(x) + " " + num(y))
	}
	if closed {
		d.WriteString("Z")
	}
	fmt.Fprintf(p.out, `<path class="%s" d="%s"/>`, class, d.String())
}

func (p *pen) box(class string, x0, y0, x1, y1 float64) {
	p.area(class, x0, y0, x1, y0, x1, y1, x0, y1)
}

func (p *pen) circle(class string, x, y, r float64) {
	cx, cy := p.place(x, y)
	fmt.Fprintf(p.out, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, num(cx), num(cy), num(p.scaled(r)))
}

// arc draws part of a circle from x0, y0 to x1, y1; up bulges to smaller y.
func (p *pen) arc(class string, x0, y0, x1, y1, r float64, up bool) {
	ax, ay := p.place(x0, y0)
	bx, by := p.place(x1, y1)
	sweep := up
	if p.flip {
		sweep = !sweep
	}
	if p.upright {
		sweep = !sweep
	}
	if p.turned {
		sweep = !sweep
	}
	fmt.Fprintf(p.out, `<path class="%s" d="M%s %sA%s %s 0 0 %d %s %s"/>`, class, num(ax), num(ay), num(p.scaled(r)), num(p.scaled(r)), btoi(sweep), num(bx), num(by))
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// unsafe reports whether a character may not stand in SVG as it is.
func unsafe(r rune) bool {
	return r < ' ' || r > '~' || strings.ContainsRune(`"'&<>`, r)
}

// escape makes any text safe inside SVG: characters that XML cannot hold, and
// those that would turn the reading order round, become U+FFFD.
func escape(s string) string {
	if !strings.ContainsFunc(s, unsafe) {
		return s
	}
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return unicode.ReplacementChar
		}
		return r
	}, s)
	var b strings.Builder
	// A strings.Builder does not fail.
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}
