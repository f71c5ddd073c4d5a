package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"runtime"
	"slices"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// dictionary is what the saved page knows: the machine settled with every
// single fault in every mode, on and dead. Equal outcomes are kept once.
type dictionary struct {
	Modes  []named  `json:"modes"`
	Places []string `json:"places"` // terminals, by their index
	Faults []named  `json:"faults"` // the first is none
	Loads  []load   `json:"loads"`
	Wires  []string `json:"wires"`
	// On, Gone and Dead tell by mode, then by fault, which of Live holds with the
	// supply on and off, and which of Cold to measure resistance on.
	On   [][]int `json:"on"`
	Gone [][]int `json:"gone"`
	Dead [][]int `json:"dead"`
	Live []any   `json:"live"`
	Cold []any   `json:"cold"`
	// House marks the terminals that stay live with the breaker off, Refused
	// those that are for a dead machine only.
	House   []int `json:"house"`
	Refused []int `json:"refused"`
	Chassis int   `json:"chassis"`
	Off     int   `json:"off"` // the mode that is off
	// Hazard is the voltage that counts as live, Most the largest resistance
	// that is shown, Beep below what continuity sounds, Range the supply's.
	Hazard float64 `json:"hazard"`
	Most   float64 `json:"most"`
	Beep   float64 `json:"beep"`
}

type named struct {
	Ref   string `json:"ref"`
	Label string `json:"label"`
	At    string `json:"at,omitempty"` // the part or wire, as the page picks it
}

type load struct {
	Ref   string  `json:"ref"`
	Label string  `json:"label"`
	Watts float64 `json:"watts"`
}

// warm is a settled machine: for every terminal its node, for every node its
// volts and island. Between islands nothing is determined.
type warm struct {
	Node  []int        `json:"n"`
	Volts [][3]float64 `json:"v"` // real, imaginary, island; 0 is the supply's
	Loads [][3]float64 `json:"l"` // volts, amps, share of rated watts
	Amps  [][2]float64 `json:"a"` // wire, amps; where there are any
	Says  []string     `json:"s,omitempty"`
}

// cold is a dead machine: nodes, and the ohms between those that are joined.
type cold struct {
	Node []int        `json:"n"`
	Ohms [][3]float64 `json:"r"` // node, node, ohms
}

// dictionary works it all out, modes side by side.
func (b *bench) dictionary(ctx context.Context) (*dictionary, error) {
	d := &dictionary{Faults: []named{{Label: "nothing"}}, Chassis: int(b.c.ChassisTerminal()), Off: int(b.OffMode()),
		Hazard: meter.HazardVolts, Most: b.meter.Instrument.MaxOhms, Beep: b.meter.Instrument.ContinuityOhms, House: []int{}, Refused: []int{}}
	for _, m := range b.c.Modes() {
		d.Modes = append(d.Modes, named{Ref: m.Name, Label: m.Label})
	}
	upstream := b.meter.Upstream()
	for i, t := range b.c.Terminals() {
		d.Places = append(d.Places, t.Ref)
		if upstream[t.ID] && b.hasBreaker() {
			d.House = append(d.House, i)
		}
		if p := b.c.PointAt(t.ID); p != nil && p.Power == "off" {
			d.Refused = append(d.Refused, i)
		}
	}
	for _, w := range b.c.Wires() {
		d.Wires = append(d.Wires, w.Name)
	}
	for _, id := range b.c.Loads() {
		br := b.c.Branch(id)
		d.Loads = append(d.Loads, load{br.Ref, b.c.Label(id), br.Watts})
	}
	faults := [][]circuit.Fault{nil}
	for _, f := range meter.SingleFaults(b.c) {
		faults = append(faults, []circuit.Fault{f})
		d.Faults = append(d.Faults, named{Ref: b.c.FaultRef(f), Label: b.c.Describe(f), At: b.pickOf(f.Branch)})
	}
	pages := make([]pages, len(d.Modes))
	errs := make([]error, len(d.Modes))
	next := make(chan int)
	var all sync.WaitGroup
	for range min(len(d.Modes), runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			own := newBench(b.c)
			for m := range next {
				pages[m], errs[m] = own.pages(ctx, circuit.ModeID(m), faults)
			}
		})
	}
	for m := range d.Modes {
		next <- m
	}
	close(next)
	all.Wait()
	live, dead := newShelf(), newShelf()
	for m := range pages {
		if errs[m] != nil {
			return nil, fmt.Errorf("%s: %w", d.Modes[m].Label, errs[m])
		}
		d.On = append(d.On, live.put(pages[m].live))
		d.Gone = append(d.Gone, live.put(pages[m].gone))
		d.Dead = append(d.Dead, dead.put(pages[m].dead))
	}
	d.Live, d.Cold = live.has, dead.has
	return d, nil
}

