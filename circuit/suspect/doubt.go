package suspect

import (
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// jumping are words of a reading that does not stand still, in every language.
var jumping = []string{"jumps", "jumping", "swings", "swinging", "wanders", "bounces", "bouncing", "goes", "salta", "brinca"}

// Words before or after a figure that say it is not sure; and, on the scale that
// readings are compared on, how far off such a figure is: about a seventh (common
// practice, no source).
var doubtful = []string{"about", "around", "roughly", "approximately", "approx", "maybe", "some", "near", "not sure", "unsure", "i think", "~", "?", "ca.",
	"unos", "unas", "como", "más o menos", "no estoy seguro", "aproximadamente"}

const unsureBy = 0.15

// unsureOL is how often OL of which whoever read it is not sure was none: probes that did
// not touch metal (common practice, no source).
const unsureOL = 0.2

// nought is what people call 0 of ohms, and key in so: all below an ohm or so (common
// practice, no source).
const nought = 1

// readDoubt reads an answer as [ParseAnswer] does, or a doubtful one: "about 12",
// "12, not sure", "jumps between 3 and 40", "jumps between 22 and OL".
func readDoubt(f meter.Function, s string) (o Observation, err error) {
	text := " " + strings.ToLower(strings.Join(strings.Fields(s), " ")) + " "
	if low, high, ol, ok := rangeOf(f, text); ok {
		a, b := scaled(f, low), scaled(f, high)
		o.Value, o.Give = knee(f)*math.Expm1((a+b)/2), math.Max(unsureBy, math.Abs(b-a)/2)
		o.Between = &Between{Low: low, High: high, OL: ol}
		o.Jumps = ol || slices.ContainsFunc(jumping, func(w string) bool { return strings.Contains(text, " "+w+" ") })
		return o, nil
	}
	for _, w := range doubtful {
		if strings.Contains(text, w) {
			text, o.Unsure, o.Give = strings.ReplaceAll(text, w, " "), true, unsureBy
		}
	}
	text = strings.Trim(text, " ,;")
	if !o.Unsure {
		text = s
	}
	if o.Value, o.OL, o.Unsteady, err = ParseAnswer(f, text); err != nil {
		_, _, _, err = ParseAnswer(f, s) // as it was said
	}
	if f == meter.Ohms && err == nil && !o.OL && o.Value == 0 && !strings.Contains(text, ".") {
		o.Give = math.Max(o.Give, scaled(f, nought)/2)
	}
	return o, err
}

// rangeOf reads "jumps between 3 and 40", "3 to 40 volts", "de 3 a 40", "22 to OL".
func rangeOf(f meter.Function, text string) (low, high float64, ol, ok bool) {
	for _, w := range append([]string{"between", "from", "entre", "de"}, jumping...) {
		text = strings.Replace(text, " "+w+" ", " ", 1)
	}
	for _, sep := range []string{" and ", " to ", " - ", "..", " y ", " a "} {
		a, b, cut := strings.Cut(strings.TrimSpace(text), sep)
		if !cut {
			continue
		}
		x, xol, xun, err := ParseAnswer(f, a)
		y, yol, yun, bad := ParseAnswer(f, b)
		switch {
		case err != nil || bad != nil || xun || yun || xol && yol:
			continue
		case xol:
			return y, mostOhms, true, true
		case yol:
			return x, mostOhms, true, true
		}
		return min(x, y), max(x, y), false, true
	}
	return 0, 0, false, false
}

// mostOhms is what a meter shows at most before OL.
const mostOhms = 1e7

// Chances of readings that jump (common practice, no source): where something comes and
// goes between what it reads with it and without, and where nothing does and the probes
// did not hold, or for no reason at all.
const jumpsByJoint, jumpsByProbe, jumpsByNothing = 0.9, 0.02, 0.002

// jumped is the chance density of a reading that jumps where it reads so on one occasion
// and so on the other; with the same on both nothing comes and goes.
func (by *errs) jumped(o *Observation, there, gone meter.Reading) float64 {
	f := o.Probes.Function
	span := func(r meter.Reading) interval {
		switch {
		case r.OL:
			return interval{scaled(f, mostOhms), scaled(f, mostOhms)}
		case r.Unsteady: // stray volts, or none
			return interval{0, scaled(f, r.High)}
		}
		return intervalOf(f, r)
	}
	a, b := span(there), span(gone)
	all := interval{math.Min(a.low, b.low), math.Max(a.high, b.high)}
	low, high := scaled(f, o.Between.Low), scaled(f, o.Between.High)
	if all.high-all.low < (high-low)/2 { // it reads alike on both
		return anything(f) * math.Max(jumpsByNothing, jumpsByProbe*fit(scaled(f, o.Value), b, o.Give)*o.Give)
	}
	within := math.Max(0, math.Min(high, all.high+unsureBy)-math.Max(low, all.low-unsureBy)) / (high - low)
	return anything(f) * math.Max(jumpsByNothing, jumpsByJoint*within)
}

// jumps is the log likelihood of a reading that jumps for a class that reads so and so
// where it is there and where it is not: only what comes and goes, or conducts badly,
// makes it jump.
func (by *errs) jumps(c *circuit.Circuit, o *Observation, f circuit.Fault, goes bool, there []predicted, gone predicted) float64 {
	role := c.Branch(f.Branch).Role
	wanders := f.Kind == circuit.HighResistance && (role == circuit.Join || role == circuit.Contact)
	sum := 0.0
	for _, p := range there {
		if goes || wanders {
			sum += by.jumped(o, p.reading, gone.reading)
		} else {
			sum += by.jumped(o, p.reading, p.reading)
		}
	}
	return math.Log(sum / float64(len(there)))
}
