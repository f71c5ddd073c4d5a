package schematic

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	goflag "flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

// Run with -update to write the golden drawings anew.
var update = goflag.Bool("update", false, "write the golden files")

const goldens = "../../testdata/schematic"

func render(t testing.TB, d Drawing) string {
	t.Helper()
	var b bytes.Buffer
	if err := Render(context.Background(), &b, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestEverySymbolLooksAsAgreed(t *testing.T) {
	for name, symbols := range map[string]Symbols{"every-kind-iec.svg": IEC, "every-kind-ieee.svg": IEEE} {
		d := drawn(t, everyKind(t), 0)
		d.Symbols = symbols
		d.Faults = []circuit.Fault{{Kind: circuit.Open, Branch: d.Marks[2].Branch}}
		got := render(t, d)
		path := filepath.Join(goldens, name)
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
			t.Errorf("%s (look at the new drawing, then run with -update):\n%s", name, diff)
		}
	}
}

func TestDrawingIsTheSameEveryTime(t *testing.T) {
	for _, c := range []*circuit.Circuit{demo(t), everyKind(t), rungs(t, 20)} {
		d := drawn(t, c, 0)
		first := render(t, d)
		for range 2 {
			if diff := cmp.Diff(first, render(t, d)); diff != "" {
				t.Fatalf("%s: %s", c.Name(), diff)
			}
		}
	}
}

func TestPlanDrawsWhatRenderDraws(t *testing.T) {
	c := demo(t)
	plan, err := Arrange(context.Background(), c, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Modes() {
		d := drawn(t, c, circuit.ModeID(i))
		d.Symbols = Symbols(i % 2)
		var b bytes.Buffer
		if err := plan.Render(&b, d); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(render(t, d), b.String()); diff != "" {
			t.Fatalf("%s: %s", c.Modes()[i].Name, diff)
		}
	}
	var b bytes.Buffer
	if err := plan.Render(&b, drawn(t, everyKind(t), 0)); err == nil {
		t.Error("a plan drew another machine")
	}
}

func TestHostileTextStaysText(t *testing.T) {
	hostile := "</text><script>alert('x')</script>&\"<!--]]>\x00\x1b[31m\u202e"
	spec := everyKind(t).Spec()
	for i := range spec.Parts {
		spec.Parts[i].Label = `<script>&"'` + spec.Parts[i].Name
		spec.Parts[i].Place = "]]><b onload=x>"
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	d := drawn(t, c, 0)
	d.Title, d.Subtitle = hostile, hostile
	d.Notes, d.Cautions = []string{hostile}, []string{hostile}
	d.Marks[0].Text = hostile
	svg := render(t, d)
	for _, f := range readSheet(t, []byte(svg)).flaws(c) {
		t.Error(f)
	}
	dec := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch el := tok.(type) {
		case xml.StartElement:
			if n := el.Name.Local; n == "script" || n == "b" {
				t.Errorf("an element <%s> got in", n)
			}
			for _, a := range el.Attr {
				if strings.HasPrefix(a.Name.Local, "on") {
					t.Errorf("an attribute %s got in", a.Name.Local)
				}
			}
		case xml.CharData:
			if strings.ContainsAny(string(el), "\x00\x1b\u202e") {
				t.Errorf("control characters in %q", el)
			}
		}
	}
}

func TestWhatCannotBeDrawnIsRefused(t *testing.T) {
	c := everyKind(t)
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	for _, refused := range []struct {
		name, want string
		ctx        context.Context
		d          Drawing
	}{
		{"no circuit", "needs a circuit", context.Background(), Drawing{}},
		{"unknown mode", "mode 7", context.Background(), Drawing{Circuit: c, Mode: 7}},
		{"another machine's state", "conducts has 3", context.Background(), Drawing{Circuit: c, Conducts: make([]bool, 3)}},
		{"another machine's voltages", "volts has 3", context.Background(), Drawing{Circuit: c, Volts: make([]NodeVolts, 3)}},
		{"mark off the machine", "mark 1 is at branch 9999", context.Background(), Drawing{Circuit: c, Marks: []Mark{{Number: 1, Branch: 9999}}}},
		{"fault off the machine", "fault at branch 9999", context.Background(), Drawing{Circuit: c, Faults: []circuit.Fault{{Branch: 9999}}}},
		{"too large", "at most 2000", context.Background(), Drawing{Circuit: rungs(t, 2100)}},
		{"cancelled", "canceled", cancelled, Drawing{Circuit: c}},
	} {
		t.Run(refused.name, func(t *testing.T) {
			var b bytes.Buffer
			err := Render(refused.ctx, &b, refused.d)
			if err == nil || !strings.Contains(err.Error(), refused.want) {
				t.Errorf("error %v, want %q", err, refused.want)
			}
			if b.Len() > 0 {
				t.Errorf("%d bytes were written all the same", b.Len())
			}
		})
	}
}

func TestPageTellsWhatItShows(t *testing.T) {
	c := demo(t)
	broil, err := c.FindMode("broil")
	if err != nil {
		t.Fatal(err)
	}
	svg := render(t, drawn(t, c, broil))
	for _, want := range []string{
		`role="img"`, `aria-labelledby="page-title page-desc"`, "<title id=\"page-title\">" + escape(c.Title()),
		"drawn in mode Broil. The live path of Broil element is emphasised.",
		"lock it out", `class="feed1"`, `class="feed2"`, "w15 BU",
	} {
		if !strings.Contains(svg, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

// countdown is a context that ends after its error has been asked for so often.
type countdown struct {
	context.Context
	left, late int
}

func (c *countdown) Err() error {
	if c.left--; c.left < 0 {
		c.late++
		return context.Canceled
	}
	return nil
}

// An interrupt ends a drawing at whatever step it comes: little is done after
// the context has ended.
func TestInterruptEndsADrawing(t *testing.T) {
	c := rungs(t, 100)
	all := &countdown{Context: context.Background(), left: 1 << 30}
	if err := Render(all, io.Discard, Drawing{Circuit: c, Load: circuit.None}); err != nil {
		t.Fatal(err)
	}
	asked := 1<<30 - all.left
	if asked < 100 {
		t.Fatalf("a drawing asks %d times only whether it is to end", asked)
	}
	for after := 0; after < asked; after += asked / 17 {
		ctx := &countdown{Context: context.Background(), left: after}
		if err := Render(ctx, io.Discard, Drawing{Circuit: c, Load: circuit.None}); !errors.Is(err, context.Canceled) {
			t.Errorf("ended after %d of %d: %v", after, asked, err)
		}
		if ctx.late > 20 {
			t.Errorf("ended after %d of %d: asked %d times more", after, asked, ctx.late)
		}
	}
}

func TestLongLabelsAreCut(t *testing.T) {
	spec := demo(t).Spec()
	long := strings.Repeat("very ", 2000)
	spec.Parts[3].Label = long + "end"
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	svg := render(t, Drawing{Circuit: c, Load: circuit.None})
	if n := strings.Count(svg, long); n != 1 {
		t.Errorf("the label stands %d times in full, want once: in its symbol's title", n)
	}
}

func TestTooLargeIsRefusedAtOnce(t *testing.T) {
	if err := Fits(rungs(t, 1900)); err != nil {
		t.Error(err)
	}
	if err := Fits(rungs(t, 2100)); err == nil {
		t.Error("2,100 symbols fit")
	}
}

// Where wires are too tangled for the work that a drawing may take, that is said.
func TestTangledWiresAreRefusedOnceTheWorkIsSpent(t *testing.T) {
	cs, err := newColumns(context.Background(), demo(t), form{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = newRows(cs, 0, nil).route(context.Background(), &work{all: mostWork})
	if err == nil || !strings.Contains(err.Error(), "cross too often for a page that could be read") {
		t.Errorf("it says %v", err)
	}
}
