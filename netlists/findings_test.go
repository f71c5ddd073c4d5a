package netlists_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"legtrace/netlists"
)

func TestFindingsGiveJoinsAndASwitch(t *testing.T) {
	ring, err := netlists.ParseFindings("rung.toml", []byte(`
positions = ["off", "bake"]
[[check]]
in = "off"
beep = [["block.L1", "selector.L1"], ["selector.B", "element.1"]]
silent = [["block.L1", "element.1"]]
[[check]]
in = "bake"
beep = [["block.L1", "selector.L1", "selector.B", "element.1"]]
`))
	if err != nil {
		t.Fatal(err)
	}
	charts, _ := ring.Charts()
	want := map[string]map[string][][]string{"selector": {"bake": {{"L1", "B"}}}}
	if diff := cmp.Diff(want, charts); diff != "" {
		t.Errorf("chart:\n%s", diff)
	}
	if !ring.Result().Done || len(ring.Wires()) != 2 {
		t.Errorf("done %v, wires %v", ring.Result().Done, ring.Wires())
	}
}

func TestFindingsThatCannotBe(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"[[check]]\nbeep = [[\"A\", \"B\"]]\nsilent = [[\"A\", \"B\"]]", `rung.toml:3:11: A and B are silent in rest: the findings contradict each other earlier: A and B beep in rest`},
		{"positions = [\"off\"]\n[[check]]\nin = \"of\"\nbeep = [[\"A\", \"B\"]]", `rung.toml:3:6: unknown position "of" (did you mean "off"?)`},
		{"pins = [\"A1\", \"B1\"]\n[[check]]\nbeep = [[\"A1\", \"B2\"]]", `rung.toml:3:9: unknown pin "B2" (did you mean "B1"?)`},
		{"[[check]]\nbeep = [[\"A\", \"B\"], [\"A\"]]", `rung.toml:2:21: a check is of two pins, found 1`},
		{"[[check]]\nbeep = [[\"A\", \"A\"]]", `2 to 400`},
		{"[[chek]]\nbeep = []", `has no key "chek" (did you mean "check"?)`},
		{"beep = ", `rung.toml:1:`},
	} {
		_, err := netlists.ParseFindings("rung.toml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, expected %s", c.text, err, c.want)
		}
	}
}

func FuzzFindings(f *testing.F) {
	f.Add([]byte("positions = [\"off\"]\n[[check]]\nbeep = [[\"A\", \"B\"]]\nsilent = [[\"A\", \"C\"]]"))
	f.Fuzz(func(t *testing.T, text []byte) {
		ring, err := netlists.ParseFindings("fuzz.toml", text)
		if err != nil {
			return
		}
		ring.Result()
		ring.Wires()
		ring.Charts()
		ring.Next()
	})
}

// A file of more pins than a harness may have is refused at once.
func TestFarTooManyPinsAreRefusedAtOnce(t *testing.T) {
	var b strings.Builder
	b.WriteString("[[check]]\nbeep = [")
	for i := 0; i < 60000; i += 2 {
		fmt.Fprintf(&b, "[\"p%d\",\"p%d\"],", i, i+1)
	}
	b.WriteString("]\n")
	begun := time.Now()
	_, err := netlists.ParseFindings("rung.toml", []byte(b.String()))
	if took := time.Since(begun); err == nil || !strings.Contains(err.Error(), "it goes from 2 to 400") || took > 10*time.Second {
		t.Errorf("%v, after %v", err, took)
	}
}

func TestMegohmsAreNotMetres(t *testing.T) {
	for text, want := range map[string]string{"2.2M": "2200000 ", "2.2m": "2.2 metres", "2.2Mohm": "2200000 ohms", "2.2 mm": "0.0022 metres"} {
		if n, of, ok := netlists.Measure(text); !ok || strconv.FormatFloat(n, 'f', -1, 64)+" "+of != want {
			t.Errorf("%s is %v %s", text, n, of)
		}
	}
}
