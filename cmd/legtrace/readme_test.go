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
)

var update = flag.Bool("update", false, "write the README's output and picture anew")

const (
	moduleRoot = "../.."
	readme     = moduleRoot + "/README.md"
	picture    = moduleRoot + "/testdata/cli/range-electronic-broil.svg"
)

// block is a fenced block of the README.
var block = regexp.MustCompile("(?ms)^(?:<!-- file: (\\S+) -->\n)?```(\\w+)\n(.*?)^```$")

// TestReadmeCommands runs the README's commands as printed and compares what
// they say. Commands of go run at the top of the module, where a person would
// run them, the others in a folder of their own with legtrace on the path.
func TestReadmeCommands(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	dir, bin := t.TempDir(), t.TempDir()
	ran := 0
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
		for _, line := range strings.Split(body, "\n") {
			command, ok := strings.CutPrefix(line, "$ ")
			if !ok {
				continue
			}
			ran++
			out.WriteString(line + "\n" + shell(t, command, dir, bin))
		}
		return []byte("```console\n" + out.String() + "```")
	})
	if ran < 5 {
		t.Fatalf("only %d commands found", ran)
	}
	if *update {
		if err := os.WriteFile(readme, fresh, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(text), string(fresh)); diff != "" {
		t.Errorf("-README +now (go test ./cmd/legtrace -run Readme -update writes it anew):\n%s", diff)
	}
}

func shell(t *testing.T, command, dir, bin string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, "sh", "-c", command)
	cmd.Dir = dir
	if strings.HasPrefix(command, "go ") {
		cmd.Dir = moduleRoot
		before := drawings(t)
		defer func() {
			for name := range drawings(t) {
				if !before[name] {
					os.Remove(name)
				}
			}
		}()
	}
	cmd.Env = append(os.Environ(), "GOBIN="+bin, "GOFLAGS=-buildvcs=false", "COLUMNS=80", "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Errorf("%s: %v\n%s", command, err, out)
	}
	return string(out)
}

// drawings lists those at the top of the module.
func drawings(t *testing.T) map[string]bool {
	t.Helper()
	names, err := filepath.Glob(moduleRoot + "/legtrace-*.svg")
	if err != nil {
		t.Fatal(err)
	}
	set := map[string]bool{}
	for _, n := range names {
		set[n] = true
	}
	return set
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
