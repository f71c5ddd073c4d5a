// Legtrace finds how a load of an electric appliance is fed from both legs of
// its supply, and what would leave it cold.
//
// Start with newRoot in root.go for the commands and flags. How we speak to
// the person is in terminal.go alone. Nothing here knows any electricity:
// package netlists reads the machine, package report asks the engine.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/fatih/color"
	"github.com/spf13/cobra"
)

// Exit codes.
const (
	exitFine        = 0
	exitFindings    = 1
	exitBad         = 2
	exitInterrupted = 130
)

// patience is how long a command may take to end by itself once interrupted.
const patience = 700 * time.Millisecond

func main() {
	collectSeldom()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, func() {
		stop() // a second interrupt ends the program at once
		time.Sleep(patience)
		fmt.Fprintln(os.Stderr, "legtrace: interrupted")
		os.Exit(exitInterrupted) // files are written as a whole, or not
	})
	cobra.MousetrapHelpText = "" // a double click opens the page
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr, !color.NoColor))
}

// errFindings is returned by a command that found what it looks for; its
// report has said what.
var errFindings = errors.New("there are findings")

// run is the whole program.
func run(ctx context.Context, args []string, stdout, stderr io.Writer, colour bool) (code int) {
	t := &terminal{out: stdout, err: stderr, colour: colour}
	defer func() {
		t.progress.end()
		if p := recover(); p != nil {
			t.fail(fmt.Errorf("this should not happen, and is a mistake in legtrace: %v", p))
			code = exitBad
		}
	}()
	root := newRoot(t)
	root.SetArgs(args)
	switch err := root.ExecuteContext(ctx); {
	case err == nil:
		return exitFine
	case errors.Is(err, errFindings):
		return exitFindings
	case errors.As(err, &stopped{}):
		t.fail(err)
		return exitInterrupted
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		t.fail(errors.New("interrupted; nothing was written"))
		return exitInterrupted
	default:
		t.fail(err)
		return exitBad
	}
}
