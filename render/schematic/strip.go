package schematic

import (
	"fmt"
	"io"
	"strings"

	"legtrace/circuit"
)

// Strip is the single-load view: what feeds one load, way after way from top to
// bottom, in letters that can be read on a phone.
type Strip struct {
	// Drawing holds the machine, its state and what is marked; of Live only the
	// load is looked at.
	Drawing
	Ways []Way
}

// Way is wires and parts one after the other, drawn from top to bottom.
type Way struct {
	Heading string
	// Start and End say where the way begins and ends where that is not at a
	// conductor of the supply.
	Start, End string
	Hops       []Hop
	// Note is said below the heading.
	Note string
}

// Hop is one branch of a way. From is None for a conductor of the supply that
// the way begins with, To for one that it ends with.
type Hop struct {
	Branch   circuit.BranchID
	From, To circuit.TerminalID
	Feed     Feed
}

// RenderStrip writes the single-load view as SVG, StripWidth wide.
func RenderStrip(w io.Writer, s Strip) error {
	if err := s.checkWays(); err != nil {
		return err
	}
	d := newStripPage(&s)
	d.fill()
	_, err := io.WriteString(w, d.document())
	return err
}

// checkWays reports data that does not belong to the circuit.
func (s *Strip) checkWays() error {
	if err := s.check(); err != nil {
		return err
	}
	terminals := len(s.Circuit.Terminals())
	for i := range s.Ways {
		for k, h := range s.Ways[i].Hops {
			if h.Branch < 0 || int(h.Branch) >= len(s.Circuit.Branches()) {
				return fmt.Errorf("way %d, hop %d is branch %d, the circuit has %d", i, k, h.Branch, len(s.Circuit.Branches()))
			}
			source := s.Circuit.Branch(h.Branch).Role == circuit.Source
			for _, t := range []circuit.TerminalID{h.From, h.To} {
				if t == circuit.None && source {
					continue
				}
				if t < 0 || int(t) >= terminals {
					return fmt.Errorf("way %d, hop %d is at terminal %d, the circuit has %d", i, k, t, terminals)
				}
			}
		}
	}
	return nil
}

// StripWidth is the width of the single-load view in pixels: a small phone's.
const StripWidth = 390

// Places across the single-load view, and sizes of its text.
const (
	stripMargin = 14
	stripSpine  = 118 // the line that everything lies on
	stripVolts  = 84  // right end of the voltages
	stripText   = 160 // left end of labels
	stripWire   = 134 // and of wires' names
	stripFlag   = 370 // middle of numbered flags

	stripTitle, stripHeading, stripLabel, stripNote = 20, 17, 16, 13
	stripScale                                      = 1.25
	wireRow, sourceRow, pointRoom                   = 40, 56, 9
	noteLine, labelLine                             = 17, 19
)

const partRow = int(2 * reach * stripScale)

// stripPage is the single-load view in the making: y runs down the page.
type stripPage struct {
	s   *Strip
	out strings.Builder
	// over holds terminals and test points: they lie over their wires.
	over strings.Builder
	y    int
	// number is the way's, so that terminals of different ways differ.
	number int
	// seams are where the view may be cut into columns.
	seams []int
	// pointed tells in which way a terminal's test point was drawn last.
	pointed map[circuit.TerminalID]int
	// last is the terminal drawn last, visits how often each way came by one.
	last struct {
		terminal circuit.TerminalID
		y        int
	}
	visits map[string]int
	// named holds the ids that are given: the first symbol of a part and the
	// first piece of a wire have theirs.
	named map[string]bool
}

func newStripPage(s *Strip) *stripPage {
	return &stripPage{s: s, pointed: map[circuit.TerminalID]int{}, visits: map[string]int{}, named: map[string]bool{}}
}

// id is the attribute that names a part or a wire, as in the whole drawing, or
// nothing where one of that name is on the page already.
func (d *stripPage) id(kind, name string) string {
	id := kind + "-" + name
	if d.named[id] {
		return ""
	}
	d.named[id] = true
	return fmt.Sprintf(" id=\"%s\"", escape(id))
}

// end says which conductor's way ends at a branch, if one does.
func (d *Drawing) end(id circuit.BranchID) string {
	for _, b := range d.Breaks {
		if b.Branch == id {
			return d.ends(b)
		}
	}
	return ""
}

