// Package phasor computes node voltages and branch currents of a machine in AC
// steady state at line frequency.
//
// [New] makes a [Solver] for a circuit; [Solver.Solve] takes which branches
// conduct (package settle finds that out) and the faults present, and gives a
// [Solution]. [Solver.Resistance] gives the ohms between two terminals with
// the supply removed.
//
// Ideal joins (closed contacts, wires of no given length) are merged into one
// node rather than given a tiny resistance; a part of the machine tied to no
// supply conductor is reported as floating rather than given a voltage. The
// remaining network is solved by star-mesh elimination of its nodes, fewest
// neighbours first (the node elimination of Kron's reduction); where a pivot
// vanishes, as at resonance, a dense solve with pivoting takes over.
package phasor

import (
	"errors"
	"fmt"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// Input is the condition of the machine to solve.
type Input struct {
	// Conducts tells, per branch, whether it is intact and closed.
	Conducts []bool
	// Faults other than Open and Welded, which Conducts already reflects, are
	// applied here.
	Faults []circuit.Fault
	// Celsius gives sensors a temperature other than room.
	Celsius map[circuit.BranchID]float64
	// Probe, when set, hangs an instrument's own resistance on the circuit.
	Probe *Probe
	// DeadOhms, when set, gives loads by branch the resistance that
	// [Solver.Resistance] meets, since a cold lamp is not a hot one; a load
	// without an entry keeps the real part of its impedance.
	DeadOhms map[circuit.BranchID]float64
}

// Probe is an instrument between two terminals.
type Probe struct {
	A, B circuit.TerminalID
	Ohms float64
}

// Solution holds the phasors of one solve.
type Solution struct {
	c *circuit.Circuit
	// Volts is each terminal's voltage to the supply's neutral point. On a
	// floating terminal only differences within its own island mean anything.
	Volts []complex128
	// Floating marks terminals tied to no supply conductor.
	Floating []bool
	// Amps is the current through each branch from terminal A to B; for a
	// source, out of the supply into the machine. Where ideal joins form a
	// loop the split between them is not determined by the circuit, and all
	// of it is put on one way round.
	Amps []complex128
	// Residual is the largest imbalance of Kirchhoff's current law at any
	// node, relative to the largest current, or to 1 A where all are smaller.
	Residual float64

	island []int32
	watts  []float64                    // by branch, loads only
	series map[circuit.BranchID]float64 // ohms of a bad joint within a load
}

// ShortError is returned by [Solver.Solve] when ideal joins tie two supply
// conductors of different voltage together. Path lists the joins between them.
type ShortError struct {
	From, To circuit.BranchID
	Path     []circuit.BranchID
}

func (e *ShortError) Error() string { return "two supply conductors are shorted together" }

// ErrSingular is returned when the network has no unique solution, as an ideal
// inductor and capacitor in resonance.
var ErrSingular = errors.New("the network has no unique solution")

// Between returns the voltage from terminal a to b. The second result is false
// where the circuit does not determine it: two different floating islands, or
// one and the supply.
func (s *Solution) Between(a, b circuit.TerminalID) (complex128, bool) {
	if (s.Floating[a] || s.Floating[b]) && s.island[a] != s.island[b] {
		return 0, false
	}
	return s.Volts[a] - s.Volts[b], true
}

// Island tells floating islands apart, as [Update.Island].
func (s *Solution) Island(t circuit.TerminalID) int32 {
	if !s.Floating[t] {
		return -1
	}
	return s.island[t]
}

// Watts returns the real power a load takes, without what a high resistance at
// its terminals turns to heat there.
func (s *Solution) Watts(load circuit.BranchID) float64 { return s.watts[load] }

// LoadVolts returns the magnitude of the voltage a load gets: that between its
// terminals, less what a high resistance there drops; 0 where the circuit does
// not determine it.
func (s *Solution) LoadVolts(load circuit.BranchID) float64 {
	b := s.c.Branch(load)
	v, _ := s.Between(b.A, b.B)
	return cmplx.Abs(v - s.Amps[load]*complex(s.series[load], 0))
}

// Share returns a load's power as a share of its rating; 0 for a branch with
// no rating.
func (s *Solution) Share(load circuit.BranchID) float64 {
	b := s.c.Branch(load)
	if b.Watts == 0 {
		return 0
	}
	return s.watts[load] / b.Watts
}

// Solver solves one circuit again and again, reusing its memory. It must not
// be used by two goroutines at once.
type Solver struct {
	wiring
	incident [][]circuit.BranchID // by terminal
	sources  []circuit.BranchID

	states []state      // by branch
	kind   []branchKind // of the states, close together for the search of joins
	faulty []circuit.BranchID
	ground []groundTie
	probe  *Probe

	cluster []int32 // by terminal
	parent  []int32 // terminal it was reached from, or -1
	via     []int32 // branch it was reached by, or -1 where it is no branch
	order   []int32 // terminals, roots first
	members []int32 // scratch

	mesh mesh
	push []complex128
}

// New makes a solver for the circuit.
func New(c *circuit.Circuit) *Solver {
	nT, nB := len(c.Terminals()), len(c.Branches())
	s := &Solver{
		wiring: newWiring(c), incident: make([][]circuit.BranchID, nT), states: make([]state, nB), kind: make([]branchKind, nB),
		cluster: make([]int32, nT), parent: make([]int32, nT), via: make([]int32, nT),
		order: make([]int32, 0, nT), push: make([]complex128, nT),
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		switch b.Role {
		case circuit.Source:
			s.sources = append(s.sources, b.ID)
		case circuit.Drive:
		default:
			s.incident[b.A] = append(s.incident[b.A], b.ID)
			s.incident[b.B] = append(s.incident[b.B], b.ID)
		}
	}
	return s
}

// Solve computes every voltage and current. It returns a *[ShortError] when
// two supply conductors of different voltage are tied together by ideal joins.
func (s *Solver) Solve(in Input) (*Solution, error) {
	if len(in.Conducts) != len(s.states) {
		return nil, fmt.Errorf("conducts has %d branches, the circuit has %d", len(in.Conducts), len(s.states))
	}
	s.classify(in, false)
	s.merge(nil)
	if err := s.shorted(); err != nil {
		return nil, err
	}
	s.buildMesh()
	if err := s.mesh.solve(); err != nil {
		return nil, err
	}
	return s.solution(), nil
}

// classify decides what every branch is for this solve. With dead set, the
// supply is removed and loads count by their DC resistance.
func (s *Solver) classify(in Input, dead bool) {
	s.ground, s.probe = s.ground[:0], in.Probe
	if dead {
		s.probe = nil
	}
	for _, id := range s.faulty {
		s.states[id] = state{}
	}
	s.faulty = s.faulty[:0]
	for i := range s.states {
		st := &s.states[i]
		st.kind, st.y, st.emf = absent, 0, 0
		if in.Conducts[i] {
			st.intact(s.c.Branch(circuit.BranchID(i)), in, dead)
		}
	}
	for _, kind := range inTurn {
		for i := range in.Faults {
			if f := &in.Faults[i]; f.Kind == kind {
				s.states[f.Branch].apply(s.c.Branch(f.Branch), f)
			}
		}
	}
	for _, f := range in.Faults {
		if !slices.Contains(s.faulty, f.Branch) {
			s.faulty = append(s.faulty, f.Branch)
			s.ground = groundTies(s.ground, s.c.Branch(f.Branch), &s.states[f.Branch], s.chassis)
		}
	}
	for i := range s.states {
		s.kind[i] = s.states[i].kind
	}
}

// merge groups terminals that ideal joins tie together. With from set only the
// clusters reachable from it, through joins and impedances, are found.
func (s *Solver) merge(from *circuit.TerminalID) {
	for t := range s.cluster {
		s.cluster[t] = -1
	}
	s.order = s.order[:0]
	n := int32(0)
	grow := func(root circuit.TerminalID) {
		if s.cluster[root] >= 0 {
			return
		}
		s.cluster[root], s.parent[root], s.via[root] = n, -1, -1
		head := len(s.order)
		s.order = append(s.order, int32(root))
		visit := func(t, u circuit.TerminalID, via int32) {
			if s.cluster[u] < 0 {
				s.cluster[u], s.parent[u], s.via[u] = n, int32(t), via
				s.order = append(s.order, int32(u))
			}
		}
		for ; head < len(s.order); head++ {
			t := circuit.TerminalID(s.order[head])
			for _, id := range s.incident[t] {
				if s.kind[id] == ideal {
					visit(t, s.c.Branch(id).Other(t), int32(id))
				}
			}
			for _, g := range s.ground {
				if g.tie.ideal && g.at == t {
					visit(t, s.chassis, -1)
				} else if g.tie.ideal && t == s.chassis {
					visit(t, g.at, -1)
				}
			}
		}
		n++
	}
	if from == nil {
		for _, id := range s.sources {
			if s.kind[id] == ideal {
				grow(s.c.Branch(id).B)
			}
		}
		for _, id := range s.sources {
			grow(s.c.Branch(id).B)
		}
		for t := range s.cluster {
			grow(circuit.TerminalID(t))
		}
	} else {
		grow(*from)
		// Follow impedances outward, cluster by cluster.
		for head := 0; head < len(s.order); head++ {
			t := circuit.TerminalID(s.order[head])
			for _, id := range s.incident[t] {
				if s.kind[id] == impedance {
					grow(s.c.Branch(id).Other(t))
				}
			}
			for _, g := range s.ground {
				if g.at == t {
					grow(s.chassis)
				} else if t == s.chassis {
					grow(g.at)
				}
			}
		}
	}
	s.mesh.reset(int(n))
}

// shorted reports two ideal sources of different voltage in one cluster.
func (s *Solver) shorted() error {
	for i, id := range s.sources {
		for _, other := range s.sources[:i] {
			a, b := s.c.Branch(id).B, s.c.Branch(other).B
			if s.kind[id] == ideal && s.states[other].kind == ideal && s.cluster[a] == s.cluster[b] && cmplx.Abs(s.states[id].emf-s.states[other].emf) > 1e-9 {
				return &ShortError{From: other, To: id, Path: s.treePath(a, b)}
			}
		}
	}
	return nil
}

// treePath lists the joins between two terminals of a cluster.
func (s *Solver) treePath(a, b circuit.TerminalID) []circuit.BranchID {
	depth := func(t int32) int {
		d := 0
		for ; s.parent[t] >= 0; t = s.parent[t] {
			d++
		}
		return d
	}
	var path []circuit.BranchID
	x, y := int32(a), int32(b)
	dx, dy := depth(x), depth(y)
	up := func(t int32) int32 {
		if s.via[t] >= 0 {
			path = append(path, circuit.BranchID(s.via[t]))
		}
		return s.parent[t]
	}
	for x != y {
		if dx >= dy {
			x, dx = up(x), dx-1
		} else {
			y, dy = up(y), dy-1
		}
	}
	return path
}
