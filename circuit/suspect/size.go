package suspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Size is how large a fault is, by all that was seen: nine chances in ten lie
// within it.
type Size struct {
	Kind circuit.FaultKind
	// Low and High are ohms, or for a drift the share that is left of the ohms
	// or volts there should be.
	Low, High float64
	// From and To are where on a winding a ground is, from 0 at its terminal A
	// to 1 at B.
	From, To float64
	// When is the likelier occasion of an open: "comes and goes", "when hot";
	// empty where it is there always.
	When string
	// Known is false where it may be of nearly any size that such faults have.
	Known bool
	volts bool
	// above is by how many kelvin over the room a thermostat acts that is calibrated; 0 of
	// all else.
	above float64
}

// How well a size must be known to be told, and between what chances it lies.
const (
	tellWithin          = 30 // times the lower end
	sizeLeast, sizeMost = 0.05, 0.95
	finePoints          = 80 // in a cell, a place along a winding left out
	finePlaces          = 12 // each way, with it
	faintCell           = 0.002
)

// Sizes tells for each cause of a suspect how large it is. A cause beside others
// is taken to be of its usual size, and nothing is told of it.
func (e *Engine) Sizes(s Suspect) ([]Size, error) {
	out := make([]Size, len(s.Causes))
	if len(s.core) != 1 {
		return out, nil
	}
	z := e.classes[s.core[0]].sizes
	if len(z.cells) < 2 {
		return out, nil
	}
	if len(z.corners) == 1 {
		out[0].When = e.occasionOf(s.core[0])
		return out, nil
	}
	logs := make([]float64, len(z.cells))
	for k, c := range z.cells {
		logs[k] = math.Log(c.share)
		for _, single := range e.singles {
			if !e.since(single.ev) {
				continue
			}
			logs[k] += single.logs[s.core[0]][k]
		}
	}
	best := slices.Max(logs)
	var points []weighedFault
	for k := range z.cells {
		if math.Exp(logs[k]-best) < faintCell {
			continue
		}
		fine, err := e.fineIn(s.core[0], int32(k))
		if err != nil {
			return nil, err
		}
		for i, faults := range fine.faults {
			points = append(points, weighedFault{&faults[0], math.Exp(fine.logs[i] - best)})
		}
	}
	f := *points[0].fault
	size := Size{Kind: f.Kind, volts: e.c.Branch(f.Branch).Role == circuit.Source, above: e.actsAbove(f)}
	if f.Kind == circuit.Drifted {
		size.Low, size.High = quantiles(points, func(f *circuit.Fault) float64 { return f.Factor })
	} else {
		size.Low, size.High = quantiles(points, func(f *circuit.Fault) float64 { return f.Ohms })
	}
	if f.Kind == circuit.Grounded && e.c.Branch(f.Branch).Role == circuit.Load {
		size.From, size.To = quantiles(points, func(f *circuit.Fault) float64 { return f.At })
	}
	size.Known = size.High <= tellWithin*size.Low || size.Kind == circuit.Grounded && size.High < 1
	out[0] = size
	return out, nil
}

// fineCell are faults evenly through a cell, with their log weight by the first so
// many pieces of evidence.
type fineCell struct {
	faults [][]circuit.Fault
	logs   []float64
	told   int
}

// fineIn weighs faults evenly through a cell of a class: what was put to them before
// is not put again.
func (e *Engine) fineIn(class, cell int32) (*fineCell, error) {
	z := e.classes[class].sizes
	c := e.fine[[2]int32{class, cell}]
	if c == nil {
		n := finePoints
		if z.cells[cell].to > 0 {
			n = finePlaces
		}
		c = &fineCell{faults: z.fine(cell, n)}
		for range c.faults {
			c.logs = append(c.logs, math.Log(z.cells[cell].share/float64(len(c.faults))))
		}
		e.fine[[2]int32{class, cell}] = c
	}
	w := e.workers[0]
	w.passing = true
	defer func() { w.passing = false }()
	more := slices.Clone(e.evidence[c.told:])
	more = slices.DeleteFunc(more, func(ev Evidence) bool { return !e.since(ev) })
	for i, faults := range c.faults {
		for _, ev := range more { // of one mode all see the same machine
			p, err := w.predict(ev, faults)
			if err != nil {
				delete(e.fine, [2]int32{class, cell}) // half of it is weighed
				return nil, err
			}
			c.logs[i] += e.errs.logLikelihood(ev, p)
		}
	}
	c.told = len(e.evidence)
	return c, nil
}

