package page

import (
	"context"
	"fmt"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
)

// Who asks for one thing waits for one thing of another, not for all of them.
func TestAQueueServesByTurns(t *testing.T) {
	q := newQueue(1)
	if err := q.enter(t.Context(), "first"); err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var served []string
	var all sync.WaitGroup
	wait := func(who string) {
		q.mu.Lock()
		before := q.length
		q.mu.Unlock()
		all.Go(func() {
			if err := q.enter(context.Background(), who); err != nil {
				t.Error(err)
			}
			mu.Lock()
			served = append(served, who)
			mu.Unlock()
			q.leave()
		})
		for now := before; now == before; {
			q.mu.Lock()
			now = q.length
			q.mu.Unlock()
		}
	}
	for _, who := range []string{"a", "a", "a", "b", "a", "c", "b"} {
		wait(who)
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	if err := q.enter(gone, "d"); err == nil {
		t.Error("who has left is let in")
	}
	q.leave()
	all.Wait()
	if want := []string{"a", "b", "c", "a", "b", "a", "a"}; !slices.Equal(served, want) {
		t.Errorf("served %q, want %q", served, want)
	}
	if q.free != 1 || q.length != 0 || len(q.waiting) != 0 || len(q.turn) != 0 {
		t.Errorf("left over: %+v", q)
	}
}

// However many come and leave, every place comes back.
func TestNoPlaceIsLost(t *testing.T) {
	q := newQueue(3)
	var all sync.WaitGroup
	for i := range 2000 {
		ctx, leave := context.WithCancel(t.Context())
		all.Go(func() {
			if q.enter(ctx, fmt.Sprint(i%7)) == nil {
				q.leave()
			}
		})
		if i%2 == 0 {
			leave()
		}
		defer leave()
	}
	all.Wait()
	if q.free != 3 || q.length != 0 || len(q.waiting) != 0 || len(q.turn) != 0 {
		t.Errorf("left over: %+v", q)
	}
}

func TestAQueueHasAnEnd(t *testing.T) {
	q := newQueue(0)
	q.length = maxWaiting
	if err := q.enter(t.Context(), "a"); err != errFull {
		t.Errorf("let in behind %d: %v", maxWaiting, err)
	}
}

func TestWhatIsHeavy(t *testing.T) {
	l := newLanes()
	for address, heavy := range map[string]bool{
		"/": false, "/bench?mode=bake&red=broil_1": false, "/?note=load~broil~broil_element~dead": true,
		"/bench?note=load~broil~broil_element~dead": false, "/visit?note=load~broil~broil_element~dead": true,
		"/bench?drill=1.1.3.0": false, "/debrief?drill=1.1.3.0&move=give-up": true, "/?begin=1": true, "/drawing.css": false,
	} {
		if got := l.lane(httptest.NewRequest("GET", address, nil)) == l.heavy; got != heavy {
			t.Errorf("%s is heavy: %v", address, got)
		}
	}
}
