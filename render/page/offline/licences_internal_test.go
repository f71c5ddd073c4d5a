package offline

import (
	"regexp"
	"strings"
	"testing"
)

// Nothing of a licence is lost where a paragraph of it stands in another: with the
// numbers read as what they stand for, the words are the same.
func TestALicenceIsWholeThoughItsParagraphsStandOnce(t *testing.T) {
	long := strings.Repeat("as is, without warranty of any kind ", 4)
	texts := "One\n\n" + long + "\n\nshort\n\nTwo\n\n  " + long + "\n\nshort\n"
	out := string(once([]byte(texts)))
	_, rest, _ := strings.Cut(out, "word for word.\n\n")
	first := regexp.MustCompile(`\(1\) ([^\n]+)`).FindStringSubmatch(rest)
	if first == nil || strings.Count(rest, "without warranty") != 4 {
		t.Fatalf("it stands twice, or has no number:\n%s", rest)
	}
	whole := strings.ReplaceAll(strings.Replace(rest, "(1) ", "", 1), "(1)", first[1])
	if got, want := strings.Fields(whole), strings.Fields(texts); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("they come to\n%s", whole)
	}
}
