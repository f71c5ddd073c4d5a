package report

import (
	_ "embed"
	"fmt"
	"html"
	"io"
	"strings"
)

// documentStyle is the look of a document as HTML.
//
//go:embed document.css
var documentStyle string

// element writes one HTML element around what is HTML already.
func element(name, class, inner string) string {
	if class != "" {
		class = ` class="` + class + `"`
	}
	return "<" + name + class + ">" + inner + "</" + name + ">"
}

// inHTML keeps words from being taken for markup, and marks their styles.
func inHTML(s string) string {
	return strings.NewReplacer(
		string(rune(styleStrong)), `<b>`, string(rune(styleGood)), `<b class="good">`, string(rune(styleBad)), `<b class="bad">`,
		string(rune(styleFaint)), `<b class="faint">`, string(rune(styleEnd)), `</b>`).Replace(html.EscapeString(oneLine(plain(s))))
}

// htmlPage is a page in the making, with the elements that are open for what
// belongs together.
type htmlPage struct {
	strings.Builder
	open []string
}

// html writes a page as one file to read and print: no script, nothing fetched.
func (p *page) html(w io.Writer) error {
	var h htmlPage
	title := ""
	for i, b := range p.blocks {
		if heading, ok := b.(headingBlock); ok && title == "" {
			title = oneLine(heading.text)
		}
		h.block(b, i == 0)
	}
	h.inside()
	_, err := fmt.Fprintf(w, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8"/>
<meta name="viewport" content="width=device-width, initial-scale=1"/>
<title>%s</title>
<style>
%s</style>
</head>
<body>
%s</body>
</html>
`, html.EscapeString(title), documentStyle, h.String())
	return err
}

// inside closes and opens elements until those named are open.
func (h *htmlPage) inside(names ...string) {
	same := 0
	for same < len(h.open) && same < len(names) && h.open[same] == names[same] {
		same++
	}
	for i := len(h.open) - 1; i >= same; i-- {
		name, _, _ := strings.Cut(h.open[i], " ")
		h.WriteString("</" + name + ">\n")
	}
	for _, name := range names[same:] {
		h.WriteString("<" + name + ">\n")
	}
	h.open = names
}

func (h *htmlPage) block(b block, first bool) {
	switch b := b.(type) {
	case headingBlock:
		h.inside()
		name := "h2"
		if first {
			name = "h1"
		}
		h.line(element(name, "", inHTML(b.text)))
	case paragraphBlock:
		h.inside()
		h.line(element("p", "", inHTML(b.text)))
	case termBlock:
		if begins, ok := b.listItem(); ok {
			if begins == "- " {
				h.inside("ul")
				h.line(element("li", "", inHTML(b.text)))
				return
			}
			h.inside("ol")
			h.line(fmt.Sprintf(`<li value="%s">%s</li>`, b.term, inHTML(b.text)))
			return
		}
		h.inside("dl")
		h.line(b.html())
	case tableBlock:
		h.inside()
		h.line(b.html())
	case cautionBlock:
		h.inside()
		list := "ul"
		if b.numbered {
			list = "ol"
		}
		items := each(b.lines, func(s string) string { return element("li", "", inHTML(s)) })
		h.line(element("section", "caution", element("h2", "", inHTML(b.title))+element(list, "", strings.Join(items, "\n"))))
	case stepBlock:
		h.inside(`div class="steps"`)
		h.line(b.html())
	case formBlock:
		h.inside()
		fields := each(b, func(f Field) string {
			return element("div", "", element("span", "", inHTML(f.Name))+element("strong", "", inHTML(f.Text)))
		})
		h.line(element("div", "form", strings.Join(fields, "\n")))
	case checkBlock:
		if b.step {
			h.inside(`div class="steps"`)
			class := "check"
			if b.strong {
				class = "check open"
			}
			h.line(element("p", class, box+inHTML(b.text)))
			return
		}
		h.inside(`ul class="checks"`)
		h.line(element("li", "check", box+inHTML(b.text)))
	case branchBlock:
		names := make([]string, b.depth+1)
		for i := range names {
			names[i] = "ul"
		}
		h.inside(names...)
		h.line(element("li", "", inHTML(b.text)))
	case verbatimBlock:
		h.inside()
		h.line(element("pre", "", html.EscapeString(b.text)))
	case figureBlock:
		h.inside()
		h.line(element("figure", "", `<div tabindex="0">`+b.svg+`</div>`+element("figcaption", "", inHTML(b.caption))))
	case windowBlock:
		if b.Caption == "" {
			h.line(b.SVG)
			return
		}
		h.inside(`div class="steps"`)
		h.line(element("figure", "window", element("div", "", b.SVG)+element("figcaption", "", inHTML(b.Caption))))
	case signatureBlock:
		h.inside()
		h.line(element("div", "sign", element("div", "", inHTML(b.who[0]))+element("div", "", inHTML(b.who[1]))))
	}
}

// box is to be ticked.
const box = `<span class="box" aria-hidden="true"></span>`

func (h *htmlPage) line(s string) { h.WriteString(s + "\n") }

func (b termBlock) html() string {
	return element("dt", "", inHTML(upperFirstStyled(strings.TrimSuffix(b.term, ":")))) + element("dd", "", inHTML(b.text))
}

// html gives a test a box to tick and a line for what was read.
func (b stepBlock) html() string {
	class := "step"
	if b.live {
		class += " live"
	}
	if b.after {
		class += " after"
	}
	rows := ""
	for _, row := range b.rows {
		rows += row.html() + "\n"
	}
	return element("article", class, element("h3", "", box+element("span", "", inHTML(fmt.Sprintf("%d. %s", b.number, b.title)))+element("span", "reading", "\u00a0"))+
		element("dl", "", rows))
}

func (b tableBlock) html() string {
	cells := func(name string, row []string) string {
		out := ""
		for i, cell := range row {
			class, inner := "", inHTML(cell)
			if b.columns[i].right {
				class = "right"
			}
			if b.columns[i].bar {
				class, inner = "bar", ""
				if cell != "" {
					inner = fmt.Sprintf(`<span><i style="width:%d%%"></i></span>`, 100*strings.Count(cell, "#")/barWidth)
				}
			}
			out += element(name, class, inner)
		}
		return element("tr", "", out)
	}
	rows := ""
	for _, row := range b.rows {
		rows += cells("td", row) + "\n"
	}
	return `<div class="wide">` + element("table", "", element("thead", "", cells("th", each(b.columns, func(c column) string { return c.title })))+element("tbody", "", rows)) + `</div>`
}
