package page

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"legtrace/circuit"
	"legtrace/render/page/desk"
)

// news holds the shop, with the machine as the file last had it without error,
// what is wrong with the file now, and the pages that wait to be told.
type news struct {
	mu        sync.Mutex
	shop      *desk.Shop
	problems  []desk.Problem
	edition   int
	listeners map[chan struct{}]bool
	closed    chan struct{}
}

func newNews(s *desk.Shop) *news {
	return &news{shop: s, edition: 1, listeners: map[chan struct{}]bool{}, closed: make(chan struct{})}
}

// now returns the shop, what is wrong with the machine's file since, and which
// edition of both that is.
func (n *news) now() (*desk.Shop, []desk.Problem, int) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.shop, n.problems, n.edition
}

// publish tells every page. A nil machine keeps the last.
func (n *news) publish(c *circuit.Circuit, problems []desk.Problem) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if c != nil {
		n.shop.Give(c)
	}
	n.problems = problems
	n.edition++
	for l := range n.listeners {
		select {
		case l <- struct{}{}:
		default: // it has news waiting already
		}
	}
}

func (n *news) listen() (chan struct{}, bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.listeners) >= maxListeners {
		return nil, false
	}
	l := make(chan struct{}, 1)
	n.listeners[l] = true
	return l, true
}

func (n *news) leave(l chan struct{}) {
	n.mu.Lock()
	defer n.mu.Unlock()
	delete(n.listeners, l)
}

func (n *news) close() { close(n.closed) }

// watch reads the machine again whenever its files have changed and been left
// alone for one look. What cannot be read leaves the last good machine.
func (s *Site) watch(ctx context.Context) {
	if s.source.Stamp == nil {
		return
	}
	read, seen := s.source.Stamp(), ""
	tick := time.NewTicker(s.opt.Poll)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		stamp := s.source.Stamp()
		if stamp == read || stamp != seen {
			seen = stamp
			continue
		}
		read = stamp
		c, problems := s.source.Load()
		if c != nil {
			problems = nil
		}
		s.news.publish(c, problems)
	}
}

// events tells a page of every change, beginning with how things stand.
func (s *Site) events(w http.ResponseWriter, r *http.Request) {
	news, ok := s.news.listen()
	if !ok {
		refuse(w, http.StatusServiceUnavailable, "too many pages are open")
		return
	}
	defer s.news.leave(news)
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	beat := time.NewTicker(15 * time.Second)
	defer beat.Stop()
	for {
		_, problems, edition := s.news.now()
		texts := []string{}
		for _, p := range problems {
			texts = append(texts, p.String())
		}
		data, err := json.Marshal(map[string]any{"edition": edition, "problems": texts})
		if err != nil {
			return
		}
		if out.SetWriteDeadline(time.Now().Add(10*time.Second)) != nil {
			return
		}
		if _, err := fmt.Fprintf(w, "event: machine\ndata: %s\n\n", data); err != nil || out.Flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-s.news.closed:
			return
		case <-news:
		case <-beat.C:
		}
	}
}