// pickOf names the part or wire of a branch as the page picks it.
func (b *bench) pickOf(id circuit.BranchID) string {
	br := b.c.Branch(id)
	if br.Wire != circuit.None {
		return "wire:" + b.c.Wire(br.Wire).Name
	}
	return "part:" + b.c.Part(br.Part).Name
}

// pages are the outcomes of one mode, by fault.
type pages struct{ live, gone, dead []json.RawMessage }

func (b *bench) pages(ctx context.Context, mode circuit.ModeID, faults [][]circuit.Fault) (pages, error) {
	var p pages
	sound, err := b.meter.Dead(mode, nil)
	if err != nil {
		return p, err
	}
	base := b.cold(sound, nil, nil)
	for _, f := range faults {
		if ctx.Err() != nil {
			return p, ctx.Err()
		}
		out, err := b.meter.Live(mode, f)
		if err != nil {
			return p, err
		}
		gone, err := b.meter.Live(mode, append(b.cutOff(f), f...))
		if err != nil {
			return p, err
		}
		dead, err := b.meter.Dead(mode, f)
		if err != nil {
			return p, err
		}
		w, err := json.Marshal(b.warm(out))
		if err != nil {
			return p, err
		}
		g, err := json.Marshal(b.warm(gone))
		if err != nil {
			return p, err
		}
		c, err := json.Marshal(b.cold(dead, f, base))
		if err != nil {
			return p, err
		}
		p.live, p.gone, p.dead = append(p.live, w), append(p.gone, g), append(p.dead, c)
	}
	return p, nil
}

func (b *bench) warm(out *settle.Outcome) warm {
	w := warm{Loads: [][3]float64{}, Amps: [][2]float64{}}
	neutral := b.c.Branch(b.c.Supply().Neutral).B
	heads := []circuit.TerminalID{neutral} // one of each island
	seen := map[[3]float64]int{}
	for i := range b.c.Terminals() {
		t := circuit.TerminalID(i)
		island := slices.IndexFunc(heads, func(h circuit.TerminalID) bool { _, ok := out.Solution.Between(t, h); return ok })
		if island < 0 {
			island = len(heads)
			heads = append(heads, t)
		}
		v, _ := out.Solution.Between(t, heads[island])
		node := [3]float64{cents(real(v)), cents(imag(v)), float64(island)}
		if _, ok := seen[node]; !ok {
			seen[node] = len(w.Volts)
			w.Volts = append(w.Volts, node)
		}
		w.Node = append(w.Node, seen[node])
	}
	for _, id := range b.c.Loads() {
		w.Loads = append(w.Loads, [3]float64{cents(out.Solution.LoadVolts(id)), cents(cmplx.Abs(out.Solution.Amps[id])), cents(out.LeastShare(id))})
	}
	for _, wire := range b.c.Wires() {
		if a := cents(cmplx.Abs(out.Solution.Amps[wire.Branch])); a > 0 {
			w.Amps = append(w.Amps, [2]float64{float64(wire.ID), a})
		}
	}
	for _, id := range out.Tripped {
		w.Says = append(w.Says, b.c.Label(id)+" trips.")
	}
	if out.Chatter != nil {
		w.Says = append(w.Says, "The machine does not settle: contacts keep opening and closing.")
	}
	for i, c := range b.c.Controls() {
		if !out.Controls[i].Ready() {
			w.Says = append(w.Says, b.controlWords(c, out.Controls[i]))
		}
	}
	return w
}

func cents(v float64) float64 { return math.Round(v*100) / 100 }

// shelf keeps equal things once.
type shelf struct {
	has []any
	at  map[string]int
}

func newShelf() *shelf { return &shelf{at: map[string]int{}} }

func (s *shelf) put(list []json.RawMessage) []int {
	var out []int
	for _, x := range list {
		i, ok := s.at[string(x)]
		if !ok {
			i = len(s.has)
			s.at[string(x)] = i
			s.has = append(s.has, x)
		}
		out = append(out, i)
	}
	return out
}
