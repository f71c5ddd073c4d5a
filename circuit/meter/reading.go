package meter

import (
	"fmt"
	"math"
)

// Reading is what the instrument shows, or may show.
type Reading struct {
	Function Function
	// Value is the nominal reading; Low and High bound what is to be expected,
	// instrument, tolerances and supply taken together.
	Value, Low, High float64
	// OL is set for resistance beyond the range: open.
	OL bool
	// MaybeOL is set where the upper end of the interval is open.
	MaybeOL bool
	// Unsteady is set on a conductor tied to nothing: stray pickup wanders
	// between Low and High and means nothing.
	Unsteady bool
	// Jumps is set where relays chatter and the reading with them: it goes back
	// and forth between Low and High, and Value is the most that it comes to.
	Jumps bool
	// Refused says why the reading must not be taken; nothing else is then set.
	Refused string
	// Why lists the reasons for the width of the interval.
	Why []string
}

// Beeps reports whether a continuity tester with the threshold sounds for
// certain; Silent, whether it is certain not to.
func (r Reading) Beeps(in Instrument) bool  { return !r.OL && !r.MaybeOL && r.High <= in.ContinuityOhms }
func (r Reading) Silent(in Instrument) bool { return r.OL || r.Low > in.ContinuityOhms }

// Differs reports whether two readings cannot be taken for one another: their
// intervals do not meet.
func (r Reading) Differs(s Reading) bool {
	switch {
	case r.Refused != "" || s.Refused != "":
		return r.Refused != s.Refused
	case r.Jumps != s.Jumps:
		return true
	case r.OL || s.OL:
		return r.OL != s.OL && !r.MaybeOL && !s.MaybeOL
	case r.Unsteady != s.Unsteady:
		// An unsteady reading is told from a steady one by its size alone.
		fallthrough
	default:
		if r.MaybeOL && s.High >= r.Low || s.MaybeOL && r.High >= s.Low {
			return false
		}
		return r.High < s.Low || s.High < r.Low
	}
}

// String writes the nominal reading: "240 V", "17.0 ohms", "OL".
func (r Reading) String() string {
	switch {
	case r.Refused != "":
		return "refused: " + r.Refused
	case r.OL:
		return "OL"
	case r.Unsteady:
		return fmt.Sprintf("floating, 0 to %s", quantity(r.High, r.Function))
	case r.Jumps:
		return fmt.Sprintf("jumps, %s to %s", Figure(r.Low), quantity(r.High, r.Function))
	}
	return quantity(r.Value, r.Function)
}

// Range writes the interval: "216 to 264 V", "OL".
func (r Reading) Range() string {
	switch {
	case r.Refused != "" || r.OL || r.Unsteady || r.Jumps:
		return r.String()
	case r.MaybeOL && Figure(r.Low) == "0":
		return "anything"
	case r.MaybeOL:
		return "above " + quantity(r.Low, r.Function)
	case Figure(r.Low) == "0" && Figure(r.High) == "0":
		return quantity(0, r.Function)
	case Figure(r.Low) == "0":
		return "below " + quantity(r.High, r.Function)
	}
	by, unit := scale(r.High, r.Function)
	low, high := Figure(r.Low/by), Figure(r.High/by)
	switch {
	case low == high:
		return high + " " + unit
	case low == "0": // a few ohms are no dead short
		return quantity(r.Low, r.Function) + " to " + high + " " + unit
	}
	return low + " to " + high + " " + unit
}

func quantity(v float64, f Function) string {
	by, unit := scale(v, f)
	return Figure(v/by) + " " + unit
}

// scale is the unit that a value is written in, and how many of the function's
// own it is.
func scale(v float64, f Function) (by float64, unit string) {
	switch v = math.Abs(v); {
	case v >= 10e6:
		return 1e6, "M" + f.Unit()
	case v >= 10e3:
		return 1e3, "k" + f.Unit()
	}
	return 1, f.Unit()
}

// Figure writes a value in three significant digits, no more than a bench needs.
func Figure(v float64) string {
	a := math.Abs(v)
	switch {
	case a == 0:
		return "0"
	case a >= 1000:
		return fmt.Sprintf("%.0f", math.Round(v/10)*10)
	case a >= 100:
		return fmt.Sprintf("%.0f", v)
	case a >= 10:
		return trim(fmt.Sprintf("%.1f", v))
	case a < 0.005:
		return "0"
	}
	return trim(fmt.Sprintf("%.2f", v))
}

func trim(s string) string {
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	if s[len(s)-1] == '.' {
		s = s[:len(s)-1]
	}
	return s
}
