package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// However a description ends between two lines, every line is in the file, and
// what an editor writes into it meanwhile is taken up.
func TestADescriptionThatIsCutShortHasEveryLine(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.toml")
	for _, c := range []struct {
		line, holds string
		end         os.Signal
		code        int
	}{
		{"bake: element 240V 2600W", "watts = 2600", syscall.SIGINT, exitInterrupted},
		{"supply.L1 bk12 bake", `to = "bake.1"`, os.Kill, -1},
		{"supply.L2 rd12 bake", `to = "bake.2"`, syscall.SIGINT, exitInterrupted},
	} {
		w := converse(t, "describe", file)
		w.until(t, "line")
		w.answer(t, c.line)
		w.until(t, "line")
		if err := w.cmd.Process.Signal(c.end); err != nil {
			t.Fatal(err)
		}
		err := w.cmd.Wait()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != c.code {
			t.Errorf("%s: it ended with %v", c.line, err)
		}
		if text, err := os.ReadFile(file); err != nil || !strings.Contains(string(text), c.holds) {
			t.Errorf("%s: error %v, the file holds\n%s", c.line, err, text)
		}
	}
	w := converse(t, "describe", file)
	w.until(t, "line")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	typed := strings.Replace(string(text), "watts = 2600 }", "watts = 2800 } # off the plate", 1)
	if err := os.WriteFile(file, []byte(typed), 0o666); err != nil {
		t.Fatal(err)
	}
	w.answer(t, "title Oven")
	if said := w.until(t, "line"); !strings.Contains(strings.Join(strings.Fields(said), " "), "was changed meanwhile") {
		t.Errorf("nothing is said of the change:\n%s", said)
	}
	w.answer(t, "undo")
	w.until(t, "line")
	w.answer(t, "quit")
	if err := w.cmd.Wait(); err != nil {
		t.Error(err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != typed {
		t.Errorf("taken back as far as the editor's, error %v:\n%s", err, text)
	}
}
