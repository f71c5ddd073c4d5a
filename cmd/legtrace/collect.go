package main

import (
	"math"
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// A heap of up to fewBytes in use may grow to five times that before it is
// collected: most commands end before that, and a fifth of their work was collecting.
// A larger one may double, but not past mostBytes in all as long as no more than
// tightBytes are in use.
const (
	fewBytes, seldom, asUsual = 24 << 20, 400, 100
	mostBytes, tightBytes     = 232 << 20, 200 << 20
)

// collectSeldom sets how often memory is collected, unless whoever started the
// program has set that already.
func collectSeldom() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(seldom)
	debug.SetMemoryLimit(mostBytes)
	afterCollecting()
}

// afterCollecting looks at the heap after each collection, until it is large.
func afterCollecting() {
	runtime.AddCleanup(new([16]byte), func(int) {
		inUse := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		metrics.Read(inUse)
		switch live := inUse[0].Value.Uint64(); {
		case live > tightBytes:
			debug.SetMemoryLimit(math.MaxInt64)
			return
		case live > fewBytes:
			debug.SetGCPercent(asUsual)
		}
		afterCollecting()
	}, 0)
}
