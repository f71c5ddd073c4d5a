package circuit

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// LowerFirst lets a label stand inside a sentence, unless it begins with an
// abbreviation.
func LowerFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if second, _ := utf8.DecodeRuneInString(s[n:]); unicode.IsUpper(first) && unicode.IsLower(second) {
		return string(unicode.ToLower(first)) + s[n:]
	}
	return s
}

// UpperFirst lets words begin a sentence.
func UpperFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// List joins words as a sentence does; "nothing" where there are none.
func List(words []string) string {
	switch len(words) {
	case 0:
		return "nothing"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
