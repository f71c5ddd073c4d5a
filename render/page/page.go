// Package page serves machines as a page on this computer: a visit with its next
// test and its report; the diagram, its modes and switches, faults to put in, two
// probes and a meter, what starves a load; drills and lessons.
//
// Start with [New], which takes a [Source] that reads the machine and says when
// its files have changed, and a library of others; [Site.Serve] answers on a listener until its context
// ends. Package offline writes the page as one file that needs no server.
//
// What is shown is worked out by package desk, and is wholly in the address: the
// server keeps nothing of anybody, so two browsers cannot mix. A request is
// checked (guard.go), waits for its turn (queue.go) and is put to the desk
// (write.go); the pages are told when the file has changed (news.go).
package page

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"legtrace/circuit"
	"legtrace/render/page/desk"
)

// Problem is something wrong with the machine's file.
type Problem = desk.Problem

// Source is where the machine comes from that is shown where none is chosen.
type Source struct {
	// Name is what the person calls the file.
	Name string
	// Load reads the machine. Where that fails the circuit is nil. Where Load is
	// nil one of the library is chosen.
	Load func() (*circuit.Circuit, []Problem)
	// Stamp differs whenever one of the files has changed. It is nil where
	// none can.
	Stamp func() string
}

// Options set up a site.
type Options struct {
	// Open is set where the site is reached from other machines: only who has a
	// token gets in.
	Open bool
	// Announce is told every new token; each lets one browser in.
	Announce func(token string)
	// Class lets in who has its code, in place of tokens.
	Class *Class
	// Poll is how often the files are looked at; 0 means [DefaultPoll].
	Poll time.Duration
	// Patience is how many thousand solutions one answer may take; 0 means
	// [DefaultPatience].
	Patience int
	// Tool is the page as one file, for browsers to keep; nil offers none.
	Tool func(context.Context) ([]byte, error)
	// Library has further machines, and reads and writes people's files.
	Library desk.Library
}

// DefaultPoll is how often the machine's files are looked at.
const DefaultPoll = 300 * time.Millisecond

// DefaultPatience is what one answer may take where nobody says otherwise.
const DefaultPatience = 5000

// Limits of what is answered.
const (
	maxHeader    = 64 << 10
	maxListeners = 32 // pages waiting for the file to change
	mostBrought  = 1 << 20
)

// Site is the page.
type Site struct {
	source Source
	opt    Options
	lanes  lanes
	keys   *keys
	news   *news
}

// readyDesks is how many machines a class may use at once without any being made
// ready again and again.
const readyDesks = 16

// New reads the machine. It fails where that cannot be read.
func New(source Source, opt Options) (*Site, []Problem, error) {
	var c *circuit.Circuit
	var problems []Problem
	if source.Load != nil {
		if c, problems = source.Load(); c == nil {
			return nil, problems, fmt.Errorf("%s cannot be read", source.Name)
		}
	}
	if opt.Poll == 0 {
		opt.Poll = DefaultPoll
	}
	if opt.Patience == 0 {
		opt.Patience = DefaultPatience
	}
	opt.Library.Ready = readyDesks
	s := &Site{source: source, opt: opt, lanes: newLanes(), news: newNews(desk.NewShop(c, opt.Library))}
	if opt.Open && opt.Class == nil {
		s.keys = newKeys(opt.Announce)
	}
	return s, problems, nil
}

// Handler answers requests to an address, without following the file.
func (s *Site) Handler(address string) http.Handler { return s.guarded(address, s.routes()) }

// Serve answers until the context ends, and lets what is being answered finish.
func (s *Site) Serve(ctx context.Context, l net.Listener) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	server := &http.Server{
		Handler: s.Handler(l.Addr().String()), MaxHeaderBytes: maxHeader,
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second,
		WriteTimeout: writeWithin, IdleTimeout: time.Minute,
	}
	go s.watch(ctx)
	ended := make(chan error, 1)
	go func() {
		<-ctx.Done()
		s.news.close()
		grace, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		err := server.Shutdown(grace)
		if errors.Is(err, context.DeadlineExceeded) {
			// Whoever is still waiting has waited long enough.
			err = server.Close()
		}
		ended <- err
	}()
	if err := server.Serve(l); err != http.ErrServerClosed {
		return fmt.Errorf("the page cannot be served: %w", err)
	}
	return <-ended
}
