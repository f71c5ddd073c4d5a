// Package graphviz lays graphs out with Graphviz.
//
// This is a copy of github.com/goccy/go-graphviz, cut down; see README.md for
// what was changed and why.
package graphviz

import (
	"context"
	"io"
	"sync"

	"github.com/goccy/go-graphviz/cgraph"
	"github.com/goccy/go-graphviz/gvc"
	"github.com/goccy/go-graphviz/internal/wasm"
)

type (
	Graph  = cgraph.Graph
	Layout string
	Format string
)

const DOT Layout = "dot"

type Graphviz struct {
	ctx    *gvc.Context
	layout Layout
}

var (
	once    sync.Once
	startOf error
)

// Start brings the layout engine up, once; nothing else here works before. The
// compiled engine is kept in cacheDir, which only its user may be able to
// write, or nowhere if that is "".
func Start(ctx context.Context, cacheDir string) error {
	once.Do(func() {
		if startOf = wasm.Start(ctx, cacheDir); startOf == nil {
			startOf = cgraph.Start(context.WithoutCancel(ctx))
		}
	})
	return startOf
}

// Started reports whether the layout engine is up.
func Started() bool { return wasm.Started() }

func New(ctx context.Context) (*Graphviz, error) {
	c, err := gvc.New(ctx)
	if err != nil {
		return nil, err
	}
	return &Graphviz{ctx: c, layout: DOT}, nil
}

func ParseBytes(data []byte) (*Graph, error) { return cgraph.ParseBytes(data) }

func (g *Graphviz) Close() error { return g.ctx.Close() }

func (g *Graphviz) Render(ctx context.Context, graph *Graph, format Format, w io.Writer) (e error) {
	defer func() {
		if err := g.ctx.FreeLayout(ctx, graph); err != nil {
			e = err
		}
	}()
	if err := g.ctx.Layout(ctx, graph, string(g.layout)); err != nil {
		return err
	}
	return g.ctx.RenderData(ctx, graph, string(format), w)
}
