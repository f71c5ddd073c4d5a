package schematic

import (
	"fmt"
	"strings"
)

// Theme is a choice of colours.
type Theme uint8

const (
	Light Theme = iota
	Dark
	// Monochrome prints in black on white; a feed is grey, for the contacts on it to
	// be seen.
	Monochrome
)

// palette is a theme's colours. The feeds from leg 1, leg 2 and neutral have hues
// that no conductor of a supply has, and also differ by dash: nobody takes the
// neutral's for earth, or leg 1's for a blue neutral.
type palette struct {
	page, ink, soft, line, faint string
	wire                         string // off the feed, less than the symbols
	leg1, leg2, leg3, neutral    string
	interest, alarm, plate, note string
	hatch                        string
}

var palettes = map[Theme]palette{
	Light: {page: "#ffffff", ink: "#111111", soft: "#444444", line: "#222222", faint: "#767676", wire: "#444444",
		leg1: "#c2187a", leg2: "#c47a00", leg3: "#00808a", neutral: "#7a2fb0", interest: "#ffe9a8", alarm: "#b00020", plate: "#22303c", note: "#5a3a00", hatch: "#b0649a"},
	Dark: {page: "#12171c", ink: "#f2f4f5", soft: "#c3cad0", line: "#dfe4e8", faint: "#8a949c", wire: "#9aa4ac",
		leg1: "#ff6ec0", leg2: "#ffb43c", leg3: "#4fd0d8", neutral: "#c79bff", interest: "#4a3f12", alarm: "#ff8a94", plate: "#e8edf1", note: "#f3d28a", hatch: "#d68fb8"},
	Monochrome: {page: "#ffffff", ink: "#000000", soft: "#222222", line: "#000000", faint: "#555555", wire: "#000000",
		leg1: "#707070", leg2: "#707070", leg3: "#707070", neutral: "#707070", interest: "#d9d9d9", alarm: "#000000", plate: "#000000", note: "#000000", hatch: "#777777"},
}

// feedWeight is the width of the feed that is asked for: three times that of any
// other stroke, so that it is seen first at any size, in any theme.
const feedWeight = 7

// rules is what every line and letter looks like, a colour of the palette
// named by @.
const rules = `text{font-family:Arial,"Liberation Sans",Helvetica,"DejaVu Sans",sans-serif;fill:@ink}
.page{fill:@page}
.wire path,.s,.blade{fill:none;stroke-linejoin:round}
.s,.blade{stroke:@line;stroke-width:1.2}
.wire path{stroke:@wire;stroke-width:1}
.wire.live path{stroke-width:2}
.wire.feed1 path{stroke:@leg1}
.wire.feed2 path{stroke:@leg2}
.wire.feed3 path{stroke:@leg3}
.wire.feedn path{stroke:@neutral}
.s.fill,.joint{fill:@page;stroke:@line;stroke-width:1.2}
.joint{stroke-width:1}
.blade{stroke-width:2}
.solid,.dot{fill:@line}
.link{fill:none;stroke:@soft;stroke-width:1;stroke-dasharray:3 2}
.terminal{fill:@page;stroke:@line;stroke-width:.9}
.open{fill:none;stroke:@soft;stroke-width:1;stroke-dasharray:1.5 3}
.pin,.rating,.wirename,.xref,.zone{fill:@soft}
.pin{paint-order:stroke;stroke:@page;stroke-width:2.5;stroke-linejoin:round}
.xref{font-style:italic}
.sleeve{stroke:@soft;stroke-width:.8}
.open-word{fill:@alarm;font-weight:bold}
.hatch{stroke:@hatch;stroke-width:1.2}
.chance{font-weight:bold}
.floating{fill:@soft;font-style:italic}
.volts{fill:@ink;font-style:italic;font-weight:bold}
.volts.changed{fill:@alarm}
.heading,.onward{font-weight:bold}
.trace path,.symbol .feed1,.symbol .feed2,.symbol .feed3,.symbol .feedn{fill:none;stroke-linejoin:round}
path.feed1{stroke:@leg1;stroke-width:7}
path.feed2{stroke:@leg2;stroke-width:7;stroke-dasharray:16 4}
path.feed3{stroke:@leg3;stroke-width:7;stroke-dasharray:8 3 2 3}
path.feedn{stroke:@neutral;stroke-width:7;stroke-dasharray:5 3}
path.lost{stroke:@soft;stroke-width:8;stroke-dasharray:1.2 5}
.broken{font-weight:bold;fill:@alarm}
.halo{fill:@interest}
.part.interest .s.fill{fill:@interest;stroke-width:2}
.flag circle{fill:@page;stroke:@ink;stroke-width:1.4}
.flag text{font-weight:bold}
.fault path{stroke:@alarm;stroke-width:2;fill:none}
.leader{stroke:@ink;stroke-width:.8;fill:none}
.tag .frame{fill:@page;stroke:@plate;stroke-width:1}
.plate{fill:@plate}
.number{fill:@page;font-weight:bold}
.reading{font-weight:bold}
.warning{fill:@page;stroke:@ink;stroke-width:1.4;stroke-linejoin:round}
.flash{fill:none;stroke:@ink;stroke-width:1.3}
text.standing{font-weight:bold;fill:@note}
.cell{fill:@ink}
.outline{fill:none;stroke:@line;stroke-width:1.8}
.place{fill:@page;stroke:@soft;stroke-width:1.2}
.rule,.frame{stroke:@faint;stroke-width:1;fill:none}
`

// style is the style sheet of a drawing in a theme.
func style(t Theme) string {
	p := palettes[t]
	var pairs []string
	for _, c := range p.named() {
		pairs = append(pairs, "@"+c.name, c.value)
	}
	return strings.NewReplacer(pairs...).Replace(rules)
}

type colour struct{ name, value string }

// named lists the palette, longer names before those they begin with.
func (p palette) named() []colour {
	return []colour{{"interest", p.interest}, {"neutral", p.neutral}, {"plate", p.plate}, {"hatch", p.hatch}, {"alarm", p.alarm}, {"faint", p.faint},
		{"page", p.page}, {"soft", p.soft}, {"line", p.line}, {"leg1", p.leg1}, {"leg2", p.leg2}, {"leg3", p.leg3}, {"note", p.note}, {"wire", p.wire}, {"ink", p.ink}}
}

// ParseTheme returns the theme of a name.
func ParseTheme(name string) (Theme, error) {
	t, ok := map[string]Theme{"light": Light, "dark": Dark, "mono": Monochrome}[name]
	if !ok {
		return Light, fmt.Errorf("theme %q: it is light, dark or mono", name)
	}
	return t, nil
}
