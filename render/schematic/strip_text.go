package schematic

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"legtrace/circuit"
)

// Letters is the set of characters that a text may use.
type Letters uint8

const (
	Unicode Letters = iota
	ASCII
)

// TextWidth is how many columns the text view of a [Strip] takes at most.
const TextWidth = 80

// textVolts is the width of the voltages' column, textIndent where text begins.
const textVolts, textIndent = 10, 17

// glyph is what stands for a part in the text view, with its line in the key.
type glyph struct{ mark, means string }

var glyphs = map[circuit.Kind]glyph{
	circuit.KindElement:        {"[E]", "element"},
	circuit.KindSurfaceElement: {"[E]", "element"},
	circuit.KindLamp:           {"(X)", "lamp"},
	circuit.KindMotor:          {"(M)", "motor"},
	circuit.KindLatch:          {"(M)", "motor"},
	circuit.KindFan:            {"(M)", "motor"},
	circuit.KindSolenoid:       {"[C]", "coil"},
	circuit.KindRelay:          {"[C]", "coil"},
	circuit.KindResistor:       {"[R]", "resistor"},
	circuit.KindCapacitor:      {"[=]", "capacitor"},
	circuit.KindSensor:         {"[S]", "sensor"},
	circuit.KindControl:        {"[#]", "control, its supply"},
	circuit.KindTransformer:    {"[T]", "transformer winding"},
}

var (
	glyphLeg, glyphNeutral = glyph{"(~)", "leg of the supply"}, glyph{"(N)", "neutral"}
	glyphFuse, glyphBlown  = glyph{"[:]", "fuse"}, glyph{"[x]", "fuse, blown"}
	glyphMade, glyphOpen   = glyph{"[|]", "made contact"}, glyph{"[/]", "open contact"}
	glyphStud, glyphPlug   = glyph{"(o)", "stud"}, glyph{">>-", "plug"}
	glyphStop              = glyph{" * ", "joins what is shown elsewhere"}
)

// lineText is the text view in the making.
type lineText struct {
	s       *Strip
	letters Letters
	out     strings.Builder
	key     []glyph
}

// WriteStripText writes the single-load view as a line diagram for a terminal.
func WriteStripText(w io.Writer, s Strip, letters Letters) error {
	if err := s.checkWays(); err != nil {
		return err
	}
	t := &lineText{s: &s, letters: letters}
	for _, c := range s.Cautions {
		t.para(0, c)
	}
	if len(s.Cautions) > 0 {
		t.out.WriteByte('\n')
	}
	for i := range s.Ways {
		if i > 0 {
			t.out.WriteByte('\n')
		}
		t.way(&s.Ways[i])
	}
	var keys []string
	for _, g := range t.key {
		keys = append(keys, strings.ReplaceAll(g.mark+" "+g.means, " ", "\u00a0"))
	}
	t.out.WriteByte('\n')
	t.para(0, strings.Join(keys, "   "))
	t.para(0, t.reading())
	_, err := io.WriteString(w, strings.ReplaceAll(t.out.String(), "\u00a0", " "))
	return err
}

// reading explains the numbers on the page.
func (t *lineText) reading() string {
	s := "Volts at the left are to neutral."
	if len(t.s.FaultVolts) > 0 {
		s += " 119 V \u2192 0 V: with the machine sound, then with the fault."
	}
	if len(t.s.Marks) > 0 {
		s += " {1}: a single open that takes power from the load, numbered as in breaks."
	}
	if len(t.s.TestPoints) > 0 {
		s += " <1R>: a test point with its good reading: where the red probe of test 1 goes."
	}
	return s
}

// plain keeps control characters out, and in ASCII everything beyond it.
func (t *lineText) plain(s string) string {
	if t.letters == ASCII {
		s = strings.NewReplacer("\u2192", "->", "\u2013", " to ", "\u2126", "ohm", "\u00b5", "u", "\u2502", "|", "\u25c4", "<", "\u2026", "...").Replace(s)
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return r
		case r < ' ' || r == 0x7f || t.letters == ASCII && r > 0x7e:
			return '?'
		}
		return r
	}, s)
}

func (t *lineText) way(w *Way) {
	t.para(0, w.Heading)
	if w.Note != "" {
		t.para(2, w.Note)
	}
	t.out.WriteByte('\n')
	if w.Start != "" {
		t.row("", glyphStop, w.Start)
	}
	for i := range w.Hops {
		t.hop(&w.Hops[i])
	}
	if w.End != "" {
		t.row("", glyphStop, w.End)
	}
}

