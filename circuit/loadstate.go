package circuit

import (
	"fmt"
	"slices"
	"strings"
)

// LoadState is how a load behaves in a mode, beside what a sound machine gives
// it in that mode on that supply.
type LoadState uint8

const (
	// Normal: on, and as much as it should be.
	Normal LoadState = iota + 1
	// Weak: on, and clearly less than it should be.
	Weak
	// Dead: not on, and should be.
	Dead
	// TooMuch: on, and clearly more than it should be.
	TooMuch
	// StaysOn: on, and should not be.
	StaysOn
	// Off: not on, as it should be.
	Off
	// Hums: a motor that should turn draws and does not.
	Hums
)

// Bounds of the states of a load. A supply 10 % low gives a resistance 0.81 of
// its power and one 10 % high 1.21 (the range of the supply: common practice,
// no source); beyond both, something is wrong. Next to nothing is below what a
// person sees or feels: an element of 2.5 kW stays cooler than a lamp, a lamp
// dark (common practice, no source). They are shares of what a sound machine
// gives, so that an element of 240 V at 208 V, which gets 0.75 of its rating,
// is not called weak; only where that is nothing is a share of the rating left
// to go by.
const (
	// WeakShare is the share of what it should get below which a load is weak.
	WeakShare = 0.80
	// OverShare is that above which it gets too much.
	OverShare = 1.25
	// OnShare is that from which a load that should be on is not dead; of its
	// rating, that from which a load is on at all.
	OnShare = 0.03
)

// Judge says how a load behaves that gets a share of its rated power where in a
// sound machine it gets another.
func Judge(share, sound float64) LoadState {
	switch {
	case sound < OnShare && share < OnShare:
		return Off
	case sound < OnShare:
		return StaysOn
	case share < OnShare*sound:
		return Dead
	case share < WeakShare*sound:
		return Weak
	case share > OverShare*sound:
		return TooMuch
	}
	return Normal
}

// Powered is a settled machine, as far as its loads are concerned.
type Powered interface {
	// LeastShare and MostShare are shares of rated power: they differ where the
	// machine does not settle.
	LeastShare(BranchID) float64
	MostShare(BranchID) float64
	// Hums tells a motor that draws and is kept from turning.
	Hums(BranchID) bool
}

// JudgeLoad judges a load of a settled machine beside a sound one in the same
// mode. Where the machine does not settle, a load that should be on is judged
// by the least that it gets, and one that should be off by the most.
func JudgeLoad(is, sound Powered, load BranchID) LoadState {
	should := sound.LeastShare(load)
	if should < OnShare {
		return Judge(is.MostShare(load), should)
	}
	if is.Hums(load) && !sound.Hums(load) {
		return Hums
	}
	return Judge(is.LeastShare(load), should)
}

// loadStates are the states as they are written, first, and as people say them,
// with the letter that says so of a load looked at in a trial and what a person is
// told that it says. None says Off: in a trial that is as it should be.
var loadStates = [...]struct {
	words  []string
	letter rune
	asked  string
}{
	Normal:  {[]string{"normal", "works", "fine", "ok"}, 'n', "normal"},
	Weak:    {[]string{"weak", "low"}, 'w', "weak"},
	Dead:    {[]string{"dead", "cold", "out"}, 'd', "dead"},
	TooMuch: {[]string{"too much", "too hot", "too bright"}, 'm', "too much"},
	StaysOn: {[]string{"stays on", "on", "always on"}, 'o', "on when it should be off"},
	Off:     {words: []string{"off"}},
	Hums:    {[]string{"hums", "buzzes"}, 'h', "hums and does not turn"},
}

func (s LoadState) String() string {
	if int(s) >= len(loadStates) || s == 0 {
		return "unknown"
	}
	return loadStates[s].words[0]
}

// TrialStates are the states that a load looked at in a trial may be said to be in.
func TrialStates() []LoadState {
	var out []LoadState
	for state, s := range loadStates {
		if s.letter != 0 {
			out = append(out, LoadState(state))
		}
	}
	return out
}

// Letter says the state in a trial's answer, and Asked tells a person what it says.
func (s LoadState) Letter() rune  { return loadStates[s].letter }
func (s LoadState) Asked() string { return loadStates[s].asked }

// CanBe reports whether a load may be seen in a state: only what turns hums, and no
// display shows that its control gets too much.
func (c *Circuit) CanBe(load BranchID, s LoadState) bool {
	switch b := c.Branch(load); s {
	case Hums:
		return c.CanHum(load)
	case TooMuch:
		return b.Part == None || c.Part(b.Part).Kind != KindControl
	}
	return true
}

// CanHum reports whether a load is one that hums where it is kept from turning.
func (c *Circuit) CanHum(load BranchID) bool {
	b := c.Branch(load)
	if b.Part == None {
		return false
	}
	kind := c.Part(b.Part).Kind
	return kind == KindMotor || kind == KindFan
}

// Sound reports whether a sound machine's load behaves so.
func (s LoadState) Sound() bool { return s == Normal || s == Off }

// On reports whether the load gets anything.
func (s LoadState) On() bool { return s != Dead && s != Off }

// Meant is what someone means who says the state of a load that should be on,
// or should not. Of a load that should be on, "on" is normal and "off" dead; of
// one that should not, "normal" and "dead" are off, and "weak" stays on.
func (s LoadState) Meant(shouldBeOn bool) LoadState {
	switch {
	case shouldBeOn && s == StaysOn:
		return Normal
	case shouldBeOn && s == Off:
		return Dead
	case !shouldBeOn && (s == Dead || s == Normal):
		return Off
	case !shouldBeOn && s != Off:
		return StaysOn
	}
	return s
}

// ParseLoadState reads a state as people say it.
func ParseLoadState(s string) (LoadState, error) {
	said := strings.ToLower(strings.Join(strings.Fields(s), " "))
	var names []string
	for state, is := range loadStates {
		if slices.Contains(is.words, said) {
			return LoadState(state), nil
		}
		if state > 0 {
			names = append(names, is.words[0])
		}
	}
	return 0, fmt.Errorf("%q: a load is %s", s, strings.Join(names, ", "))
}
