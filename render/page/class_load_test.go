package page_test

import (
	"fmt"
	"math/rand/v2"
	"net/url"
	"slices"
	"sync"
	"testing"
	"time"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/page"
)

// clients are as many as a large class has.
const clients = 40

// Forty browsers on one server for five minutes, each on one of eight machines: a
// look, a fault, a probe, a complaint of its own, and what a browser asks for after
// each tap, with some seconds to think. None is refused; how long a tap waits is told.
func TestAClassOnOneServer(t *testing.T) {
	if !circuittest.Nightly {
		t.Skip("takes five minutes")
	}
	const lasts = 5 * time.Minute
	at := serve(t, page.Source{}, page.Options{Library: library.New("")})
	taps, later := newLoad(at), newLoad(at)
	defer taps.transport.CloseIdleConnections()
	defer later.transport.CloseIdleConnections()
	var machines []*circuit.Circuit
	for _, name := range []string{"range-electronic", "range-mechanical", "range-slide-in", "dryer", "dryer-electronic", "water-heater", "oven-double", "oven-gas"} {
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		machines = append(machines, c)
	}
	var all sync.WaitGroup
	ends := time.Now().Add(lasts)
	for i := range clients {
		all.Go(func() {
			r, c := rand.New(rand.NewPCG(uint64(i), 40)), machines[i%len(machines)]
			for time.Now().Before(ends) {
				time.Sleep(time.Duration(2000+r.IntN(4000)) * time.Millisecond)
				query, piece := tapOn(r, c)
				taps.one("/bench?" + query)
				later.one("/drawing?" + query)
				later.one(piece + "?" + query)
			}
		})
	}
	all.Wait()
	for what, l := range map[string]*load{"taps": taps, "what follows": later} {
		if len(l.failed) > 0 {
			t.Errorf("%s failed: %v", what, l.failed)
		}
		slices.Sort(l.took)
		n := len(l.took)
		t.Logf("%d %s in %v: half within %v, 99 %% within %v, slowest %v", n, what, lasts, l.took[n/2], l.took[n*99/100], l.took[n-1])
	}
}

// tapOn is the state that a tap leads to on a machine, and the panel that is then
// open.
func tapOn(r *rand.Rand, c *circuit.Circuit) (query, piece string) {
	modes := c.Modes()
	q := url.Values{"machine": {netlists.CatalogPrefix + c.Name()}, "mode": {modes[r.IntN(len(modes))].Name}}
	terminal := func() string { return c.Terminal(circuit.TerminalID(r.IntN(len(c.Terminals())))).Ref }
	wire := c.Wires()[r.IntN(len(c.Wires()))].Name
	switch r.IntN(4) {
	case 0:
		q.Set("red", terminal())
		q.Set("black", terminal())
		return q.Encode(), "/breaks"
	case 1:
		q.Set("fault", wire+":open")
		return q.Encode(), "/standing"
	case 2:
		q.Set("lesson", fmt.Sprint(1+r.IntN(10)))
		q.Set("door", "learn")
		return q.Encode(), "/learn"
	}
	load := c.Branch(c.Loads()[r.IntN(len(c.Loads()))]).Ref
	q.Set("note", fmt.Sprintf("load~%s~%s~%s", q.Get("mode"), load, []string{"dead", "weak"}[r.IntN(2)]))
	q.Set("door", "find")
	q.Set("date", fmt.Sprintf("%d-%02d-%02d", 2000+r.IntN(20), 1+r.IntN(12), 1+r.IntN(28))) // known from no other
	return q.Encode(), "/visit"
}
