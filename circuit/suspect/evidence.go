package suspect

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Evidence is one thing seen: a symptom, a reading or something told. Exactly
// one of its pointers is set.
type Evidence struct {
	Symptom *Symptom
	Reading *Observation
	Told    *Telling
	// Mended are the repairs made before it, in order: what they took away was
	// no longer there. It only grows from one piece to the next.
	Mended []Mend
}

// Hearsay reports whether it was told or left unsaid, rather than seen to be so.
func (ev Evidence) Hearsay() bool {
	return ev.Told != nil || ev.Symptom != nil && ev.Symptom.Whole == Quiet
}

// First is what comes before any test, by what was told: people may be in danger.
// Common practice, no source.
func (e *Engine) First() []string {
	var out []string
	for _, ev := range e.evidence {
		if ev.Told == nil {
			continue
		}
		row := tales[ev.Told.What]
		if row.first != "" && !slices.Contains(out, row.first) && (row.until == "" || e.Held()) {
			out = append(out, row.first)
		}
	}
	return out
}

// Held reports whether something was told that has to be ended before any test, and
// nobody has said that it was.
func (e *Engine) Held() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Told != nil && tales[ev.Told.What].until != "" && !e.heard(tales[ev.Told.What].until)
	})
}

func (ev Evidence) valid() bool {
	n := 0
	for _, is := range []bool{ev.Symptom != nil, ev.Reading != nil, ev.Told != nil} {
		if is {
			n++
		}
	}
	return n == 1
}

// Symptom is what someone saw the machine do in a mode.
type Symptom struct {
	Mode circuit.ModeID
	// Load and State tell of one load, the state as it was said:
	// [circuit.LoadState.Meant] says what was meant. Load is None for the rest.
	Load  circuit.BranchID
	State circuit.LoadState
	// Trips says that the breaker trips or a fuse blows; Chatters that a relay
	// buzzes or clicks on and off.
	Trips, Chatters bool
	// Whole tells of several loads together, but those in Except, by name and
	// apart by blanks.
	Whole  Whole
	Except string
	// Among are the loads that [SomeOn] tells of, by name and apart by blanks; empty: any.
	Among string
	// Untried says that it was told of a whole, of which this load may not have been tried.
	Untried bool
	// Kelvin is by how many [RunsHot] or [RunsCold] is said to be off; 0 where
	// that was not said.
	Kelvin float64
	// Of are the meanings of [AnyOf], each of one load in one mode.
	Of []Symptom

	// coded says that a code was told of besides, tripped that something trips, pushed that the motor was said to
	// turn once it is pushed: what else was seen then came after that.
	coded, tripped, pushed bool
	// lit says that the mode was said to lack heat: what works in it is on, however much.
	lit bool
	// measured says that a thermometer showed it.
	measured bool
	// slowIn are the modes in which heat was said to take too long before: whoever
	// calls one load slow calls another so that is as slow.
	slowIn []circuit.ModeID
	// until says that a code was told of, which may have come up after a while.
	until bool
	// also are other meanings of it, as likely.
	also []Symptom
	// zones number the loads that [AnyOf] may mean, alike for those of one burner; nil where
	// they are said to work.
	zones []int32
}

// zonesOf numbers loads by burner: coils at one place, one of which is on whenever the
// other is.
func zonesOf(c *circuit.Circuit, of []Symptom) []int32 {
	groups := circuit.NewGroups(len(of))
	within := func(a, b circuit.BranchID) bool {
		return !slices.ContainsFunc(c.Modes(), func(m circuit.Mode) bool { return expects(c, m.ID, a) && !expects(c, m.ID, b) })
	}
	for i := range of {
		for j := range of[:i] {
			a, b := of[i].Load, of[j].Load
			if a == b || a != circuit.None && b != circuit.None && c.Part(c.Branch(a).Part).Place == c.Part(c.Branch(b).Part).Place && (within(a, b) || within(b, a)) {
				groups.Join(int32(i), int32(j))
			}
		}
	}
	for i := range groups {
		groups[i] = groups.Of(int32(i))
	}
	return groups
}

// severalForOne is how much less likely one is told of where several do the same: whoever
// says that a burner is dead has others that work (common practice, no source).
const severalForOne = 0.03

// any is the chance of what is said of one of several, from that of each meaning.
func (s *Symptom) any(chances []float64) float64 {
	sum := 0.0
	for i, p := range chances {
		others := 0.0
		for j, q := range chances {
			if s.zones != nil && s.zones[i] != s.zones[j] {
				others = max(others, q)
			}
		}
		sum += p * (1 - (1-severalForOne)*min(others, 1))
	}
	return sum / float64(len(chances))
}

