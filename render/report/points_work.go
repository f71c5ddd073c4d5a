package report

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// open lists what has to be opened for a step that is not open yet, each with
// what is to be looked at behind it. Nothing is opened with the supply on: before the
// first of the live steps comes what any of them needs.
func (x *listing) open(i int) []Opened {
	out := []Opened{}
	for _, k := range x.together(i) {
		out = x.openFor(out, i, k)
	}
	return out
}

// together lists the steps that a step has things opened and proved dead for: itself; with
// the supply on, before the first, all of them.
func (x *listing) together(i int) []int {
	now := x.state(i)
	switch {
	case now == "shut" || now == "on" && i > 0 && x.state(i-1) == "on":
		return nil
	case now == "removed":
		return []int{i}
	}
	out := []int{}
	for k := i; k < len(x.sheet.Steps) && x.state(k) == now; k++ {
		out = append(out, k)
	}
	return out
}

// openFor adds to what is opened at a step what another of its stretch needs.
func (x *listing) openFor(out []Opened, at, step int) []Opened {
	for _, t := range x.ends(step) {
		for _, id := range x.c.PanelsTo(x.c.PlaceOf(t)) {
			if x.done(x.opened[id], step) {
				continue
			}
			p := &x.c.Panels()[id]
			o := Opened{Panel: oneLine(p.Label), Minutes: p.Minutes, Look: x.behind(id), Maybe: len(x.opened[id]) > 0}
			x.opened[id] = append(x.opened[id], x.doingAt(at))
			if slices.ContainsFunc(out, func(y Opened) bool { return y.Panel == o.Panel }) {
				continue
			}
			out = append(out, o)
			if !slices.Contains(x.order, id) {
				x.order = append(x.order, id)
			}
		}
	}
	return out
}

// ends are where a step's probes go; of what is looked at none.
func (x *listing) ends(step int) []circuit.TerminalID {
	s := &x.sheet.Steps[step]
	if s.Outside(x.c) {
		return nil
	} else if s.Ask != "" {
		return x.c.Part(s.Part).Terminals[:1]
	} else if s.Probes.Function == meter.Amps {
		return []circuit.TerminalID{s.Probes.P} // the place of the clamp
	}
	return []circuit.TerminalID{s.Probes.P, s.Probes.Q}
}

// doing is something done on the way to a step, always where it is printed for whoever
// comes by, as what is opened for live steps is.
type doing struct {
	at     int
	always bool
}

// done reports whether something was surely done by the time a step is made. Who goes on
// with a step after a bad reading has left out what stands in between.
func (x *listing) done(before []doing, step int) bool {
	of := func(k int) *suspect.Step { return &x.sheet.Steps[k] }
	return slices.ContainsFunc(before, func(d doing) bool {
		for r := step; r != circuit.None; r = of(r).OnlyIf {
			switch j := of(d.at); {
			case d.always && of(r).OnlyIf == circuit.None, of(r).OnlyIf == j.OnlyIf && of(r).After == j.After:
				return d.at <= r
			}
		}
		return false
	})
}

// doingAt is what is done for a step, and for all that come by with the supply on.
func (x *listing) doingAt(step int) doing {
	return doing{step, x.state(step) == "on" || x.sheet.Steps[step].OnlyIf == circuit.None}
}

// state tells how the machine stands for a step: shut, before anything is probed, on or
// without its supply.
func (x *listing) state(i int) string {
	switch s := &x.sheet.Steps[i]; {
	case !slices.ContainsFunc(x.sheet.Steps[:i+1], func(s suspect.Step) bool { return !s.Outside(x.c) }):
		return "shut"
	case s.Live:
		return "on"
	}
	return "removed"
}

// behind names the suspected parts that lie behind a panel and no other.
func (x *listing) behind(id circuit.PanelID) []string {
	out := []string{}
	for i := range x.sheet.Steps {
		s := &x.sheet.Steps[i]
		if !s.Probing() {
			continue
		}
		for _, t := range [2]circuit.TerminalID{s.Probes.P, s.Probes.Q} {
			way := x.c.PanelsTo(x.c.PlaceOf(t))
			if len(way) == 0 || way[len(way)-1] != id || x.c.Terminal(t).Ref == circuit.ChassisName {
				continue
			}
			if label := oneLine(x.c.Part(x.c.Terminal(t).Part).Label); !slices.Contains(out, label) {
				out = append(out, label)
			}
		}
	}
	return out
}

