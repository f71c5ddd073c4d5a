//go:build unix

package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Whatever a command is at, an interrupt ends it: within a second on a quiet
// computer; here, beside other work, it must end at all.
func TestAnInterruptEndsEveryCommand(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program often")
	}
	big := filepath.Join(t.TempDir(), "big.toml")
	if err := os.WriteFile(big, []byte(ladder(400)), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"breaks", "--order", "4", "--max-sets", "1000000", "--load", "ea", "--netlist", big},
		{"dictionary", "--netlist", big},
		{"suspects", "--dead", "ea=on", "--order", "3", "--netlist", big},
		{"plan", "--dead", "ea=on", "--netlist", big},
		{"points", "--load", "ea", "--netlist", big},
		{"draw", "--load", "ea", "--netlist", big, "--output", os.DevNull},
		{"page"},
		{"check", "--watch", big},
	} {
		t.Run(args[0], func(t *testing.T) {
			t.Parallel()
			cmd := exec.Command(os.Args[0], args...)
			cmd.Env = append(os.Environ(), asProgram+"=1")
			cmd.Dir = t.TempDir()
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan error, 1)
			go func() { ended <- cmd.Wait() }()
			select {
			case err := <-ended:
				if err != nil {
					t.Errorf("it ended by itself: %v", err)
				}
				return // nothing to interrupt on so fast a computer
			case <-time.After(time.Second):
			}
			if err := cmd.Process.Signal(syscall.SIGINT); err != nil {
				t.Fatal(err)
			}
			began := time.Now()
			select {
			case err := <-ended:
				var exit *exec.ExitError
				if err != nil && (!errors.As(err, &exit) || exit.ExitCode() != exitInterrupted) {
					t.Errorf("it ended with %v", err)
				}
				t.Logf("it took %v", time.Since(began).Round(time.Millisecond))
			case <-time.After(10 * time.Minute):
				cmd.Process.Kill()
				t.Error("it goes on")
			}
		})
	}
}

// ladder is a machine of n elements, each behind a switch of its own on a rail of
// n wires.
func ladder(n int) string {
	var parts, wires, on strings.Builder
	at := "supply.L1"
	for i := range n {
		name := string(rune('a'+i%26)) + strings.Repeat("x", i/26)
		parts.WriteString("s" + name + " = { kind = \"switch\" }\n" + "e" + name + " = { kind = \"element\", volts = 240, watts = 20 }\n")
		wires.WriteString("w" + name + " = { from = \"" + at + "\", to = \"s" + name + ".1\" }\n")
		wires.WriteString("v" + name + " = { from = \"s" + name + ".2\", to = \"e" + name + ".1\" }\n")
		wires.WriteString("u" + name + " = { from = \"e" + name + ".2\", to = \"supply.L2\" }\n")
		on.WriteString("s" + name + " = \"closed\", ")
		at = "s" + name + ".1"
	}
	return "name = \"big\"\n[supply]\nsystem = \"split-phase\"\n[parts]\n" + parts.String() + "[wires]\n" + wires.String() +
		"[modes.off]\n[modes.on]\nset = { " + strings.TrimSuffix(on.String(), ", ") + " }\n" +
		"[points]\np = { at = \"ea.1\" }\nq = { at = \"ea.2\" }\nr = { at = \"eb.1\" }\n"
}
