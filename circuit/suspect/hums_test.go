package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

// Locked-rotor currents of single-phase motors of 1/2, 3/4, 1, 1 1/2 and 2 hp at
// 115 V, NFPA 70 (National Electrical Code), 2008, Table 430.251(A), beside their
// full-load currents, the same code, 1999, Table 430-148: within what is taken of a
// motor that hums.
func TestLockedRotorCurrent(t *testing.T) {
	for _, x := range []struct{ full, locked float64 }{{9.8, 58.8}, {13.8, 82.8}, {16, 96}, {20, 120}, {24, 144}} {
		if times := x.locked / x.full; times < settle.LockedLeast || times > settle.LockedMost+1e-9 {
			t.Errorf("%g A running, %g A locked: %.1f times", x.full, x.locked, times)
		}
	}
}

// A clamp around the motor's wire while the start button is held tells a motor that
// hums from one that turns and from one that gets nothing.
func TestAClampTellsHumFromTurn(t *testing.T) {
	c := machine(t, "dryer")
	clamp := func(amps string) suspect.Note {
		return suspect.Note{Mode: "start", Function: "amps", P: "motor.2", Q: "motor_protector.1", Answer: amps}
	}
	hums := func(amps string) float64 {
		share := 0.0
		for _, s := range engine(t, c, suspect.Options{Order: 1}, suspect.Note{Mode: "start", Load: "motor", State: "dead"}, clamp(amps)).Suspects(2000) {
			for _, it := range []string{"Drive motor", "Centrifugal switch", "w22", "w23"} {
				if strings.Contains(s.Words(), it) {
					share += s.P
					break
				}
			}
		}
		return share
	}
	if p := hums("17"); p < 0.8 {
		t.Errorf("17 A: %.2f for what keeps a motor from turning", p)
	}
	if p := hums("0"); p > 0.1 {
		t.Errorf("no amps: %.2f for what keeps a motor from turning", p)
	}
}

// A fan whose bearings bind hums, and turns once it is pushed: the two fit (common
// practice, no source).
func TestAFanThatBindsTurnsIfPushed(t *testing.T) {
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, suspect.Note{Told: "hums", Load: "cooling_fan"}, suspect.Note{Told: "pushed", Load: "cooling_fan"})
	if s := e.Suspects(1)[0]; s.Words() != "Cooling fan seized" || e.Misfit() != nil {
		t.Errorf("first %s at %.2f, misfit %v", s.Words(), s.P, e.Misfit())
	}
}
