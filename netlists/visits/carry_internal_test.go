package visits

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"legtrace/circuit/visit"
)

// Whatever comments and blank lines are put between its lines, a visit is written
// as it is, and the comments stay.
func TestCommentsAnywhereSurvive(t *testing.T) {
	encoded := func(t *rapid.T, v Visit) []byte {
		text, err := Encode(v)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	words := rapid.StringOfN(rapid.RuneFrom([]rune("a9 #=[]\"\\\n'é")), 0, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		v := Visit{Format: Format, Complaint: words.Draw(t, "complaint"), Machine: Machine{Netlist: "catalog:dryer", Name: words.Draw(t, "name")}}
		for i := range rapid.IntRange(0, 3).Draw(t, "notes") {
			v.Notes = append(v.Notes, visit.Note{Step: i + 1, Mode: "broil", Load: words.Draw(t, "load")})
		}
		lines := strings.SplitAfter(string(encoded(t, v)), "\n")
		at := rapid.IntRange(1, len(lines)-2).Draw(t, "at") // within the frame
		put := rapid.SampledFrom([]string{"# mine\n", "\n# mine\n\n", "  # mine [[notes]]\n"}).Draw(t, "put")
		old := strings.Join(lines[:at], "") + put + strings.Join(lines[at:], "")
		if len(v.Notes) > 0 && rapid.Bool().Draw(t, "undo") {
			v.Notes = v.Notes[:len(v.Notes)-1]
		} else {
			v.Notes = append(v.Notes, visit.Note{Step: 9, Mode: "bake", Load: "bake_element", State: "normal"})
		}
		if rapid.Bool().Draw(t, "more") {
			v.Complaint, v.Repair = words.Draw(t, "later"), &visit.Repair{Done: "wire replaced"}
		}
		got := carry([]byte(old), encoded(t, v))
		back, _, err := Decode("visit.toml", got)
		if err != nil {
			t.Fatalf("%v\n%s", err, got)
		}
		if diff := cmp.Diff(v, *back, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("%s\n%s", diff, got)
		}
		if bytes.Count(got, []byte("# mine")) != 1 {
			t.Fatalf("the comment is lost, or there twice:\n%s", got)
		}
	})
}
