package schematic

import (
	"bytes"
	"context"
	"regexp"
	"strings"
	"testing"
)

// A checker that finds nothing proves nothing until it has found what was
// spoilt on purpose.
func TestCheckerSeesWhatIsSpoilt(t *testing.T) {
	c := demo(t)
	d := drawn(t, c, 1)
	var b bytes.Buffer
	if err := Render(context.Background(), &b, d); err != nil {
		t.Fatal(err)
	}
	sound := b.String()
	if flaws := readSheet(t, b.Bytes()).flaws(c); len(flaws) > 0 {
		t.Fatalf("the sound drawing has flaws: %v", flaws)
	}
	wire := regexp.MustCompile(`(<g id="wire-w22".*?<path d="M)(\d+) (\d+)(L[^"]*")`)
	other := regexp.MustCompile(`<g id="wire-w20".*?<path d="([^"]*)"`).FindStringSubmatch(sound)[1]
	dot := regexp.MustCompile(`<circle class="dot" cx="\d+" cy="\d+" r="2.8"/>\n`)
	label := regexp.MustCompile(`(<text class="label" x=")\d+(" y=")\d+("[^>]*>Bake element)`)
	for _, spoil := range []struct {
		name, want string
		spoil      func(string) string
	}{
		{"a wire that stops short", "does not end on its terminals", func(s string) string {
			return wire.ReplaceAllString(s, "${1}${2} 9${4}")
		}},
		{"a wire drawn along another", "share a line", func(s string) string {
			return wire.ReplaceAllString(s, `${1}`+other[1:]+`"`)
		}},
		{"a wire missing", "wires drawn", func(s string) string {
			return regexp.MustCompile(`(?s)<g id="wire-w22".*?</g>`).ReplaceAllString(s, "")
		}},
		{"a wire through a symbol", "through a symbol", func(s string) string {
			box := regexp.MustCompile(`kind-fan(?:.|\n)*?data-box="(\d+) (\d+) (\d+)`).FindStringSubmatch(s)
			return wire.ReplaceAllString(s, "${1}"+box[1]+" "+box[2]+"L"+box[3]+" "+box[2]+`"`)
		}},
		{"two nodes drawn as one", "joined to another node", func(s string) string {
			end := regexp.MustCompile(`[\d]+ [\d]+$`).FindString(other)
			return wire.ReplaceAllString(s, "${1}"+end+"L${2} ${3}${4}")
		}},
		{"a dot missing", "dot: false", func(s string) string { return dot.ReplaceAllString(s, "") }},
		{"a dot too many", "no wire branches", func(s string) string {
			return strings.Replace(s, "\n<circle class=\"dot\"", "\n<circle class=\"dot\" cx=\"3\" cy=\"3\" r=\"2\"/><circle class=\"dot\"", 1)
		}},
		{"a label over another", "over text", func(s string) string {
			at := regexp.MustCompile(`<text class="label" x="(\d+)" y="(\d+)"[^>]*>Broil element`).FindStringSubmatch(s)
			return label.ReplaceAllString(s, "${1}"+at[1]+"${2}"+at[2]+"${3}")
		}},
		{"a label off the page", "outside the page", func(s string) string {
			return label.ReplaceAllString(s, "${1}3${2}3${3}")
		}},
		{"a label over a symbol", "over a symbol", func(s string) string {
			circle := regexp.MustCompile(`kind-fan(?:.|\n)*?<circle class="s fill" cx="(\d+)" cy="(\d+)`).FindStringSubmatch(s)
			return label.ReplaceAllString(s, "${1}"+circle[1]+"${2}"+circle[2]+"${3}")
		}},
		{"a part twice", "used 2 times", func(s string) string {
			return strings.Replace(s, `id="part-breaker"`, `id="part-cord"`, 1)
		}},
	} {
		t.Run(spoil.name, func(t *testing.T) {
			bad := spoil.spoil(sound)
			if bad == sound {
				t.Fatal("nothing was spoilt")
			}
			flaws := strings.Join(readSheet(t, []byte(bad)).flaws(c), "\n")
			if !strings.Contains(flaws, spoil.want) {
				t.Errorf("want a flaw with %q, have:\n%s", spoil.want, flaws)
			}
		})
	}
}
