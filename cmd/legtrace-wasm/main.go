//go:build js && wasm

// Legtrace-wasm is the engine of a saved page: it answers for one machine inside
// a web page, as WebAssembly.
//
// Before it starts, the page puts an object at globalThis.legtrace: parcel is
// the machine as package parcel writes it; the engine then calls either
// failed(why) or ready(ask, drop). ask(path, query, done) calls done(error,
// html, state) later; drop() gives up what is being worked out.
package main

import (
	"context"
	"syscall/js"
	"time"

	"legtrace/render/page/offline/parcel"
)

func main() {
	page := js.Global().Get("legtrace")
	engine, err := parcel.Open([]byte(page.Get("parcel").String()))
	if err != nil {
		page.Call("failed", err.Error())
		return
	}
	var giveUp context.CancelFunc = func() {}
	ask := js.FuncOf(func(_ js.Value, args []js.Value) any {
		path, query, done := args[0].String(), args[1].String(), args[2]
		ctx, cancel := context.WithCancel(context.Background())
		giveUp = cancel
		go func() {
			defer cancel()
			a, err := engine.Answer(&polite{Context: ctx, since: time.Now()}, path, query)
			if err != nil {
				done.Invoke(err.Error(), "", "")
				return
			}
			done.Invoke(js.Null(), string(a.Body), a.State)
		}()
		return nil
	})
	drop := js.FuncOf(func(js.Value, []js.Value) any {
		giveUp()
		return nil
	})
	page.Call("ready", ask, drop)
	select {} // the page has the functions
}

// polite is a context that lets the page in now and then while the engine
// works: both have one thread, and what the page says comes through no other
// way. Whoever works long looks whether it should stop, and stops here a while.
type polite struct {
	context.Context
	since time.Time
}

// turn is how long the engine works before it lets the page in.
const turn = 30 * time.Millisecond

func (p *polite) Err() error {
	if time.Since(p.since) > turn {
		time.Sleep(time.Millisecond) // less would not let go of the thread
		p.since = time.Now()
	}
	return p.Context.Err()
}
