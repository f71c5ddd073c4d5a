// Package parcel is what a saved page carries along besides the engine: a machine,
// or none where one is chosen from what the engine has. [New] makes one, and
// [Open] puts an engine behind it that answers as the server does.
package parcel

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"

	"legtrace/circuit"
	"legtrace/render/page/desk"
)

// Parcel is a page on its way to another computer.
type Parcel struct {
	// File is what the person calls the machine's file.
	File string `json:"file"`
	// Machine is shown where none is chosen; nil shows what there is.
	Machine *circuit.Spec `json:"machine"`
	// Base is what the machine is a variant of, and drawn like; nil for none.
	Base *circuit.Spec `json:"base,omitempty"`
	// Choose is set where there is no machine, so that what is damaged is not taken
	// for that.
	Choose bool `json:"choose"`
	// Alone is set for a page of this machine and no other.
	Alone bool `json:"alone"`
}

// New packs a page up; the machine may be nil, and what it is a variant of.
func New(c, base *circuit.Circuit, file string, alone bool) *Parcel {
	return &Parcel{File: file, Machine: specOf(c), Base: specOf(base), Choose: c == nil, Alone: alone}
}

func specOf(c *circuit.Circuit) *circuit.Spec {
	if c == nil {
		return nil
	}
	spec := c.Spec()
	return &spec
}

// Engine answers for the machines of a page. Any number of goroutines may use it.
type Engine struct {
	shop *desk.Shop
	file string
}

// choice is a parcel without a machine, as JSON.
const choice = `{"file":"","machine":null,"choose":true,"alone":false}`

// Open reads a parcel as JSON.
func Open(data []byte, lib desk.Library) (*Engine, error) {
	if string(data) == choice && lib.List != nil { // to read JSON takes a tenth of a start
		return &Engine{shop: desk.NewShop(nil, lib.Like(nil))}, nil
	}
	// What a machine may have is looked up only where there is one: that takes longer
	// than all else here.
	var p struct {
		Parcel
		Machine json.RawMessage `json:"machine"`
		Base    json.RawMessage `json:"base"`
	}
	if err := json.Unmarshal(data, &p); err != nil {
		return nil, fmt.Errorf("the machine in this page cannot be read: %w", err)
	}
	if p.Alone {
		lib = lib.Alone()
	}
	var built [2]*circuit.Circuit
	for i, text := range []json.RawMessage{p.Machine, p.Base} {
		if text == nil || string(text) == "null" {
			continue
		}
		var spec circuit.Spec
		if err := json.Unmarshal(text, &spec); err != nil {
			return nil, fmt.Errorf("the machine in this page cannot be read: %w", err)
		}
		var problems []circuit.Problem
		if built[i], problems = circuit.Build(spec); built[i] == nil {
			return nil, fmt.Errorf("the machine in this page is not sound: %s", problems[0])
		}
	}
	if built[0] == nil && (!p.Choose || lib.List == nil) {
		return nil, errors.New("the machine in this page is not there")
	}
	return &Engine{shop: desk.NewShop(built[0], lib.Like(built[1])), file: p.File}, nil
}

// Answer answers an address: a path, a query as it stands in the address, and
// what a person brings. A panic is told as an error, for there is nobody to
// restart the engine.
func (e *Engine) Answer(ctx context.Context, path, query, body string) (a desk.Answer, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the engine slipped: %v\n%s", r, debug.Stack())
		}
	}()
	if !e.shop.Has(path) {
		return desk.Answer{}, fmt.Errorf("nothing is at %s", path)
	}
	if len(query) > desk.MaxQuery {
		return desk.Answer{}, errors.New("the address is too long")
	}
	return e.shop.Answer(ctx, desk.Request{Path: path, Query: desk.Query(query), Body: []byte(body), File: e.file})
}
