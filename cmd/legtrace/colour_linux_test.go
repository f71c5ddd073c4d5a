package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// TestColourOnATerminal runs the program on a pseudo-terminal, with and without
// NO_COLOR (the convention of no-color.org: set and not empty).
func TestColourOnATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("runs the program")
	}
	cache := "XDG_CACHE_HOME=" + t.TempDir()
	for _, c := range []struct {
		name   string
		env    []string
		colour bool
	}{
		{"colour", []string{"TERM=xterm"}, true},
		{"NO_COLOR", []string{"TERM=xterm", "NO_COLOR=1"}, false},
		{"a dumb terminal", []string{"TERM=dumb"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			said := onTerminal(t, append(c.env, cache), "loads", "--mode=broil")
			if got := strings.Contains(said, "\x1b["); got != c.colour {
				t.Errorf("colour %v, want %v, in %q", got, c.colour, said)
			}
			if !strings.Contains(said, "Broil element") {
				t.Errorf("no report in %q", said)
			}
		})
	}
}

// onTerminal runs this test binary as the program, with a pseudo-terminal for
// its standard output.
func onTerminal(t *testing.T, env []string, args ...string) string {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	defer master.Close()
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Fatal(err)
	}
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Fatal(err)
	}
	slave, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Env = append(env, asProgram+"=1")
	cmd.Stdout = slave
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	var said strings.Builder
	buf := make([]byte, 4096)
	for {
		n, err := master.Read(buf) // fails once the program has gone
		said.Write(buf[:n])
		if err != nil {
			break
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	return said.String()
}
