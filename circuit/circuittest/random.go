package circuittest

import (
	"fmt"

	"pgregory.net/rapid"

	"legtrace/circuit"
)

// Options bound what [Random] makes.
type Options struct {
	// MaxBreakable bounds the branches of parts, each of which can open:
	// contacts, loads, coils, drives, breaker poles. Wires and supply
	// conductors are not counted. 0 means 30; small searches use 14.
	MaxBreakable int
	// Wild lets contacts join any two places, so that the machine may short
	// its supply. Otherwise contacts stay on one side of the loads.
	Wild bool
}

// MainLoad is the load every machine of this package has, across both legs.
const MainLoad = "load"

// sides of the loads a place can be on; sideMid lies between loads in series.
const (
	sideL1 = iota
	sideL2
	sideN
	sideMid
	sideCount
)

type random struct {
	t     *rapid.T
	opts  Options
	spec  circuit.Spec
	nodes nodes
	side  [sideCount][]int // nodes by side, the rail first where there is one
	left  int
	on    circuit.ModeSpec
	count int
}

// Random draws a small machine: a breaker in both legs, the load "load" across
// them, switches, relays with coils anywhere and contacts of every form, other
// loads, and sometimes a control with board relays. Its modes are "off", "on",
// and "later", which follows "on". Every machine it draws is valid.
func Random(t *rapid.T, opts Options) circuit.Spec {
	r := &random{t: t, opts: opts, left: opts.MaxBreakable}
	if r.left == 0 {
		r.left = 30
	}
	r.left = rapid.IntRange(4, r.left).Draw(t, "breakable")
	none := 0.0
	r.spec = circuit.Spec{Name: "random", Supply: circuit.SupplySpec{System: "split-phase", SourceOhms: &none, FeederOhms: &none}}
	if rapid.Bool().Draw(t, "supply resistance") {
		r.spec.Supply.SourceOhms, r.spec.Supply.FeederOhms = nil, nil
	}
	r.on = circuit.ModeSpec{Name: "on", Set: map[string]string{}}
	r.places()
	r.breaker()
	r.load(MainLoad, "element", 240, 2400, r.pick(sideL1), r.pick(sideL2))
	for r.left > 0 {
		r.something()
	}
	r.foldLonely()
	r.spec.Wires = r.nodes.wires()
	later := circuit.ModeSpec{Name: "later", After: "on", Set: map[string]string{}}
	for _, p := range r.spec.Parts {
		if p.Kind == "switch" && rapid.Bool().Draw(t, "later "+p.Name) {
			later.Set[p.Name] = r.position()
		}
	}
	r.spec.Modes = []circuit.ModeSpec{{Name: "off"}, r.on, later}
	return r.spec
}

// places makes the rails and a few inner nodes on every side.
func (r *random) places() {
	r.side[sideL1] = []int{r.nodes.add()}
	r.side[sideL2] = []int{r.nodes.add()}
	r.side[sideN] = []int{r.nodes.add("supply.N")}
	for side := range r.side {
		least := 0
		if side == sideMid {
			least = 1
		}
		for i := rapid.IntRange(least, 3).Draw(r.t, "places"); i > 0; i-- {
			r.side[side] = append(r.side[side], r.nodes.add())
		}
	}
}

func (r *random) breaker() {
	b := circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}}
	if rapid.Bool().Draw(r.t, "breaker rated") {
		b.Amps = 40
	}
	r.spec.Parts = append(r.spec.Parts, b)
	r.nodes.add("supply.L1", "breaker.L1.in")
	r.nodes.add("supply.L2", "breaker.L2.in")
	r.nodes.land("breaker.L1.out", r.side[sideL1][0])
	r.nodes.land("breaker.L2.out", r.side[sideL2][0])
	r.left -= 2
}

func (r *random) pick(side int) int {
	return rapid.SampledFrom(r.side[side]).Draw(r.t, "place")
}

// apart picks two places on different sides, for a load.
func (r *random) apart() (int, int) {
	a := rapid.IntRange(0, sideCount-1).Draw(r.t, "side")
	b := (a + rapid.IntRange(1, sideCount-1).Draw(r.t, "other side")) % sideCount
	return r.pick(a), r.pick(b)
}

// alongside picks places for a contact of n ends.
func (r *random) alongside(n int) []int {
	side := rapid.IntRange(0, sideCount-1).Draw(r.t, "side")
	var out []int
	for i := 0; i < n; i++ {
		if r.opts.Wild {
			side = rapid.IntRange(0, sideCount-1).Draw(r.t, "side")
		}
		out = append(out, r.pick(side))
	}
	return out
}

func (r *random) position() string {
	return rapid.SampledFrom([]string{"open", "closed"}).Draw(r.t, "position")
}

func (r *random) name(stem string) string {
	r.count++
	return fmt.Sprintf("%s%d", stem, r.count)
}

func (r *random) load(name, kind string, volts, watts float64, a, b int) {
	r.spec.Parts = append(r.spec.Parts, circuit.PartSpec{Name: name, Kind: kind, Volts: volts, Watts: watts})
	r.nodes.land(name+".1", a)
	r.nodes.land(name+".2", b)
	r.left--
}

