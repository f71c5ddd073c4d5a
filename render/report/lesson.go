package report

import "fmt"

// Lessons is a document of pages for learners.
type Lessons struct {
	Document string   `json:"document" help:"which document this is"`
	Machine  Machine  `json:"machine" help:"the machine they use as their example"`
	Lessons  []Lesson `json:"lessons" help:"the pages"`
}

// Lesson is one page.
type Lesson struct {
	Number   int    `json:"number" help:"from 1"`
	Title    string `json:"title" help:"what it is about"`
	Markdown string `json:"markdown" help:"the whole page; empty in a list"`
}

// Lessons makes the document.
func (r namer) Lessons(list []Lesson) *Lessons {
	return &Lessons{Document: "lessons", Machine: r.machine(), Lessons: append([]Lesson{}, list...)}
}

func (d *Lessons) blocks(p *page) {
	p.heading("Lessons")
	for _, l := range d.Lessons {
		if l.Markdown == "" {
			p.para(2, fmt.Sprintf("%d %s", l.Number, l.Title))
			continue
		}
		p.gap()
		p.add(verbatimBlock{"markdown", l.Markdown})
	}
}
