package meter

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// Probes is a pair of places for the probes and what the meter is set to.
type Probes struct {
	Function Function
	P, Q     circuit.TerminalID
	// Name says it shortly: "broil_1 to tb_n".
	Name string
}

// Entry is one reading of the dictionary.
type Entry struct {
	Mode    circuit.ModeID
	Probes  int // index into Dictionary.Probes
	Fault   int // index into Dictionary.Faults
	Reading Reading
	// Differs is set when the reading cannot be taken for the sound machine's.
	Differs bool
}

// Dictionary holds the reading of every single fault at every pair of listed
// test points, in every mode asked for.
type Dictionary struct {
	Modes  []circuit.ModeID
	Probes []Probes
	Faults []circuit.Fault
	// Good holds the sound machine's readings, by mode then probes.
	Good [][]Reading
	// Entries go by mode, then fault, then probes.
	Entries []Entry
	// FellBack counts the faults, by mode, that an update could not take and the
	// engine settled in full.
	FellBack int
}

// ListedProbes derives probe placements from the listed test points: each point
// to the neutral reference and each two points of one part to each other, in
// volts; the latter in ohms too, with the supply removed, and so each two
// points that wires and connectors alone join, and each point to a listed place
// on bare metal: the volts too where neutral is not brought to the machine.
func (b *Bench) ListedProbes() []Probes {
	points := b.c.Points()
	reference := b.Reference()
	run := b.c.Runs()
	var out []Probes
	metal := b.c.PointAt(b.c.ChassisTerminal())
	if metal != nil && b.c.Part(b.c.Terminal(reference).Part).Kind == circuit.KindSupply {
		reference = metal.Terminal // neutral is not brought to the machine
	}
	for i, p := range points {
		if metal != nil && p.Terminal != metal.Terminal && p.Power != "live" {
			out = append(out, Probes{Ohms, p.Terminal, metal.Terminal, p.Name + " to " + metal.Name})
		}
		if p.Terminal != reference && p.Power != "off" {
			out = append(out, Probes{Volts, p.Terminal, reference, p.Name + " to " + b.c.PlaceName(reference)})
		}
		for _, q := range points[:i] {
			if p.Terminal == q.Terminal {
				continue
			}
			name := q.Name + " to " + p.Name
			if b.c.Terminal(p.Terminal).Part != b.c.Terminal(q.Terminal).Part {
				if run[p.Terminal] == run[q.Terminal] && p.Power != "live" && q.Power != "live" {
					out = append(out, Probes{Ohms, q.Terminal, p.Terminal, name})
				}
				continue
			}
			if p.Power != "off" && q.Power != "off" && p.Terminal != reference && q.Terminal != reference {
				out = append(out, Probes{Volts, q.Terminal, p.Terminal, name})
			}
			if p.Power != "live" && q.Power != "live" {
				out = append(out, Probes{Ohms, q.Terminal, p.Terminal, name})
			}
		}
	}
	return out
}

// Reference is where the black probe rests for voltages to neutral: the listed
// point nearest the supply's neutral, else the supply's neutral itself.
func (b *Bench) Reference() circuit.TerminalID { return b.reference() }

func (b *Bench) findReference() circuit.TerminalID {
	neutral := b.c.Branch(b.c.Supply().Neutral).B
	o, err := b.engine.Run(0, nil)
	if err != nil {
		return neutral
	}
	groups := b.joined(o)
	for _, g := range groups {
		for _, t := range g {
			if t != neutral {
				continue
			}
			for _, u := range g {
				for _, p := range b.c.Points() {
					if p.Terminal == u {
						return u
					}
				}
			}
		}
	}
	return neutral
}

// SingleFaults lists every single fault of the circuit: opens of everything,
// welds, shorts and grounds, and a burnt joint or contact of
// [BurntContactOhms] in every conductor.
func SingleFaults(c *circuit.Circuit) []circuit.Fault {
	var out []circuit.Fault
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		for _, f := range []circuit.Fault{
			{Kind: circuit.Open, Branch: b.ID},
			{Kind: circuit.HighResistance, Branch: b.ID, Ohms: BurntContactOhms},
			{Kind: circuit.Welded, Branch: b.ID},
			{Kind: circuit.Short, Branch: b.ID},
			{Kind: circuit.Grounded, Branch: b.ID, At: 0.5},
		} {
			switch {
			case !c.CanFail(f):
			case f.Kind == circuit.HighResistance && b.Role == circuit.Load:
			case f.Kind == circuit.Grounded && b.Role == circuit.Contact:
			default:
				out = append(out, f)
			}
		}
		if b.Sensor != nil {
			for _, factor := range []float64{0.5, 2} {
				out = append(out, circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: factor})
			}
		}
	}
	return out
}

