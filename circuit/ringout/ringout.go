// Package ringout works out how a harness is joined from continuity findings:
// these two pins beep, these do not, with the switches so.
//
// [New] takes the pins and the stated switch positions; [Ring.Add] one finding
// at a time; [Ring.Result] says which pins are joined whatever the switches do,
// which pass through a switch and in which positions, and what is still open;
// [Ring.Next] proposes the check that pins most of it down.
//
// Findings of one position sort its pins into groups that are joined. A pair of
// groups is known apart once any pin of one has been silent to any of the
// other. Wires do not move: pins known joined in every position are taken for
// a wire, pins joined in some only for a switch.
package ringout

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// Caps on what is taken.
const (
	MaxPins      = 400
	MaxPositions = 20
)

// Finding is one check: two pins, with the switches in a position, beep or not.
type Finding struct {
	Position int
	A, B     int
	Beeps    bool
}

// ErrContradiction is wrapped by the error of a finding that cannot be true
// together with earlier ones.
var ErrContradiction = errors.New("the findings contradict each other")

// Ring collects findings.
type Ring struct {
	pins, positions []string
	findings        []Finding
	groups          []*groups // by position
}

// groups is a union-find over the pins of one position, with the groups known
// to be apart.
type groups struct {
	parent []int
	size   []int
	apart  []map[int]int // by root: other root -> the finding that says so
	beeps  []int         // findings that joined, in order
}

// New starts with nothing known. Names must be distinct; two pins and one
// position are the least.
func New(pins, positions []string) (*Ring, error) {
	if len(pins) < 2 || len(pins) > MaxPins {
		return nil, fmt.Errorf("%d pins: it goes from 2 to %d", len(pins), MaxPins)
	}
	if len(positions) < 1 || len(positions) > MaxPositions {
		return nil, fmt.Errorf("%d positions: it goes from 1 to %d", len(positions), MaxPositions)
	}
	for _, names := range [][]string{pins, positions} {
		seen := map[string]bool{}
		for _, n := range names {
			if n == "" || seen[n] {
				return nil, fmt.Errorf("%q: names must differ and not be empty", n)
			}
			seen[n] = true
		}
	}
	r := &Ring{pins: pins, positions: positions}
	for range positions {
		g := &groups{}
		for i := range pins {
			g.parent, g.size, g.apart = append(g.parent, i), append(g.size, 1), append(g.apart, map[int]int{})
		}
		r.groups = append(r.groups, g)
	}
	return r, nil
}

func (g *groups) root(i int) int {
	for g.parent[i] != i {
		i = g.parent[i]
	}
	return i
}

// Pins and Positions return the names given.
func (r *Ring) Pins() []string      { return r.pins }
func (r *Ring) Positions() []string { return r.positions }

// Add takes one finding. A contradiction is refused and names the findings it
// goes against; what was known before stays.
func (r *Ring) Add(f Finding) error {
	switch {
	case f.Position < 0 || f.Position >= len(r.positions):
		return fmt.Errorf("no position %d", f.Position)
	case f.A < 0 || f.A >= len(r.pins) || f.B < 0 || f.B >= len(r.pins):
		return fmt.Errorf("no such pin")
	case f.A == f.B:
		return fmt.Errorf("both probes are on %s", r.pins[f.A])
	}
	g := r.groups[f.Position]
	a, b := g.root(f.A), g.root(f.B)
	switch {
	case f.Beeps && a != b:
		if at, known := g.apart[a][b]; known {
			return r.contradiction(f, at)
		}
		g.join(a, b)
		g.beeps = append(g.beeps, len(r.findings))
	case !f.Beeps && a == b:
		return r.contradiction(f, r.chain(f))
	case !f.Beeps:
		if _, known := g.apart[a][b]; !known {
			g.apart[a][b], g.apart[b][a] = len(r.findings), len(r.findings)
		}
	}
	r.findings = append(r.findings, f)
	return nil
}

func (g *groups) join(a, b int) {
	if g.size[a] < g.size[b] {
		a, b = b, a
	}
	g.parent[b] = a
	g.size[a] += g.size[b]
	for other, at := range g.apart[b] {
		delete(g.apart[other], b)
		if _, known := g.apart[a][other]; !known {
			g.apart[a][other], g.apart[other][a] = at, at
		}
	}
	g.apart[b] = nil
}

// chain finds a beep that touches either of two joined pins, for an error to name:
// there is one, since a group grows by beeps alone.
func (r *Ring) chain(f Finding) int {
	beeps := r.groups[f.Position].beeps
	return beeps[slices.IndexFunc(beeps, func(at int) bool {
		g := r.findings[at]
		return g.A == f.A || g.B == f.A || g.A == f.B || g.B == f.B
	})]
}

func (r *Ring) contradiction(f Finding, at int) error {
	return fmt.Errorf("%s: %w earlier: %s", r.Describe(f), ErrContradiction, r.Describe(r.findings[at]))
}

