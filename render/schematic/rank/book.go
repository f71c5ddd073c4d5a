package rank

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
)

// Book keeps what was asked of [Layers] and answered, so that a program without
// Graphviz can answer the same. It travels as JSON. Any number of goroutines
// may use it; its zero value is empty.
type Book struct {
	mu   sync.Mutex
	kept map[string][]Place // by question
}

type bookKey struct{}

// With returns a context in which [Layers] answers from the book what is in it,
// and puts in it what is not.
func (b *Book) With(ctx context.Context) context.Context {
	return context.WithValue(ctx, bookKey{}, b)
}

// Len is how many questions the book has answers to.
func (b *Book) Len() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.kept)
}

func (b *Book) MarshalJSON() ([]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return json.Marshal(b.kept)
}

func (b *Book) UnmarshalJSON(data []byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return json.Unmarshal(data, &b.kept)
}

// Layers places n nodes so that edges point right and cross little.
func Layers(ctx context.Context, n int, edges []Edge) ([]Place, error) {
	if n == 0 {
		return nil, nil
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b, _ := ctx.Value(bookKey{}).(*Book)
	if b == nil {
		return layers(ctx, n, edges)
	}
	asked := question(n, edges)
	b.mu.Lock()
	places, known := b.kept[asked]
	b.mu.Unlock()
	if known && len(places) == n {
		return slices.Clone(places), nil
	}
	places, err := layers(ctx, n, edges)
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.kept == nil {
		b.kept = map[string][]Place{}
	}
	b.kept[asked] = slices.Clone(places)
	return places, nil
}

// question writes a graph down.
func question(n int, edges []Edge) string {
	var b strings.Builder
	fmt.Fprint(&b, n)
	for _, e := range edges {
		fmt.Fprintf(&b, " %d-%d*%d", e.From, e.To, max(e.Weight, 1))
	}
	return b.String()
}
