// Command make builds the engine that package offline embeds: run it as
// go generate ./render/page/offline.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"

	"legtrace/render/page/offline"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	e, err := offline.Build(ctx)
	if err == nil {
		err = e.Write("built")
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
