package desk

import (
	"math"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// cold measures a dead machine between every two nodes that are joined. What a
// fault does not touch is as in the sound machine, which base holds.
func (b *bench) cold(out *settle.Outcome, faults []circuit.Fault, base *cold) *cold {
	node := b.nodes(out, faults)
	c := &cold{Node: make([]int, len(node)), Ohms: [][3]float64{}}
	var heads []circuit.TerminalID
	number := map[int]int{}
	for t, root := range node {
		if _, ok := number[root]; !ok {
			number[root] = len(heads)
			heads = append(heads, circuit.TerminalID(root))
		}
		c.Node[t] = number[root]
	}
	islands := b.islands(out, faults)
	touched := map[int]bool{}
	for _, f := range faults {
		br := b.c.Branch(f.Branch)
		for _, t := range []circuit.TerminalID{br.A, br.B, b.c.ChassisTerminal()} {
			if t != circuit.None && (t != b.c.ChassisTerminal() || f.Kind == circuit.Grounded) {
				touched[islands[t]] = true
			}
		}
	}
	known := map[[2]int]float64{}
	if base != nil {
		for _, r := range base.Ohms {
			known[[2]int{int(r[0]), int(r[1])}] = r[2]
		}
	}
	in := b.meter.Engine().Input(out)
	in.DeadOhms = map[circuit.BranchID]float64{}
	for i := range b.c.Branches() {
		if br := b.c.Branch(circuit.BranchID(i)); br.Role == circuit.Load {
			in.DeadOhms[br.ID] = meter.Cold(b.c, br.ID, b.meter.Ambient).Ohms
		}
	}
	for i, p := range heads {
		for j := i + 1; j < len(heads); j++ {
			q := heads[j]
			if islands[p] != islands[q] {
				continue
			}
			if base != nil && !touched[islands[p]] {
				if ohms, ok := known[[2]int{base.Node[p], base.Node[q]}]; ok {
					c.Ohms = append(c.Ohms, [3]float64{float64(i), float64(j), ohms})
				}
				continue
			}
			if ohms, joined := b.meter.Engine().Solver().Resistance(in, p, q); joined && ohms <= b.meter.Instrument.MaxOhms {
				c.Ohms = append(c.Ohms, [3]float64{float64(i), float64(j), fourDigits(ohms)})
			}
		}
	}
	return c
}

// nodes gives every terminal the first terminal that it is joined to without
// resistance.
func (b *bench) nodes(out *settle.Outcome, faults []circuit.Fault) []int {
	resists := map[circuit.BranchID]bool{}
	for _, f := range faults {
		if f.Kind == circuit.HighResistance || f.Kind == circuit.Grounded {
			resists[f.Branch] = true
		}
	}
	return b.joined(func(br *circuit.Branch) bool {
		return out.Conducts[br.ID] && (br.Role == circuit.Join || br.Role == circuit.Contact) && br.Ohms == 0 && !resists[br.ID]
	}, nil)
}

// islands gives every terminal the first terminal that anything joins it to.
func (b *bench) islands(out *settle.Outcome, faults []circuit.Fault) []int {
	return b.joined(func(br *circuit.Branch) bool {
		return out.Conducts[br.ID] && br.Role != circuit.Source && br.Role != circuit.Drive
	}, faults)
}

func (b *bench) joined(conducts func(*circuit.Branch) bool, faults []circuit.Fault) []int {
	root := make([]int, len(b.c.Terminals()))
	for i := range root {
		root[i] = i
	}
	var find func(int) int
	find = func(i int) int {
		if root[i] != i {
			root[i] = find(root[i])
		}
		return root[i]
	}
	join := func(x, y circuit.TerminalID) {
		if x == circuit.None || y == circuit.None {
			return
		}
		i, j := find(int(x)), find(int(y))
		root[max(i, j)] = min(i, j)
	}
	for i := range b.c.Branches() {
		if br := b.c.Branch(circuit.BranchID(i)); conducts(br) {
			join(br.A, br.B)
		}
	}
	for _, f := range faults {
		if br := b.c.Branch(f.Branch); f.Kind == circuit.Grounded {
			join(br.A, b.c.ChassisTerminal())
			join(br.A, br.B)
		}
	}
	for i := range root {
		root[i] = find(i)
	}
	return root
}

func fourDigits(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}
