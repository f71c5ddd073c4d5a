package netlists

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// checkTidied holds what tidying promises of any netlist.
func checkTidied(t interface {
	Helper()
	Fatalf(string, ...any)
}, text []byte) []byte {
	t.Helper()
	tidied, err := Tidy("given.toml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	before, _, errBefore := Parse("given.toml", text)
	after, _, errAfter := Parse("given.toml", tidied)
	if (errBefore == nil) != (errAfter == nil) {
		t.Fatalf("given: %v, tidied: %v\n%s", errBefore, errAfter, tidied)
	}
	if diff := cmp.Diff(before, after); diff != "" {
		t.Fatalf("-given +tidied:\n%s\n%s", diff, tidied)
	}
	if diff := cmp.Diff(comments(text), comments(tidied)); diff != "" {
		t.Fatalf("comments: -given +tidied:\n%s\n%s", diff, tidied)
	}
	again, err := Tidy("tidied.toml", tidied)
	if err != nil {
		t.Fatalf("%v\n%s", err, tidied)
	}
	if diff := cmp.Diff(string(tidied), string(again)); diff != "" {
		t.Fatalf("-tidied +tidied again:\n%s", diff)
	}
	return tidied
}

// comments returns what stands behind a # outside of strings, in order.
func comments(text []byte) []string {
	var out []string
	for i := 0; i < len(text); {
		switch c := text[i]; c {
		case '"', '\'':
			i += stringLength(text[i:], c)
		case '#':
			n := lengthTo(text[i:], "\n")
			out = append(out, strings.TrimRight(string(text[i:i+n]), " \t\r\n"))
			i += n
		default:
			i++
		}
	}
	return out
}

func TestTidyGivesTheHouseLook(t *testing.T) {
	const given = "\ufeff# Heads the file.  \r\n\n\nname=\"oven\"# so called\n" +
		`notes = """
  kept   as
  written # no comment
"""
[supply]

system='single-phase'
volts   =   120
# The oven.
[ parts ]
heater={kind="element",volts=120,watts=600}
a_control = { kind="control", volts=120, watts=5, senses=[ # what it must see
{ name="probe",   pins=["S1","S2"], max_ohms=50 } ,

# the door
{ name="door", pins=["D1","D2"], max_ohms=50 }
] } # on the board


# Worked by hand.
sw={kind="switch"}
[wires]
w1={from="supply.L1",to="sw.1"} # hot
w10={ from="sw.2", to="heater.1", awg=14 , colour="BK" }
w2.from="heater.2"
w2 . to = "supply.N"
[modes]
[modes."off"]
off=[ "heater", ]
[modes.on]
set={sw="closed"}
on=[
"heater", "a_control"]


[ drop ]
parts = [
]
# The end.`
	const want = `# Heads the file.

name = "oven" # so called
notes = """
  kept   as
  written # no comment
"""

[supply]
system = 'single-phase'
volts = 120

# The oven.
[parts]
heater    = { kind = "element", volts = 120, watts = 600 }
a_control = { kind = "control", volts = 120, watts = 5, senses = [ # what it must see
    { name = "probe", pins = ["S1", "S2"], max_ohms = 50 },

    # the door
    { name = "door", pins = ["D1", "D2"], max_ohms = 50 },
  ] } # on the board

# Worked by hand.
sw = { kind = "switch" }

[wires]
w1      = { from = "supply.L1", to = "sw.1" } # hot
w10     = { from = "sw.2",      to = "heater.1", awg = 14, colour = "BK" }
w2.from = "heater.2"
w2.to   = "supply.N"

[modes]

[modes."off"]
off = ["heater"]

[modes.on]
set = { sw = "closed" }
on = [
  "heater", "a_control",
]

[drop]
parts = []
# The end.
`
	got := string(checkTidied(t, []byte(given)))
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-expected +tidied:\n%s", diff)
	}
}

