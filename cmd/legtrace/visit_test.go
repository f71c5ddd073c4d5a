package main

import (
	"bufio"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"legtrace/circuit/circuittest"
	"legtrace/netlists/visits"
)

// talking is the program at work on a conversation, spoken to through pipes.
type talking struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

func exchange(t *testing.T, file string) *talking {
	t.Helper()
	return converse(t, "visit", file, "--date", "2026-05-01")
}

func converse(t *testing.T, args ...string) *talking {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	w := &talking{cmd: exec.Command(self, args...)}
	w.cmd.Env = append(os.Environ(), asProgram+"=1")
	if w.in, err = w.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := w.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	w.out = bufio.NewReader(out)
	if err := w.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return w
}

// until reads up to the next prompt.
func (w *talking) until(t *testing.T, prompt string) string {
	t.Helper()
	var b strings.Builder
	for !strings.HasSuffix(b.String(), prompt+"> ") {
		c, err := w.out.ReadByte()
		if err != nil {
			t.Fatalf("no prompt %q: %v\n%s", prompt, err, b.String())
		}
		b.WriteByte(c)
	}
	return b.String()
}

func (w *talking) answer(t *testing.T, line string) {
	t.Helper()
	if _, err := io.WriteString(w.in, line+"\n"); err != nil {
		t.Fatal(err)
	}
}

// Killed between two answers, a visit has lost neither: started again it asks
// the next thing.
func TestAKilledVisitGoesOn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "visit.toml")
	w := exchange(t, file)
	w.until(t, "complaint")
	w.answer(t, "broil element dead in broil; bake element normal in bake")
	w.until(t, "ohms")
	w.answer(t, "16.7")
	w.until(t, "ohms")
	if err := w.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = w.cmd.Wait()
	f, _, err := visits.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Notes) != 4 || f.Notes[3].Answer != "16.7" {
		t.Errorf("the file holds %+v", f.Notes)
	}
	w = exchange(t, file)
	said := w.until(t, "ohms")
	if !strings.Contains(said, "16.7 ohms across the broil element") || strings.Contains(said, "Next: Ohms across the broil element") {
		t.Errorf("taken up again it says\n%s", said)
	}
	w.answer(t, "quit")
	if err := w.cmd.Wait(); err != nil {
		t.Error(err)
	}
}

// Killed at any moment, a visit has lost nothing that it asked the next question
// after, its file is whole, and it goes on at once.
func TestAVisitKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program often")
	}
	times := 8
	if circuittest.Nightly {
		times = 1000
	}
	dir := t.TempDir()
	for i := range times {
		file := filepath.Join(dir, "visit.toml")
		os.Remove(file)
		w := exchange(t, file)
		w.until(t, "complaint")
		w.answer(t, "broil element dead in broil; bake element normal in bake")
		w.until(t, "ohms")
		w.answer(t, "16.7")
		time.Sleep(time.Duration(37*i%100) * 300 * time.Microsecond) // while the answer is written
		if err := w.cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		said, _ := io.ReadAll(w.out)
		_ = w.cmd.Wait()
		f, _, err := visits.Open(file)
		if err != nil {
			t.Fatalf("kill %d: the file cannot be read: %v", i, err)
		}
		acknowledged := strings.Contains(string(said), "Rules out") || strings.Contains(string(said), "Next:")
		if n := len(f.Notes); n < 2 || acknowledged && n < 3 {
			t.Fatalf("kill %d: the file holds %d notes, and it had said\n%s", i, n, said)
		}
		if err := f.Save(); err != nil {
			t.Fatalf("kill %d: the file is held: %v", i, err)
		}
	}
}

// An interrupt ends a visit that waits for an answer, and says where it is.
func TestAnInterruptedVisitSaysWhereItIs(t *testing.T) {
	file := filepath.Join(t.TempDir(), "visit.toml")
	w := exchange(t, file)
	w.until(t, "complaint")
	w.answer(t, "broil element dead in broil")
	w.until(t, "")
	if err := w.cmd.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	_, _ = io.Copy(io.Discard, w.out)
	var exit *exec.ExitError
	if err := w.cmd.Wait(); !errors.As(err, &exit) || exit.ExitCode() != exitInterrupted {
		t.Errorf("it ended with %v", err)
	}
	f, _, err := visits.Open(file)
	if err != nil || len(f.Notes) != 2 {
		t.Errorf("the file holds %v, %v", f, err)
	}
}
