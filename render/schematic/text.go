package schematic

import (
	"legtrace/circuit"
	"math"
	"strings"
	"unicode"
)

// Sizes of text, in pixels.
const (
	titleSize    = 22
	subtitleSize = 13
	labelSize    = 12
	partSize     = 14 // of a symbol's label
	smallSize    = 10
	lineHeight   = 13
	partPitch    = 15
	// captionWidth is how wide a symbol's label may get before it wraps.
	captionWidth = 136
)

// textWidth estimates the width of text from above, in pixels: widths of a
// common sans-serif in thousandths of its size, with a margin for the faces
// that replace it.
func textWidth(s string, size int) int {
	w := 0
	for _, r := range s {
		w += glyphWidth(r)
	}
	return (w*size + 999) / 1000
}

// boldWidth is textWidth of bold letters.
func boldWidth(s string, size int) int { return textWidth(s, size) * 108 / 100 }

// glyphClasses lists characters by width, narrowest first.
var glyphClasses = []struct {
	chars string
	width int
}{
	{"ijl.,:;'|!", 320},
	{" \u00a0ftrI()[]/\\-\"`", 400},
	{"mwMW%@\u2126\u2192", 1000},
	{"GOQ&", 790},
	{"CDHNRU", 750},
	{"ABEFKPSTVXYZ", 690},
	{"abcdeghknopqsuvxyzJL", 590},
}

func glyphWidth(r rune) int {
	if r >= 0 && r < unicode.MaxASCII {
		return asciiWidths[r]
	}
	return classWidth(r)
}

// asciiWidths are the widths of what nearly all text is of.
var asciiWidths = func() *[unicode.MaxASCII]int {
	var widths [unicode.MaxASCII]int
	for r := range widths {
		widths[r] = classWidth(rune(r))
	}
	return &widths
}()

func classWidth(r rune) int {
	for _, c := range glyphClasses {
		if strings.ContainsRune(c.chars, r) {
			return c.width
		}
	}
	if r > 0x2e7f {
		return 1050
	}
	return 600
}

// balance wraps like wrap, with lines of like length.
func balance(s string, size, width, most int) []string {
	lines := wrap(s, size, width, most)
	for w := width - step; w > 0; w -= step {
		narrower := wrap(s, size, w, most)
		if len(narrower) != len(lines) || strings.HasSuffix(narrower[len(narrower)-1], "\u2026") || hyphens(narrower) > hyphens(lines) {
			break
		}
		lines = narrower
	}
	return lines
}

func hyphens(lines []string) int { return strings.Count(strings.Join(lines, "\n"), "-\n") }

// wrap breaks text into at most most lines of at most width pixels; what does
// not fit is cut with an ellipsis, for the title holds the whole. It does not
// break at a hard space.
func wrap(s string, size, width, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' }) {
		letters := []rune(word)
		for len(letters) > 1 && textWidth(string(letters), size) > width {
			cut := len(letters) - 1
			for cut > 1 && textWidth(string(letters[:cut])+"-", size) > width {
				cut--
			}
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines = append(lines, string(letters[:cut])+"-")
			letters = letters[cut:]
		}
		word = string(letters)
		switch {
		case line == "":
			line = word
		case textWidth(line+" "+word, size) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	if most > 0 && len(lines) > most {
		lines = lines[:most]
		last := []rune(lines[most-1])
		for len(last) > 0 && textWidth(string(last)+"\u2026", size) > width {
			last = last[:len(last)-1]
		}
		lines[most-1] = string(last) + "\u2026"
	}
	return lines
}

type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// text is one line. X, Y is its baseline at the anchor.
type text struct {
	x, y   int
	anchor anchor
	size   int
	class  string
	s      string
	// unit or wire is what the text belongs to, if anything, else a layer.
	unit  *unit
	wire  *circuit.Wire
	layer layer
}

func (t text) moved(by point) text {
	t.x, t.y = t.x+by.x, t.y+by.y
	return t
}

// Share of a text's size above and below its baseline.
const ascent, descent = 0.78, 0.24

func (t text) box() rect {
	w := textWidth(t.s, t.size)
	x := t.x
	switch t.anchor {
	case middle:
		x -= w / 2
	case end:
		x -= w
	}
	return rect{x, t.y - int(math.Ceil(ascent*float64(t.size))), x + w, t.y + int(math.Ceil(descent*float64(t.size)))}
}