func TestWhatWriteWritesIsTidyAlready(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var out bytes.Buffer
		if err := Write(&out, drawSpec(t)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(out.String(), string(checkTidied(t, out.Bytes()))); diff != "" {
			t.Fatalf("-written +tidied:\n%s", diff)
		}
	})
}

func TestTidyKeepsMeaningAndCommentsWhereverTheyStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var out bytes.Buffer
		if err := Write(&out, drawSpec(t)); err != nil {
			t.Fatal(err)
		}
		checkTidied(t, scatter(t, out.Bytes()))
	})
}

// scatter puts blanks, blank lines and comments wherever TOML lets them stand.
func scatter(t *rapid.T, text []byte) []byte {
	var b bytes.Buffer
	brackets := []byte{}
	comment := func() string {
		return rapid.SampledFrom([]string{"", "", " ", "# note", "  # \"quoted\" = [1, {", "\t#", "# é \U0001f525  "}).Draw(t, "comment")
	}
	for i := 0; i < len(text); {
		switch c := text[i]; c {
		case '"', '\'':
			n := stringLength(text[i:], c)
			b.Write(text[i : i+n])
			i += n
			continue
		case '[', '{':
			brackets = append(brackets, c)
		case ']', '}':
			brackets = brackets[:len(brackets)-1]
		}
		inArray := len(brackets) > 0 && brackets[len(brackets)-1] == '['
		switch c := text[i]; {
		case c == ' ':
			b.WriteString(rapid.SampledFrom([]string{" ", "", "\t  "}).Draw(t, "blanks"))
		case c == '\n':
			b.WriteString(comment())
			b.WriteString(rapid.SampledFrom([]string{"\n", "\r\n", "\n\n\n"}).Draw(t, "line end"))
			if line := comment(); len(brackets) == 0 && line != "" {
				b.WriteString(line + "\n")
			}
		case c == ',' && inArray && rapid.Bool().Draw(t, "break"):
			b.WriteString("," + comment() + "\n")
		default:
			b.WriteByte(c)
		}
		i++
	}
	return b.Bytes()
}

func TestTidyKeepsTheMeaningOfWhatIsShipped(t *testing.T) {
	for _, name := range catalogNames() {
		src, err := Source(name)
		if err != nil {
			t.Fatal(err)
		}
		checkTidied(t, src)
	}
	examples := tomlBlock.FindAllStringSubmatch(readFormat(t), -1)
	if len(examples) < 5 {
		t.Fatalf("only %d examples", len(examples))
	}
	for _, block := range examples {
		checkTidied(t, []byte(block[2]))
	}
}

// A netlist with a mistake is tidied as well, unless it is not TOML at all.
func TestTidyOfBrokenFiles(t *testing.T) {
	files, err := filepath.Glob("../testdata/hostile/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files, error %v", len(files), err)
	}
	refused := 0
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Tidy(file, src); err != nil {
			if _, ok := err.(Errors); !ok {
				t.Errorf("%s: %v", file, err)
			}
			refused++
			continue
		}
		checkTidied(t, src)
	}
	if refused == 0 || refused == len(files) {
		t.Errorf("%d of %d refused", refused, len(files))
	}
}

func FuzzTidy(f *testing.F) {
	addSeeds(f)
	f.Add([]byte("a = {\n b = 1, # one\n}\n[[wires]]\nfrom='a' # b\n\n\n[wires.x]\na=[[\n],[1,\n#c\n2]]"))
	f.Fuzz(func(t *testing.T, text []byte) {
		tidied, err := Tidy("fuzz.toml", text)
		if err != nil {
			if _, ok := err.(Errors); !ok {
				t.Fatal(err)
			}
			return
		}
		again, err := Tidy("fuzz.toml", tidied)
		if err != nil || !bytes.Equal(tidied, again) {
			t.Fatalf("error %v, or tidied differently again:\n%q\n%q", err, tidied, again)
		}
		text = bytes.TrimPrefix(text, []byte("\ufeff"))
		if before, after := comments(text), comments(tidied); !slices.Equal(before, after) {
			t.Fatalf("comments %q become %q", before, after)
		}
	})
}
