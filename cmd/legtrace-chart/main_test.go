package main

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"legtrace/cmd/legtrace-chart/alone"
	"legtrace/netlists"
	"legtrace/render/chart"
)

func TestMain(m *testing.M) {
	if err := alone.Over(); err != nil {
		panic(err)
	}
	m.Run()
}

func TestEveryMapOfTheCatalogIsDrawn(t *testing.T) {
	for _, e := range netlists.Catalog() {
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		dot, err := chart.Nets(c)
		if err != nil {
			t.Fatal(err)
		}
		svg, err := draw(context.Background(), dot, ".svg")
		if err != nil {
			t.Fatalf("%s: %v", e.Name, err)
		}
		for _, id := range c.Loads() {
			if b := c.Branch(id); !strings.Contains(words(t, svg), b.Ref) && c.Runs()[b.A] != c.Runs()[b.B] {
				t.Errorf("%s: %s is not in the drawing", e.Name, b.Ref)
			}
		}
	}
}

// words is all that stands in an SVG.
func words(t *testing.T, svg []byte) string {
	t.Helper()
	var b strings.Builder
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return b.String()
		}
		if err != nil {
			t.Fatalf("this is no XML: %v\n%.500s", err, svg)
		}
		if text, ok := token.(xml.CharData); ok {
			b.Write(text)
		}
	}
}

func TestWhatAFilesNameEndsIn(t *testing.T) {
	dot := []byte(`digraph { a -> b [label="<script>alert(1)</script> & more"] }`)
	out, err := draw(context.Background(), dot, ".png")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(bytes.NewReader(out)); err != nil {
		t.Errorf("the picture: %v", err)
	}
	out, err = draw(context.Background(), dot, ".html")
	if err != nil {
		t.Fatal(err)
	}
	if page := string(out); !strings.Contains(page, "@page") || !strings.Contains(page, "<svg") || strings.Contains(page, "<script") {
		t.Errorf("the page: %s", page)
	}
	for _, ext := range []string{"", ".pdf"} {
		if _, err := draw(context.Background(), dot, ext); err == nil {
			t.Errorf("%q is drawn", ext)
		}
	}
}

func TestWhatIsNoGraph(t *testing.T) {
	for _, text := range []string{"", "digraph {", "wires and parts", "\x00\xff", "digraph { a -> }"} {
		if out, err := draw(context.Background(), []byte(text), ".svg"); err == nil {
			t.Errorf("%q is drawn: %.200s", text, out)
		}
	}
}

// Graphviz starts with this test's own program, once more with a temporary folder
// to itself: it must leave nothing there.
func TestNoCacheIsUsed(t *testing.T) {
	dir := t.TempDir()
	own, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(own, "-test.run=^$")
	cmd.Env = append(os.Environ(), "TMPDIR="+dir, "TMP="+dir, "TEMP="+dir)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if left, err := filepath.Glob(filepath.Join(dir, "*")); err != nil || len(left) > 0 {
		t.Errorf("left in the temporary folder: %q %v", left, err)
	}
}

func TestTheCommand(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.svg")
	cmd := newCommand()
	cmd.SetIn(strings.NewReader("graph { a -- b }"))
	cmd.SetArgs([]string{"--output", file})
	if err := cmd.Execute(); err != nil {
		t.Fatal(err)
	}
	if svg, err := os.ReadFile(file); err != nil || !bytes.Contains(svg, []byte("<svg")) {
		t.Errorf("%v %.100s", err, svg)
	}
	for _, args := range [][]string{{}, {"--output", file, "nowhere.dot"}, {"--output", file, "a", "b"}} {
		cmd := newCommand()
		cmd.SetIn(strings.NewReader(""))
		cmd.SetErr(io.Discard)
		cmd.SetArgs(args)
		if err := cmd.Execute(); err == nil || errors.Is(err, context.Canceled) {
			t.Errorf("%q: %v", args, err)
		}
	}
}