// Describe writes a finding: "A1 and B3 beep in bake".
func (r *Ring) Describe(f Finding) string {
	how := "are silent"
	if f.Beeps {
		how = "beep"
	}
	return fmt.Sprintf("%s and %s %s in %s", r.pins[f.A], r.pins[f.B], how, r.positions[f.Position])
}

// Known tells what is known of two pins in a position.
func (r *Ring) Known(position, a, b int) (joined, known bool) {
	g := r.groups[position]
	x, y := g.root(a), g.root(b)
	if x == y {
		return true, true
	}
	_, apart := g.apart[x][y]
	return false, apart
}

// Result is what the findings say so far.
type Result struct {
	// Joined are groups of two or more pins joined in every position.
	Joined [][]int
	// Switched are pairs of such groups, a pin of each, that are joined in some
	// positions and known apart in others.
	Switched []Switched
	// Open counts the pairs of groups of which something is still unknown, by
	// position.
	Open []int
	// Done is set when nothing is.
	Done bool
}

// Switched is a way through a switch.
type Switched struct {
	A, B int
	// In lists the positions in which the pins are joined.
	In []int
}

// Result sums up the findings.
func (r *Ring) Result() Result {
	var out Result
	leader := r.leaders()
	byLeader := map[int][]int{}
	for i := range r.pins {
		byLeader[leader[i]] = append(byLeader[leader[i]], i)
	}
	var heads []int
	for h, members := range byLeader {
		heads = append(heads, h)
		if len(members) > 1 {
			out.Joined = append(out.Joined, members)
		}
	}
	slices.Sort(heads)
	slices.SortFunc(out.Joined, func(a, b []int) int { return cmp.Compare(a[0], b[0]) })
	for i, a := range heads {
		for _, b := range heads[i+1:] {
			var in []int
			apart := false
			for p := range r.positions {
				joined, known := r.Known(p, a, b)
				if joined {
					in = append(in, p)
				}
				apart = apart || known && !joined
			}
			if len(in) > 0 && apart {
				out.Switched = append(out.Switched, Switched{a, b, in})
			}
		}
	}
	out.Done = true
	for p := range r.positions {
		open := r.open(p)
		out.Open = append(out.Open, open)
		out.Done = out.Done && open == 0
	}
	return out
}

// open counts the pairs of groups of a position that are not known apart.
func (r *Ring) open(position int) int {
	n := 0
	roots := r.roots(position)
	for i, a := range roots {
		for _, b := range roots[i+1:] {
			if _, known := r.groups[position].apart[a][b]; !known {
				n++
			}
		}
	}
	return n
}

// leaders gives each pin the least pin that is joined to it in every position.
func (r *Ring) leaders() []int {
	index := map[string]int{}
	out := make([]int, len(r.pins))
	for i := range r.pins {
		id := ""
		for _, g := range r.groups {
			id += fmt.Sprint(g.root(i), " ")
		}
		if _, ok := index[id]; !ok {
			index[id] = i
		}
		out[i] = index[id]
	}
	return out
}

func (r *Ring) roots(position int) []int {
	var out []int
	for i := range r.pins {
		if r.groups[position].parent[i] == i {
			out = append(out, i)
		}
	}
	return out
}

// Next proposes the check that says most: in the first position, the two
// largest groups not known apart, since most joins of a harness are to a group
// that is large already; in a further position, first the pins that were
// joined before, which a switch may have parted. It returns false when nothing
// is open.
func (r *Ring) Next() (Finding, bool) {
	for p := range r.positions {
		if p > 0 {
			if f, ok := r.expectJoined(p); ok {
				return f, true
			}
		}
		if f, ok := r.largest(p); ok {
			return f, true
		}
	}
	return Finding{}, false
}

// expectJoined finds two pins joined in the position before of which nothing
// is known here: a wire joins them still.
func (r *Ring) expectJoined(p int) (Finding, bool) {
	head := map[int]int{}
	for i := range r.pins {
		before := r.groups[p-1].root(i)
		h, ok := head[before]
		if !ok {
			head[before] = i
			continue
		}
		if _, known := r.Known(p, h, i); !known {
			return Finding{Position: p, A: h, B: i}, true
		}
	}
	return Finding{}, false
}

// largest finds the largest two groups not known apart. Where an earlier
// position is settled and two groups are the same there as here, they are as
// far apart as they were, unless a switch joins them: still to be checked, last.
func (r *Ring) largest(p int) (Finding, bool) {
	g := r.groups[p]
	roots := r.roots(p)
	slices.SortStableFunc(roots, func(a, b int) int { return cmp.Compare(g.size[b], g.size[a]) })
	// One pin at a time against the groups found so far, largest first.
	for j := 1; j < len(roots); j++ {
		for i := 0; i < j; i++ {
			if _, known := g.apart[roots[i]][roots[j]]; !known {
				return Finding{Position: p, A: roots[i], B: roots[j]}, true
			}
		}
	}
	return Finding{}, false
}

// Checks counts the findings taken.
func (r *Ring) Checks() int { return len(r.findings) }

// AllPairs is the number of checks that ringing every pair in every position
// takes.
func (r *Ring) AllPairs() int {
	n := len(r.pins)
	return len(r.positions) * n * (n - 1) / 2
}