// Dictionary reads every single fault at the probes, in the modes given; nil
// means all modes, and nil probes mean [Bench.ListedProbes].
func (b *Bench) Dictionary(ctx context.Context, modes []circuit.ModeID, probes []Probes) (*Dictionary, error) {
	if modes == nil {
		for i := range b.c.Modes() {
			modes = append(modes, circuit.ModeID(i))
		}
	}
	if probes == nil {
		probes = b.ListedProbes()
	}
	if len(probes) == 0 {
		return nil, fmt.Errorf("%s lists no test points to read at", b.c.Name())
	}
	d := &Dictionary{Modes: modes, Probes: probes, Faults: SingleFaults(b.c)}
	net := phasor.NewNetwork(b.c)
	d.Entries = make([]Entry, 0, len(modes)*len(d.Faults)*len(probes))
	cache := map[string][][]Reading{}
	for _, mode := range modes {
		if err := b.dictionaryMode(ctx, d, mode, net, cache); err != nil {
			return nil, err
		}
	}
	return d, nil
}

func (b *Bench) dictionaryMode(ctx context.Context, d *Dictionary, mode circuit.ModeID, net *phasor.Network, cache map[string][][]Reading) error {
	live, err := b.Live(mode, nil)
	if err != nil {
		return err
	}
	dead, err := b.Dead(mode, nil)
	if err != nil {
		return err
	}
	good := make([]Reading, len(d.Probes))
	for i, p := range d.Probes {
		if good[i], err = b.at1(live, dead, p); err != nil {
			return err
		}
	}
	d.Good = append(d.Good, good)
	sweep, err := settle.NewSweepOn(b.engine, net, mode)
	if err != nil {
		return err
	}
	ohms, err := b.deadReadings(ctx, d, mode, net, cache)
	if err != nil {
		return err
	}
	for f, fault := range d.Faults {
		if err := ctx.Err(); err != nil {
			return err
		}
		circuit.Work(ctx, f, len(d.Faults))
		out, err := sweep.Run([]circuit.Fault{fault})
		if err != nil {
			return err
		}
		if out.FellBack {
			d.FellBack++
		}
		var chatters *settle.Outcome
		if out.Chatter() != nil {
			if chatters, err = out.Full(); err != nil {
				return err
			}
		}
		for i, p := range d.Probes {
			r := ohms[f][i]
			if p.Function.Live() {
				r = b.QuickOn(out, p.Function, p.P, p.Q)
			}
			if p.Function.Live() && chatters != nil {
				r = b.Quick(chatters, p.Function, p.P, p.Q)
			}
			d.Entries = append(d.Entries, Entry{mode, i, f, r, r.Differs(good[i])})
		}
	}
	return nil
}

// deadReadings takes the ohms of every fault with the supply off. They depend
// on the mode by its switch positions alone, so modes share them.
func (b *Bench) deadReadings(ctx context.Context, d *Dictionary, mode circuit.ModeID, net *phasor.Network, cache map[string][][]Reading) ([][]Reading, error) {
	key := fmt.Sprint(b.c.Mode(mode).Position, b.c.Mode(mode).After)
	if have, ok := cache[key]; ok {
		return have, nil
	}
	sweep, err := b.NewDeadSweep(net, mode)
	if err != nil {
		return nil, err
	}
	all := make([][]Reading, len(d.Faults))
	for f, fault := range d.Faults {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := sweep.Set([]circuit.Fault{fault}, nil); err != nil {
			return nil, err
		}
		all[f] = make([]Reading, len(d.Probes))
		for i, p := range d.Probes {
			if !p.Function.Live() {
				all[f][i] = sweep.Ohms(p.P, p.Q)
			}
		}
	}
	cache[key] = all
	return all, nil
}

// at1 takes one reading, live or dead as its function wants.
func (b *Bench) at1(live, dead *settle.Outcome, p Probes) (Reading, error) {
	if p.Function.Live() {
		return b.Read(live, p.Function, p.P, p.Q)
	}
	return b.ohms(dead, p.P, p.Q), nil
}

// Summary counts, for every fault, the readings that give it away, by mode.
func (d *Dictionary) Summary() map[int]int {
	out := map[int]int{}
	for _, e := range d.Entries {
		if e.Differs {
			out[e.Fault]++
		}
	}
	return out
}

// Unseen lists the faults that no reading of the dictionary gives away.
func (d *Dictionary) Unseen() []int {
	seen := d.Summary()
	var out []int
	for f := range d.Faults {
		if seen[f] == 0 {
			out = append(out, f)
		}
	}
	slices.Sort(out)
	return out
}
