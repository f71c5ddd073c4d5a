//go:build js && wasm

// Legtrace-wasm is the engine of a saved page: it answers inside a web page, as
// WebAssembly.
//
// Before it starts, the page puts an object at globalThis.legtrace: parcel is
// what package parcel writes; the engine then calls either failed(why) or
// ready(ask, drop). ask(path, query, body, done) calls done(error, html, state,
// kind) later, kind being "refused" or "wanted" for errors that the page can do
// something about; drop() gives up what is being worked out.
package main

import (
	"context"
	"errors"
	"runtime"
	"runtime/debug"
	"syscall/js"
	"time"

	"legtrace/cmd/library"
	"legtrace/render/page/desk"
	"legtrace/render/page/offline/parcel"
)

// room is how much is put down before what is no longer used is given up: a tab on a
// phone has little memory, and never gives any back. A share of what is in use, which
// is what the runtime goes by, is too little of that at a start, which it would spend on
// looking, and too much in a visit; it has bounds, in per cent.
const room, leastShare, mostShare = 10 << 20, 40, 400

// keepRoom sets the share that is room, given the one that held, whenever the runtime
// has looked what is in use: it gives up then what nobody holds, and calls this.
func keepRoom(share uint64) {
	debug.SetGCPercent(int(share))
	runtime.SetFinalizer(new([2]*int), func(*[2]*int) {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		keepRoom(max(leastShare, min(mostShare, room*(100+share)/m.NextGC)))
	})
}

func main() {
	keepRoom(mostShare)
	page := js.Global().Get("legtrace")
	engine, err := parcel.Open([]byte(page.Get("parcel").String()), library.New(""))
	if err != nil {
		page.Call("failed", err.Error())
		return
	}
	var giveUp context.CancelFunc = func() {}
	ask := js.FuncOf(func(_ js.Value, args []js.Value) any {
		path, query, body, done := args[0].String(), args[1].String(), args[2].String(), args[3]
		ctx, cancel := context.WithCancel(context.Background())
		giveUp = cancel
		go func() {
			defer cancel()
			a, err := engine.Answer(&polite{Context: ctx, since: time.Now()}, path, query, body)
			if err != nil {
				done.Invoke(err.Error(), "", "", kindOf(err))
				return
			}
			done.Invoke(js.Null(), string(a.Body), a.State, "")
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

func kindOf(err error) string {
	switch {
	case errors.As(err, new(desk.Refusal)):
		return "refused"
	case errors.Is(err, desk.ErrWanted):
		return "wanted"
	}
	return ""
}

// polite is a context that lets the page in now and then while the engine
// works: both have one thread, and what the page says comes through no other
// way. Whoever works long looks whether it should stop, and stops here a while.
type polite struct {
	context.Context
	since time.Time
}

// turn is how long the engine works before it lets the page in, which takes a tenth of
// it: a browser makes whoever sleeps again and again sleep four milliseconds.
const turn = 45 * time.Millisecond

func (p *polite) Err() error {
	if time.Since(p.since) > turn {
		time.Sleep(time.Millisecond) // less would not let go of the thread
		p.since = time.Now()
	}
	return p.Context.Err()
}
