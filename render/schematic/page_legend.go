package schematic

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// blocks lists what the legend explains: only what is on the page.
func (an *annotation) blocks() []block {
	var out []block
	add := func(heading string, entries []entry) {
		if len(entries) > 0 {
			out = append(out, block{heading: heading, entries: entries})
		}
	}
	add("Cautions", plain(an.d.Cautions))
	add("How to read", an.readingEntries())
	add("Test points and their good readings", an.pointEntries())
	add("Tests: R red probe, B black", an.d.testEntries())
	add("Numbered flags", an.d.flagEntries())
	title := "Where the fault may be, likeliest first"
	if an.d.Doubts {
		title = "May be otherwise"
	}
	add(title, an.d.suspectEntries())
	var faults []string
	for _, f := range an.d.Faults {
		faults = append(faults, an.c.Describe(f))
	}
	add("Faults shown (crossed out)", plain(faults))
	add("Notes", plain(an.d.Notes))
	var rest []string
	for _, u := range an.unplaced {
		rest = append(rest, u[0]+": "+u[1])
	}
	out = append(out, block{heading: "This drawing", entries: an.d.titleEntries(), boxed: true})
	add("Not written beside the wire for want of room", plain(rest))
	return out
}

func plain(texts []string) []entry {
	var out []entry
	for _, s := range texts {
		out = append(out, entry{lines: wrap(s, labelSize, panelWidth, 0)})
	}
	return out
}

// withIcon is an entry with a sample of what it explains.
func withIcon(s string, icon func(b *strings.Builder, x, y int)) entry {
	return entry{icon: icon, indent: entryIndent, lines: wrap(s, labelSize, panelWidth-entryIndent, 0)}
}

// flagEntries lists each flag once: what it stands at, and what it is for.
func (d *Drawing) flagEntries() []entry {
	var order []int
	texts := map[int][]string{}
	for _, m := range d.Marks {
		s := m.Text
		if s == "" {
			s = d.Circuit.Label(m.Branch)
		}
		if texts[m.Number] == nil {
			order = append(order, m.Number)
		}
		texts[m.Number] = append(texts[m.Number], s)
	}
	var out []entry
	for _, number := range order {
		s := texts[number][0]
		if others := texts[number][1:]; len(others) > 0 {
			// Wires and the purpose come last.
			at := strings.IndexAny(s, ";(")
			if at < 0 {
				at = len(s)
			}
			head := strings.TrimRight(s[:at], " ")
			s = head + ", " + strings.Join(others, ", ") + s[len(head):]
		}
		out = append(out, withIcon(s, func(b *strings.Builder, x, y int) {
			writeFlag(b, number, x+flagRadius+1, y+9, s)
		}))
	}
	return out
}

// pointEntries lists the test points that no test tells of, and those whose
// reading found no room.
func (an *annotation) pointEntries() []entry {
	told := map[string]bool{}
	for _, t := range an.tags {
		if t.layer == layerPoints && t.s != "" && len(an.d.Tests) > 0 {
			told[t.mark] = true
		}
	}
	var out []entry
	for _, p := range an.d.TestPoints {
		if told[p.Mark] || p.Reading == "" && len(an.d.Tests) > 0 {
			continue
		}
		s := p.Name
		if s == "" {
			s = an.c.Terminal(p.Terminal).Ref
		}
		if p.Reading != "" {
			s += ": " + strings.ReplaceAll(p.Reading, " ", "\u00a0")
		}
		out = append(out, markedEntry(s, p.Mark))
	}
	return out
}

func (d *Drawing) testEntries() []entry {
	var out []entry
	for _, t := range d.Tests {
		out = append(out, markedEntry(t.Text, strconv.Itoa(t.Number)))
	}
	return out
}

// markedEntry is a line behind a test's number or a test point's mark.
func markedEntry(s, mark string) entry {
	wide := max(entryIndent, plateWidth(mark, smallSize)+8)
	return entry{lines: wrap(s, labelSize, panelWidth-wide, 0), indent: wide, icon: func(b *strings.Builder, x, y int) {
		b.WriteString("<g class=\"tag points\">")
		writePointMark(b, x, y+1, mark)
		b.WriteString("</g>\n")
	}}
}

