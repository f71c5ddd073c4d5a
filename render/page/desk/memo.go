package desk

import "sync"

// memo keeps what was worked out lately: equal questions have equal answers,
// whoever asks. Answers are not changed once they are in it.
type memo[T any] struct {
	entries, most int
	size          func(T) int

	mu    sync.Mutex
	has   map[string]T
	order []string
	holds int
}

// What is kept of pages and of visits.
const (
	memoEntries = 256
	memoBytes   = 32 << 20
	maxVisits   = 32
	maxLessons  = 8
)

// newMemo makes one for so many answers, of so much size together.
func newMemo[T any](entries, most int, size func(T) int) *memo[T] {
	return &memo[T]{entries: entries, most: most, size: size, has: map[string]T{}}
}

// get returns the answer to a question, working it out where it must.
func (m *memo[T]) get(key string, work func() (T, error)) (T, error) {
	m.mu.Lock()
	kept, ok := m.has[key]
	m.mu.Unlock()
	if ok {
		return kept, nil
	}
	answer, err := work()
	if err != nil {
		var none T
		return none, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.has[key]; !ok {
		m.has[key] = answer
		m.order = append(m.order, key)
		m.holds += m.size(answer)
	}
	for len(m.order) > m.entries || m.holds > m.most {
		old := m.order[0]
		m.order = m.order[1:]
		m.holds -= m.size(m.has[old])
		delete(m.has, old)
	}
	return answer, nil
}