// closeUp lists what was opened, the last first.
func (x *listing) closeUp() []Opened {
	out := []Opened{}
	for _, id := range slices.Backward(x.order) {
		p := &x.c.Panels()[id]
		out = append(out, Opened{Panel: oneLine(p.Label), Minutes: p.Close, Look: []string{}})
	}
	return out
}

// scale is the range of a meter that is turned by hand: of volts for the most that any
// two points of the machine may stand apart, whatever is wrong.
func (r namer) scale(good meter.Reading) string {
	v := good.High
	if good.Function.Unit() == "V" {
		v = max(v, r.c.Supply().Volts*(1+meter.SupplyRange))
	}
	switch {
	case good.OL || good.MaybeOL:
		return "highest"
	case good.Function.Unit() == "V":
		for _, most := range []float64{20, 200, 600} {
			if v <= most {
				return fmt.Sprintf("%.0f V", most)
			}
		}
		return "highest"
	case good.Function.Unit() != "ohms":
		return ""
	}
	for _, most := range []struct {
		ohms float64
		text string
	}{{200, "200 ohms"}, {2e3, "2 kilohms"}, {20e3, "20 kilohms"}, {200e3, "200 kilohms"}} {
		if v <= most.ohms {
			return most.text
		}
	}
	return "highest"
}

// notes are what a netlist says of the parts that a step is about, each once.
func (x *listing) notes(s *suspect.Step) []string {
	out := []string{}
	for _, note := range each(s.Notes(x.c), oneLine) {
		if !x.noted[note] {
			x.noted[note] = true
			out = append(out, note)
		}
	}
	return out
}

// Hints for readings that leave several things (common practice, no source).
const (
	supplyHint = "A conductor between the house and here: reset the breaker once and look at every joint; what is ahead of the machine is an electrician's."
	copperHint = "Copper on a board is looked at with a lens, at its solder; it is not pulled on: "
	runHint    = "Wires and plugs named together: each end by eye and by a pull, and the run repaired as a whole."
	boardHint  = "A relay's coil and its contact are one part, or one board, either way: hear whether it clicks."
)

// hint keeps what to do about several things that nothing distinguishes.
func (x *listing) hint(any []suspect.Suspect) {
	add := func(s string) {
		if !slices.Contains(x.hints, s) {
			x.hints = append(x.hints, s)
		}
	}
	var items []Item
	for _, s := range any {
		for _, class := range s.Causes {
			for _, m := range class.Members {
				items = append(items, x.item(m.Faults[0].Branch))
			}
		}
	}
	kinds := map[string]bool{}
	for _, it := range items {
		kinds[it.Kind] = true
		if x.onBoard(it) && !slices.Contains(x.copper, it.Ref) {
			x.copper = append(x.copper, it.Ref)
		}
	}
	switch {
	case kinds["supply"]:
		add(supplyHint)
	case len(items) > 1 && (kinds["wire"] || kinds["connector"]):
		add(runHint)
	case len(items) > 1 && len(kinds) == 1 && kinds["relay"] && sameOwner(items):
		add(boardHint)
	}
}

// onBoard tells a wire that is copper on a board: it has neither colour nor
// size and both its ends lie in one place.
func (r namer) onBoard(it Item) bool {
	id, err := r.c.FindWire(it.Ref)
	if it.Kind != "wire" || err != nil {
		return false
	}
	w := r.c.Wire(id)
	return w.Colour == "" && it.Size == "" && r.c.PlaceOf(w.From) == r.c.PlaceOf(w.To) && r.c.PlaceOf(w.From) != ""
}

func sameOwner(items []Item) bool {
	first, _, _ := strings.Cut(items[0].Ref, ".")
	for _, it := range items {
		if owner, _, _ := strings.Cut(it.Ref, "."); owner != first {
			return false
		}
	}
	return true
}

// sheetCautions go with a sheet of tests. They repeat what NFPA 70E asks for, as
// something to follow.
var sheetCautions = [...]string{
	"Whatever comes open is looked at first: burnt ends, loose push-ons, scorched boards, rubbed or pinched wires, each a find of its own.",
	"Before each resistance test short the meter's own leads: they must read near nothing.",
	"Live steps are for qualified people with insulated probes and gloves: one hand, black lead clipped on first, nothing touched while it is on.",
	"Local codes and the maker's instructions come before this sheet.",
}