// Either reports whether it may be meant the other way as well: too hot or too cool.
func (s *Symptom) Either() bool {
	return slices.ContainsFunc(s.also, func(m Symptom) bool { return m.Whole == RunsCold })
}

// meanings are those that a symptom has, all as likely, where it has several.
func (s *Symptom) meanings() []Symptom {
	if s == nil || s.also == nil {
		if s != nil && s.Whole == AnyOf {
			return s.Of
		}
		return nil
	}
	plain := *s
	plain.also = nil
	return append([]Symptom{plain}, s.also...)
}

// Whole is what is said of several loads at once.
type Whole uint8

const (
	// AllDead: whatever is selected, nothing comes on.
	AllDead Whole = iota + 1
	// Slow: what heats in the mode takes too long.
	Slow
	// SomeOn: something heats in a mode in which nothing should, of [Symptom.Among].
	SomeOn
	// AnyOf: one of several loads was meant, and nobody knows which.
	AnyOf
	// Quiet: nothing is said of what else the machine does. Whoever complains of
	// one thing mostly tells of all that is wrong.
	Quiet
	// Pushed: a motor that hums turns once it is pushed.
	Pushed
	// RunsHot, RunsCold: it settles too warm or too cool; RunsOut: its heat is used
	// up too soon.
	RunsHot
	RunsCold
	RunsOut
	// AsSet: neither, by a thermometer.
	AsSet
)

// Observation is what an instrument showed.
type Observation struct {
	Probes meter.Probes
	Mode   circuit.ModeID
	// Lift lists wires that were off for the test.
	Lift []circuit.WireID
	// Value is in the function's unit. OL and Unsteady replace it.
	Value        float64
	OL, Unsteady bool
	// Give is how far off a doubtful figure may be, on the scale that readings are
	// compared on; 0 where it is as sure as any.
	Give float64
	// Unsure says that whoever read it was not sure; Between is set where it was told as
	// a range, of which Value is the middle, and Jumps says that it went to and fro there.
	Unsure, Jumps bool
	Between       *Between
}

// Between is the range that a reading was told as; OL says that its upper end is open.
type Between struct {
	Low, High float64
	OL        bool
}

// answerUnits are units as people write them, longest first.
var answerUnits = []struct{ written, unit string }{
	{"volts", "V"}, {"volt", "V"}, {"vac", "V"}, {"v", "V"},
	{"ohms", "ohms"}, {"ohm", "ohms"}, {"ω", "ohms"}, {"r", "ohms"},
	{"amps", "A"}, {"amp", "A"}, {"a", "A"},
}

// ParseAnswer reads what a technician says of a reading: "0.2", "118 V",
// "1.08k", "OL", "open", "unsteady".
func ParseAnswer(f meter.Function, s string) (value float64, ol, unsteady bool, err error) {
	text := strings.ToLower(strings.Join(strings.Fields(s), ""))
	switch text {
	case "":
		return 0, false, false, fmt.Errorf("nothing read")
	case "ol", "o.l.", "0l", "open", "infinite", "over":
		if f.Live() {
			return 0, false, false, fmt.Errorf("%q on %s: a live reading has a figure", s, f)
		}
		return 0, true, false, nil
	case "unsteady", "floating", "ghost", "drifting", "wanders":
		if !f.Live() {
			return 0, false, false, fmt.Errorf("%q on %s: say its figure, or OL", s, f)
		}
		return 0, false, true, nil
	case "beep", "beeps", "closed":
		if f.Live() {
			return 0, false, false, fmt.Errorf("%q on %s", s, f)
		}
		return 0, false, false, nil
	}
	for _, u := range answerUnits {
		if strings.HasSuffix(text, u.written) {
			if u.unit != f.Unit() {
				return 0, false, false, fmt.Errorf("%q: the meter shows %s on %s, not %s", s, f.Unit(), f, u.unit)
			}
			text = strings.TrimSuffix(text, u.written)
			break
		}
	}
	scale := 1.0
	switch {
	case strings.HasSuffix(text, "k"):
		scale, text = 1e3, strings.TrimSuffix(text, "k")
	case strings.HasSuffix(text, "meg"):
		scale, text = 1e6, strings.TrimSuffix(text, "meg")
	case strings.HasSuffix(text, "m") && !f.Live():
		scale, text = 1e6, strings.TrimSuffix(text, "m")
	case strings.HasSuffix(text, "m"):
		scale, text = 1e-3, strings.TrimSuffix(text, "m")
	}
	v, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 || v*scale > 1e9 {
		return 0, false, false, fmt.Errorf("%q is no reading: say a figure like 118, 0.2 or 1.08k, or OL", s)
	}
	return v * scale, false, false, nil
}
