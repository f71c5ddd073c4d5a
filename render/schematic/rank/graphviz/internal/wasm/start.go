package wasm

import (
	"context"
	"fmt"
	"sync"

	"github.com/tetratelabs/wazero"
)

var (
	once    sync.Once
	startOf error
)

// Start brings the engine up, once; everything else needs it first. The
// compiled engine is kept in cacheDir, or nowhere if that is "".
func Start(ctx context.Context, cacheDir string) error {
	once.Do(func() { startOf = up(context.WithoutCancel(ctx), cacheDir) })
	return startOf
}

// Started reports whether the engine is up.
func Started() bool { return mod != nil }

func up(ctx context.Context, cacheDir string) (err error) {
	defer func() {
		if r := recover(); r != nil { // the generated code panics
			err = fmt.Errorf("the engine does not start: %v", r)
		}
	}()
	var cache wazero.CompilationCache
	if cacheDir != "" {
		// Without a cache the engine is compiled anew, which is slow but right.
		cache, _ = wazero.NewCompilationCacheWithDir(cacheDir)
	}
	start(ctx, cache)
	return nil
}
