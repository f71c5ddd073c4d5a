// Command make renews the engine that package offline embeds: run it as
// go generate ./render/page/offline.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"

	"legtrace/render/page/offline/building"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := building.Write(ctx, "."); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
