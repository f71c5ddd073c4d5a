package circuit

import "context"

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
