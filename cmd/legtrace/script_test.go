package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/rogpeppe/go-internal/testscript"

	"legtrace/render/report"
)

// asProgram in the environment makes the test binary the program itself.
const asProgram = "LEGTRACE_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	os.Setenv("LEGTRACE_QUIET", "1") // however slow the computer
	if os.Getenv(asProgram) != "" {
		main()
	}
	testscript.Main(m, map[string]func(){"legtrace": main})
}

// The scripts are the commands' specification. Besides what testscript has,
// they use:
//
//	exits CODE COMMAND...   the command ends with this exit code
//	says FILE REGEXP        the file matches, its lines joined into one
//	narrow FILE             no line of the file is wider than a terminal
//	field PATH VALUE        the JSON on stdout has this value at the path
//	among PATH NAME VALUE   the list at the path has an item with this value
//	repeat FILE N LINE      makes a file of N lines
//	until FILE REGEXP       waits for the file to match
func TestScripts(t *testing.T) {
	if testing.Short() {
		t.Skip("runs the program some hundred times")
	}
	cache := t.TempDir() // the engine of saved pages is built once for all scripts
	module, err := filepath.Abs(moduleRoot)
	if err != nil {
		t.Fatal(err)
	}
	goFolders := map[string]string{"GOCACHE": "", "GOMODCACHE": ""} // for the engine of saved pages
	for name := range goFolders {
		out, err := exec.Command("go", "env", name).Output()
		if err != nil {
			t.Fatal(err)
		}
		goFolders[name] = strings.TrimSpace(string(out))
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		UpdateScripts:       *update,
		Setup: func(env *testscript.Env) error {
			env.Setenv("XDG_CACHE_HOME", cache)
			env.Setenv("LEGTRACE_QUIET", "1") // however slow the computer
			env.Setenv("MODULE", module)
			env.Setenv("ESC", "\x1b")
			for name, folder := range goFolders {
				env.Setenv(name, folder)
			}
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":  exits,
			"says":   says,
			"narrow": narrow,
			"field":  field,
			"among":  among,
			"repeat": repeat,
			"until":  until,
		},
	})
}

func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// says is for sentences, wherever their lines are broken.
func says(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: says FILE REGEXP")
	}
	said := strings.Join(strings.Fields(ts.ReadFile(args[0])), " ")
	if regexp.MustCompile(args[1]).MatchString(said) == neg {
		ts.Fatalf("%s: match for %q: %v", args[0], args[1], neg)
	}
}

func narrow(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: narrow FILE")
	}
	if line, ok := tooWide(ts.ReadFile(args[0])); ok {
		ts.Fatalf("wider than %d: %s", report.Width, line)
	}
}

// tooWide returns the first line that does not fit a terminal.
func tooWide(s string) (string, bool) {
	for _, line := range strings.Split(s, "\n") {
		if text.StringWidthWithoutEscSequences(line) > report.Width {
			return line, true
		}
	}
	return "", false
}

func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: field PATH VALUE")
	}
	got := fmt.Sprint(lookUp(ts, args[0]))
	if (got == args[1]) == neg {
		ts.Fatalf("%s is %s", args[0], got)
	}
}

func among(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: among PATH NAME VALUE")
	}
	list, ok := lookUp(ts, args[0]).([]any)
	if !ok {
		ts.Fatalf("%s is no list", args[0])
	}
	found := false
	for _, item := range list {
		object, _ := item.(map[string]any)
		found = found || fmt.Sprint(object[args[1]]) == args[2]
	}
	if found == neg {
		ts.Fatalf("%s: an item with %s %q: %v", args[0], args[1], args[2], found)
	}
}

// lookUp finds the value at a path such as sets.0.members in the JSON on
// stdout.
func lookUp(ts *testscript.TestScript, path string) any {
	var at any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &at))
	for _, step := range strings.Split(path, ".") {
		switch v := at.(type) {
		case map[string]any:
			next, ok := v[step]
			if !ok {
				ts.Fatalf("%s: no field %q", path, step)
			}
			at = next
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i < 0 || i >= len(v) {
				ts.Fatalf("%s: no item %s of %d", path, step, len(v))
			}
			at = v[i]
		default:
			ts.Fatalf("%s: nothing below %v", path, at)
		}
	}
	return at
}

func repeat(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: repeat FILE N LINE")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Repeat(args[2]+"\n", n)), 0o666))
}

func until(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: until FILE REGEXP")
	}
	want := regexp.MustCompile(args[1])
	for end := time.Now().Add(10 * time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if text, err := os.ReadFile(ts.MkAbs(args[0])); err == nil && want.Match(text) {
			return
		}
	}
	ts.Fatalf("%s does not come to match %q", args[0], args[1])
}
