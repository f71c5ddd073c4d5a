package circuittest

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"legtrace/circuit"
)

// SeriesParallel makes a machine of about n parts: from each leg a feed of
// contacts in series and in parallel, with bridges across it, to the load
// "load"; relays whose coils hang on a control circuit, some of them behind
// other relays; and lamps to neutral as side loads. In mode "on" every contact
// closes, in "off" the load is dead. Equal arguments give equal machines.
func SeriesParallel(n int, seed uint64) circuit.Spec {
	g := &generator{rand: rand.New(rand.NewPCG(seed, uint64(n))),
		on: circuit.ModeSpec{Name: "on", Set: map[string]string{"start": "closed"}, On: []string{MainLoad}}}
	g.spec = circuit.Spec{Name: "series-parallel", Supply: circuit.SupplySpec{System: "split-phase"}}
	g.nodes.add("supply.L1", "breaker.L1.in")
	g.nodes.add("supply.L2", "breaker.L2.in")
	g.l1, g.l2 = g.nodes.add("breaker.L1.out"), g.nodes.add("breaker.L2.out")
	g.neutral = g.nodes.add("supply.N")
	g.part(circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}})
	g.part(circuit.PartSpec{Name: MainLoad, Kind: "element", Volts: 240, Watts: 3000})
	g.part(circuit.PartSpec{Name: "start", Kind: "switch"})
	g.control = []int{g.nodes.add("start.2")}
	g.nodes.land("start.1", g.l1)
	g.lampAt = []int{g.l1}
	end1, end2 := g.nodes.add(MainLoad+".1"), g.nodes.add(MainLoad+".2")
	feed := max(1, (n-3)*4/10)
	g.feed(g.l1, end1, feed)
	g.feed(g.l2, end2, feed)
	g.bridges(max(1, n/20))
	for _, place := range g.control {
		if len(g.nodes.at[place]) == 1 {
			g.lamp(place)
		}
	}
	for len(g.spec.Parts) < n {
		g.lamp(g.lampAt[g.rand.IntN(len(g.lampAt))])
	}
	g.spec.Wires = g.nodes.wires()
	g.spec.Modes = []circuit.ModeSpec{{Name: "off", Off: []string{MainLoad}}, g.on}
	return g.spec
}

// Ladder makes a machine whose load hangs at the far end of a ladder of n
// rungs in leg L1: two rails of limits, joined by a limit at every rung.
func Ladder(n int) circuit.Spec { return Grid(2, n) }

// Grid makes a machine whose load is fed from L1 through a grid of limits,
// rows by columns of places, from corner to corner; L2 is straight.
func Grid(rows, columns int) circuit.Spec {
	g := &generator{spec: circuit.Spec{Name: "grid", Supply: circuit.SupplySpec{System: "split-phase"}}}
	g.part(circuit.PartSpec{Name: MainLoad, Kind: "element", Volts: 240, Watts: 3000})
	at := make([]int, rows*columns)
	for i := range at {
		at[i] = g.nodes.add()
	}
	g.nodes.land("supply.L1", at[0])
	for r := 0; r < rows; r++ {
		for c := 0; c < columns; c++ {
			if c+1 < columns {
				g.limit(fmt.Sprintf("across_%d_%d", r, c), at[r*columns+c], at[r*columns+c+1])
			}
			if r+1 < rows {
				g.limit(fmt.Sprintf("down_%d_%d", r, c), at[r*columns+c], at[(r+1)*columns+c])
			}
		}
	}
	g.nodes.land(MainLoad+".1", at[len(at)-1])
	g.nodes.add("supply.L2", MainLoad+".2")
	g.spec.Wires = g.nodes.wires()
	g.spec.Modes = []circuit.ModeSpec{{Name: "on", On: []string{MainLoad}}}
	return g.spec
}

// Measured gives every wire a size and a length, and so a resistance.
func Measured(spec circuit.Spec, awg int, metres float64) circuit.Spec {
	wires := slices.Clone(spec.Wires)
	for i := range wires {
		wires[i].AWG, wires[i].Metres = awg, metres
	}
	spec.Wires = wires
	return spec
}

