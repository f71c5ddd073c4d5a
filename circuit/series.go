package circuit

// Meeting lists what ends at each terminal: branches by their numbers, then the
// senses of controls, numbered after them. Two at a terminal are in series there.
// Nothing is said of the chassis, which is never inside a chain, nor of drives.
// It gives how many things are numbered.
func (c *Circuit) Meeting() (at [][]int32, n int) {
	at = make([][]int32, len(c.terminals))
	add := func(t TerminalID, item int) { at[t] = append(at[t], int32(item)) }
	for i := range c.branches {
		switch b := &c.branches[i]; b.Role {
		case Drive:
		case Source:
			add(b.B, i)
		default:
			add(b.A, i)
			add(b.B, i)
		}
	}
	n = len(c.branches)
	for i := range c.controls {
		for _, s := range c.controls[i].Senses {
			add(s.Pin1, n)
			add(s.Pin2, n)
			n++
		}
	}
	at[c.ChassisTerminal()] = nil
	return at, n
}
