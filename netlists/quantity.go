package netlists

import (
	"fmt"
	"strconv"
	"strings"
)

// unit is a unit that people write after a number: what it measures, and how
// many of the format's own unit it is.
type unit struct {
	measures string
	factor   float64
}

// units lists them in lower case; a prefix k or m is split off where the whole
// is not found.
var units = map[string]unit{
	"w": {"watts", 1}, "watt": {"watts", 1}, "watts": {"watts", 1}, "va": {"watts", 1},
	"v": {"volts", 1}, "volt": {"volts", 1}, "volts": {"volts", 1}, "vac": {"volts", 1},
	"a": {"amps", 1}, "amp": {"amps", 1}, "amps": {"amps", 1},
	"ohm": {"ohms", 1}, "ohms": {"ohms", 1}, "ω": {"ohms", 1}, "r": {"ohms", 1},
	"uf": {"microfarads", 1}, "µf": {"microfarads", 1}, "μf": {"microfarads", 1}, "mfd": {"microfarads", 1}, "nf": {"microfarads", 1e-3},
	"hz":  {"hertz", 1},
	"awg": {"awg", 1}, "ga": {"awg", 1}, "gauge": {"awg", 1},
	"mm2": {"mm2", 1}, "mm²": {"mm2", 1}, "sqmm": {"mm2", 1},
	"m": {"metres", 1}, "metres": {"metres", 1}, "meters": {"metres", 1}, "mm": {"metres", 1e-3}, "cm": {"metres", 1e-2},
	"ft": {"metres", 0.3048}, "feet": {"metres", 0.3048}, "in": {"metres", 0.0254}, "inch": {"metres", 0.0254}, "inches": {"metres", 0.0254},
	"min": {"minutes", 1}, "minute": {"minutes", 1}, "minutes": {"minutes", 1}, "h": {"minutes", 60},
	"%": {"share", 0.01},
	"c": {"celsius", 1}, "°c": {"celsius", 1},
}

// measured tells what a key measures, where its name does not.
var measured = map[string]string{
	"secondary_volts": "volts", "min_volts": "volts",
	"cold_ohms": "ohms", "start_ohms": "ohms", "ohms_at": "ohms", "min_ohms": "ohms", "max_ohms": "ohms",
	"source_ohms": "ohms", "feeder_ohms": "ohms",
	"acts_celsius": "celsius", "resets_celsius": "celsius",
	"power_factor": "share", "pickup": "share", "dropout": "share",
}

var quantity = pattern(`^([+-]?(?:\d[\d_ ]*(?:[.,]\d*)*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s]*\d?)\.?$`)

// Measure reads a figure with its unit as it is written on a plate, "2.6 kW",
// "30mA", "14 AWG", and tells the number in the format's own unit and what it
// measures: "watts", "amps", "awg"; nothing where there is no unit.
func Measure(text string) (number float64, of string, ok bool) {
	m := quantity().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, "", false
	}
	number, err := strconv.ParseFloat(plainNumber(m[1]), 64)
	if err != nil || m[2] == "" {
		return number, "", err == nil
	}
	u, known := unitOf(m[2])
	// The product of 0.03 and a thousandth is not to show what a computer makes
	// of it.
	number, err = strconv.ParseFloat(strconv.FormatFloat(number*u.factor, 'g', 12, 64), 64)
	return number, u.measures, known && err == nil
}

// meant reads what a person writes for a number: "2.8kW", "1k", "1,500", ".5".
// It returns the number that the key takes for it, and what to say of the unit
// where that is another key's.
func meant(key, text string) (number string, other string, ok bool) {
	m := quantity().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return "", "", false
	}
	v, err := strconv.ParseFloat(plainNumber(m[1]), 64)
	if err != nil {
		return "", "", false
	}
	measures := key
	if of := measured[key]; of != "" {
		measures = of
	}
	u, known := unitOf(m[2])
	switch {
	case m[2] == "":
	case !known:
		return "", "", false
	case u.measures == "":
		v *= u.factor
	case u.measures != measures && measures != "":
		return "", fmt.Sprintf("%s is in %s", text, u.measures), true
	default:
		v *= u.factor
	}
	return strconv.FormatFloat(v, 'f', -1, 64), "", true
}

// unitOf finds a unit, a prefix of a thousand before it or alone.
func unitOf(text string) (unit, bool) {
	if u, ok := units[strings.ToLower(text)]; ok && text != "M" { // 2.2M are ohms, 2.2m metres
		return u, true
	}
	for prefix, factor := range map[string]float64{"k": 1e3, "K": 1e3, "M": 1e6, "m": 1e-3} {
		rest, has := strings.CutPrefix(text, prefix)
		if !has {
			continue
		}
		if rest == "" {
			return unit{"", factor}, true
		}
		if u, ok := units[strings.ToLower(rest)]; ok {
			return unit{u.measures, u.factor * factor}, true
		}
	}
	return unit{}, false
}

// plainNumber takes out commas: one before three digits parts thousands, any
// other is a decimal point.
func plainNumber(s string) string {
	s = strings.NewReplacer("_", "", " ", "").Replace(s)
	head, tail, comma := strings.Cut(s, ",")
	if comma && (len(tail) != 3 || head == "" || head == "0") && !strings.ContainsAny(tail, ",.") {
		return head + "." + tail
	}
	return strings.ReplaceAll(s, ",", "")
}

// meantHint is what to write for a number that was given as text.
func meantHint(key, text string) string {
	number, other, ok := meant(key, text)
	switch {
	case !ok:
		return ""
	case other != "":
		return other
	}
	return "write " + number
}
