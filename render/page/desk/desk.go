// Package desk is one machine on a page, without the server: an address goes
// in, HTML comes out.
//
// Start with [New]; [Desk.Answer] answers the paths that [Desk.Has] knows: the
// whole page, the pieces of it that are asked for by themselves, and the style
// of the diagram.
//
// Everything that a person has set is in the address ([State], state.go), so
// that nothing is kept of anybody: a link restores what was seen, and going back
// is undoing. An address is read (state.go) and acted on (act.go), its names
// found on the machine (situation.go), the engine asked (view.go, instrument.go,
// visit.go, writeup.go, drill.go, lesson.go, draw.go) and the answer written by
// the templates in assets. The script there fetches the same pieces and puts
// them in place; without it the page works by its links and forms.
package desk

import (
	"bytes"
	"context"
	"embed"
	"io"
	"io/fs"
	"net/url"

	"legtrace/circuit"
)

//go:embed assets
var assets embed.FS

// Asset reads a file of the page: a script or a style. It panics where there is
// none of that name.
func Asset(name string) []byte {
	b, err := fs.ReadFile(assets, "assets/"+name)
	if err != nil {
		panic(err) // it is embedded
	}
	return b
}

// Problem is something wrong with the machine's file.
type Problem struct {
	// Where is "file:line:column", empty where that is not known.
	Where, Text string
}

// String is "file:line:column: what is wrong".
func (p Problem) String() string {
	if p.Where == "" {
		return p.Text
	}
	return p.Where + ": " + p.Text
}

// Request is an address asked for.
type Request struct {
	Path  string
	Query url.Values
	// File is what the person calls the machine's file, Problems what is wrong
	// with it since it could last be read, Edition which state of both this is.
	File     string
	Edition  int
	Problems []Problem
	// All fills in what is shown where nobody can be asked.
	All bool
	// Installable is set where a browser may keep the page.
	Installable bool
	// Body is what a person brings, for a path that [Takes] it.
	Body []byte
}

// Answer is what is shown.
type Answer struct {
	// Kind is the media type of Body.
	Kind string
	Body []byte
	// State is the address of what is shown, without its path.
	State string
	// Drill is how a drill stands that is open there; nil for none.
	Drill *Stand
	// Moved is set where the request did something: the page is then at State,
	// and there is no body.
	Moved bool
}

// Desk answers for one machine. Any number of goroutines may use it.
type Desk struct {
	machine *machine
	lib     *Library
	// file is what a visit's file calls the machine's netlist; empty for the one
	// that a request names.
	file      string
	memo      *memo[[]byte]
	templates *pages
	drills    *drills
	visits    *memo[*visitView]
	shelf     *shelf
	lessons   *memo[*lessonView]
}

// New makes the desk of a machine.
func New(c *circuit.Circuit) *Desk { return furnish(templates(), &shelf{}, c, nil) }

// furnish makes a desk that writes by templates already read and keeps its visits
// with those of other machines.
func furnish(t *pages, kept *shelf, c, base *circuit.Circuit) *Desk {
	return &Desk{shelf: kept, machine: newMachine(c, base), lib: &Library{}, memo: newMemo(memoEntries, memoBytes, func(b []byte) int { return len(b) }), templates: t, drills: newDrills(),
		visits:  newMemo(maxVisits, maxVisits, func(*visitView) int { return 1 }),
		lessons: newMemo(maxLessons, maxLessons, func(*lessonView) int { return 1 })}
}

// Has reports whether a path is answered.
func (d *Desk) Has(path string) bool {
	return path == "/" || path == "/drawing.css" || pieceAt(path) != nil
}