func (r *random) something() {
	makers := []struct {
		costs int
		make  func()
	}{
		{1, r.switched}, {1, r.limit},
		{1, r.lamp}, {1, r.element},
		{2, func() { r.relay("no", 2) }}, {2, func() { r.relay("nc", 2) }}, {3, func() { r.relay("changeover", 3) }},
		{3, r.board},
	}
	var can []func()
	for _, m := range makers {
		if m.costs <= r.left {
			can = append(can, m.make)
		}
	}
	can[rapid.IntRange(0, len(can)-1).Draw(r.t, "part")]()
}

func (r *random) switched() {
	name := r.name("switch")
	r.contact(circuit.PartSpec{Name: name, Kind: "switch", Rest: r.position()}, "1", "2")
	if rapid.Bool().Draw(r.t, "set") {
		r.on.Set[name] = r.position()
	}
	r.left--
}

func (r *random) limit() {
	r.contact(circuit.PartSpec{Name: r.name("limit"), Kind: "limit"}, "1", "2")
	r.left--
}

func (r *random) contact(p circuit.PartSpec, terminals ...string) {
	r.spec.Parts = append(r.spec.Parts, p)
	for i, place := range r.alongside(len(terminals)) {
		r.nodes.land(p.Name+"."+terminals[i], place)
	}
}

func (r *random) lamp() {
	a, b := r.apart()
	r.load(r.name("lamp"), "lamp", 120, 40, a, b)
}

func (r *random) element() {
	a, b := r.apart()
	r.load(r.name("element"), "element", 240, rapid.SampledFrom([]float64{1000, 2500, 3000}).Draw(r.t, "watts"), a, b)
}

var contactTerminals = map[string][]string{"no": {"com", "no"}, "nc": {"com", "nc"}, "changeover": {"com", "nc", "no"}}

func (r *random) relay(form string, costs int) {
	p := circuit.PartSpec{Name: r.name("relay"), Kind: "relay", Contact: form, Watts: 3,
		Volts: rapid.SampledFrom([]float64{120, 240}).Draw(r.t, "coil volts"),
		Timed: rapid.IntRange(0, 5).Draw(r.t, "timed") == 5}
	r.contact(p, contactTerminals[form]...)
	a, b := r.apart()
	r.nodes.land(p.Name+".A1", a)
	r.nodes.land(p.Name+".A2", b)
	r.left -= costs
}

// board adds a board relay, and the control itself when there is none yet.
func (r *random) board() {
	has := false
	for _, p := range r.spec.Parts {
		has = has || p.Kind == "control"
	}
	if !has {
		r.spec.Parts = append(r.spec.Parts, circuit.PartSpec{Name: "control", Kind: "control", Volts: 120, Watts: 5})
		a, b := r.apart()
		r.nodes.land("control.L", a)
		r.nodes.land("control.N", b)
		r.left--
	}
	form := rapid.SampledFrom([]string{"no", "nc"}).Draw(r.t, "form")
	p := circuit.PartSpec{Name: r.name("board"), Kind: "relay", DrivenBy: "control", Contact: form}
	r.contact(p, contactTerminals[form]...)
	if rapid.Bool().Draw(r.t, "driven") {
		r.on.Drives = append(r.on.Drives, p.Name)
	}
	r.left -= 2
}

// foldLonely moves what lands alone on a place to that side's rail, since a
// terminal with no wire is refused.
func (r *random) foldLonely() {
	for side, places := range r.side {
		rail := places[0]
		for _, place := range places[1:] {
			if len(r.nodes.at[place]) == 1 {
				r.nodes.fold(place, rail)
			}
		}
		if side == sideMid && len(r.nodes.at[rail]) == 1 {
			r.nodes.fold(rail, r.side[sideN][0])
		}
	}
}

// DrawFault draws a fault that can befall some branch.
func DrawFault(t *rapid.T, c *circuit.Circuit) circuit.Fault {
	return rapid.Custom(func(t *rapid.T) circuit.Fault {
		f := circuit.Fault{
			Kind:   circuit.FaultKind(rapid.IntRange(int(circuit.Open), int(circuit.Grounded)).Draw(t, "kind")),
			Branch: circuit.BranchID(rapid.IntRange(0, len(c.Branches())-1).Draw(t, "branch")),
			At:     rapid.SampledFrom([]float64{0, 0.3, 0.5, 1}).Draw(t, "at"),
		}
		switch f.Kind {
		case circuit.HighResistance:
			f.Ohms = rapid.SampledFrom([]float64{0.05, 4, 1e5}).Draw(t, "ohms")
		case circuit.Grounded:
			f.Ohms = rapid.SampledFrom([]float64{0, 0.5, 1e4}).Draw(t, "ohms")
		case circuit.Drifted:
			f.Factor = rapid.SampledFrom([]float64{0.5, 0.9, 3}).Draw(t, "factor")
		}
		return f
	}).Filter(c.CanFail).Draw(t, "fault")
}
