package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// after lists the checks that follow a repair: what the sheet had read whatever is
// suspected, and what read bad, once more; then the machine closed and on, and what was
// wrong put to work.
func (x *listing) after(q Question, d *Points) ([]string, error) {
	out := []string{"Every wire back where it was, each push-on tight, no bare strand, nothing pinched."}
	var again []string
	for i := range x.sheet.Steps {
		if s := &x.sheet.Steps[i]; s.Must && !s.Live && (x.trips || x.c.Terminal(s.Probes.Q).Ref == circuit.ChassisName) {
			again = append(again, fmt.Sprintf("step %d, %s", i+1, d.Steps[i].Good.Range))
		}
	}
	again = append(again, "what read bad, good")
	out = append(out, "Once more, the supply still off: "+strings.Join(again, "; ")+".")
	if len(d.CloseUp) > 0 {
		out = append(out, "Undo what was opened, the last first: "+strings.Join(each(d.CloseUp, func(o Opened) string { return circuit.LowerFirst(o.Panel) }), "; ")+".")
	}
	if mode, load, err := x.proving(q); err != nil {
		return nil, err
	} else if load != circuit.None {
		o, err := x.settled(mode, nil)
		if err != nil {
			return nil, err
		}
		gets := fmt.Sprintf("Supply on. %s: %s comes on", x.c.Mode(mode).Bring(), circuit.LowerFirst(x.label(load)))
		if w := x.ownWire(load); w != circuit.None {
			amps, err := x.b.Amps(o, x.c.Wire(w).Branch)
			if err == nil && amps.Value > 0.5 {
				gets += fmt.Sprintf("; a clamp around wire%s%s reads %s", hard, x.c.Wire(w).Name, amps.Range())
			}
		}
		if x.trips {
			gets += "; the breaker holds for ten minutes with it on"
		}
		if note := oneLine(x.c.Part(x.c.Branch(load).Part).Spec.Note); note != "" {
			out = append(out, note)
		}
		out = append(out, gets+".")
	}
	return append(out, "What worked before works as it did; nothing smells, hums or trips in ten minutes."), nil
}

// proof is a load that comes on in a mode.
type proof struct {
	mode circuit.ModeID
	load circuit.BranchID
}

// proving is the mode and load that show that the repair has cured the complaint: those
// that the likeliest suspects keep from coming on, of several the one complained of. What
// tripped is loaded: with the most that comes on in the mode in which it did.
func (x *listing) proving(q Question) (circuit.ModeID, circuit.BranchID, error) {
	told, err := x.told()
	if err != nil {
		return 0, circuit.None, err
	}
	best := proof{q.Mode, q.Load}
	if x.trips {
		best = x.loaded(told)
	}
	for i := range x.c.Modes() {
		for _, e := range x.c.Mode(circuit.ModeID(i)).Expect {
			if k := (proof{circuit.ModeID(i), e.Load}); !x.trips && told[k] > told[best]+1e-9 {
				best = k
			}
		}
	}
	return best.mode, best.load, nil
}

// told is how far the likeliest suspects keep each load from doing what it should.
func (x *listing) told() (map[proof]float64, error) {
	told, sum := map[proof]float64{}, 0.0
	for _, s := range x.suspects {
		if len(s.Causes) != 1 || sum > 0.5 {
			continue
		}
		sum += s.P
		for i := range x.c.Modes() {
			m := x.c.Mode(circuit.ModeID(i))
			if m.Reached == circuit.NotAtWill {
				continue
			}
			sound, err := x.settled(m.ID, nil)
			if err != nil {
				return nil, err
			}
			bad, err := x.settled(m.ID, s.Causes[0].Members[0].Faults)
			if err != nil {
				continue // it is not to be put on so
			}
			for _, e := range m.Expect {
				if now := circuit.JudgeLoad(bad, sound, e.Load); e.Share > 0 && now != circuit.JudgeLoad(sound, sound, e.Load) {
					told[proof{m.ID, e.Load}] += s.P
				}
			}
		}
	}
	return told, nil
}

// loaded is the most that comes on in the mode that tripped: the one told of, else of those
// selected by hand that most suspects trip in the one that draws most.
func (x *listing) loaded(told map[proof]float64) proof {
	trips, of, most := map[circuit.ModeID]float64{}, map[circuit.ModeID]proof{}, 0.0
	drawn := map[circuit.ModeID]float64{}
	for i := range x.c.Modes() {
		m := x.c.Mode(circuit.ModeID(i))
		if x.tripsIn == circuit.None && (m.Reached != circuit.ByHand || m.Minutes > 0) || x.tripsIn != circuit.None && m.ID != x.tripsIn {
			continue
		}
		for _, e := range m.Expect {
			k := proof{m.ID, e.Load}
			trips[m.ID] = max(trips[m.ID], told[k])
			if w := e.Share * x.c.Branch(e.Load).Watts; w > drawn[m.ID] {
				of[m.ID], drawn[m.ID] = k, w
			}
		}
		most = max(most, trips[m.ID])
	}
	best := proof{load: circuit.None}
	for i := range x.c.Modes() {
		m := circuit.ModeID(i)
		if drawn[m] > 0 && trips[m] >= most/2 && (best.load == circuit.None || drawn[m] > drawn[best.mode]) {
			best = of[m]
		}
	}
	return best
}

// ownWire is the wire that carries a load's current and no other's, or None.
func (r namer) ownWire(load circuit.BranchID) circuit.WireID {
	b := r.c.Branch(load)
	for _, t := range [2]circuit.TerminalID{b.A, b.B} {
		if t != circuit.None && len(r.c.Terminal(t).Wires) == 1 {
			return r.c.Terminal(t).Wires[0]
		}
	}
	return circuit.None
}
