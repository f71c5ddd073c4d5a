package phasor

import (
	"errors"
	"fmt"
	"slices"

	"legtrace/circuit"
)

// Network solves one circuit for a great many conditions that differ in a few
// branches each, as a dictionary of faults does. [Network.Base] solves one
// condition in full, and [Base.Apply] then solves others at the cost of what
// lies between the changed branches and the top of an elimination tree, which
// grows with the logarithm of the machine's size rather than with the size.
//
// The nodes are eliminated in a fixed order, and the network that each leaves
// behind is kept. Where a branch changes, only the nodes that its ends reach
// by the tree are eliminated again, from the kept networks of those around
// them: the partial refactorisation of power systems (S. M. Chan and V.
// Brandwajn, "Partial matrix refactorization", IEEE Transactions on Power
// Systems PWRS-1 no. 1, 1986, from memory). Correcting the base's solution by
// Woodbury's formula instead would subtract nearly equal numbers: where a
// milliohm wire opens in front of a relay coil, only some six digits are left.
// Here nothing is subtracted, and neither contacts nor islands are a case by
// themselves: an ideal join is a node that takes another's voltage, one that
// opens leaves the node to its own, and a node left with nothing becomes the
// reference of a floating island.
//
// A Network never changes and may be shared by goroutines.
type Network struct {
	wiring
	tree *tree
	// own lists, by node, what leads from it to a node above.
	own [][]element
	// sources lists, by node, the supply conductors that end there.
	sources [][]circuit.BranchID
	supply  []circuit.BranchID
}

// element is a branch, or one of a transformer's coupling admittances, seen
// from its lower node.
type element struct {
	branch circuit.BranchID // for a coupling, the transformer's primary
	far    int32
	// coupling is 0 for the branch itself, else which admittance in place of
	// the ideal transformer: a power of 1/turns and a sign.
	coupling coupling
}

type coupling int8

const (
	plain         coupling = iota
	acrossPrimary          // y/turns^2
	sameEnd                // y/turns, between P1 and S1 or P2 and S2
	otherEnd               // -y/turns, between P1 and S2 or P2 and S1
)

// NewNetwork orders the circuit for elimination.
func NewNetwork(c *circuit.Circuit) *Network {
	n := &Network{wiring: newWiring(c), tree: newTree(c)}
	n.own = make([][]element, len(n.tree.terminal))
	n.sources = make([][]circuit.BranchID, len(n.tree.terminal))
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		switch b.Role {
		case circuit.Source:
			at := n.tree.nodeOf[b.B]
			n.sources[at] = append(n.sources[at], b.ID)
			n.supply = append(n.supply, b.ID)
			continue
		case circuit.Drive:
			continue
		}
		n.element(b.ID, b.A, b.B, plain)
		if b.Secondary == circuit.None {
			continue
		}
		s := c.Branch(b.Secondary)
		n.element(b.ID, b.A, b.B, acrossPrimary)
		n.element(b.ID, b.A, s.A, sameEnd)
		n.element(b.ID, b.B, s.B, sameEnd)
		n.element(b.ID, b.A, s.B, otherEnd)
		n.element(b.ID, b.B, s.A, otherEnd)
	}
	return n
}

func (n *Network) element(b circuit.BranchID, from, to circuit.TerminalID, how coupling) {
	x, y := n.tree.nodeOf[from], n.tree.nodeOf[to]
	if x != y {
		n.own[min(x, y)] = append(n.own[min(x, y)], element{b, max(x, y), how})
	}
}

// Circuit returns the circuit the network was made for.
func (n *Network) Circuit() *circuit.Circuit { return n.c }

// Stats counts what a base was asked.
type Stats struct {
	// Updates is all calls of [Base.Apply]; Full those of them that needed a
	// full solve, by [Solver.Solve].
	Updates, Full int
	// Eliminated counts the nodes that updates eliminated again.
	Eliminated int
}

// Base is one condition solved in full, from which others are updated. It
// must not be used by two goroutines at once.
type Base struct {
	Stats Stats

	n      *Network
	in     Input
	dead   bool
	states []state // by branch
	emf    []complex128
	blocks []block // by node
	rows   []row
	volts  []complex128
	island []int32 // by node: the reference of its floating island, or -1
	ground []groundTie
	solver *Solver

	work front
	now  Update
}

// Base solves the condition in full. As [Solver.Solve] it returns a
// *[ShortError] where supply conductors are tied together, and [ErrSingular]
// where some node's admittances cancel, though Solve may find a solution then.
func (n *Network) Base(in Input) (*Base, error) { return n.base(in, false) }

// DeadBase is [Network.Base] with the supply removed, for [Update.Ohms].
func (n *Network) DeadBase(in Input) (*Base, error) { return n.base(in, true) }

var errProbe = errors.New("updates take no probe; solve in full")

func (n *Network) base(in Input, dead bool) (*Base, error) {
	if len(in.Conducts) != len(n.c.Branches()) {
		return nil, fmt.Errorf("conducts has %d branches, the circuit has %d", len(in.Conducts), len(n.c.Branches()))
	}
	if in.Probe != nil {
		return nil, errProbe
	}
	in.Conducts = slices.Clone(in.Conducts)
	in.Faults = slices.Clone(in.Faults)
	nodes := len(n.tree.terminal)
	b := &Base{n: n, in: in, dead: dead, states: make([]state, len(in.Conducts)), emf: make([]complex128, len(in.Conducts)),
		blocks: make([]block, nodes), rows: make([]row, nodes), volts: make([]complex128, nodes), island: make([]int32, nodes),
		work: newFront(n.tree)}
	for i := range b.states {
		br := n.c.Branch(circuit.BranchID(i))
		b.states[i] = stateOf(br, in, dead)
		b.emf[i] = b.states[i].emf
		b.ground = groundTies(b.ground, br, &b.states[i], n.chassis)
	}
	b.now.begin(b)
	b.work.emf = b.emf
	for k := range b.blocks {
		if err := b.now.eliminate(int32(k), &b.rows[k], &b.blocks[k]); err != nil {
			return nil, b.refuse(in, err)
		}
	}
	// The arrays just filled belong to the base now.
	b.work.nodes, b.work.ends, b.work.links, b.work.terms = nil, nil, nil, nil
	for k := nodes - 1; k >= 0; k-- {
		b.backSubstitute(int32(k))
	}
	return b, nil
}

// refuse says why a base cannot be made.
func (b *Base) refuse(in Input, err error) error {
	if errors.Is(err, errShorted) {
		if _, err := b.full(in); err != nil {
			return err
		}
	}
	return ErrSingular
}

// full solves without the tree.
func (b *Base) full(in Input) (*Solution, error) {
	if b.solver == nil {
		b.solver = New(b.n.c)
	}
	return b.solver.Solve(in)
}

// backSubstitute finds a node's voltage and island from those above it.
func (b *Base) backSubstitute(k int32) {
	r := &b.rows[k]
	b.island[k] = -1
	switch {
	case b.n.tree.terminal[k] < 0:
	case r.kind == reference:
		b.island[k] = k
	case r.supplied || r.up < 0:
	default:
		b.island[k] = b.island[r.up]
	}
	switch r.kind {
	case weighted:
		v := r.volts
		for _, t := range r.terms {
			v += t.weight * b.volts[t.node]
		}
		b.volts[k] = v
	case joined:
		b.volts[k] = b.volts[r.up]
	default:
		b.volts[k] = r.volts
	}
}
