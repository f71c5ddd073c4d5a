package schematic

import "sort"

// sortBundles brings what touches the neutral to the top, so that the neutral
// ends before the rungs that run from leg to leg; mixed goes by the netlist alone. All
// are turned over where the netlist has the neutral's last.
func sortBundles(bs []*bundle, mixed bool) {
	var sum, n [2]float64
	for _, b := range bs {
		sum[b.class] += float64(b.first)
		n[b.class]++
	}
	if n[0] > 0 && n[1] > 0 && sum[0]/n[0] > sum[1]/n[1] {
		for _, b := range bs {
			b.first = -b.first
		}
	}
	sort.SliceStable(bs, func(i, j int) bool {
		if !mixed && bs[i].class != bs[j].class {
			return bs[i].class < bs[j].class
		}
		return bs[i].first < bs[j].first
	})
}

// alignFeeders puts a symbol that alone feeds a bus from one side on the rung
// of the first symbol on the bus' other side.
func (rs *rows) alignFeeders(bs []*bundle) []*bundle {
	at := map[*bundle]int{}
	for i, b := range bs {
		at[b] = i
	}
	for _, n := range rs.nets {
		if !n.bus || n.rail {
			continue
		}
		var sides [2][]netPin
		for _, p := range n.machinePins() {
			sides[btoi(p.side() == left)] = append(sides[btoi(p.side() == left)], p)
		}
		for s, one := range sides {
			others := sides[1-s]
			if len(one) != 1 || len(others) == 0 {
				continue
			}
			sort.SliceStable(others, func(i, j int) bool {
				a, b := others[i], others[j]
				if ia, ib := at[rs.bundleOf[a.unit]], at[rs.bundleOf[b.unit]]; ia != ib {
					return ia < ib
				}
				return a.at().y < b.at().y
			})
			for _, o := range others {
				into, b := rs.bundleOf[o.unit], rs.bundleOf[one[0].unit]
				if into == b || into == nil || b == nil {
					break
				}
				if rs.merge(into, b, o.at().y-one[0].at().y) {
					at[into] = min(at[into], at[b])
					break
				}
			}
			break
		}
	}
	sort.SliceStable(bs, func(i, j int) bool { return at[bs[i]] < at[bs[j]] })
	out := bs[:0]
	for _, b := range bs {
		if len(b.units) > 0 {
			out = append(out, b)
		}
	}
	return out
}

// merge moves what a bundle holds into another, dy lower, if nothing clashes.
func (rs *rows) merge(into, b *bundle, dy int) bool {
	shift := dy / step
	if clash(into.cells, b.cells, shift) {
		return false
	}
	for _, c := range b.cells {
		into.cells = append(into.cells, cell{c.column, c.y0 + shift, c.y1 + shift})
	}
	for _, h := range b.taps {
		h.y += dy
		into.taps = append(into.taps, h)
	}
	for _, u := range b.units {
		u.y += dy
		into.units = append(into.units, u)
		rs.bundleOf[u] = into
	}
	into.class = min(into.class, b.class)
	b.units, b.cells, b.taps = nil, nil, nil
	return true
}

// cluster keeps bundles that share a bus other than a rail together, those
// with most symbols first.
func (rs *rows) cluster(bs []*bundle) []*bundle {
	sharing := map[*net][]*bundle{}
	for _, b := range bs {
		for _, h := range b.taps {
			if !h.line.net.rail {
				sharing[h.line.net] = append(sharing[h.line.net], b)
			}
		}
	}
	tied := map[*unit][]*unit{}
	for _, t := range rs.ties {
		tied[t.a.unit] = append(tied[t.a.unit], t.b.unit)
		tied[t.b.unit] = append(tied[t.b.unit], t.a.unit)
	}
	done := map[*bundle]bool{}
	out := make([]*bundle, 0, len(bs))
	for _, first := range bs {
		if done[first] {
			continue
		}
		done[first] = true
		group := []*bundle{first}
		for i := 0; i < len(group); i++ {
			join := func(o *bundle) {
				if o != nil && !done[o] {
					done[o] = true
					group = append(group, o)
				}
			}
			for _, h := range group[i].taps {
				for _, o := range sharing[h.line.net] {
					join(o)
				}
			}
			for _, u := range group[i].units {
				for _, o := range tied[u] {
					join(rs.bundleOf[o])
				}
			}
		}
		sort.SliceStable(group, func(i, j int) bool { return len(group[i].units) > len(group[j].units) })
		out = append(out, group...)
	}
	return out
}
