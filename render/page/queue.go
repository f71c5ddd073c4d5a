package page

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"time"

	"legtrace/circuit"
	"legtrace/render/page/desk"
)

const (
	maxLight    = 8    // light questions worked on at once
	maxWaiting  = 2000 // of each weight
	writeWithin = 30 * time.Second
	// longest is how long one answer may be worked on, from when its turn came,
	// should what is worked on not be counted.
	longest = 10 * time.Minute
)

// queue lets so many in at once. Whoever must wait is let in by turns of those
// who ask, so that who asks for a hundred things holds up nobody who asks for
// one.
type queue struct {
	mu      sync.Mutex
	free    int
	waiting map[string][]chan struct{} // by who asks, first come first
	turn    []string                   // those with something waiting
	length  int
}

func newQueue(places int) *queue {
	return &queue{free: places, waiting: map[string][]chan struct{}{}}
}

var errFull = errors.New("too many requests wait already")

// enter waits for a place, which must be left again. It fails where too many wait
// or the context ends.
func (q *queue) enter(ctx context.Context, who string) error {
	q.mu.Lock()
	if q.free > 0 {
		q.free--
		q.mu.Unlock()
		return nil
	}
	if q.length == maxWaiting {
		q.mu.Unlock()
		return errFull
	}
	place := make(chan struct{})
	if len(q.waiting[who]) == 0 {
		q.turn = append(q.turn, who)
	}
	q.waiting[who] = append(q.waiting[who], place)
	q.length++
	q.mu.Unlock()
	select {
	case <-place:
		return nil
	case <-ctx.Done():
		q.giveUp(who, place)
		return ctx.Err()
	}
}

func (q *queue) leave() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.next()
}

// next hands a place on to whose turn it is.
func (q *queue) next() {
	if len(q.turn) == 0 {
		q.free++
		return
	}
	who := q.turn[0]
	q.turn = q.turn[1:]
	place := q.waiting[who][0]
	if q.waiting[who] = q.waiting[who][1:]; len(q.waiting[who]) > 0 {
		q.turn = append(q.turn, who)
	} else {
		delete(q.waiting, who)
	}
	q.length--
	close(place)
}

// giveUp takes back what waits for a place, or hands the place on where it was
// given meanwhile.
func (q *queue) giveUp(who string, place chan struct{}) {
	q.mu.Lock()
	defer q.mu.Unlock()
	at := slices.Index(q.waiting[who], place)
	if at < 0 {
		q.next()
		return
	}
	q.length--
	if q.waiting[who] = slices.Delete(q.waiting[who], at, at+1); len(q.waiting[who]) == 0 {
		delete(q.waiting, who)
		q.turn = slices.DeleteFunc(q.turn, func(s string) bool { return s == who })
	}
}

// lanes are where questions wait: those that search among suspects or sum a drill
// up apart from the rest, and the moves of drills apart from both. The heavy ones
// have fewer places than the desk has benches, so that a light question never
// waits for them.
type lanes struct{ light, moves, heavy *queue }

func newLanes() lanes {
	return lanes{newQueue(maxLight), newQueue(runtime.GOMAXPROCS(0)), newQueue(max(1, runtime.GOMAXPROCS(0)/2))}
}

// lane is the one for a request.
func (l lanes) lane(r *http.Request) *queue {
	q := r.URL.Query()
	drills := q.Has("drill") || q.Has("begin")
	switch {
	case drills && (r.URL.Path == "/" || r.URL.Path == "/debrief"), q.Has("note") && r.URL.Path != "/bench", r.URL.Path == "/ready":
		return l.heavy
	case drills:
		return l.moves
	}
	return l.light
}

// inTurn has a request worked on when its turn comes. Only the work holds a
// place: whoever reads the answer slowly holds up nobody.
func (s *Site) inTurn(w http.ResponseWriter, r *http.Request, work func(context.Context) (desk.Answer, error)) (desk.Answer, bool) {
	who, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		who = r.RemoteAddr
	}
	lane := s.lanes.lane(r)
	if err := lane.enter(r.Context(), who); err != nil {
		if errors.Is(err, errFull) {
			w.Header().Set("Retry-After", strconv.Itoa(1))
			refuse(w, http.StatusServiceUnavailable, err.Error())
		}
		return desk.Answer{}, false // or nobody waits any more
	}
	bound, enough := circuit.Within(r.Context(), 1000*s.opt.Patience)
	defer enough()
	ctx, stop := context.WithTimeout(bound, longest)
	defer stop()
	a, err := func() (desk.Answer, error) {
		defer lane.leave()
		return work(ctx)
	}()
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeWithin)) // of a network only
	switch {
	case context.Cause(ctx) == circuit.ErrPatience:
		refuse(w, http.StatusServiceUnavailable, fmt.Sprintf("this takes more than %d thousand solutions, and was given up; legtrace page --patience %d allows twice as many", s.opt.Patience, 2*s.opt.Patience))
	case ctx.Err() != nil:
		refuse(w, http.StatusServiceUnavailable, "this took too long, and was given up")
	case errors.Is(err, desk.ErrWanted):
		trouble(w, r, "wanted", err)
	case errors.As(err, new(desk.Refusal)):
		trouble(w, r, "refused", err)
	case err != nil:
		refuse(w, http.StatusUnprocessableEntity, err.Error())
	}
	return a, ctx.Err() == nil && err == nil
}

// trouble tells the page's script of something that it can do something about,
// and whoever has no script that it cannot be done.
func trouble(w http.ResponseWriter, r *http.Request, kind string, err error) {
	if r.URL.Path == "/" {
		refuse(w, http.StatusConflict, err.Error())
		return
	}
	w.Header().Set("Legtrace-Trouble", kind)
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	io.WriteString(w, err.Error())
}
