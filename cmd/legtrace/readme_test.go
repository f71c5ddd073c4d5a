package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jedib0t/go-pretty/v6/text"

	"legtrace/render/report"
)

var update = flag.Bool("update", false, "write the goldens of the scripts and the output and picture in the README and the help pages anew")

const (
	moduleRoot = "../.."
	readme     = moduleRoot + "/README.md"
	picture    = moduleRoot + "/testdata/cli/range-electronic-broil.svg"
)

// block is a fenced block of a page.
var block = regexp.MustCompile("(?ms)^(?:<!-- file: (\\S+) -->\n)?```(\\w+)\n(.*?)^```$")

// TestReadmeAndHelp runs the commands of the README and of the help pages as
// printed and compares what they say. Output that ends in a line "..." is shown
// as far as that. Commands of go run at the top of the module, where a person
// would run them, the others in a folder of their own with legtrace on the path.
func TestReadmeAndHelp(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	bin := t.TempDir()
	shell(t, "go build -o "+bin+" ./cmd/legtrace", "", bin)
	pages, err := filepath.Glob("help/*.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Run("pages", func(t *testing.T) { // over before the program goes
		for _, page := range append(pages, readme) {
			t.Run(filepath.Base(page), func(t *testing.T) {
				t.Parallel()
				holds(t, page, bin)
			})
		}
	})
}

// holds runs a page's commands and compares what they say.
func holds(t *testing.T, page, bin string) {
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	fresh := block.ReplaceAllFunc(text, func(b []byte) []byte {
		m := block.FindSubmatch(b)
		file, language, body := string(m[1]), string(m[2]), string(m[3])
		if file != "" {
			if err := os.WriteFile(filepath.Join(dir, file), m[3], 0o666); err != nil {
				t.Fatal(err)
			}
		}
		if language != "console" {
			return b
		}
		var out strings.Builder
		for _, one := range strings.Split("\n"+body, "\n$ ")[1:] {
			command, shown, _ := strings.Cut(one, "\n")
			for strings.HasSuffix(command, "\\") { // it goes on
				next, rest, _ := strings.Cut(shown, "\n")
				command, shown = command+"\n"+next, rest
			}
			out.WriteString("$ " + command + "\n" + cutLike(shell(t, command, dir, bin), shown))
		}
		return []byte("```console\n" + out.String() + "```")
	})
	if *update {
		if err := os.WriteFile(page, fresh, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(text), string(fresh)); diff != "" {
		t.Errorf("-page +now (go test ./cmd/legtrace -run Readme -update writes it anew):\n%s", diff)
	}
}

// leftOut stands for the rest of an output.
const leftOut = "...\n"

// cutLike leaves out of an output what the page leaves out: all after as many
// lines as it shows.
func cutLike(out, shown string) string {
	head, cut := strings.CutSuffix(strings.TrimSuffix(shown, "\n")+"\n", leftOut)
	lines := strings.SplitAfter(out, "\n")
	if n := strings.Count(head, "\n"); cut && n < len(lines) {
		return strings.Join(lines[:n], "") + leftOut
	}
	return out
}

func shell(t *testing.T, command, dir, bin string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, "sh", "-c", command)
	cmd.Dir = dir
	if strings.HasPrefix(command, "go ") {
		cmd.Dir = moduleRoot
		drawing := moduleRoot + "/legtrace-range-electronic-broil.svg"
		if _, err := os.Stat(drawing); err != nil {
			defer os.Remove(drawing)
		}
	}
	cmd.Env = append(os.Environ(), "GOFLAGS=-buildvcs=false", "COLUMNS=80", "LEGTRACE_QUIET=1", "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Errorf("%s: %v\n%s", command, err, out)
	}
	return string(out)
}

// The README is read by those who have no time to.
func TestReadmeIsShort(t *testing.T) {
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(text, []byte("\n")); n > 200 {
		t.Errorf("the README has %d lines, at most 200 are read", n)
	}
	for _, command := range newRoot(&terminal{}).Commands() {
		if command.IsAvailableCommand() && !bytes.Contains(text, []byte(command.Name()+"`")) && !bytes.Contains(text, []byte("`legtrace "+command.Name())) {
			t.Errorf("the README does not tell of legtrace %s", command.Name())
		}
	}
}

// What is shown on a terminal fits it, but for tables of the formats.
func TestHelpPagesFitATerminal(t *testing.T) {
	for _, p := range helpPages() {
		for i, line := range strings.Split(p.text, "\n") {
			if text.StringWidthWithoutEscSequences(line) > report.Width && p.name != "format" && p.name != "visit-file" {
				t.Errorf("%s:%d is wider than a terminal: %s", p.name, i+1, line)
			}
		}
		if !strings.HasPrefix(p.text, "# ") || p.title() == "" {
			t.Errorf("%s begins with no title", p.name)
		}
	}
}

// TestReadmePicture keeps the README's picture as the program draws it.
func TestReadmePicture(t *testing.T) {
	var out, errs bytes.Buffer
	args := []string{"draw", "--mode=broil", "--load=broil_element", "--output=-"}
	if code := run(context.Background(), args, &out, &errs, false); code != exitFine {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	if *update {
		if err := os.MkdirAll(filepath.Dir(picture), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(picture, out.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(picture)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, out.Bytes()) {
		t.Error("the README's picture is not what is drawn now: look at both, then go test ./cmd/legtrace -run Readme -update")
	}
}
