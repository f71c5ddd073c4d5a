package desk

import "sync"

// memo keeps what was worked out lately: equal questions have equal answers,
// whoever asks.
type memo struct {
	mu    sync.Mutex
	has   map[string]*[]byte
	order []string
	bytes int
}

const (
	memoEntries = 256
	memoBytes   = 32 << 20
)

func newMemo() *memo { return &memo{has: map[string]*[]byte{}} }

// get returns the answer to a question, working it out where it must.
func (m *memo) get(key string, work func() ([]byte, error)) ([]byte, error) {
	m.mu.Lock()
	kept := m.has[key]
	m.mu.Unlock()
	if kept != nil {
		return *kept, nil
	}
	answer, err := work()
	if err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.has[key] == nil {
		m.has[key] = &answer
		m.order = append(m.order, key)
		m.bytes += len(key) + len(answer)
	}
	for len(m.order) > memoEntries || m.bytes > memoBytes {
		old := m.order[0]
		m.order = m.order[1:]
		m.bytes -= len(old) + len(*m.has[old])
		delete(m.has, old)
	}
	return answer, nil
}
