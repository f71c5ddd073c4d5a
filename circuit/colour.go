package circuit

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// colours lists the letter codes of IEC 60757:2021 (from memory), each with the
// words and letters that people and service sheets use for it, in lower case.
var colours = []colour{
	{"BK", "black blk b"}, {"BN", "brown brn br"}, {"RD", "red r"}, {"OG", "orange orn org or o"}, {"YE", "yellow yel yl y"},
	{"GN", "green grn gr g"}, {"BU", "blue blu bl"}, {"VT", "violet vio purple pur pr v p"}, {"GY", "grey gray gry"}, {"WH", "white wht wh w"},
	{"PK", "pink pnk"}, {"GD", "gold"}, {"TQ", "turquoise"}, {"SR", "silver"},
}

// Colours lists the codes of colours with their names.
func Colours() [][2]string {
	var out [][2]string
	for _, c := range colours {
		name, _, _ := strings.Cut(c.words, " ")
		out = append(out, [2]string{c.code, name})
	}
	return out
}

type colour struct{ code, words string }

// twoColours is the code of two colours that has no ground and stripe, whichever of
// them is said first.
const twoColours = "GNYE"

// colour checks a wire's colour: a code, or two joined for a stripe.
func (b *builder) colour(path, s string) {
	if s == "" || isColour(s) {
		return
	}
	var codes []string
	for _, c := range colours {
		codes = append(codes, c.code)
	}
	hint := "IEC 60757: " + strings.Join(append(codes, twoColours), " ") + ", two joined for a stripe"
	if near := ColourCode(s); near != "" {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	b.fail(path, hint, "unknown colour %q", s)
}

func isColour(s string) bool {
	for len(s) >= 2 && isCode(s[:2]) {
		if s = s[2:]; len(s) == 0 {
			return true
		}
		if len(s) != 2 {
			return false
		}
	}
	return false
}

func isCode(s string) bool {
	return slices.ContainsFunc(colours, func(c colour) bool { return c.code == s })
}

// ColourCode reads a colour as people write it, "yellow", "blk/wht", "White
// with red stripe", "bkwh", and returns its code, or "".
func ColourCode(s string) string {
	if len(s) > MaxName {
		return ""
	}
	if upper := strings.ToUpper(s); isColour(upper) {
		return oneGround(upper)
	}
	var code string
	for _, word := range strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch word {
		case "with", "stripe", "striped", "tracer", "and", "on", "wire":
			continue
		}
		one := colourOf(word)
		if one == "" {
			return ""
		}
		code += one
	}
	if !isColour(code) {
		return ""
	}
	return oneGround(code)
}

func oneGround(code string) string {
	if code == "YEGN" {
		return twoColours
	}
	return code
}

func colourOf(word string) string {
	for _, c := range colours {
		if strings.ToLower(c.code) == word || slices.Contains(strings.Fields(c.words), word) {
			return c.code
		}
	}
	return ""
}
