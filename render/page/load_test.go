package page_test

import (
	"fmt"
	"io"
	"net/http"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"legtrace/circuit/circuittest"
	"legtrace/render/page"
)

// flatWithin is how much the heap may grow between a look early on and one at
// the end: what the memo and kept drills still take in, and what the collector
// leaves lying.
const flatWithin = 8 << 20 // bytes

// 200 requests a second, as from a class with tablets: no error, and memory as
// flat at the end as it was a sixth of the way through.
func TestManyRequests(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	lasts := 4 * time.Second
	if circuittest.Nightly {
		lasts = 10 * time.Minute
	}
	at := serve(t, fileSource(demo(t)), page.Options{})
	l := newLoad(at,
		"/bench?mode=broil&red=broil_element.1&black=broil_element.2",
		"/bench?mode=bake&fault=w12:open&pick=wire:w12",
		"/bench?mode=off&supply=off&meter=ohms&red=thermal_fuse.1&black=thermal_fuse.2",
		"/bench?"+drillQuery(2, 17, "try broil", "prove", "volts broil_1 broil_2"),
		"/drawing?mode=broil", "/learn?lesson=2")
	defer l.transport.CloseIdleConnections()
	l.run(lasts / 6)
	early := liveHeap()
	l.run(lasts - lasts/6)
	late := liveHeap()
	if len(l.failed) > 0 {
		t.Errorf("failed: %v", l.failed)
	}
	if late > early+flatWithin {
		t.Errorf("memory grew from %d to %d bytes", early, late)
	}
	slices.Sort(l.took)
	n := len(l.took)
	t.Logf("%d requests in %v: half within %v, 99 %% within %v, slowest %v; heap %.1f MB after a sixth, %.1f MB at the end",
		n, lasts, l.took[n/2], l.took[n*99/100], l.took[n-1], float64(early)/1e6, float64(late)/1e6)
}

func liveHeap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // what the first one's finalizers let go
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// load asks for addresses in turn, at a steady rate whether or not answers are
// back.
type load struct {
	at        string
	paths     []string
	transport *http.Transport
	client    http.Client

	mu     sync.Mutex
	asked  int
	took   []time.Duration
	failed map[string]int
}

func newLoad(at string, paths ...string) *load {
	transport := &http.Transport{MaxIdleConnsPerHost: 64}
	return &load{at: at, paths: paths, transport: transport, client: http.Client{Transport: transport}, failed: map[string]int{}}
}

func (l *load) run(d time.Duration) {
	const rate = 200 // a second
	var all sync.WaitGroup
	tick := time.NewTicker(time.Second / rate)
	defer tick.Stop()
	for range int(d.Seconds() * rate) {
		<-tick.C
		path := l.paths[l.asked%len(l.paths)]
		l.asked++
		all.Go(func() { l.one(path) })
	}
	all.Wait()
}

func (l *load) one(path string) {
	begun := time.Now()
	what := ""
	answer, err := l.client.Get(l.at + path)
	if err != nil {
		what = err.Error()
	} else {
		_, err = io.Copy(io.Discard, answer.Body)
		answer.Body.Close()
		if err != nil || answer.StatusCode != http.StatusOK {
			what = fmt.Sprint(path, answer.Status, err)
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.took = append(l.took, time.Since(begun))
	if what != "" {
		l.failed[what]++
	}
}