// text sets a line of text.
func (d *stripPage) text(x, y int, a anchor, size int, class, s string) {
	text{x: x, y: y, anchor: a, size: size, class: class, s: s}.write(&d.out)
}

// lines sets wrapped text from y on and moves below it.
func (d *stripPage) lines(x, width, size, pitch int, class, s string) {
	if class == "heading" {
		width = width * 9 / 10 // it is bold
	}
	for _, line := range wrap(s, size, width, 0) {
		d.y += pitch
		d.text(x, d.y, start, size, class, line)
	}
}

func (d *stripPage) head() {
	const width = StripWidth - 2*stripMargin
	d.y = 8
	d.lines(stripMargin, width, stripTitle, 24, "heading", d.s.title())
	d.lines(stripMargin, width, stripNote+1, noteLine+1, "subtitle", d.s.subtitle())
	if len(d.s.Cautions) > 0 {
		d.y += 8
		d.lines(stripMargin, width, stripNote, noteLine, "heading", "Cautions")
		for _, s := range d.s.Cautions {
			d.lines(stripMargin, width, stripNote, noteLine, "entry", s)
			d.y += 3
		}
	}
	for _, f := range d.s.Faults {
		d.y += 4
		d.lines(stripMargin, width, stripNote+1, noteLine+1, "heading", "Fault: "+d.s.Circuit.Describe(f))
	}
	d.y += 6
}

// foot explains what is on the page.
func (d *stripPage) foot() {
	const width = StripWidth - 2*stripMargin
	d.y += 12
	d.lines(stripMargin, width, stripHeading, 20, "heading", "How to read")
	for _, s := range d.readingNotes() {
		d.lines(stripMargin, width, stripNote, noteLine, "entry", s)
		d.y += 3
	}
	for _, m := range d.marked() {
		d.y += 22
		writeFlag(&d.out, m.Number, stripMargin+9, d.y-5, m.Text)
		at := d.y
		d.y -= noteLine
		d.lines(stripMargin+28, width-28, stripNote, noteLine, "entry", m.Text)
		d.y = max(d.y, at)
	}
	for _, s := range d.s.Notes {
		d.y += 3
		d.lines(stripMargin, width, stripNote, noteLine, "entry", s)
	}
	d.y += 10
	for _, r := range d.s.titleRows() {
		d.lines(stripMargin, width, stripNote, noteLine, "entry", r[0]+": "+r[1])
	}
	d.y += stripMargin
}

func (d *stripPage) readingNotes() []string {
	out := []string{"Each line is a wire with its name, IEC 60757 colour code and size; its colour is a sleeve on it. Contacts stand as they do in this mode."}
	feeds := map[Feed]bool{}
	for _, w := range d.s.Ways {
		for _, h := range w.Hops {
			feeds[h.Feed] = true
		}
	}
	for _, f := range []struct {
		feed Feed
		how  string
	}{{FeedL1, "heavy solid line: on leg L1"}, {FeedL2, "long dashes: on leg L2"}, {FeedL3, "dashes and dots: on leg L3"}, {FeedNeutral, "short dashes: on neutral"}} {
		if feeds[f.feed] {
			out = append(out, circuit.UpperFirst(f.how)+".")
		}
	}
	if len(d.s.Breaks) > 0 {
		out = append(out, "Ticked across: the rest of the load's feed, which its leg or neutral does not reach.")
	}
	if len(d.s.Tests) > 0 {
		out = append(out, "3R, 3B: the red and the black probe of test 3 on the list of test points, with the good AC volts to the point marked \u201cvolts to here\u201d.")
	}
	if len(d.s.FaultVolts) > 0 {
		out = append(out, "Volts at the left are to neutral; \u2192 leads from the sound machine's to those with the fault.")
	} else if len(d.s.Volts) > 0 {
		out = append(out, "Volts at the left are to neutral.")
	}
	return out
}

// marked lists the flags whose part or wire is on the page.
func (d *stripPage) marked() []Mark {
	on := map[circuit.BranchID]bool{}
	for _, w := range d.s.Ways {
		for _, h := range w.Hops {
			on[h.Branch] = true
		}
	}
	var out []Mark
	for _, m := range d.s.Marks {
		if on[m.Branch] {
			out = append(out, m)
		}
	}
	return out
}
