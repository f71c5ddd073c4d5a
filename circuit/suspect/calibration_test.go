package suspect_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// drawn is a fault of a size drawn from its own range, not from the engine's
// cells; the supply and the parts are drawn within what is allowed.
func drawn(c *circuit.Circuit, r *rand.Rand, k suspect.Class) []circuit.Fault {
	x := r.Float64() * k.Prior
	m := k.Members[0]
	for _, m = range k.Members {
		if x -= m.Prior; x <= 0 {
			break
		}
	}
	return suspect.Draw(c, m, r)
}

// said is one claim: that a part is at fault, or how large a fault is, with the
// chance given and whether it is so.
type said struct {
	p  float64
	is bool
}

// calibrate draws faults by their priors and sizes, tells the engine what a
// customer would of one load and takes some noisy readings, and gathers what
// the engine says of parts and sizes with what is so.
func calibrate(t testing.TB, name string, n int, seed uint64) (parts, sizes []said, drawnFaults int) {
	c := machine(t, name)
	classes := suspect.Classes(c)
	r := rand.New(rand.NewPCG(seed, 11))
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	probes := e.Bench().ListedProbes()
	for drawnFaults < n {
		x, at := r.Float64(), 0
		for ; at < len(classes)-1 && x > classes[at].Prior; at++ {
			x -= classes[at].Prior
		}
		truth := drawn(c, r, classes[at])
		if truth == nil {
			continue
		}
		h := hide(c, truth, r.Uint64())
		complaint := h.complaint(t)
		if complaint == nil {
			continue
		}
		drawnFaults++
		e.Forget()
		add := func(ev suspect.Evidence) {
			if err := e.Add(context.Background(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
				t.Fatal(err)
			}
		}
		for _, ev := range complaint {
			add(ev)
		}
		for range 1 + r.IntN(4) {
			p := probes[r.IntN(len(probes))]
			add(suspect.Evidence{Reading: h.read(t, suspect.Test{Probes: p, Mode: complaint[0].Symptom.Mode, Live: p.Function.Live()})})
		}
		// What is said of a part: that what it holds is at fault.
		for _, s := range e.Suspects(3) {
			if len(s.Causes) != 1 {
				continue
			}
			hit := false
			for _, m := range s.Causes[0].Members {
				for _, f := range m.Faults {
					for _, g := range truth {
						hit = hit || f.Branch == g.Branch && f.Kind == g.Kind
					}
				}
			}
			parts = append(parts, said{s.P, hit})
			z, err := e.Sizes(s)
			if err != nil {
				t.Fatal(err)
			}
			if hit && len(truth) == 1 && z[0].Known {
				v := truth[0].Ohms
				if truth[0].Kind == circuit.Drifted {
					v = truth[0].Factor
				}
				sizes = append(sizes, said{0.9, z[0].Low <= v && v <= z[0].High})
			}
		}
	}
	return parts, sizes, drawnFaults
}

var calibrationMachines = []string{"range-electronic", "range-mechanical", "dryer", "water-heater", "oven-230"}

// calibrated tells, of what was said with a chance in a band, the share that is
// so and the share that was promised.
func calibrated(all []said, low, high float64) (n int, promised, so float64) {
	for _, s := range all {
		if s.p >= low && s.p < high {
			n++
			promised += s.p
			if s.is {
				so++
			}
		}
	}
	if n > 0 {
		promised, so = promised/float64(n), so/float64(n)
	}
	return n, promised, so
}

// BenchmarkCalibration draws as many faults on each of five machines as
// -benchtime says: 2000x makes 10,000; a few of them are [TestChancesAreWhatTheySay].
func BenchmarkCalibration(b *testing.B) {
	for i, name := range calibrationMachines {
		b.Run(name, func(b *testing.B) {
			parts, sizes, _ := calibrate(b, name, b.N, uint64(100+i))
			said := "" // in one piece: of ten lines more are cut off
			for _, band := range [][2]float64{{0, 0.1}, {0.1, 0.3}, {0.3, 0.5}, {0.5, 0.65}, {0.65, 0.75}, {0.75, 0.85}, {0.85, 0.95}, {0.95, 1.01}} {
				n, promised, so := calibrated(parts, band[0], band[1])
				said += fmt.Sprintf("said with %.2f to %.2f: %d, promised %.3f, so %.3f\n", band[0], band[1], n, promised, so)
			}
			n, _, so := calibrated(sizes, 0, 2)
			b.Logf("%ssizes: %d, within %.3f", said, n, so)
		})
	}
}

// Of all things said with a chance, about that share is so: faults drawn by
// their priors, with sizes drawn from their ranges and noisy readings.
func TestChancesAreWhatTheySay(t *testing.T) {
	n := 30
	if testing.Short() {
		n = 8
	}
	var parts, sizes []said
	for i, name := range calibrationMachines {
		p, z, _ := calibrate(t, name, n, uint64(1+i))
		parts, sizes = append(parts, p...), append(sizes, z...)
	}
	for _, band := range [][2]float64{{0.1, 0.5}, {0.5, 0.85}, {0.85, 1.01}} {
		n, promised, so := calibrated(parts, band[0], band[1])
		// Three times the spread of as many chances.
		give := 3 * math.Sqrt(max(promised*(1-promised), 0.02)/float64(max(n, 1)))
		t.Logf("said with %.2f to %.2f: %d, promised %.3f, so %.3f", band[0], band[1], n, promised, so)
		if math.Abs(so-promised) > give+0.05 {
			t.Errorf("said with %.2f to %.2f: %d times, %.3f promised and %.3f so", band[0], band[1], n, promised, so)
		}
	}
	k, _, so := calibrated(sizes, 0, 2)
	t.Logf("sizes: %d, within %.3f", k, so)
	if k > 20 && so < 0.75 {
		t.Errorf("of %d sizes said with nine chances in ten %.2f are so", k, so)
	}
}
