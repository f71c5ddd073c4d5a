package settle

import (
	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Idle tells of faults that change nothing by themselves that the sound machine
// determines, on its way to its settled state too: an open where no current
// flows, a weld across no voltage, what another winding or a control could not
// feel. They may leave a part floating that carries nothing. False says nothing.
func (s *Sweep) Idle(f circuit.Fault) bool {
	if s.stages == nil || f.Kind == circuit.Moved || s.loop.logical(s.reach, &f) {
		return false
	}
	for _, g := range s.stages {
		for _, r := range g.rounds {
			p := newPort(s.c, f, r.conducts)
			p.rounds(s.c, s.row(r).chords)
			if acts, _ := p.acts(&r.row.row); acts || s.loop.loops(&p, &r.row.row) {
				return false
			}
			if t, ties := p.tie(&r.row.row); ties && t.other < 0 {
				return false
			}
		}
	}
	return true
}

// soundRow is a round of the sound machine, read at every terminal and branch.
type soundRow struct {
	row
	chords []bool
}

func (s *Sweep) row(r *round) *soundRow {
	if r.row == nil {
		if s.flow == nil {
			s.flow = phasor.NewFlow(s.net)
		}
		s.last = nil
		x := &soundRow{chords: make([]bool, len(s.c.Branches()))}
		u, err := r.live.Apply(phasor.Input{Conducts: r.conducts}, nil)
		x.row = readRow(s.c, s.flow, u, err, x.chords)
		r.row = x
	}
	return r.row
}

// logical tells of a fault that may matter though nothing flows: a weld of what trips,
// and what is felt.
func (l *loop) logical(reach []int32, f *circuit.Fault) bool {
	return l.trips(l.c.Branch(f.Branch)) || l.felt(reach, f)
}

// felt tells of a fault of what drives a relay, of a motor's shaft, or that a sense can
// feel. Reach is that of [reach].
func (l *loop) felt(reach []int32, f *circuit.Fault) bool {
	if l.c.Branch(f.Branch).Role == circuit.Drive || f.Kind == circuit.Seized {
		return true
	}
	for k := range l.c.Controls() {
		for s := range l.c.Controls()[k].Senses {
			if feels(l.c, reach, f.Branch, &l.c.Controls()[k].Senses[s]) {
				return true
			}
		}
	}
	return false
}

func (l *loop) trips(b *circuit.Branch) bool {
	return b.Role != circuit.Source && b.Part != circuit.None && (b.Amps > 0 || b.Residual > 0 || l.c.Part(b.Part).Kind.Guards())
}

// loops tells of a fault that closes a loop of ideal joins in a solution whose
// currents may trip something: how they part there is not determined.
func (l *loop) loops(p *port, r *row) bool {
	if p.kind != shunt {
		return false
	}
	v, known := p.figure(r)
	if !known || v != 0 {
		return false
	}
	sent := 0.0
	for _, d := range l.sources {
		sent += size1(r.amps[d.id])
	}
	for _, d := range l.devices {
		if d.residual || sent > d.limit {
			return true
		}
	}
	return false
}

// rounds sets what of a port's figure is rounding. Over a low resistance beside
// another way, current is what rounding leaves of a difference of voltages.
func (p *port) rounds(c *circuit.Circuit, chords []bool) {
	p.noise = rounding
	if p.kind == series && chords[p.branch] {
		p.noise = 1e-12 / c.Branch(p.branch).Ohms
	}
}
