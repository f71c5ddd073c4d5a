package circuit

import (
	"context"
	"errors"
)

type workKey struct{}

// WithWork has whoever works long under a context tell how far that is: so many
// items done of all that the step has, first none. Steps follow each other; one
// goroutine at a time tells.
func WithWork(ctx context.Context, tell func(done, all int)) context.Context {
	return context.WithValue(ctx, workKey{}, tell)
}

// Work tells how far a step is, where somebody wants to know.
func Work(ctx context.Context, done, all int) {
	if tell, ok := ctx.Value(workKey{}).(func(done, all int)); ok {
		tell(done, all)
	}
}

// ErrPatience is the cause of a context's end that [Within] made.
var ErrPatience = errors.New("out of patience")

// Within bounds the items of work done under a context, steps told by [Work].
func Within(ctx context.Context, items int) (context.Context, context.CancelFunc) {
	bound, stop := context.WithCancelCause(ctx)
	return WithWork(bound, func(done, all int) {
		Work(ctx, done, all)
		if done > 0 {
			return
		}
		if items -= all; items < 0 {
			stop(ErrPatience)
		}
	}), func() { stop(nil) }
}