// occasionOf tells when a class is there, if that is likelier not to be always.
func (e *Engine) occasionOf(k int32) string {
	weight := map[when]float64{}
	total := 0.0
	for i, c := range e.classes[k].sizes.cells {
		l := math.Log(c.share)
		for _, s := range e.singles {
			if e.since(s.ev) {
				l += s.logs[k][i]
			}
		}
		weight[c.occasion.when] += math.Exp(l)
		total += math.Exp(l)
	}
	return mostly(weight, total)
}

// mostly names the occasion that most of some weights lie with, but where that is
// always, or none.
func mostly(weight map[when]float64, total float64) string {
	for _, x := range []struct {
		when
		words string
	}{{comesAndGoes, "comes and goes"}, {whenHot, "when hot"}, {whileHeated, "while it heats"}} {
		if weight[x.when] > total/2 {
			return x.words
		}
	}
	return ""
}

type weighedFault struct {
	fault  *circuit.Fault
	weight float64
}

// quantiles tells between what bounds a figure lies but for one chance in
// twenty on either side.
func quantiles(points []weighedFault, figure func(*circuit.Fault) float64) (low, high float64) {
	slices.SortStableFunc(points, func(a, b weighedFault) int { return cmp.Compare(figure(a.fault), figure(b.fault)) })
	total := 0.0
	for _, p := range points {
		total += p.weight
	}
	sum := 0.0
	low, high = figure(points[0].fault), figure(points[len(points)-1].fault)
	for _, p := range points {
		if sum < sizeLeast*total && sum+p.weight >= sizeLeast*total {
			low = figure(p.fault)
		}
		if sum < sizeMost*total && sum+p.weight >= sizeMost*total {
			high = figure(p.fault)
		}
		sum += p.weight
	}
	return low, high
}

// Words tells a size: "3.1 to 4.6 ohms". It is empty where little is known.
func (s Size) Words() string {
	var out []string
	if s.When != "" {
		out = append(out, s.When)
	}
	if s.Known {
		switch {
		case s.Kind == circuit.Drifted && s.volts:
			out = append(out, fmt.Sprintf("%.0f to %.0f %% of its volts", 100*s.Low, 100*s.High))
		case s.Kind == circuit.Drifted && s.above > 0 && s.High < 1:
			out = append(out, "acts "+kelvins(s.above*(1-s.High), s.above*(1-s.Low))+" too cold")
		case s.Kind == circuit.Drifted && s.above > 0 && s.Low <= 1: // which way is not known
		case s.Kind == circuit.Drifted && s.above > 0:
			out = append(out, "acts "+kelvins(s.above*(s.Low-1), s.above*(s.High-1))+" too hot")
		case s.Kind == circuit.Drifted:
			out = append(out, fmt.Sprintf("%s to %s %% of its ohms", figures(100*s.Low), figures(100*s.High)))
		case s.High < 1:
			out = append(out, "below 1 ohm")
		case figures(s.Low) == figures(s.High):
			out = append(out, "about "+figures(s.Low)+" ohms")
		default:
			out = append(out, figures(s.Low)+" to "+figures(s.High)+" ohms")
		}
	}
	if s.To > 0 && s.To-s.From < 0.6 {
		out = append(out, fmt.Sprintf("%.0f to %.0f %% along it", math.Floor(100*s.From), math.Ceil(100*s.To)))
	}
	return strings.Join(out, ", ")
}

// kelvins writes by how much a temperature is off, as both thermometers show it.
func kelvins(low, high float64) string {
	return fmt.Sprintf("%s to %s C (%s to %s F)", figures(low), figures(high), figures(1.8*low), figures(1.8*high))
}

// actsAbove is how far over the room a thermostat acts that is calibrated, 0 of a fault
// of anything else.
func (e *Engine) actsAbove(f circuit.Fault) float64 {
	if b := e.c.Branch(f.Branch); b.Role == circuit.Contact && f.Kind == circuit.Drifted {
		return e.c.Part(b.Part).Acts - circuit.RoomCelsius
	}
	return 0
}

// figures writes two significant figures.
func figures(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.2g", v)
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	return fmt.Sprintf("%.0f", math.Round(v/step)*step)
}
