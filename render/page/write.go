package page

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"math"
	"net/http"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/trace"
	"legtrace/render/report"
)

//go:embed assets
var assets embed.FS

// asset reads a file of the page.
func asset(name string) []byte {
	b, err := fs.ReadFile(assets, "assets/"+name)
	if err != nil {
		panic(err) // it is embedded
	}
	return b
}

// pieces are the parts of the page that are asked for by themselves, by path.
// The first is what a tap waits for.
var pieces = []struct {
	path, name string
	fill       func(*bench, context.Context, *situation, *view) error
	// key tells which states have the same answer; nil keeps none.
	key func(*situation) string
}{
	{"/bench", "bench", nil, nil},
	{"/drawing", "drawing", (*bench).fillDrawing, (*situation).drawKey},
	{"/breaks", "breaks", (*bench).fillBreaks, func(x *situation) string { return query(State{Mode: x.Mode, Load: x.Load, Set: x.Set}.pairs()) }},
	{"/standing", "standing", (*bench).fillStanding, func(x *situation) string { return query(State{Faults: x.Faults}.pairs()) }},
	{"/visit", "visit", (*bench).fillVisit, func(x *situation) string { return x.Query() }},
}

func (s *Site) routes() http.Handler {
	mux := http.NewServeMux()
	t := templates()
	mux.HandleFunc("/{$}", s.atOnce(func(w http.ResponseWriter, r *http.Request) { s.whole(w, r, t) }))
	for i := range pieces {
		mux.HandleFunc(pieces[i].path, s.atOnce(func(w http.ResponseWriter, r *http.Request) { s.piece(w, r, t, i) }))
	}
	mux.HandleFunc("/drawing.css", s.atOnce(s.drawingCSS))
	mux.HandleFunc("/events", s.events)
	for name, kind := range map[string]string{"page.css": "text/css", "page.js": "text/javascript", "diagram.js": "text/javascript"} {
		data := asset(name)
		mux.HandleFunc("/assets/"+name, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", kind+"; charset=utf-8")
			w.Write(data)
		})
	}
	return mux
}

// templates reads the page's templates.
func templates() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{
		"figure":  figure,
		"percent": percent,
		"join":    strings.Join,
		"hidden":  hidden,
		"lights":  lights,
		"member":  memberWords,
		"refs":    memberRefs,
		"cleft":   faultRefs,
		"raw":     func(b []byte) template.HTML { return template.HTML(b) },
	}).ParseFS(assets, "assets/*.html"))
}

// hidden lists what of a state a form carries along: all but what it sets.
func hidden(s State, without ...string) [][2]string {
	var out [][2]string
next:
	for _, p := range s.pairs() {
		for _, k := range without {
			if p[0] == k {
				continue next
			}
		}
		out = append(out, p)
	}
	return out
}

// percent writes a probability or a share.
func percent(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "under 1 %"
	case p > 0.99 && p < 1:
		return "over 99 %"
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

// whole writes the page, or sends the browser on to the state that a deed led
// to.
func (s *Site) whole(w http.ResponseWriter, r *http.Request, t *template.Template) {
	state, acted := act(r.URL.Query())
	if acted {
		http.Redirect(w, r, "/?"+state.Query(), http.StatusSeeOther)
		return
	}
	s.answer(w, r, state, func(b *bench, x *situation, v *view, out io.Writer) error {
		for _, p := range pieces[1:] {
			if err := p.fill(b, r.Context(), x, v); err != nil {
				return err
			}
		}
		return t.ExecuteTemplate(out, "page", v)
	})
}

// piece writes one part of the page. Deeds are done on the way: the answer says
// in a header which state it shows.
func (s *Site) piece(w http.ResponseWriter, r *http.Request, t *template.Template, which int) {
	state, _ := act(r.URL.Query())
	p := pieces[which]
	s.answer(w, r, state, func(b *bench, x *situation, v *view, out io.Writer) error {
		work := func() ([]byte, error) {
			var page bytes.Buffer
			if p.fill != nil {
				if err := p.fill(b, r.Context(), x, v); err != nil {
					return nil, err
				}
			}
			err := t.ExecuteTemplate(&page, p.name, v)
			return page.Bytes(), err
		}
		if p.key == nil {
			page, err := work()
			out.Write(page)
			return err
		}
		page, err := s.memo.get(fmt.Sprintf("%d %s %s", v.Revision, p.path, p.key(x)), work)
		out.Write(page)
		return err
	})
}

// answer resolves a state and writes what is made of it.
func (s *Site) answer(w http.ResponseWriter, r *http.Request, state State, write func(*bench, *situation, *view, io.Writer) error) {
	m, problems, edition := s.news.now()
	stand, mode, wrong := m.standing(s.modeOf(m, state), state.Set)
	var page bytes.Buffer
	err := stand.use(r.Context(), func(b *bench) error {
		x := b.resolve(state, mode)
		for _, e := range wrong {
			x.complain(e)
		}
		v, err := b.show(x)
		if err != nil {
			return err
		}
		v.File, v.Revision, v.Edition, v.Problems = s.source.Name, m.revision, edition, problems
		return write(b, x, v, &page)
	})
	switch {
	case r.Context().Err() != nil:
		refuse(w, http.StatusServiceUnavailable, "this took too long, and was given up")
	case err != nil:
		refuse(w, http.StatusUnprocessableEntity, err.Error())
	default:
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Legtrace-State", state.Query())
		w.Write(page.Bytes())
	}
}

// modeOf names the mode that positions set by hand are laid over.
func (s *Site) modeOf(m *machine, state State) string {
	if state.Mode != "" || len(state.Set) == 0 {
		return state.Mode
	}
	return m.mainMode
}

func (s *Site) drawingCSS(w http.ResponseWriter, r *http.Request) {
	m, _, _ := s.news.now()
	css, err := s.memo.get(fmt.Sprintf("%d css", m.revision), func() (css []byte, err error) {
		err = m.stand.use(r.Context(), func(b *bench) error {
			css, err = b.drawingStyle(r.Context(), b.resolve(State{}, ""))
			return err
		})
		return css, err
	})
	if err != nil {
		css = nil // what cannot be drawn needs no style
	}
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Write(css)
}

func (b *bench) fillDrawing(ctx context.Context, x *situation, v *view) error {
	svg, err := b.draw(ctx, x)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		v.Drawing = "The machine cannot be drawn: " + err.Error()
		return nil
	}
	v.Drawing = template.HTML(svg)
	return nil
}

func (b *bench) fillBreaks(ctx context.Context, x *situation, v *view) error {
	if x.question.Load == circuit.None {
		return nil
	}
	q := x.question
	q.Faults = nil
	d, err := b.Reporter.Breaks(ctx, q, report.BreaksOptions{Order: 2})
	if errors.Is(err, trace.ErrNotEnergised) || errors.As(err, new(*report.NoDutyError)) || errors.As(err, new(*report.UnsoundError)) {
		return nil
	}
	v.Breaks = d
	return err
}

func (b *bench) fillStanding(_ context.Context, x *situation, v *view) (err error) {
	v.Standing, err = b.live(x)
	return err
}

func (b *bench) fillVisit(ctx context.Context, x *situation, v *view) (err error) {
	if len(x.Notes) == 0 {
		return nil
	}
	v.Visit, err = b.weigh(ctx, x.Notes)
	return err
}
