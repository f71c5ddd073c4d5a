package trace

import "slices"

// reduced is the model with chains that do the same to the main load taken as
// one: those of edges in series, where nothing hangs on the joint between them,
// and a coil's own with that of the one contact that it closes. What leads
// nowhere is left out. It lists, by chain, all that one stands for; a chain that
// is not listed stands for nothing any more.
func (m *model) reduced() (*model, map[int32][]int32) {
	r := *m
	r.edges, r.causes, r.onCause = slices.Clone(m.edges), slices.Clone(m.causes), slices.Clone(m.onCause)
	r.mark, r.causeMark = slices.Clone(m.mark), slices.Clone(m.causeMark)
	r.adj = make([][]int32, len(m.adj))
	members := map[int32][]int32{}
	for n := range m.adj {
		r.adj[n] = slices.Clone(m.adj[n])
	}
	// Chains that serve in several places, and joints that something hangs on.
	serves := map[int32]int{}
	hangs := make([]bool, m.nNodes)
	for _, x := range r.roots {
		hangs[x.node] = true
	}
	feeds := []*feed{&r.main}
	for i := range r.causes {
		feeds = append(feeds, &r.causes[i].feed)
		for _, k := range r.causes[i].needs {
			serves[k]++
			members[k] = []int32{k}
		}
	}
	for _, f := range feeds {
		hangs[f.u], hangs[f.v] = true, true
		serves[f.chain]++
		members[f.chain] = []int32{f.chain}
	}
	for e := range r.edges {
		serves[r.edges[e].chain]++
		members[r.edges[e].chain] = []int32{r.edges[e].chain}
	}
	join := func(into, k int32) {
		members[into] = append(members[into], members[k]...)
		r.onCause[into] = r.onCause[into] || r.onCause[k]
		delete(members, k)
	}
	drop := func(e, at int32) {
		r.adj[at] = slices.DeleteFunc(r.adj[at], func(x int32) bool { return x == e })
	}
	var queue []int32
	for n := range r.adj {
		queue = append(queue, int32(n))
	}
	gone := make([]bool, len(r.edges))
	for len(queue) > 0 {
		n := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if hangs[n] || len(r.adj[n]) == 0 || len(r.adj[n]) > 2 {
			continue
		}
		one, two := r.adj[n][0], r.adj[n][len(r.adj[n])-1]
		a, b := r.edges[one].u+r.edges[one].v-n, r.edges[two].u+r.edges[two].v-n
		x, y := &r.edges[one], &r.edges[two]
		switch {
		case one == two, a == b: // it leads nowhere
			for _, e := range r.adj[n] {
				gone[e] = true
				drop(e, a)
				if k := r.edges[e].chain; serves[k] == 1 {
					delete(members, k)
				}
			}
		case serves[x.chain] > 1 || serves[y.chain] > 1:
			continue
		default:
			join(x.chain, y.chain)
			gone[two] = true
			x.u, x.v, x.causes = a, b, slices.Concat(x.causes, y.causes)
			drop(two, b)
			r.adj[b] = append(r.adj[b], one)
		}
		r.adj[n] = nil
		queue = append(queue, a, b)
	}
	closes := make([][]int32, len(r.causes)) // edges
	for e := range r.edges {
		if !gone[e] {
			for _, ca := range r.edges[e].causes {
				closes[ca] = append(closes[ca], int32(e))
			}
		}
	}
	for _, f := range feeds {
		for _, ca := range f.causes {
			closes[ca] = append(closes[ca], none, none)
		}
	}
	for i := range r.causes {
		f := &r.causes[i].feed
		if len(closes[i]) != 1 || serves[f.chain] > 1 || serves[r.edges[closes[i][0]].chain] > 1 {
			continue
		}
		k := r.edges[closes[i][0]].chain
		join(k, f.chain)
		f.chain = k
	}
	return &r, members
}

// whole gives, for sets of a reduced model by size, those of all the chains that
// theirs stand for, up to most and one more.
func whole(byOrder [][][]int32, members map[int32][]int32, most int) ([][][]int32, bool) {
	out, total := make([][][]int32, len(byOrder)), 0
	for order, sets := range byOrder {
		for _, set := range sets {
			grown := [][]int32{nil}
			for _, k := range set {
				var next [][]int32
				for _, have := range grown {
					for _, member := range members[k] {
						next = append(next, append(slices.Clip(have), member))
					}
				}
				if grown = next; total+len(grown) > most {
					return out, false
				}
			}
			for _, s := range grown {
				slices.Sort(s)
			}
			out[order], total = append(out[order], grown...), total+len(grown)
		}
	}
	return out, true
}
