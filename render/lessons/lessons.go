// Package lessons writes six short pages for whoever learns the trade, as
// Markdown: two legs and a neutral, dead elements, loads, readings that lie, a
// lost neutral, and what opens and closes.
//
// Start with [All]. Every page works the same question twice: on a small
// circuit stated on the page, whose figures can be checked by hand, and on the
// machine given. Every figure is the engine's.
package lessons

import (
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/render/report"
)

// Lesson is one page.
type Lesson struct {
	Number int
	Title  string
	// Markdown is the whole page, its title included.
	Markdown string
}

// Count is how many there are.
const Count = 6

// page is what a lesson is made of.
type page struct {
	title string
	intro []string
	// work answers the lesson's question on a subject; it writes nothing where
	// the subject has not got what it takes.
	work func(*subject) (string, error)
	// lack says what a machine has not got for which work writes nothing.
	lack    string
	closing []string
}

var pages = [Count]page{
	{
		title: "Two legs and a neutral",
		intro: []string{
			"The service brings two legs and a neutral. Each leg swings against the neutral, one up while the other is down, so between them stands twice what either has to neutral. Heating elements are connected between the legs; lamps, motors and controls between one leg and neutral.",
			"A load tells by its two ends what it needs: two legs, or one leg and the neutral.",
		},
		work: (*subject).legs,
		lack: "with everything off nothing can be told",
		closing: []string{"Lights and no heat: one leg may be lost, at the breaker, the outlet or the terminal block, with every part of the machine sound. A thermal fuse or a limit that is open looks just the same. Measure leg to leg at the terminal block with the load on, before a part is blamed.",
			"Where one leg and the neutral feed everything, a lost leg takes lights and heat alike."},
	},
	{
		title: "Why a dead element reads 120 V at both ends",
		intro: []string{
			"Lose one leg, and the element carries no current. Without current nothing drops across it: its far end stands at the voltage of the leg that is left. Each end to neutral then reads as if all were well.",
			"Measure across the element. Only that reading tells a lost leg from a broken element.",
		},
		work:    (*subject).deadElement,
		lack:    "it has no load between two legs",
		closing: []string{"The voltage at a terminal says where the break is not; the voltage across the load says whether it has a feed. An element with a feed and no heat is open: prove it with the supply off."},
	},
	{
		title: "Loaded and unloaded tests",
		intro: []string{
			"A burnt joint is a resistance in series. It takes a share of the voltage in step with the current: with nothing on there is no current, so it takes nothing, and the reading is as good as new.",
			"Voltage means something only while the load draws its current.",
		},
		work:    (*subject).loaded,
		lack:    "it has no load to draw a current",
		closing: []string{"What is lost across the joint turns to heat in the joint. That is what burns terminal blocks."},
	},
	{
		title: "In-circuit readings that lie",
		intro: []string{
			"An ohmmeter sees every way from one probe to the other. Where another way runs beside the part, an open part does not read open.",
			"Lift one lead, and the way beside it is gone.",
		},
		work:    (*subject).masked,
		lack:    "no open of a single part is hidden by a way beside it",
		closing: []string{"Supply off, locked out, tested dead, before an ohmmeter or a hand goes near."},
	},
	{
		title: "What a lost neutral does",
		intro: []string{
			"Loads between the legs do not notice, unless what switches them on needs the neutral. Loads between a leg and neutral have lost one end: those on one leg and those on the other are now in series across both legs, and share the voltage by their resistance: the smallest load, with the most ohms, takes the most.",
			"Where only one leg feeds such loads they go dead, and their neutral ends stand at the voltage of the leg. On a machine whose neutral is bonded to its metal, the metal then does too.",
		},
		work:    (*subject).lostNeutral,
		lack:    "no load of it uses the neutral",
		closing: []string{"Lamps too bright on one leg and too dim on the other, or everything at 120 V dead at once while its neutral ends are live: supply off. It is the neutral, ahead of all of them."},
	},
	{
		title: "Limits, fuses and relays",
		intro: []string{
			"All of them are a contact: closed it has no voltage across it while the load runs, and next to no ohms with the supply off. Open it has the whole feed across it.",
			"What differs is what moves it. A fuse or a limit opens by itself, and there is a reason; find it before fitting another. A relay's contact is only as good as what holds it: its coil, or the control that drives it.",
		},
		work:    (*subject).contacts,
		lack:    "no contact is on the feed of its largest load",
		closing: []string{"A contact that is open has a cause, and a coil without volts is not the relay's fault."},
	},
}

// All writes the six lessons with the machine given as their example.
func All(c *circuit.Circuit) ([]Lesson, error) {
	bench, err := smallCircuit()
	if err != nil {
		return nil, err
	}
	small, err := newSubject(bench)
	if err != nil {
		return nil, err
	}
	own, err := newSubject(c)
	if err != nil && !errors.Is(err, errNothingOn) {
		return nil, err
	}
	var out []Lesson
	for i, p := range pages {
		md, err := p.write(i+1, small, own)
		if err != nil {
			return nil, fmt.Errorf("lesson %d: %w", i+1, err)
		}
		out = append(out, Lesson{Number: i + 1, Title: p.title, Markdown: md})
	}
	return out, nil
}

// write lays a page out.
func (p *page) write(number int, small, own *subject) (string, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "# %d. %s\n", number, p.title)
	for _, s := range p.intro {
		b.WriteString("\n" + fill(s))
	}
	b.WriteString("\n## On a small circuit\n\n" + small.statement())
	worked, err := p.work(small)
	if err != nil {
		return "", err
	}
	b.WriteString("\n" + worked)
	if own != nil {
		b.WriteString("\n## On the machine: " + own.title() + "\n\n")
		worked, err := p.work(own)
		if err != nil {
			return "", err
		}
		if worked == "" {
			worked = fill(fmt.Sprintf("This machine does not show it: %s.", p.lack))
		}
		b.WriteString(worked)
	}
	b.WriteString("\n## Keep\n")
	for _, s := range p.closing {
		b.WriteString("\n" + fill(s))
	}
	b.WriteString("\n")
	b.WriteString(quote(report.Cautions()))
	return b.String(), nil
}

// fill lays a paragraph out in lines of 80 columns.
func fill(s string) string { return strings.Join(report.Wrap(s, report.Width), "\n") + "\n" }

func quote(paragraphs []string) string {
	var out []string
	for _, s := range paragraphs {
		out = append(out, "> "+strings.Join(report.Wrap(s, report.Width-2), "\n> "))
	}
	return strings.Join(out, "\n>\n") + "\n"
}

// table writes a table whose columns line up as plain text too.
func table(head []string, rows [][]string) string {
	width := make([]int, len(head))
	for _, row := range append([][]string{head}, rows...) {
		for i, cell := range row {
			width[i] = max(width[i], len([]rune(cell)))
		}
	}
	var b strings.Builder
	line := func(row []string) {
		for i, cell := range row {
			b.WriteString("| " + cell + strings.Repeat(" ", width[i]-len([]rune(cell))+1))
		}
		b.WriteString("|\n")
	}
	line(head)
	var rule []string
	for i := range head {
		rule = append(rule, strings.Repeat("-", max(3, width[i])))
		width[i] = max(3, width[i])
	}
	line(rule)
	for _, row := range rows {
		line(row)
	}
	return b.String()
}
