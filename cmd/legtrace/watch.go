package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// settling is how long a file must be left alone before it is read: editors
// save in several steps.
const settling = 100 * time.Millisecond

// watchFlags say whether to go on checking, and what to draw.
type watchFlags struct {
	on      bool
	drawing string
}

func (w *watchFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVarP(&w.on, "watch", "w", false, "check and draw again whenever the netlist is saved")
	cmd.Flags().StringVar(&w.drawing, "drawing", "", "`FILE` for the drawing of --watch (default legtrace-MACHINE-MODE.svg)")
}

// watcher checks a netlist again whenever it is saved.
type watcher struct {
	t      *terminal
	n      *netlistFlags
	o      *outputFlags
	audit  *auditFlags
	flags  *watchFlags
	events *fsnotify.Watcher
	files  map[string]bool // that the netlist is made of
	drawn  string          // the last drawing written
}

// watch checks and draws until the context ends.
func watch(ctx context.Context, t *terminal, n *netlistFlags, o *outputFlags, a *auditFlags, f *watchFlags) error {
	if strings.HasPrefix(n.netlist, netlists.CatalogPrefix) {
		return fmt.Errorf("%s comes with legtrace and does not change: --watch is for a file", n.netlist)
	}
	if _, err := os.Stat(n.netlist); err != nil {
		_, err := n.open()
		return err
	}
	if f.drawing == "-" {
		return errors.New("--drawing goes to a file, not to standard output")
	}
	events, err := fsnotify.NewWatcher()
	if err != nil {
		return fmt.Errorf("cannot watch files: %w", err)
	}
	defer events.Close()
	w := &watcher{t: t, n: n, o: o, audit: a, flags: f, events: events, files: map[string]bool{}}
	if err := w.follow(); err != nil {
		return err
	}
	t.say("watching " + n.netlist + "; an interrupt ends it")
	for ctx.Err() == nil {
		w.round(ctx)
		if err := w.follow(); err != nil {
			return err
		}
		w.wait(ctx)
	}
	return nil
}

// follow watches the folders of all files that the netlist is made of. A file
// itself would be lost sight of when an editor puts a new one in its place.
func (w *watcher) follow() error {
	for _, file := range netlists.Chain(w.n.netlist) {
		if strings.HasPrefix(file, netlists.CatalogPrefix) {
			continue
		}
		abs, err := filepath.Abs(file)
		if err != nil {
			return fmt.Errorf("cannot watch %s: %w", file, err)
		}
		if w.files[abs] {
			continue
		}
		if err := w.events.Add(filepath.Dir(abs)); err != nil {
			if len(w.files) > 0 {
				continue // the folder of a base that is not there: the check tells
			}
			return fmt.Errorf("cannot watch %s: %w", file, err)
		}
		w.files[abs] = true
	}
	return nil
}

// round checks and draws once. Whatever is wrong is said, and the next save
// waited for.
func (w *watcher) round(ctx context.Context) {
	m, d, err := check(ctx, w.n, w.audit)
	if err == nil {
		err = w.t.show(d, w.o)
	}
	if err == nil {
		err = w.draw(ctx, m)
	}
	if err == nil || ctx.Err() != nil {
		return
	}
	w.t.fail(err)
	if w.drawn != "" {
		w.t.say(w.drawn + " still shows the last good netlist")
	}
}

func (w *watcher) draw(ctx context.Context, m *machine) error {
	ask, err := m.Ask("", "", nil, report.Feeding)
	if err != nil {
		return m.place(err)
	}
	svg, err := m.svg(ctx, ask, report.DrawingOptions{}, schematic.Light)
	if err != nil {
		return m.place(err)
	}
	file, err := m.keep(w.t, svg, w.flags.drawing, ask.Mode)
	if err != nil {
		return err
	}
	w.drawn = file
	w.t.say("drawn: " + file)
	return nil
}

// wait returns when one of the files has been saved and left alone.
func (w *watcher) wait(ctx context.Context) {
	var settled <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return
		case <-settled:
			return
		case e := <-w.events.Events:
			if w.files[e.Name] && e.Op != fsnotify.Chmod {
				settled = time.After(settling)
			}
		case <-w.events.Errors:
			// Some events were lost: look.
			settled = time.After(settling)
		}
	}
}
