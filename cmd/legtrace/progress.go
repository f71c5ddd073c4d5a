package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"
)

// progress says how far a long command is: a bar on a terminal, elsewhere a line
// now and then, more and more seldom.
type progress struct {
	to   io.Writer
	bar  bool
	stop func()

	mu        sync.Mutex
	began     time.Time
	next      time.Duration // since then, when to speak
	done, all int           // of the step
	drawn     int           // columns of the bar on the screen
}

// speakAfter is how long a command may take without a word.
const speakAfter = time.Second

func newProgress(to io.Writer) *progress {
	f, ok := to.(*os.File)
	p := &progress{to: to, bar: ok && isatty.IsTerminal(f.Fd()), began: time.Now(), next: speakAfter}
	tick, ended := time.NewTicker(speakAfter/5), make(chan struct{})
	go func() {
		for {
			select {
			case <-tick.C:
				p.speak()
			case <-ended:
				return
			}
		}
	}()
	p.stop = sync.OnceFunc(func() {
		tick.Stop()
		close(ended)
	})
	return p
}

// converses tells of commands that answer a person, or go on until stopped.
func converses(cmd *cobra.Command) bool {
	watched := cmd.Flags().Lookup("watch")
	switch cmd.Name() {
	case "visit", "page", "drill", "new", "describe":
		return true
	}
	return watched != nil && watched.Changed
}

// tell is told how far the work is, see circuit.WithWork.
func (p *progress) tell(done, all int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done, p.all = done, all
}

// speak says how far it is, where it is time to.
func (p *progress) speak() {
	p.mu.Lock()
	defer p.mu.Unlock()
	took := time.Since(p.began)
	if took < p.next || p.to == nil {
		return
	}
	const width = 20
	share := 0
	if p.all > 0 {
		share = width * p.done / p.all
	}
	seconds := int(took.Seconds())
	if !p.bar {
		p.next *= 2
		fmt.Fprintf(p.to, "legtrace: at work for %d s, this step at %d %%\n", seconds, 100*p.done/max(p.all, 1))
		return
	}
	line := fmt.Sprintf("[%s%s] %d s", strings.Repeat("#", share), strings.Repeat(".", width-share), seconds)
	fmt.Fprint(p.to, "\r"+line)
	p.drawn = len(line)
}

// aside takes the bar off the screen while something else is written, until what
// it returns is called.
func (p *progress) aside() (back func()) {
	if p == nil {
		return func() {}
	}
	p.mu.Lock()
	p.clear()
	return p.mu.Unlock
}

func (p *progress) clear() {
	if p.drawn > 0 {
		fmt.Fprint(p.to, "\r"+strings.Repeat(" ", p.drawn)+"\r")
		p.drawn = 0
	}
}

// end says no more.
func (p *progress) end() {
	if p == nil {
		return
	}
	p.stop()
	p.mu.Lock()
	defer p.mu.Unlock()
	p.clear()
	p.to = nil
}