// Answer answers a path that the desk has. An error is of the engine, or the
// context's.
func (d *Desk) Answer(ctx context.Context, r Request) (Answer, error) {
	if r.Path == "/drawing.css" {
		css, err := d.drawingCSS(ctx)
		return Answer{Kind: "text/css; charset=utf-8", Body: css}, err
	}
	state, acted := act(r.Query)
	if acted {
		if err := d.refuse(readState(r.Query), state); err != nil {
			return Answer{}, err
		}
	}
	if acted && r.Path == "/" {
		return Answer{State: state.Query(), Moved: true}, nil
	}
	write := func(ctx context.Context, b *bench, x *situation, v *view, out io.Writer) error {
		return d.whole(ctx, b, x, v, r.All, out)
	}
	if p := pieceAt(r.Path); p != nil {
		write = func(ctx context.Context, b *bench, x *situation, v *view, out io.Writer) error {
			return d.piece(ctx, p, b, x, v, out)
		}
	}
	body, run, err := d.resolve(ctx, r, state, write)
	return Answer{Kind: htmlKind, Body: body, State: state.Query(), Drill: d.stand(run, state)}, err
}

const htmlKind = "text/html; charset=utf-8"

type writer func(context.Context, *bench, *situation, *view, io.Writer) error

// resolve finds a state on the machine and writes what is made of it.
func (d *Desk) resolve(ctx context.Context, r Request, state State, write writer) ([]byte, *exercise, error) {
	run, trouble := d.exercise(ctx, state)
	if ctx.Err() != nil {
		return nil, nil, ctx.Err()
	}
	if run != nil {
		state = run.enter(state)
	} else {
		state.Drill, state.Moves = "", nil
	}
	m := d.machine
	if state.Small {
		if m = d.small(ctx, state); m == nil || run != nil {
			m, state.Small = d.machine, false
		}
	}
	stand, mode, wrong := m.standing(m.modeOf(state), state.Set)
	var page bytes.Buffer
	err := stand.use(ctx, func(b *bench) error {
		x := b.resolve(state, mode)
		for _, e := range wrong {
			x.complain(e)
		}
		x.desk, x.file = d, r.File
		if d.file != "" {
			x.file = d.file
		}
		if x.drill = run; run.Over() {
			x.faults, x.question.Faults = run.hidden, run.hidden
		}
		v, err := b.show(x)
		if err != nil {
			return err
		}
		v.File, v.Edition, v.Problems, v.Installable = x.file, r.Edition, r.Problems, r.Installable
		if trouble != nil {
			v.NoDrill = trouble.Error()
		}
		return write(ctx, b, x, v, &page)
	})
	return page.Bytes(), run, err
}

// modeOf names the mode that positions set by hand are laid over.
func (m *machine) modeOf(state State) string {
	if state.Mode != "" || len(state.Set) == 0 {
		return state.Mode
	}
	return m.mainMode()
}

// whole writes the page, with what of it can be seen filled in, and of all what stays.
func (d *Desk) whole(ctx context.Context, b *bench, x *situation, v *view, all bool, out io.Writer) error {
	v.All = all
	for _, p := range pieces[1:] {
		if p.apart || !v.sees(p.name) && !v.stays(p.name) {
			continue
		}
		if err := p.fillIn(b, ctx, x, v); err != nil {
			return err
		}
	}
	return d.templates.ExecuteTemplate(out, "page", v)
}

// piece writes one part of the page.
func (d *Desk) piece(ctx context.Context, p *piece, b *bench, x *situation, v *view, out io.Writer) error {
	work := func() ([]byte, error) {
		var page bytes.Buffer
		if err := p.fillIn(b, ctx, x, v); err != nil {
			return nil, err
		}
		err := d.templates.ExecuteTemplate(&page, p.name, v)
		return page.Bytes(), err
	}
	if p.key == nil {
		page, err := work()
		out.Write(page)
		return err
	}
	page, err := d.memo.get(p.path+" "+p.key(x), work)
	out.Write(page)
	return err
}

func (d *Desk) drawingCSS(ctx context.Context) ([]byte, error) {
	return d.memo.get("css", func() (css []byte, err error) {
		err = d.machine.use(ctx, func(b *bench) error {
			css, err = b.drawingStyle(ctx, b.resolve(State{}, ""))
			if err != nil && ctx.Err() == nil {
				css, err = nil, nil // what cannot be drawn needs no style
			}
			return err
		})
		return css, err
	})
}
