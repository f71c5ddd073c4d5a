package circuit

// Groups sorts numbered things into groups that are joined two by two: a
// union-find with path halving.
type Groups []int32

// NewGroups starts with n things, each a group of its own.
func NewGroups(n int) Groups {
	g := make(Groups, n)
	for i := range g {
		g[i] = int32(i)
	}
	return g
}

// Of returns the thing that stands for the group of another.
func (g Groups) Of(i int32) int32 {
	for g[i] != i {
		g[i] = g[g[i]]
		i = g[i]
	}
	return i
}

// Join makes one group of two; the second's stands for both.
func (g Groups) Join(a, b int32) { g[g.Of(a)] = g.Of(b) }
