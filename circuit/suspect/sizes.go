package suspect

import (
	"math"
	"math/rand/v2"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Usual sizes, for a fault taken beside others.
const (
	usualShorted, usualAged = 0.6, 1.5
	usualOff, usualHotter   = 1.06, 1.2
	usualSag, usualThin     = 0.8, 0.7
	usualDamp, dampAt       = 15e3, 0.04
)

// likeUsual is how many cells of sizes, of one stretch, show much as the usual size does where
// nothing but the eye judges it, which a pair stands for.
const likeUsual = 2.5

// usual in place of a cell is the usual size and no other.
const usual int32 = -1

// cell is a part of a fault's range, small enough that between its corners a
// reading goes evenly from one to the other.
type cell struct {
	corners   []int32
	share     float64
	stretch   float64 // the share of all cells of its stretch
	low, high float64 // ohms or factor
	from, to  float64 // along a winding
	// occasion is when the fault is there: always, or now and then.
	occasion occasion
}

// occasion is when a fault is there.
type occasion struct {
	when when
	mode circuit.ModeID
	heat uint64 // of whileHeated: in which modes it is
}

type when uint8

const (
	always when = iota
	// comesAndGoes is there on one occasion in two.
	comesAndGoes
	// whenHot is there once the machine has run for a while, and gone when it
	// is measured with the supply off.
	whenHot
	// inMode is there in one mode: a key that does nothing.
	inMode
	// limited comes and goes while the machine is on, as it should.
	limited
	// whileHeated is there in modes that heat its part, and is measured cold.
	whileHeated
)

// Shares of opens that are there now and then (common practice, no source): a
// loose joint or worn contact that comes and goes, a limit that opens by heat
// as it should. What guards a motor's winding closes again once that has cooled: found
// open cold, the motor is replaced. Of leaks of what heats, short of bare contact, those that its own heat
// makes: its filling conducts the better the hotter it is.
const comingShare, hotShare, windingShare, wornShare, heatedShare = 0.1, 0.25, 0.6, 0.15, 0.5

// touchingShare is that of broken windings of what heats whose ends still touch now and
// then (common practice, no source).
const touchingShare = 0.015

// sizes is what is not known of a fault besides where it is: a grid of sizes
// and, for a ground, of places. A fault without a size has one cell.
type sizes struct {
	corners [][]circuit.Fault
	cells   []cell
	// usual is the corner of the usual size, share the prior of sizes like it.
	usual int32
	share float64
}

// sizesOf grids the range of a cause. What no figure belongs to is one cell.
func sizesOf(c *circuit.Circuit, cause *Cause) *sizes {
	s, faults := &sizes{share: 1}, cause.Faults
	s.usual = s.corner(faults)
	f := faults[0]
	b := c.Branch(f.Branch)
	switch {
	case cause.only != nil:
		s.cells = []cell{{corners: []int32{0}, share: 1, occasion: occasion{when: inMode, mode: *cause.only}}}
	case cause.cycles:
		s.cells = []cell{{corners: []int32{0}, share: 1, occasion: occasion{when: limited}}}
	case cause.hot:
		s.cells = []cell{{corners: []int32{0}, share: 1, occasion: occasion{when: whenHot}}}
	case f.Kind == circuit.Grounded && f.Ohms == usualDamp:
		s.line(c.Sizes("damp"), faults, setOhms)
	case f.Kind == circuit.HighResistance && f.Ohms == usualThin:
		s.line(c.Sizes("supply_thin"), faults, setOhms)
	case f.Kind == circuit.HighResistance:
		s.line(c.Sizes("joint"), faults, setOhms)
	case f.Kind == circuit.Grounded && b.Role == circuit.Load && b.A != circuit.None:
		s.plane(c.Sizes("leak"), c.Sizes("along"), faults)
		if kindOf(c, f.Branch) == circuit.KindElement {
			s.heated(heats(c, f.Branch))
		}
	case f.Kind == circuit.Grounded:
		s.line(c.Sizes("chafed"), faults, setOhms)
	case f.Kind == circuit.Drifted:
		s.line(c.Sizes(driftOf(b, f.Factor)), faults, setFactor)
	case f.Kind == circuit.Open && b.Role == circuit.Load && kindOf(c, b.ID).Heats():
		s.cells = []cell{{corners: []int32{0}, share: 1 - touchingShare}, {corners: []int32{0}, share: touchingShare, occasion: occasion{when: comesAndGoes}}}
	case f.Kind == circuit.Open && b.Role != circuit.Source && (b.Role != circuit.Load || kindOf(c, f.Branch) == circuit.KindControl) && (b.Role != circuit.Drive || len(faults) == 1):
		s.opens(c, b, len(faults) > 1)
	default:
		s.cells = []cell{{corners: []int32{0}, share: 1}}
	}
	likeliest := 0
	for k := range s.cells {
		if s.cells[k].holds(f) {
			s.share = max(s.cells[k].share, min(likeUsual*s.cells[k].share, s.cells[k].stretch))
			return s
		}
		if s.cells[k].share > s.cells[likeliest].share {
			likeliest = k
		}
	}
	if len(s.cells[likeliest].corners) > 1 { // a netlist's own sizes leave it out
		s.usual, s.share = s.corner(s.mid(int32(likeliest))), s.cells[likeliest].share
	}
	return s
}

// opens are the occasions of a joint, a contact or a board that is open, of a part at
// all its poles or at one.
func (s *sizes) opens(c *circuit.Circuit, b *circuit.Branch, whole bool) {
	hot, coming, now := 0.0, comingShare, comesAndGoes
	switch kindOf(c, b.ID) {
	case circuit.KindLimit:
		if p := c.Part(b.Part); whole && p.Acts > 0 && !p.Returns {
			now = limited // it holds, once it was reset, until heat trips it again
		}
		if hot = hotShare; c.GuardsWinding(b.Part) {
			hot = windingShare
		}
	case circuit.KindBreaker: // one that is worn lets go below its rating as it warms
		hot = wornShare
	case circuit.KindControl: // its joints are soldered
		coming /= 2
	}
	s.cells = []cell{{corners: []int32{0}, share: 1 - coming - hot}, {corners: []int32{0}, share: coming, occasion: occasion{when: now}}}
	if hot > 0 {
		s.cells = append(s.cells, cell{corners: []int32{0}, share: hot, occasion: occasion{when: whenHot}})
	}
}

// holds reports whether a fault's size lies in a cell.
func (c *cell) holds(f circuit.Fault) bool {
	v := f.Ohms
	if f.Kind == circuit.Drifted {
		v = f.Factor
	}
	return c.low <= v && v <= c.high && (c.to == 0 || c.from <= f.At && f.At <= c.to)
}

// driftOf names the range that a drifted branch's usual factor stands for.
func driftOf(b *circuit.Branch, factor float64) string {
	switch {
	case b.Role == circuit.Source:
		return "supply_low"
	case b.Sensor != nil && factor == usualOff:
		return "sensor_off"
	case b.Sensor != nil && factor < 1:
		return "sensor_low"
	case b.Sensor != nil:
		return "sensor_high"
	case b.Role == circuit.Contact:
		return "calibration"
	case factor < 1:
		return "part_shorted"
	}
	return "aged"
}

func setOhms(f *circuit.Fault, v float64)   { f.Ohms = v }
func setFactor(f *circuit.Fault, v float64) { f.Factor = v }

func (s *sizes) corner(faults []circuit.Fault) int32 {
	s.corners = append(s.corners, faults)
	return int32(len(s.corners) - 1)
}

// stepsOf cuts a stretch evenly over the logarithm; one from 0 is one cell.
func stepsOf(p circuit.Stretch) []float64 {
	out := make([]float64, p.Cells+1)
	for i := range out {
		out[i] = p.Low * math.Pow(p.High/p.Low, float64(i)/float64(p.Cells))
	}
	out[0], out[p.Cells] = p.Low, p.High
	return out
}

// line grids a fault with one figure to it.
func (s *sizes) line(spans []circuit.Stretch, faults []circuit.Fault, set func(*circuit.Fault, float64)) {
	last, at := math.NaN(), int32(0)
	for _, p := range spans {
		steps := stepsOf(p)
		for i := 1; i < len(steps); i++ {
			if last != steps[i-1] {
				at = s.corner(sized(faults, steps[i-1], set))
			}
			next := s.corner(sized(faults, steps[i], set))
			s.cells = append(s.cells, cell{corners: []int32{at, next}, share: p.Share / float64(p.Cells), stretch: p.Share, low: steps[i-1], high: steps[i]})
			last, at = steps[i], next
		}
	}
}

// plane grids a ground within a winding: its ohms and its place.
func (s *sizes) plane(ohms, along []circuit.Stretch, faults []circuit.Fault) {
	index := map[[2]float64]int32{}
	corner := func(r, at float64) int32 {
		k, ok := index[[2]float64{r, at}]
		if !ok {
			k = s.corner(sized(sized(faults, r, setOhms), at, func(f *circuit.Fault, v float64) { f.At = v }))
			index[[2]float64{r, at}] = k
		}
		return k
	}
	for _, a := range along {
		for _, p := range ohms {
			s.cells = append(s.cells, cell{share: a.Share * p.Share, low: p.Low, high: p.High, from: a.Low, to: a.High,
				corners: []int32{corner(p.Low, a.Low), corner(p.Low, a.High), corner(p.High, a.Low), corner(p.High, a.High)}})
		}
	}
}

// heated sets cells of leaks apart that are there while their part is heated.
func (s *sizes) heated(in uint64) {
	for k := range s.cells {
		c := s.cells[k]
		if c.low > 0 && in != 0 {
			s.cells[k].share *= 1 - heatedShare
			c.share, c.occasion = c.share*heatedShare, occasion{when: whileHeated, heat: in}
			s.cells = append(s.cells, c)
		}
	}
}

// heats are the modes, of the first 64, that use a load.
func heats(c *circuit.Circuit, load circuit.BranchID) (in uint64) {
	for i := range c.Modes() {
		if expects(c, circuit.ModeID(i), load) {
			in |= 1 << i
		}
	}
	return in
}

func sized(faults []circuit.Fault, v float64, set func(*circuit.Fault, float64)) []circuit.Fault {
	out := slices.Clone(faults)
	for i := range out {
		set(&out[i], v)
	}
	return out
}

// mid is a fault in the midst of a cell.
func (s *sizes) mid(k int32) []circuit.Fault {
	if k == usual {
		return s.corners[s.usual]
	}
	c := &s.cells[k]
	if len(c.corners) == 1 {
		return s.corners[c.corners[0]]
	}
	first, last := s.corners[c.corners[0]], s.corners[c.corners[len(c.corners)-1]]
	out := slices.Clone(first)
	for i := range out {
		out[i].Ohms = between(first[i].Ohms, last[i].Ohms)
		out[i].Factor = between(first[i].Factor, last[i].Factor)
		out[i].At = (first[i].At + last[i].At) / 2
	}
	return out
}

// fine lists faults evenly through a cell, n in each of its directions.
func (s *sizes) fine(k int32, n int) [][]circuit.Fault {
	c := &s.cells[k]
	if len(c.corners) == 1 {
		return [][]circuit.Fault{s.corners[c.corners[0]]}
	}
	along := 1
	if c.to > c.from {
		along = n
	}
	var out [][]circuit.Fault
	for i := range n {
		for j := range along {
			out = append(out, s.at(k, (float64(i)+0.5)/float64(n), (float64(j)+0.5)/float64(along)))
		}
	}
	return out
}

// Draw is a cause of a size drawn from the prior over it, as it is when it is
// there; nil where it is there in one mode only.
func Draw(c *circuit.Circuit, cause Cause, r *rand.Rand) []circuit.Fault {
	if cause.only != nil {
		return nil
	}
	s := sizesOf(c, &cause)
	at, x := 0, r.Float64()
	for ; at < len(s.cells)-1 && x > s.cells[at].share; at++ {
		x -= s.cells[at].share
	}
	return s.at(int32(at), r.Float64(), r.Float64())
}

// at is a fault so far along a cell in its size and in its place.
func (s *sizes) at(k int32, x, y float64) []circuit.Fault {
	c := &s.cells[k]
	first, last := s.corners[c.corners[0]], s.corners[c.corners[len(c.corners)-1]]
	out := slices.Clone(first)
	for i := range out {
		out[i].Ohms = part(first[i].Ohms, last[i].Ohms, x)
		out[i].Factor = part(first[i].Factor, last[i].Factor, x)
		out[i].At += y * (last[i].At - first[i].At)
	}
	return out
}

// part is a share of the way between two sizes, evenly over the logarithm; from
// nothing, evenly.
func part(a, b, x float64) float64 {
	if a <= 0 {
		return x * b
	}
	return a * math.Pow(b/a, x)
}

// between is the midst of two sizes; what begins at nothing is next to nothing.
func between(a, b float64) float64 { return math.Sqrt(a * b) }

// cornersOf lists the faults at the corners of a hypothesis: those of each
// class's cell with those of every other's. They are not to be changed.
func (e *Engine) cornersOf(h *hypothesis) [][]circuit.Fault {
	out := [][]circuit.Fault{nil}
	for i, k := range h.classes {
		s := e.classes[k].sizes
		corners := []int32{s.usual}
		if h.cells[i] != usual {
			corners = s.cells[h.cells[i]].corners
		}
		grown := make([][]circuit.Fault, 0, len(out)*len(corners))
		for _, have := range out {
			for _, corner := range corners {
				faults := s.corners[corner]
				if i > 0 {
					faults = append(slices.Clip(have), faults...)
				}
				grown = append(grown, faults)
			}
		}
		out = grown
	}
	return out
}

// ends are the lowest and highest of what the corners of a cell read. Between
// corners where the machine settles alike every reading is a Moebius function of
// each resistance, so that it goes evenly from one to the other; it does not,
// and there is no telling, where a coil is pulled in at one and not at the
// other, or one is open.
func ends(ps []predicted) (low, high meter.Reading, ok bool) {
	low, high = ps[0].reading, ps[0].reading
	if len(ps) == 1 {
		return low, high, true
	}
	for _, p := range ps {
		q := p.reading
		if q.OL || q.Unsteady || q.Refused != "" || p.state != ps[0].state {
			return low, high, false
		}
		if q.Value < low.Value {
			low = q
		}
		if q.Value > high.Value {
			high = q
		}
	}
	return low, high, true
}
