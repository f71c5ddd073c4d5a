package schematic

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

var themes = map[string]Theme{"light": Light, "dark": Dark, "mono": Monochrome}

// luminance and contrast are those of WCAG 2.1, "relative luminance" and
// "contrast ratio" (W3C 2018; from memory).
func luminance(t testing.TB, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil || len(hex) != 7 {
		t.Fatalf("%q is no colour", hex)
	}
	sum := 0.0
	for i, weight := range []float64{0.0722, 0.7152, 0.2126} {
		c := float64(n>>(8*i)&0xff) / 255
		if c <= 0.03928 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

func contrast(t testing.TB, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrastAgainstKnownPairs(t *testing.T) {
	// #767676 on white is the usual example of 4.54 to 1.
	for _, pair := range []struct {
		a, b string
		want float64
	}{{"#000000", "#ffffff", 21}, {"#767676", "#ffffff", 4.54}, {"#ffffff", "#ffffff", 1}} {
		if got := contrast(t, pair.a, pair.b); math.Abs(got-pair.want) > 0.01 {
			t.Errorf("%s on %s: %.3f, want %.2f", pair.a, pair.b, got, pair.want)
		}
	}
}

// fillOf reads from a style sheet how a text of some classes is filled: the
// last rule that applies wins, as long as those with more classes come later.
func fillOf(sheet, classes string) string {
	fill := ""
	for _, rule := range regexp.MustCompile(`([^{}]+)\{([^{}]*)\}`).FindAllStringSubmatch(sheet, -1) {
		value := regexp.MustCompile(`(?:^|;)fill:(#[0-9a-f]{6})`).FindStringSubmatch(rule[2])
		if value == nil {
			continue
		}
		for _, sel := range strings.Split(strings.TrimSpace(rule[1]), ",") {
			applies := !strings.Contains(sel, " ")
			want := strings.Split(strings.TrimPrefix(sel, "text"), ".")
			for _, c := range want[1:] {
				applies = applies && strings.Contains(" "+classes+" ", " "+c+" ")
			}
			if applies && (want[0] == "" || sel == "text") {
				fill = value[1]
			}
		}
	}
	return fill
}

func TestEveryTextStandsOutInEveryTheme(t *testing.T) {
	const least = 4.5 // WCAG 2.1, success criterion 1.4.3 (from memory)
	for name, theme := range themes {
		d := drawn(t, everyKind(t), 0)
		d.Theme, d.FaultVolts = theme, lost(d.Volts)
		svg := render(t, d)
		strip := stripOf(t, demo(t), "broil")
		strip.Theme = theme
		svg += renderStrip(t, strip)
		sheet := style(theme)
		page := palettes[theme].page
		seen := map[string]bool{}
		for _, m := range regexp.MustCompile(`<text class="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
			class := m[1]
			if seen[class] {
				continue
			}
			seen[class] = true
			ground := page
			if class == "number" {
				ground = fillOf(sheet, "plate")
			}
			if got := contrast(t, fillOf(sheet, class), ground); got < least {
				t.Errorf("%s: text of class %q has contrast %.2f, want %.1f", name, class, got, least)
			}
		}
		if len(seen) < 12 {
			t.Errorf("%s: only %d classes of text found", name, len(seen))
		}
	}
}

func TestEveryLineStandsOutInEveryTheme(t *testing.T) {
	const least = 3 // WCAG 2.1, success criterion 1.4.11 (from memory)
	for name, theme := range themes {
		p := palettes[theme]
		for _, c := range []colour{{"line", p.line}, {"wire", p.wire}, {"leg 1", p.leg1}, {"leg 2", p.leg2}, {"leg 3", p.leg3}, {"neutral", p.neutral}, {"fault", p.alarm}, {"hatch", p.hatch}, {"frame", p.faint}} {
			if got := contrast(t, c.value, p.page); got < least {
				t.Errorf("%s: %s has contrast %.2f, want %d", name, c.name, got, least)
			}
		}
	}
}

// strokes reads from a style sheet the width and the dashes of every stroke.
func strokes(sheet string) map[string]struct {
	width float64
	dash  string
} {
	out := map[string]struct {
		width float64
		dash  string
	}{}
	for _, rule := range regexp.MustCompile(`([^{}\n]+)\{([^{}]*)\}`).FindAllStringSubmatch(sheet, -1) {
		width := regexp.MustCompile(`stroke-width:([\d.]+)`).FindStringSubmatch(rule[2])
		if width == nil {
			continue
		}
		s := out[rule[1]]
		s.width, _ = strconv.ParseFloat(width[1], 64)
		if dash := regexp.MustCompile(`stroke-dasharray:([\d. ]+)`).FindStringSubmatch(rule[2]); dash != nil {
			s.dash = dash[1]
		}
		out[rule[1]] = s
	}
	return out
}

// The feed that is asked for is three times as wide as anything else. What its
// conductor does not reach is ticked across, a tick being what is drawn.
func TestFeedIsSeenFirstInEveryTheme(t *testing.T) {
	feeds := map[string]bool{"path.feed1": true, "path.feed2": true, "path.feed3": true, "path.feedn": true}
	for name, theme := range themes {
		seen, dashes := 0, map[string]bool{}
		for of, s := range strokes(style(theme)) {
			ink := s.width
			if of == "path.lost" {
				ink, _ = strconv.ParseFloat(strings.Fields(s.dash)[0], 64)
			}
			if feeds[of] {
				seen++
				dashes[s.dash] = true
				if s.width != feedWeight {
					t.Errorf("%s: %s is %g wide, want %d", name, of, s.width, feedWeight)
				}
				continue
			}
			// A halo has the page's colour.
			if of != ".pin" && 3*ink > feedWeight {
				t.Errorf("%s: %s is %g wide, the feed %d", name, of, ink, feedWeight)
			}
		}
		if seen != 4 || len(dashes) != 4 {
			t.Errorf("%s: %d feeds drawn in %d ways, want 4 in 4", name, seen, len(dashes))
		}
	}
}

// hue is a colour's angle on the wheel, in degrees, and whether it has one.
func hue(t *testing.T, hex string) (float64, bool) {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	r, g, b := float64(n>>16&0xff), float64(n>>8&0xff), float64(n&0xff)
	most, least := max(r, g, b), min(r, g, b)
	if most-least < 40 {
		return 0, false // black, white, grey
	}
	switch most {
	case r:
		return math.Mod(360+60*(g-b)/(most-least), 360), true
	case g:
		return 120 + 60*(b-r)/(most-least), true
	}
	return 240 + 60*(r-g)/(most-least), true
}

// No feed has the hue of a conductor of its own supply.
func TestFeedsAreNoColourOfTheSupply(t *testing.T) {
	const apart = 25.0 // degrees
	for _, c := range shipped(t) {
		legs := len(c.Supply().Legs)
		for _, w := range c.Wires() {
			supply := c.Part(c.Terminal(w.From).Part).Kind == circuit.KindSupply || c.Part(c.Terminal(w.To).Part).Kind == circuit.KindSupply
			base, stripe := insulation(w.Colour)
			for _, ink := range []string{base, stripe} {
				of, coloured := 0.0, false
				if supply && ink != "" {
					of, coloured = hue(t, ink)
				}
				if !coloured {
					continue
				}
				for name, theme := range themes {
					p := palettes[theme]
					feeds := []string{p.leg1, p.neutral}
					if legs == 2 {
						feeds = append(feeds, p.leg2)
					}
					if legs == 3 {
						feeds = append(feeds, p.leg2, p.leg3)
					}
					for _, feed := range feeds {
						h, ok := hue(t, feed)
						if d := math.Abs(h - of); ok && min(d, 360-d) < apart {
							t.Errorf("%s, %s: a feed in %s looks like %s %s of the supply", c.Name(), name, feed, w.Name, w.Colour)
						}
					}
				}
			}
		}
	}
}

// A theme changes colours and the sleeves, nothing else.
func TestThemesDifferInNothingButColour(t *testing.T) {
	body := func(theme Theme) []string {
		d := drawn(t, demo(t), 1)
		d.Theme = theme
		svg := render(t, d)
		svg = regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAllString(svg, "")
		return strings.Split(svg, "\n")
	}
	if diff := cmp.Diff(body(Light), body(Dark)); diff != "" {
		t.Error(diff)
	}
}

func TestUnknownThemeIsRefused(t *testing.T) {
	_, err := ParseTheme("sepia")
	if want := `theme "sepia": it is light, dark or mono`; fmt.Sprint(err) != want {
		t.Errorf("error %v, want %s", err, want)
	}
}
