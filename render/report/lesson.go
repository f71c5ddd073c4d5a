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
	Name     string `json:"name" help:"the word to call it by"`
	Title    string `json:"title" help:"what it is about"`
	Minutes  int    `json:"minutes" help:"about how long it takes"`
	Markdown string `json:"markdown" help:"the whole page; empty in a list"`
}

// Lessons makes the document.
func (r namer) Lessons(list []Lesson) *Lessons {
	return &Lessons{Document: "lessons", Machine: r.machine(), Lessons: append([]Lesson{}, list...)}
}

func (d *Lessons) blocks(p *page) {
	p.heading("Lessons")
	var rows [][]string
	for _, l := range d.Lessons {
		if l.Markdown == "" {
			rows = append(rows, []string{fmt.Sprint(l.Number), l.Name, l.Title, fmt.Sprint(l.Minutes)})
			continue
		}
		p.gap()
		p.add(verbatimBlock{"markdown", l.Markdown})
	}
	if len(rows) > 0 {
		p.table(2, []column{{title: "", right: true}, {title: "name"}, {title: "about"}, {title: "minutes", right: true}}, rows)
	}
}
