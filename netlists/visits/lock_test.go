package visits_test

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gofrs/flock"
)

// holdLock in the environment names a file that this program locks, and then
// waits to be killed.
const holdLock = "LEGTRACE_TEST_HOLD_LOCK"

func TestMain(m *testing.M) {
	if name := os.Getenv(holdLock); name != "" {
		if err := flock.New(name).Lock(); err != nil {
			panic(err)
		}
		os.Stdout.WriteString("locked\n")
		time.Sleep(time.Minute)
		return
	}
	m.Run()
}

// Whoever writes holds the lock and is waited for; a program that was killed
// holds none, whatever file it left.
func TestALockEndsWithItsProcess(t *testing.T) {
	path := filepath.Join(t.TempDir(), "visit.toml")
	f := begun(t, path)
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), holdLock+"="+path+".lock")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Process.Kill()
	if line, err := bufio.NewReader(out).ReadString('\n'); err != nil || line != "locked\n" {
		t.Fatalf("%q %v", line, err)
	}
	if err := f.Save(); err == nil || !strings.Contains(err.Error(), "visit.toml.lock") {
		t.Errorf("locked by another: %v", err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	if _, err := os.Stat(path + ".lock"); err != nil {
		t.Errorf("the killed program left no file: %v", err)
	}
	if err := f.Save(); err != nil {
		t.Errorf("the other was killed: %v", err)
	}
}

// What was left behind holds nobody up, from whatever time it is; what is no file
// is named at once.
func TestWhatStandsWhereTheLockGoes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "visit.toml")
	f := begun(t, path)
	if err := os.WriteFile(path+".lock", []byte("left"), 0o666); err != nil {
		t.Fatal(err)
	}
	later := time.Now().Add(1000 * time.Hour)
	if err := os.Chtimes(path+".lock", later, later); err != nil {
		t.Fatal(err)
	}
	if err := f.Save(); err != nil {
		t.Errorf("a file of the future: %v", err)
	}
	if err := os.Mkdir(path+".lock", 0o777); err != nil {
		t.Fatal(err)
	}
	if err := f.Save(); err == nil || !strings.Contains(err.Error(), "is in the way") {
		t.Errorf("a folder: %v", err)
	}
}
