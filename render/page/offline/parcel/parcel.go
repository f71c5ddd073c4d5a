// Package parcel is what a saved page carries along besides the engine: the
// machine. [New] makes one, and [Open] puts an engine behind it that answers as
// the server does.
package parcel

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"runtime/debug"
	"strings"

	"legtrace/circuit"
	"legtrace/render/page/desk"
)

// Parcel is a machine on its way to another computer.
type Parcel struct {
	// File is what the person calls the machine's file.
	File    string       `json:"file"`
	Machine circuit.Spec `json:"machine"`
}

// New packs a machine up.
func New(c *circuit.Circuit, file string) *Parcel {
	return &Parcel{File: file, Machine: c.Spec()}
}

// Engine answers for the machine of a parcel. Any number of goroutines may use
// it.
type Engine struct {
	desk *desk.Desk
	file string
}

// Open reads a parcel as JSON.
func Open(data []byte) (*Engine, error) {
	var p Parcel
	if err := json.Unmarshal(data, &p); err != nil {
		return nil, fmt.Errorf("the machine in this page cannot be read: %w", err)
	}
	c, problems := circuit.Build(p.Machine)
	if c == nil {
		return nil, fmt.Errorf("the machine in this page is not sound: %s", problems[0])
	}
	return &Engine{desk: desk.New(c), file: p.File}, nil
}

// Answer answers an address: a path, and a query as it stands in the address. A
// panic is told as an error, for there is nobody to restart the engine.
func (e *Engine) Answer(ctx context.Context, path, query string) (a desk.Answer, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the engine slipped: %v\n%s", r, debug.Stack())
		}
	}()
	if !e.desk.Has(path) {
		return desk.Answer{}, fmt.Errorf("nothing is at %s", path)
	}
	if len(query) > desk.MaxQuery {
		return desk.Answer{}, errors.New("the address is too long")
	}
	address := url.URL{RawQuery: strings.TrimPrefix(query, "?")}
	return e.desk.Answer(ctx, desk.Request{Path: path, Query: address.Query(), File: e.file})
}
