//go:build unix

package visits_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
)

// noRoom in the environment lets the test limit how long a file may get, in a
// process of its own.
const noRoom = "LEGTRACE_TEST_NO_ROOM"

// A disk that is full at any byte of an answer leaves the visit as it was, nothing
// beside it and no lock; as soon as there is room the answer is written.
func TestADiskThatIsFullAtAnyByte(t *testing.T) {
	if os.Getenv(noRoom) == "" {
		cmd := exec.Command(os.Args[0], "-test.run=^TestADiskThatIsFullAtAnyByte$")
		cmd.Env = append(os.Environ(), noRoom+"=1")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
		return
	}
	var usual syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &usual); err != nil {
		t.Fatal(err)
	}
	room := func(bytes uint64) {
		limit := usual
		limit.Cur = bytes
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
			t.Fatal(err)
		}
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "visit.toml")
	f := begun(t, path)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	f.Complaint = "broil element dead in broil"
	full := 0
	for ; ; full++ {
		room(uint64(full))
		err := f.Save()
		room(usual.Cur)
		if err == nil {
			break
		}
		if now, err := os.ReadFile(path); err != nil || string(now) != string(before) {
			t.Fatalf("full at byte %d: the file holds %q, %v", full, now, err)
		}
		if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) != 1 {
			t.Fatalf("full at byte %d, left: %q", full, left)
		}
		if hidden, _ := filepath.Glob(filepath.Join(dir, ".*")); len(hidden) > 0 {
			t.Fatalf("full at byte %d, left: %q", full, hidden)
		}
	}
	if full <= len(before) {
		t.Errorf("written with room for %d bytes, it was longer before", full)
	}
	if back := opened(t, path); back.Complaint != f.Complaint {
		t.Errorf("written at last: %q", back.Complaint)
	}
}
