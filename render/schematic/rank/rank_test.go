package rank

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var few = []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 0, To: 3}, {From: 3, To: 2}, {From: 2, To: 4}}

func TestColumnsFollowTheEdges(t *testing.T) {
	got, err := Layers(context.Background(), 5, few)
	if err != nil {
		t.Fatal(err)
	}
	var columns []int
	for _, p := range got {
		columns = append(columns, p.Column)
	}
	if diff := cmp.Diff([]int{0, 1, 2, 1, 3}, columns); diff != "" {
		t.Error(diff)
	}
	if got[1].Height == got[3].Height {
		t.Error("two nodes of one column have one height")
	}
}

func TestStoppedBeforeItBegan(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Layers(ctx, 5, few); err == nil {
		t.Error("laid out after all")
	}
}

// TestManyDrawings lays out more often than one program does in a day at the
// bench: what the engine takes it has to give back.
func TestManyDrawings(t *testing.T) {
	for i := range 500 {
		if _, err := Layers(context.Background(), 5, few); err != nil {
			t.Fatalf("layout %d: %v", i, err)
		}
	}
}

// childEnv makes the test binary a plain process that says whether the engine
// is up, before and after it lays out.
const childEnv = "LEGTRACE_TEST_LAY_OUT"

func TestMain(m *testing.M) {
	if os.Getenv(childEnv) == "" {
		os.Exit(m.Run())
	}
	say := func() { os.Stdout.WriteString(map[bool]string{true: "up ", false: "down "}[Started()]) }
	say()
	if _, err := Layers(context.Background(), 5, few); err != nil {
		os.Stdout.WriteString(err.Error())
	}
	say()
}

// child runs it with its own cache and shared temporary folder.
func child(t *testing.T, shared, cache string) string {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("the cache folder of other systems is found otherwise")
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"=1", "TMPDIR="+shared, "XDG_CACHE_HOME="+cache, "HOME="+cache)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return strings.TrimSpace(string(out))
}

func TestEngineStartsWithTheFirstQuestion(t *testing.T) {
	shared, cache := t.TempDir(), t.TempDir()
	if got := child(t, shared, cache); got != "down up" {
		t.Errorf("the engine was %q before and after, want down and up", got)
	}
}

func TestCompiledEngineStaysOutOfTheSharedFolder(t *testing.T) {
	shared, cache := t.TempDir(), t.TempDir()
	child(t, shared, cache)
	left, err := os.ReadDir(shared)
	if err != nil || len(left) > 0 {
		t.Errorf("shared folder holds %v, %v: want nothing", left, err)
	}
	kept := filepath.Join(cache, "legtrace")
	info, err := os.Stat(kept)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o700 {
		t.Errorf("cache folder has mode %o, want 700", info.Mode().Perm())
	}
	if compiled, err := os.ReadDir(kept); err != nil || len(compiled) == 0 {
		t.Errorf("nothing was compiled into the private folder: %v", err)
	}
}

func TestFolderOthersCanWriteIsNotUsed(t *testing.T) {
	shared, cache := t.TempDir(), t.TempDir()
	open := filepath.Join(cache, "legtrace")
	if err := os.Mkdir(open, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(open, 0o777); err != nil {
		t.Fatal(err)
	}
	if got := child(t, shared, cache); got != "down up" {
		t.Errorf("the engine was %q before and after, want down and up", got)
	}
	for _, dir := range []string{shared, open} {
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("%s holds %v, %v: want nothing", dir, left, err)
		}
	}
}
