package suspect

import (
	"math"
	"strings"

	"legtrace/circuit/meter"
)

// Words before or after a figure that say it is not sure; and, on the scale that
// readings are compared on, how far off such a figure is: about a seventh (common
// practice, no source).
var doubtful = []string{"about", "around", "roughly", "approximately", "approx", "maybe", "some", "near", "not sure", "unsure", "i think", "~", "?", "ca.",
	"unos", "unas", "como", "más o menos", "no estoy seguro", "aproximadamente"}

const unsureBy = 0.15

// nought is what people call 0 of ohms, and key in so: all below an ohm or so (common
// practice, no source).
const nought = 1

// readDoubt reads an answer as [ParseAnswer] does, or a doubtful one: "about 12",
// "12, not sure", "jumps between 3 and 40". Give is how far off the figure may be,
// on the scale that readings are compared on; 0 where it is as sure as any.
func readDoubt(f meter.Function, s string) (value float64, ol, unsteady bool, give float64, err error) {
	text := " " + strings.ToLower(strings.Join(strings.Fields(s), " ")) + " "
	if low, high, ok := rangeOf(f, text); ok {
		a, b := scaled(f, low), scaled(f, high)
		return knee(f) * math.Expm1((a+b)/2), false, false, math.Max(unsureBy, math.Abs(b-a)/2), nil
	}
	for _, w := range doubtful {
		if strings.Contains(text, w) {
			text, give = strings.ReplaceAll(text, w, " "), unsureBy
		}
	}
	text = strings.Trim(text, " ,;")
	if give == 0 {
		text = s
	}
	if value, ol, unsteady, err = ParseAnswer(f, text); err != nil {
		_, _, _, err = ParseAnswer(f, s) // as it was said
	}
	if f == meter.Ohms && err == nil && !ol && value == 0 && !strings.Contains(text, ".") {
		give = math.Max(give, scaled(f, nought)/2)
	}
	return value, ol, unsteady, give, err
}

// rangeOf reads "jumps between 3 and 40", "3 to 40 volts", "de 3 a 40".
func rangeOf(f meter.Function, text string) (low, high float64, ok bool) {
	for _, w := range []string{"jumps", "jumping", "swings", "wanders", "goes", "between", "from", "salta", "entre", "de"} {
		text = strings.Replace(text, " "+w+" ", " ", 1)
	}
	for _, sep := range []string{" and ", " to ", " - ", "..", " y ", " a "} {
		a, b, cut := strings.Cut(strings.TrimSpace(text), sep)
		if !cut {
			continue
		}
		x, xol, xun, err := ParseAnswer(f, a)
		y, yol, yun, bad := ParseAnswer(f, b)
		if err == nil && bad == nil && !xol && !yol && !xun && !yun {
			return min(x, y), max(x, y), true
		}
	}
	return 0, 0, false
}
