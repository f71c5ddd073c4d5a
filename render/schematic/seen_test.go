package schematic

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit"
)

// eyes are what colours become to eyes without one kind of cone, as matrices on
// linear red, green and blue: Machado, Oliveira and Fernandes, "A
// Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE
// Transactions on Visualization and Computer Graphics 15(6), 2009, severity 1.0
// (values from memory). Grey is print without colour, by the luminance of WCAG.
var eyes = map[string][3][3]float64{
	"every cone":  {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanope":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranope": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanope":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
	"grey":        {{0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}},
}

// seenBy is a colour's luminance to some eyes.
func seenBy(t testing.TB, eye [3][3]float64, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(hex[1:], 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	var linear [3]float64
	for i := range linear {
		// Grey of one channel's value has that channel's linear value as luminance.
		c := n >> (8 * (2 - i)) & 0xff
		linear[i] = luminance(t, fmt.Sprintf("#%02x%02x%02x", c, c, c))
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		c := 0.0
		for k, share := range eye[i] {
			c += share * linear[k]
		}
		sum += weight * min(max(c, 0), 1)
	}
	return sum
}

// Grey has no hue to lose.
func TestEyesLeaveGreyAlone(t *testing.T) {
	for name, eye := range eyes {
		for _, grey := range []string{"#000000", "#767676", "#ffffff"} {
			if got, want := seenBy(t, eye, grey), luminance(t, grey); math.Abs(got-want) > 1e-4 {
				t.Errorf("%s: %s has luminance %.4f, want %.4f", name, grey, got, want)
			}
		}
	}
}

// What the drawing says by colour it says by form or by luminance too: the feed
// of each conductor, what a conductor no longer reaches, what is suspected. To
// every eye, and in grey, each stands out from the page.
func TestNothingIsSaidByHueAlone(t *testing.T) {
	const apart, least = 1.5, 3.0 // least: WCAG 2.1, success criterion 1.4.11 (from memory)
	for name, theme := range themes {
		p, forms := palettes[theme], strokes(style(theme))
		says := []struct{ what, form, ink string }{
			{"feed L1", forms["path.feed1"].dash, p.leg1}, {"feed L2", forms["path.feed2"].dash, p.leg2},
			{"feed L3", forms["path.feed3"].dash, p.leg3}, {"feed N", forms["path.feedn"].dash, p.neutral},
			{"dead", forms["path.lost"].dash, p.soft}, {"suspected", "hatched", p.hatch}}
		for of, eye := range eyes {
			ratio := func(a, b string) float64 {
				x, y := seenBy(t, eye, a), seenBy(t, eye, b)
				return (max(x, y) + 0.05) / (min(x, y) + 0.05)
			}
			for i, a := range says {
				if got := ratio(a.ink, p.page); got < least {
					t.Errorf("%s, %s: %s has contrast %.2f to the page, want %g", name, of, a.what, got, least)
				}
				for _, b := range says[:i] {
					if a.form == b.form && ratio(a.ink, b.ink) < apart {
						t.Errorf("%s, %s: %s and %s look alike", name, of, a.what, b.what)
					}
				}
			}
		}
	}
}

// dominance is how much ink the feed has for each of all other wires' together:
// stroke width times length times the difference in luminance from the page.
func (l *annotation) dominance(t testing.TB, theme Theme) float64 {
	p, widths := palettes[theme], strokes(style(theme))
	page := luminance(t, p.page)
	inks := map[string]string{"feed1": p.leg1, "feed2": p.leg2, "feed3": p.leg3, "feedn": p.neutral}
	feed, rest := 0.0, 0.0
	for i := range l.runs {
		length := float64((len(l.runs[i].points) - 1) * step)
		f := l.d.live(l.runs[i].wire.Branch)
		if f == FeedNone {
			rest += length * widths[".wire path"].width * math.Abs(page-luminance(t, p.wire))
			continue
		}
		form := widths["path."+feedClass[f]]
		feed += length * form.width * inked(form.dash) * math.Abs(page-luminance(t, inks[feedClass[f]]))
	}
	return feed / rest
}

// inked is the share of a dashed line that is drawn.
func inked(dash string) float64 {
	on, all := 0.0, 0.0
	for i, field := range strings.Fields(dash) {
		n, _ := strconv.ParseFloat(field, 64)
		all += n
		if i%2 == 0 {
			on += n
		}
	}
	if all == 0 {
		return 1
	}
	return on / all
}

// The feed has more ink than all other wires of the median machine together, in
// every theme: it is seen first at any size and in grey.
func TestFeedOutweighsAllElse(t *testing.T) {
	if testing.Short() {
		t.Skip("draws every machine")
	}
	var layouts []*annotation
	for _, c := range shipped(t) {
		if l := busiest(t, c, nil); l.d.Load != circuit.None {
			layouts = append(layouts, l)
		}
	}
	for name, theme := range themes {
		var all []float64
		for _, l := range layouts {
			all = append(all, l.dominance(t, theme))
		}
		slices.Sort(all)
		median, worst := all[len(all)/2], all[0]
		t.Logf("%-6s feed's ink to all others': best %.2f, median %.2f, worst %.2f", name, all[len(all)-1], median, worst)
		if median < 1.1 || worst < 0.45 {
			t.Errorf("%s: the feed has %.2f of all others' ink at the median, %.2f at worst", name, median, worst)
		}
	}
}
