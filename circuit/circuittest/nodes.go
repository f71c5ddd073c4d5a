package circuittest

import "legtrace/circuit"

// nodes collects which terminals meet where, and wires them in the end.
type nodes struct {
	at [][]string // terminals by node
}

// add makes a node of the terminals.
func (n *nodes) add(terminals ...string) int {
	n.at = append(n.at, terminals)
	return len(n.at) - 1
}

func (n *nodes) land(terminal string, node int) {
	n.at[node] = append(n.at[node], terminal)
}

// fold moves what lands on a node to another.
func (n *nodes) fold(node, into int) {
	n.at[into] = append(n.at[into], n.at[node]...)
	n.at[node] = nil
}

// wires joins each node's terminals to its first.
func (n *nodes) wires() []circuit.WireSpec {
	var out []circuit.WireSpec
	for _, terminals := range n.at {
		for i := 1; i < len(terminals); i++ {
			out = append(out, circuit.WireSpec{From: terminals[0], To: terminals[i]})
		}
	}
	return out
}
