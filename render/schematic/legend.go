package schematic

import (
	"fmt"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// blocks lists what the legend explains: only what is on the page.
func (l *layout) blocks() []block {
	var out []block
	add := func(heading string, entries []entry) {
		if len(entries) > 0 {
			out = append(out, block{heading: heading, entries: entries})
		}
	}
	add("Cautions", plain(l.d.Cautions))
	add("How to read", l.readingEntries())
	add("Test points and their good readings", l.pointEntries())
	add("Tests: R red probe, B black", l.testEntries())
	add("Numbered flags", l.flagEntries())
	title := "Suspects, likeliest first"
	if l.d.Doubts {
		title = "May be otherwise"
	}
	add(title, l.suspectEntries())
	var faults []string
	for _, f := range l.d.Faults {
		faults = append(faults, l.c.Describe(f))
	}
	add("Faults shown (crossed out)", plain(faults))
	add("Notes", plain(l.d.Notes))
	var rest []string
	for _, u := range l.unplaced {
		rest = append(rest, u[0]+": "+u[1])
	}
	out = append(out, block{heading: "This drawing", entries: l.titleEntries(), boxed: true})
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
func (l *layout) flagEntries() []entry {
	var order []int
	texts := map[int][]string{}
	for _, m := range l.d.Marks {
		s := m.Text
		if s == "" {
			s = l.c.Label(m.Branch)
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
			l.writeFlag(b, number, x+flagRadius+1, y+9, s)
		}))
	}
	return out
}

// pointEntries lists the test points that no test tells of, and those whose
// reading found no room.
func (l *layout) pointEntries() []entry {
	told := map[string]bool{}
	for _, t := range l.tags {
		if t.layer == layerPoints && t.s != "" && len(l.d.Tests) > 0 {
			told[t.mark] = true
		}
	}
	var out []entry
	for _, p := range l.d.TestPoints {
		if told[p.Mark] || p.Reading == "" && len(l.d.Tests) > 0 {
			continue
		}
		s := p.Name
		if s == "" {
			s = l.c.Terminal(p.Terminal).Ref
		}
		if p.Reading != "" {
			s += ": " + strings.ReplaceAll(p.Reading, " ", "\u00a0")
		}
		out = append(out, markedEntry(s, p.Mark))
	}
	return out
}

func (l *layout) testEntries() []entry {
	var out []entry
	for _, t := range l.d.Tests {
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

func (l *layout) readingEntries() []entry {
	var out []entry
	sample := func(class, s string) {
		out = append(out, withIcon(s, func(b *strings.Builder, x, y int) {
			fmt.Fprintf(b, "<path class=\"%s\" d=\"M%d %dL%d %d\"/>\n", class, x, y+8, x+26, y+8)
		}))
	}
	say := func(s string) { out = append(out, entry{lines: wrap(s, labelSize, panelWidth, 0)}) }
	present := map[Feed]bool{}
	for _, f := range l.d.Live {
		present[f] = true
	}
	if l.d.Load != circuit.None && len(l.d.Live) > 0 {
		of := ", live path of " + l.c.Label(l.d.Load)
		if len(l.d.Breaks) > 0 {
			of = ", as far as it gets towards " + l.c.Label(l.d.Load)
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
		if len(l.d.Breaks) > 0 {
			sample(lostClass, "The rest of that feed, which its leg or neutral does not reach")
		}
	}
	wire := "Wire, with its name and IEC 60757 colour code; a dot joins, a crossing without a dot does not"
	if l.d.Theme != Monochrome {
		wire = "Wire, with its name and IEC 60757 colour code on a sleeve of that colour; a dot joins, a crossing without a dot does not"
	}
	sample("s", wire)
	if l.has(func(u *unit) bool { return len(u.siblings) > 0 }) {
		say("also 4: the rest of the part is on rung 4, by the numbers at the frame. coil, contacts: the rungs of what moves it, and of what it moves; nc is made at rest.")
	}
	switch {
	case len(l.d.FaultVolts) > 0:
		say("Volts in italics are to neutral. 119 V \u2192 0 V: with the machine sound, then with the fault. L1 or L2 behind it tells which leg it comes from where that changes. No arrow: no change.")
	case len(l.d.Volts) > 0 && len(l.d.Faults) > 0:
		say("Volts in italics are to neutral, with the fault present.")
	case len(l.d.Volts) > 0:
		say("Volts in italics are to neutral, with the machine sound in this mode.")
	}
	if l.floats() {
		say("No volts at a wire: it floats, held by no leg or neutral, or repeats its rail. The title of a wire says which.")
	}
	if len(l.d.Tests) > 0 {
		say("3R, 3B: the red and the black probe of test 3. The volts at a test point are good AC volts from there to the point marked \u201cvolts to here\u201d.")
	}
	if l.tagged(layerStanding) {
		out = append(out, withIcon("Stays live with the machine switched off: volts to the chassis. Only the breaker or the plug makes it dead.", writeStandingIcon))
	}
	note := "Contacts stand as they do in this mode."
	if len(l.d.Faults) > 0 {
		note = "Contacts stand as they do in this mode with the fault."
	}
	if l.has(func(u *unit) bool { return u.part.Kind == circuit.KindRelay }) {
		note += " A relay's mark is filled while the relay acts; a relay on a control has its coil on the board."
	}
	if l.has(func(u *unit) bool { return u.shape == shapeBox && u.part.Kind != circuit.KindControl }) {
		note += " In a box, a heavy line is a made contact, a dotted one an open contact."
	}
	say(note)
	return out
}

// floats reports whether a wire floats without that being written beside it.
func (l *layout) floats() bool {
	for _, n := range l.nets {
		if len(l.d.Volts) > 0 && len(n.wires) > 0 && !l.d.Volts[n.pins[0].terminal()].Known && !l.atLoad(n) {
			return true
		}
	}
	return false
}

// tagged reports whether a layer has marks.
func (l *layout) tagged(which layer) bool {
	for _, t := range l.tags {
		if t.layer == which {
			return true
		}
	}
	return false
}

// has reports whether any symbol on the page answers.
func (l *layout) has(is func(*unit) bool) bool {
	for _, u := range l.units {
		if is(u) {
			return true
		}
	}
	return false
}
