package netlists

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/ringout"
)

// findingsFile is a file of continuity findings: the switch positions, the
// pins, and under [[check]] which pairs beep and which are silent in each.
type findingsFile struct {
	Positions []string    `toml:"positions"`
	Pins      []string    `toml:"pins"`
	Checks    []checkSpec `toml:"check"`
}

type checkSpec struct {
	In     string     `toml:"in"`
	Beep   [][]string `toml:"beep"`
	Silent [][]string `toml:"silent"`
}

// ReadFindings reads a file of continuity findings. Positions not listed are
// those the checks name, and one called "rest" where none is named; pins not
// listed are those the checks name. The error is of type [Errors].
func ReadFindings(path string) (*ringout.Ring, error) {
	src, err := Text(path)
	if err != nil {
		return nil, err
	}
	return ParseFindings(path, src)
}

// ParseFindings is [ReadFindings] on text already read.
func ParseFindings(name string, text []byte) (*ringout.Ring, error) {
	var found collector
	ring := findings(name, text, &found)
	if found.failed() {
		return nil, found.sorted()
	}
	return ring, nil
}

func findings(name string, text []byte, found *collector) *ringout.Ring {
	var file findingsFile
	d := decodeInto(name, text, "a file of findings", &file, found)
	if found.failed() {
		return nil
	}
	file.complete()
	ring, err := ringout.New(file.Pins, file.Positions)
	if err != nil {
		found.fail(Position{File: name}, "", "%v", err)
		return nil
	}
	for i, check := range file.Checks {
		at := d.positions.root.get("check").items[i]
		addCheck(ring, &file, check, at, found)
	}
	return ring
}

// complete lists the positions and pins that only the checks name.
func (f *findingsFile) complete() {
	listed := len(f.Positions) > 0
	seen := map[string]bool{}
	for i := range f.Checks {
		c := &f.Checks[i]
		if c.In == "" && !listed {
			c.In = "rest"
		}
		if !listed && !seen[c.In] {
			seen[c.In] = true
			f.Positions = append(f.Positions, c.In)
		}
	}
	if len(f.Positions) == 0 {
		f.Positions = []string{"rest"}
	}
	if len(f.Pins) > 0 {
		return
	}
	clear(seen)
	for _, c := range f.Checks {
		for _, pair := range slices.Concat(c.Beep, c.Silent) {
			for _, pin := range pair {
				if !seen[pin] {
					seen[pin] = true
					f.Pins = append(f.Pins, pin)
				}
			}
		}
	}
}

func addCheck(ring *ringout.Ring, file *findingsFile, check checkSpec, at *node, found *collector) {
	in := check.In
	if in == "" {
		in = file.Positions[0]
	}
	position := slices.Index(file.Positions, in)
	if position < 0 {
		found.fail(at.get("in").position(), circuit.NearestHint(in, file.Positions), "unknown position %q", in)
		return
	}
	for _, side := range []struct {
		key   string
		pairs [][]string
		beeps bool
	}{{"beep", check.Beep, true}, {"silent", check.Silent, false}} {
		for j, pair := range side.pairs {
			place := at.get(side.key).items[j].position()
			if len(pair) < 2 || !side.beeps && len(pair) != 2 {
				found.fail(place, `like ["block.L1", "selector.L1"]`, "a check is of two pins, found %d", len(pair))
				continue
			}
			// A row of pins that all beep to the first is allowed.
			for _, other := range pair[1:] {
				a, b := slices.Index(file.Pins, pair[0]), slices.Index(file.Pins, other)
				for _, pin := range []string{pair[0], other} {
					if !slices.Contains(file.Pins, pin) {
						found.fail(place, circuit.NearestHint(pin, file.Pins), "unknown pin %q", pin)
					}
				}
				if a < 0 || b < 0 {
					continue
				}
				if err := ring.Add(ringout.Finding{Position: position, A: a, B: b, Beeps: side.beeps}); err != nil {
					found.fail(place, "ring one of them again", "%v", err)
				}
			}
		}
	}
}
