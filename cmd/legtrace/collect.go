package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// A heap of up to fewBytes in use may grow to five times that before it is
// collected: most commands end before that, and a fifth of their work was collecting.
const fewBytes, seldom, asUsual = 24 << 20, 400, 100

// collectSeldom lets a small heap grow, and a larger one be collected as usual,
// unless whoever started the program has set that already.
func collectSeldom() {
	if os.Getenv("GOGC") != "" {
		return
	}
	debug.SetGCPercent(seldom)
	untilLarge()
}

// untilLarge looks at the heap after each collection.
func untilLarge() {
	runtime.AddCleanup(new([16]byte), func(int) {
		live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		if metrics.Read(live); live[0].Value.Kind() == metrics.KindUint64 && live[0].Value.Uint64() < fewBytes {
			untilLarge()
			return
		}
		debug.SetGCPercent(asUsual)
	}, 0)
}