// Guarded puts a residual-current device "rcd" between a split-phase supply and
// all that hangs on it but earth.
func Guarded(spec circuit.Spec, residualAmps float64) circuit.Spec {
	poles := []string{"L1", "L2", "N"}
	spec.Parts = append([]circuit.PartSpec{{Name: "rcd", Kind: "rcd", Poles: poles, ResidualAmps: residualAmps}}, spec.Parts...)
	var wires []circuit.WireSpec
	behind := map[string]string{}
	for _, pole := range poles {
		behind["supply."+pole] = "rcd." + pole + ".out"
		wires = append(wires, circuit.WireSpec{Name: "rcd_" + pole, From: "supply." + pole, To: "rcd." + pole + ".in"})
	}
	for _, w := range spec.Wires {
		for _, end := range []*string{&w.From, &w.To} {
			if to := behind[*end]; to != "" {
				*end = to
			}
		}
		wires = append(wires, w)
	}
	spec.Wires = wires
	return spec
}

type generator struct {
	rand            *rand.Rand
	spec            circuit.Spec
	nodes           nodes
	on              circuit.ModeSpec
	l1, l2, neutral int
	control         []int    // places a coil may be fed from
	inner           [][2]int // both ends of each parallel group's inner places
	lampAt          []int    // places in the feeds
	count           int
}

func (g *generator) part(p circuit.PartSpec) { g.spec.Parts = append(g.spec.Parts, p) }

func (g *generator) limit(name string, a, b int) {
	g.part(circuit.PartSpec{Name: name, Kind: "limit"})
	g.nodes.land(name+".1", a)
	g.nodes.land(name+".2", b)
}

// feed leads from one place to another through n contacts.
func (g *generator) feed(from, to, n int) {
	switch {
	case n <= 1:
		g.contact(from, to)
	case n >= 4 && g.rand.IntN(2) == 0:
		// Two ways side by side, each of at least two contacts.
		share := 2 + g.rand.IntN(n-3)
		mid1, mid2 := g.nodes.add(), g.nodes.add()
		g.feed(from, mid1, (share+1)/2)
		g.feed(mid1, to, share/2)
		g.feed(from, mid2, (n-share+1)/2)
		g.feed(mid2, to, (n-share)/2)
		g.inner = append(g.inner, [2]int{mid1, mid2})
		g.lampAt = append(g.lampAt, mid1, mid2)
	default:
		mid := g.nodes.add()
		g.feed(from, mid, n/2)
		g.feed(mid, to, n-n/2)
		g.lampAt = append(g.lampAt, mid)
	}
}

// contact adds a switch, a limit or a relay's contact.
func (g *generator) contact(a, b int) {
	g.count++
	switch g.rand.IntN(6) {
	case 0, 1:
		name := fmt.Sprintf("switch%d", g.count)
		g.part(circuit.PartSpec{Name: name, Kind: "switch"})
		g.nodes.land(name+".1", a)
		g.nodes.land(name+".2", b)
		g.on.Set[name] = "closed"
	case 2:
		g.relay(fmt.Sprintf("relay%d", g.count), a, b)
	default:
		g.limit(fmt.Sprintf("limit%d", g.count), a, b)
	}
}

// relay adds a relay with its coil on the control circuit; one in four passes
// the control circuit on to later relays.
func (g *generator) relay(name string, a, b int) {
	p := circuit.PartSpec{Name: name, Kind: "relay", Volts: 120, Watts: 2, Contacts: map[string]string{"main": "no"}}
	from := g.control[g.rand.IntN(len(g.control))]
	if g.rand.IntN(4) == 0 {
		p.Contacts["aux"] = "no"
		g.nodes.land(name+".aux.com", from)
		g.control = append(g.control, g.nodes.add(name+".aux.no"))
	}
	g.part(p)
	g.nodes.land(name+".main.com", a)
	g.nodes.land(name+".main.no", b)
	g.nodes.land(name+".A1", from)
	g.nodes.land(name+".A2", g.neutral)
}

// bridges adds contacts across parallel groups.
func (g *generator) bridges(n int) {
	for i := 0; i < n && i < len(g.inner); i++ {
		j := i + g.rand.IntN(len(g.inner)-i)
		g.inner[i], g.inner[j] = g.inner[j], g.inner[i]
		g.contact(g.inner[i][0], g.inner[i][1])
	}
}

// lamp hangs a lamp between a place and neutral.
func (g *generator) lamp(at int) {
	g.count++
	name := fmt.Sprintf("lamp%d", g.count)
	g.part(circuit.PartSpec{Name: name, Kind: "lamp", Volts: 120, Watts: 5})
	g.nodes.land(name+".1", at)
	g.nodes.land(name+".2", g.neutral)
}