func (t *lineText) hop(h *Hop) {
	c := t.s.Circuit
	b := c.Branch(h.Branch)
	flag := ""
	for _, m := range t.s.Marks {
		if m.Branch == b.ID {
			flag = fmt.Sprintf("  {%d}", m.Number)
		}
	}
	for _, f := range t.s.Faults {
		if f.Branch == b.ID {
			flag += "  FAULT: " + c.Describe(f)
		}
	}
	if s := t.s.end(b.ID); s != "" {
		flag += "  " + s
	}
	if b.Wire != circuit.None {
		w := c.Wire(b.Wire)
		text := strings.Join(strings.Fields(w.Name+" "+w.Colour+" "+w.Size), " ") + flag
		if !t.s.conducts(b.ID) {
			text += "  OPEN"
		}
		if len(t.s.Standing) > 0 && t.s.Standing[h.From] > 0 {
			text += fmt.Sprintf("  ! %.0f V when off", t.s.Standing[h.From])
		}
		volts := ""
		if len(t.s.Volts) > 0 {
			volts = t.s.Volts[h.From].String()
			if t.s.changes(h.From) {
				text += "  " + change(t.s.Volts[h.From], t.s.FaultVolts[h.From])
			}
		}
		t.row(volts, glyph{mark: " \u2502 "}, text)
		return
	}
	text := c.Label(b.ID)
	if h.From != circuit.None && h.To != circuit.None {
		from, to := shortTerminal(c.Terminal(h.From)), shortTerminal(c.Terminal(h.To))
		if from != "" && to != "" {
			text += ", " + from + " to " + to
		}
	}
	u := &unit{part: c.Part(b.Part), branches: []circuit.BranchID{b.ID}, shape: shapeBranch, load: b.Role == circuit.Load}
	if r := rating(c, u); r != "" {
		text += ", " + r
	}
	if b.ID == t.s.Load {
		text += "  \u25c4 the load"
	}
	t.point(h.From)
	t.row("", t.glyph(b), text+flag)
	t.point(h.To)
}

// point writes the test point at a terminal, if it has one.
func (t *lineText) point(at circuit.TerminalID) {
	for _, p := range t.s.TestPoints {
		if p.Terminal == at {
			t.row("", glyph{mark: " \u2502 "}, fmt.Sprintf("<%s> %s", p.Mark, p.Reading))
		}
	}
}

func (t *lineText) glyph(b *circuit.Branch) glyph {
	kind := t.s.Circuit.Part(b.Part).Kind
	closed := t.s.conducts(b.ID)
	switch {
	case b.Role == circuit.Source && b.ID == t.s.Circuit.Supply().Neutral:
		return glyphNeutral
	case b.Role == circuit.Source:
		return glyphLeg
	case kind == circuit.KindFuse || kind == circuit.KindThermalFuse:
		if closed {
			return glyphFuse
		}
		return glyphBlown
	case b.Role == circuit.Contact && closed:
		return glyphMade
	case b.Role == circuit.Contact:
		return glyphOpen
	case kind == circuit.KindTerminalBlock:
		return glyphStud
	case kind == circuit.KindConnector:
		return glyphPlug
	}
	if g, ok := glyphs[kind]; ok {
		return g
	}
	return glyph{"[ ]", "other part"}
}

// row writes a line of the diagram; text that is too long goes on below.
func (t *lineText) row(volts string, g glyph, s string) {
	if g.means != "" && !t.keyed(g) {
		t.key = append(t.key, g)
	}
	pad := max(0, textVolts-utf8.RuneCountInString(volts))
	lead := strings.Repeat(" ", pad) + volts + "  " + t.plain(g.mark) + "  "
	for _, line := range textLines(t.plain(s), TextWidth-textIndent) {
		t.out.WriteString(strings.TrimRight(lead+line, " ") + "\n")
		lead = strings.Repeat(" ", textVolts+2) + t.plain(" \u2502   ")
	}
}

func (t *lineText) keyed(g glyph) bool {
	for _, k := range t.key {
		if k == g {
			return true
		}
	}
	return false
}

func (t *lineText) para(indent int, s string) {
	for _, line := range textLines(t.plain(s), TextWidth-indent) {
		t.out.WriteString(strings.Repeat(" ", indent) + line + "\n")
	}
}

// textLines breaks text into lines of at most width characters, spaces kept
// within a line.
func textLines(s string, width int) []string {
	var out []string
	for line := []rune(s); ; {
		if len(line) <= width {
			return append(out, string(line))
		}
		cut := width
		for cut > 0 && line[cut] != ' ' {
			cut--
		}
		if cut == 0 {
			cut = width
		}
		out = append(out, strings.TrimRight(string(line[:cut]), " "))
		line = []rune(strings.TrimLeft(string(line[cut:]), " "))
	}
}