func (an *annotation) readingEntries() []entry {
	var out []entry
	sample := func(class, s string) {
		out = append(out, withIcon(s, func(b *strings.Builder, x, y int) {
			fmt.Fprintf(b, "<path class=\"%s\" d=\"M%d %dL%d %d\"/>\n", class, x, y+8, x+26, y+8)
		}))
	}
	say := func(s string) { out = append(out, entry{lines: wrap(s, labelSize, panelWidth, 0)}) }
	present := map[Feed]bool{}
	for _, f := range an.d.Live {
		present[f] = true
	}
	if an.d.Load != circuit.None && len(an.d.Live) > 0 {
		of := ", live path of " + an.c.Label(an.d.Load)
		if len(an.d.Breaks) > 0 {
			of = ", as far as it gets towards " + an.c.Label(an.d.Load)
		}
		for _, f := range []struct {
			feed  Feed
			class string
			text  string
		}{{FeedL1, "feed1", "Leg L1" + of}, {FeedL2, "feed2", "Leg L2" + of}, {FeedL3, "feed3", "Leg L3" + of}, {FeedNeutral, "feedn", "Neutral" + of}} {
			if present[f.feed] {
				sample(f.class, f.text)
			}
		}
		if len(an.d.Breaks) > 0 {
			sample(lostClass, "The rest of that feed, which its leg or neutral does not reach")
		}
	}
	wire := "Wire, with its name and IEC 60757 colour code; a dot joins, a crossing without a dot does not"
	if an.d.Theme != Monochrome {
		wire = "Wire, with its name and IEC 60757 colour code on a sleeve of that colour; a dot joins, a crossing without a dot does not"
	}
	sample("s", wire)
	if slices.ContainsFunc(an.units, func(u *unit) bool { return len(u.siblings) > 0 }) {
		say("also 4: the rest of the part is on rung 4, by the numbers at the frame. coil, contacts: the rungs of what moves it, and of what it moves; nc is made at rest.")
	}
	switch {
	case len(an.d.FaultVolts) > 0:
		say("Volts in italics are to neutral. 119 V \u2192 0 V: with the machine sound, then with the fault. L1 or L2 behind it tells which leg it comes from where that changes. No arrow: no change.")
	case len(an.d.Volts) > 0 && len(an.d.Faults) > 0:
		say("Volts in italics are to neutral, with the fault present.")
	case len(an.d.Volts) > 0:
		say("Volts in italics are to neutral, with the machine sound in this mode.")
	}
	if an.floats() {
		say("No volts at a wire: it floats, held by no leg or neutral, or repeats its rail. The title of a wire says which.")
	}
	if len(an.d.Tests) > 0 {
		say("3R, 3B: the red and the black probe of test 3. The volts at a test point are good AC volts from there to the point marked \u201cvolts to here\u201d.")
	}
	if an.tagged(layerStanding) {
		out = append(out, withIcon("Stays live with the machine switched off: volts to the chassis. Only the breaker or the plug makes it dead.", writeStandingIcon))
	}
	note := "Contacts stand as they do in this mode."
	if len(an.d.Faults) > 0 {
		note = "Contacts stand as they do in this mode with the fault."
	}
	if slices.ContainsFunc(an.units, func(u *unit) bool { return u.part.Kind == circuit.KindRelay }) {
		note += " A relay's mark is filled while the relay acts; a relay on a control has its coil on the board."
	}
	if slices.ContainsFunc(an.units, func(u *unit) bool { return u.shape == shapeBox && u.part.Kind != circuit.KindControl }) {
		note += " In a box, a heavy line is a made contact, a dotted one an open contact."
	}
	say(note)
	return out
}

// floats reports whether a wire floats without that being written beside it.
func (an *annotation) floats() bool {
	return len(an.d.Volts) > 0 && slices.ContainsFunc(an.nets, func(n *net) bool {
		return len(n.wires) > 0 && !an.d.Volts[n.pins[0].terminal()].Known && !an.atLoad(n)
	})
}

// tagged reports whether a layer has marks.
func (an *annotation) tagged(which layer) bool {
	return slices.ContainsFunc(an.tags, func(t tag) bool { return t.layer == which })
}

func (d *Drawing) suspectEntries() []entry {
	var out []entry
	for _, s := range d.shaded() {
		out = append(out, withIcon(percent(s.P)+"  "+d.Circuit.Label(s.Branch), func(b *strings.Builder, x, y int) {
			fmt.Fprintf(b, "<rect class=\"rule\" x=\"%d\" y=\"%d\" width=\"26\" height=\"12\"/><rect fill=\"url(#hatch-%d)\" x=\"%d\" y=\"%d\" width=\"26\" height=\"12\"/>\n", x, y+3, hatch(s.P), x, y+3)
		}))
	}
	rest, p := 0, 0.0
	for _, s := range d.Suspects {
		if s.P < faintest {
			rest, p = rest+1, p+s.P
		}
	}
	if rest > 0 {
		out = append(out, entry{lines: wrap(fmt.Sprintf("%d others, each under 1 %%, together %s", rest, percent(p)), labelSize, panelWidth, 0)})
	}
	return out
}
