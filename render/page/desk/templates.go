package desk

import (
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"maps"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/render/report"
)

// pages are the page's templates by their names. Each is read when it is first written:
// an answer needs a few of them, and an engine that starts has none yet.
type pages struct {
	texts map[string]string
	funcs template.FuncMap
	mu    sync.Mutex
	read  map[string]*template.Template
}

// ExecuteTemplate writes a template.
func (p *pages) ExecuteTemplate(out io.Writer, name string, data any) error {
	return p.at(name).Execute(out, data)
}

// at reads a template, in which another is put by a function.
func (p *pages) at(name string) *template.Template {
	p.mu.Lock()
	defer p.mu.Unlock()
	t := p.read[name]
	if t == nil {
		text := strings.ReplaceAll(p.texts[name], "{{template ", "{{put ")
		t = template.Must(template.New("").Funcs(p.funcs).Parse(text)).Lookup(name)
		p.read[name] = t
	}
	return t
}

// put writes a template within another.
func (p *pages) put(name string, data any) (template.HTML, error) {
	var b strings.Builder
	err := p.ExecuteTemplate(&b, name, data)
	return template.HTML(b.String()), err
}

// templates are those in assets.
func templates() *pages {
	p := &pages{texts: map[string]string{}, read: map[string]*template.Template{}}
	files, err := fs.Glob(assets, "assets/*.html")
	if err != nil {
		panic(err) // the pattern is right
	}
	const define = "{{define \""
	for _, file := range files {
		for _, text := range strings.Split(string(Asset(path.Base(file))), define)[1:] {
			name, _, _ := strings.Cut(text, "\"")
			p.texts[name] = define + text
		}
	}
	p.funcs = template.FuncMap{
		"put":       p.put,
		"figure":    figure,
		"inside":    circuit.LowerFirst, // a sentence
		"percent":   percent,
		"join":      strings.Join,
		"hidden":    hidden,
		"lights":    lights,
		"member":    memberWords,
		"refs":      memberRefs,
		"cleft":     faultRefs,
		"station":   station,
		"on":        func(at State, of any) saidHere { return saidHere{at, of} },
		"bars":      bars,
		"share":     func(hundredths, of float64) string { return strconv.FormatFloat(hundredths*of/100, 'f', 1, 64) },
		"panels":    func() []string { return slices.Sorted(maps.Keys(behind)) },
		"row":       func(title string, f drill.Figures) figuresRow { return figuresRow{title, f} },
		"colours":   circuit.Colours,
		"gauges":    func() []int { return []int{8, 10, 12, 14, 16, 18, 20, 22} },
		"kinds":     kindChoices,
		"glyph":     glyph,
		"kindWords": func(kind string) string { return strings.ReplaceAll(kind, "_", " ") },
		"whole":     whole,
		"ends":      ends,
		"raw":       func(b []byte) template.HTML { return template.HTML(b) },
	}
	return p
}

// ends writes a terminal's name that is broken at its dots and dashes alone.
func ends(ref string) template.HTML {
	return template.HTML(strings.NewReplacer(".", ".<wbr>", "_", "_<wbr>").Replace(template.HTMLEscapeString(ref)))
}

// whole keeps a figure and its unit on one line.
func whole(cell string) string {
	if figure, unit, ok := strings.Cut(cell, " "); ok && len(unit) < 6 {
		return figure + "\u00a0" + unit
	}
	return cell
}

// figuresRow is a line of a drill's score.
type figuresRow struct {
	Title string
	drill.Figures
}

// station writes the volts at a place; nil floats.
func station(v *float64) string {
	if v == nil {
		return "floats"
	}
	return fmt.Sprintf("%.0f", math.Abs(*v))
}

// hidden is what of a state a form carries along: all but what it sets.
func hidden(s State, without ...string) template.HTML {
	var out strings.Builder
	for _, p := range s.pairs() {
		if !slices.Contains(without, p[0]) {
			out.WriteString(`<input type="hidden" name="` + template.HTMLEscapeString(p[0]) + `" value="` + template.HTMLEscapeString(p[1]) + `">`)
		}
	}
	return template.HTML(out.String())
}

// percent writes a probability, or a share.
func percent(p float64) string {
	if p > 0 && p < 1 {
		return report.Chance(p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// figure writes a number in as few digits as tell anything.
func figure(v float64) string {
	switch a := math.Abs(v); {
	case a < 0.005:
		return "0"
	case a < 10:
		return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
	case a < 100:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
	}
	return fmt.Sprintf("%.0f", v)
}
