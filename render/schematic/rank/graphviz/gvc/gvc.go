package gvc

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/goccy/go-graphviz/cgraph"
	"github.com/goccy/go-graphviz/internal/wasm"
)

type Context struct {
	gvc *wasm.Context
}

func New(ctx context.Context) (*Context, error) {
	plugins, err := wasm.DefaultSymList(ctx)
	if err != nil {
		return nil, err
	}
	end, err := wasm.SymListZero(ctx)
	if err != nil {
		return nil, err
	}
	gvc, err := wasm.GetContextWithPlugins(ctx, append(plugins, end), 1)
	if err != nil {
		return nil, err
	}
	if gvc == nil {
		return nil, fmt.Errorf("failed to create graphviz context")
	}
	return &Context{gvc: gvc}, nil
}

func (c *Context) Close() error {
	res, err := c.gvc.FreeContext(context.Background())
	if err != nil {
		return err
	}
	return toError(res)
}

func (c *Context) Layout(ctx context.Context, g *cgraph.Graph, engine string) error {
	res, err := c.gvc.Layout(ctx, toGraphWasm(g), engine)
	if err != nil {
		return err
	}
	return toError(res)
}

func (c *Context) RenderData(ctx context.Context, g *cgraph.Graph, format string, w io.Writer) error {
	var (
		s           string
		renderedLen uint
	)
	if _, err := c.gvc.RenderData(ctx, toGraphWasm(g), format, &s, &renderedLen); err != nil {
		return err
	}
	if _, err := w.Write([]byte(s)); err != nil {
		return err
	}
	return nil
}

func (c *Context) FreeLayout(ctx context.Context, g *cgraph.Graph) error {
	res, err := c.gvc.FreeLayout(ctx, toGraphWasm(g))
	if err != nil {
		return err
	}
	return toError(res)
}

func toError(result int) error {
	if result == 0 {
		return nil
	}
	return lastError()
}

func lastError() error {
	if e, _ := wasm.LastError(context.Background()); e != "" {
		return errors.New(e)
	}
	return nil
}
