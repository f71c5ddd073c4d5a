package netlists_test

import (
	"math"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/heat"
	"legtrace/netlists"
)

// warmed follows a machine of the catalog, its room at 21.1 C unless start says
// otherwise.
func warmed(t *testing.T, machine, mode string, q heat.Question, faults ...string) (*heat.Compare, *circuit.Circuit) {
	t.Helper()
	c, err := netlists.Open(machine)
	if err != nil {
		t.Fatal(err)
	}
	m, err := heat.New(c)
	if err != nil {
		t.Fatal(err)
	}
	if q.Mode, err = c.FindMode(mode); err != nil {
		t.Fatal(err)
	}
	q.Faults = append(q.Faults, circuittest.Faults(t, c, faults...)...)
	if q.Room == 0 {
		q.Room = circuit.RoomCelsius
	}
	if q.Minutes == 0 {
		q.Minutes = 180
	}
	both, err := m.Compare(q)
	if err != nil {
		t.Fatal(err)
	}
	return both, c
}

func body(t *testing.T, c *circuit.Circuit, name string) circuit.BodyID {
	t.Helper()
	id, err := c.FindBody(name)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// A sound machine comes to temperature within the time that its owner is used
// to, holds it, heats for part of the time, and opens no limit in any mode that
// a person can select. The intervals are wide: common practice, no source.
func TestASoundMachineComesToTemperature(t *testing.T) {
	for _, x := range []struct {
		machine, mode, body string
		least, most         float64 // minutes
		load                string
		lean, rich          float64 // share of full power
	}{
		{"range-electronic", "bake", "oven", 7, 20, "bake_element", 0.15, 0.45},
		{"range-slide-in", "bake", "oven", 7, 20, "bake_element", 0.15, 0.45},
		{"range-smooth-top", "bake", "oven", 7, 20, "bake_element", 0.15, 0.45},
		{"range-mechanical", "bake", "oven", 7, 20, "bake_element", 0.15, 0.45},
		{"range-apartment", "bake", "oven", 10, 30, "bake_element", 0.15, 0.5},
		{"oven-double", "lower_bake", "lower_oven", 7, 20, "lower_bake", 0.15, 0.45},
		{"oven-230", "fan_oven", "oven", 7, 20, "ring_element", 0.15, 0.45},
		{"dryer", "timed_dry", "drum_air", 4, 20, "heater", 0.3, 0.9},
		{"dryer-electronic", "dry", "drum_air", 4, 20, "heater", 0.3, 0.9},
		{"oven-three-phase", "cook", "oven", 5, 20, "element_a", 0.08, 0.4},
		{"water-heater", "cold_tank", "top", 20, 60, "upper_element", 0, 0},
		{"baseboard-heater", "heat", "room", 0, 1, "first_element", 0, 0.1},
		{"range-smooth-top", "lf_hot", "lf_glass", 3, 15, "lf_element", 0.4, 0.95},
	} {
		both, c := warmed(t, x.machine, x.mode, heat.Question{})
		at := both.Sound.Bodies[body(t, c, x.body)]
		if x.most > 1 && !(at.Reached >= x.least && at.Reached <= x.most) {
			t.Errorf("%s in %s: %s is at %.0f C after %.1f minutes, expected %g to %g", x.machine, x.mode, x.body, at.Target, at.Reached, x.least, x.most)
		}
		load, err := c.FindLoad(x.load)
		if err != nil {
			t.Fatal(err)
		}
		if on := both.Sound.On[load]; !(on >= x.lean && on <= x.rich) {
			t.Errorf("%s in %s: %s heats for %.2f of the time, expected %g to %g", x.machine, x.mode, c.Label(load), on, x.lean, x.rich)
		}
	}
}

func TestNoLimitOpensInASoundMachine(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := heat.New(c)
		if entry.Name == "oven-gas" {
			continue // its heat is the burners', and the netlist stops at the gas
		}
		if err != nil {
			t.Errorf("%s: %v", entry.Name, err)
			continue
		}
		for _, mode := range c.Modes() {
			if mode.Reached != circuit.ByHand || mode.Brief || testing.Short() && mode.ID%3 != 1 {
				continue
			}
			r, err := m.Run(heat.Question{Mode: mode.ID, Room: circuit.RoomCelsius, Minutes: 120})
			if err != nil {
				t.Fatalf("%s in %s: %v", entry.Name, mode.Name, err)
			}
			for _, e := range r.Events {
				if k := c.Part(e.Part).Kind; e.Acts && (k == circuit.KindLimit || k == circuit.KindThermalFuse) {
					t.Errorf("%s in %s: %s opens after %.0f minutes, at %.0f C, with nothing broken", entry.Name, mode.Name, c.Part(e.Part).Label, e.Minutes, e.Celsius)
				}
			}
		}
	}
}

// What owners report is mostly heat and time (common practice, no source for
// each): what a fault does to both.
func TestWhatFaultsDoToWarmth(t *testing.T) {
	t.Run("bake dead: broil alone heats, bake never gets there", func(t *testing.T) {
		both, c := warmed(t, "range-electronic", "bake", heat.Question{}, "bake_element:open")
		if s := both.Slower(body(t, c, "oven")); !math.IsInf(s, 1) {
			t.Errorf("%.1f times as long", s)
		}
	})
	t.Run("a burner that stays on: its own limiter works it, the oven bakes as ever", func(t *testing.T) {
		both, c := warmed(t, "range-smooth-top", "bake", heat.Question{}, "lf_switch.L1-H1:welded", "lf_switch.L2-H2:welded")
		if s, off := both.Slower(body(t, c, "oven")), both.Off(body(t, c, "oven")); s > 1.05 || math.Abs(off) > 2 {
			t.Errorf("the oven takes %.2f times as long and settles %.1f K off", s, off)
		}
		if glass := &both.Now.Bodies[body(t, c, "lf_glass")]; glass.High > 540 || glass.Low < 470 {
			t.Errorf("the glass goes from %.0f to %.0f C, expected its limiter's 490 and 530", glass.Low, glass.High)
		}
	})
	t.Run("208 V where 240 is due: a third slower and more", func(t *testing.T) {
		both, c := warmed(t, "range-electronic", "bake", heat.Question{}, "supply:drifted=0.8667")
		if s := both.Slower(body(t, c, "oven")); !(s > 1.25 && s < 1.7) {
			t.Errorf("%.2f times as long", s)
		}
	})
	t.Run("a sensor 4 % high: some 30 F cool", func(t *testing.T) {
		both, c := warmed(t, "range-electronic", "bake", heat.Question{}, "oven_sensor:drifted=1.04")
		if off := both.Off(body(t, c, "oven")) * 1.8; !(off < -25 && off > -40) {
			t.Errorf("%.0f F off", off)
		}
	})
	t.Run("a cooling fan not driven: the limit opens at high heat, not at 350 F", func(t *testing.T) {
		high, c := warmed(t, "oven-double", "upper_bake", heat.Question{Dial: 288}, "fan_relay:open")
		limit, _ := c.FindPart("upper_limit")
		if at := high.Now.Acted(limit); !(at > 5 && at < 120) || !math.IsNaN(high.Sound.Acted(limit)) {
			t.Errorf("the limit opens after %.0f minutes, with the fan after %.0f", at, high.Sound.Acted(limit))
		}
		low, _ := warmed(t, "oven-double", "upper_bake", heat.Question{}, "fan_relay:open")
		if at := low.Now.Acted(limit); !math.IsNaN(at) {
			t.Errorf("at 350 F it opens after %.0f minutes", at)
		}
	})
	t.Run("lint: the high limit cycles, drying takes longer", func(t *testing.T) {
		c, err := netlists.Open("dryer")
		if err != nil {
			t.Fatal(err)
		}
		motor, _ := c.FindLoad("motor")
		both, c := warmed(t, "dryer", "timed_dry", heat.Question{Air: map[circuit.BranchID]float64{motor: 0.3}})
		limit, _ := c.FindPart("high_limit")
		if at := both.Now.Acted(limit); !(at < 5) {
			t.Errorf("the limit opens after %.1f minutes", at)
		}
		if s := both.Slower(body(t, c, "drum_air")); !(s > 1.5) {
			t.Errorf("%.1f times as long", s)
		}
	})
	t.Run("one leg of three lost: half the power, twice as slow", func(t *testing.T) {
		both, c := warmed(t, "oven-three-phase", "cook", heat.Question{}, "supply.L3:open")
		if s := both.Slower(body(t, c, "oven")); !(s > 1.8 && s < 2.6) {
			t.Errorf("%.1f times as long", s)
		}
	})
	t.Run("an exhaust sensor of 20 kilohms: the heat does not stop", func(t *testing.T) {
		both, c := warmed(t, "dryer-electronic", "dry", heat.Question{}, "exhaust_sensor:drifted=2")
		heater, _ := c.FindLoad("heater")
		if on, sound := both.Now.On[heater], both.Sound.On[heater]; on < 0.95 || sound > 0.9 {
			t.Errorf("on for %.2f of the time, sound %.2f", on, sound)
		}
	})
	t.Run("one kiln element of six dead: the top of the firing is out of reach", func(t *testing.T) {
		both, c := warmed(t, "kiln", "firing", heat.Question{Minutes: 900}, "top_1:open")
		chamber := body(t, c, "chamber")
		const cone6 = 1222 // C, large cone at 60 C an hour, common practice, no source
		if sound, now := both.Sound.Bodies[chamber].Peak, both.Now.Bodies[chamber].Peak; sound < cone6 || now > cone6 {
			t.Errorf("%.0f C, sound %.0f C", now, sound)
		}
	})
	t.Run("a seized motor: its protector opens within minutes and comes back, again and again", func(t *testing.T) {
		both, c := warmed(t, "dryer", "start", heat.Question{Minutes: 60}, "motor.main:seized")
		protector, _ := c.FindPart("motor_protector")
		if at := both.Now.Acted(protector); !(at > 0.2 && at < 5) || !math.IsNaN(both.Sound.Acted(protector)) {
			t.Errorf("it opens after %.1f minutes, sound %.1f", at, both.Sound.Acted(protector))
		}
		back := 0
		for _, e := range both.Now.Events {
			if e.Part == protector && !e.Acts {
				back++
			}
		}
		if back < 1 {
			t.Error("it never comes back")
		}
	})
	t.Run("a welded cycling thermostat: the drum runs hot", func(t *testing.T) {
		both, c := warmed(t, "dryer", "timed_dry", heat.Question{}, "cycling_thermostat:welded")
		if off := both.Off(body(t, c, "drum_air")); !(off > 10) {
			t.Errorf("%.0f C off", off)
		}
	})
	t.Run("a dead bias heater: delicate is as hot as cottons, and those as ever", func(t *testing.T) {
		for mode, least := range map[string]float64{"delicate": 12, "timed_dry": 0} {
			both, c := warmed(t, "dryer", mode, heat.Question{}, "bias_heater:open")
			if off := both.Off(body(t, c, "drum_air")); !(off >= least && off < least+10) {
				t.Errorf("%s: %.0f C off", mode, off)
			}
		}
	})
	t.Run("lower element dead: the top is hot as ever, the rest stays cold", func(t *testing.T) {
		both, c := warmed(t, "water-heater", "cold_tank", heat.Question{Room: 10, Minutes: 300}, "lower_element:open")
		if s := both.Slower(body(t, c, "top")); math.Abs(s-1) > 0.01 {
			t.Errorf("the top takes %.2f times as long", s)
		}
		if s := both.Slower(body(t, c, "bottom")); !math.IsInf(s, 1) {
			t.Errorf("the bottom takes %.2f times as long", s)
		}
	})
	t.Run("a burner that does not cycle: full heat at a low setting", func(t *testing.T) {
		both, c := warmed(t, "range-electronic", "lf_low", heat.Question{Minutes: 30}, "lf_switch.L1-H1:welded")
		load, _ := c.FindLoad("lf_element")
		if on, sound := both.Now.On[load], both.Sound.On[load]; on < 0.97 || math.Abs(sound-0.3) > 0.03 {
			t.Errorf("on for %.2f of the time, sound %.2f", on, sound)
		}
	})
	t.Run("a bake relay welded: the oven heats in Off, unless the second relay breaks its other leg", func(t *testing.T) {
		hot, c := warmed(t, "range-electronic-one-leg", "off", heat.Question{}, "bake_relay.contact:welded")
		if peak := hot.Now.Bodies[body(t, c, "oven")].Peak; peak < 150 {
			t.Errorf("one leg switched: %.0f C", peak)
		}
		cold, c := warmed(t, "range-electronic", "off", heat.Question{}, "bake_relay.contact:welded")
		if peak := cold.Now.Bodies[body(t, c, "oven")].Peak; peak > 30 {
			t.Errorf("both legs switched: %.0f C", peak)
		}
	})
}

// First hot water and recovery of a 50 gallon tank from 50 F: the top, some 17
// gallons at 20.5 gallons an hour by 90 F, is at 110 F after 17/20.5 * 60/90 of
// an hour, 33 minutes; all 50 at 120 F after 50/20.5 * 70/90, 114 minutes
// (energy balance, losses left out).
func TestFirstHotWaterAndRecovery(t *testing.T) {
	both, c := warmed(t, "water-heater", "cold_tank", heat.Question{Room: 10, Minutes: 240})
	if first := both.Sound.Above(body(t, c, "top"), (110-32)/1.8); math.Abs(first-33) > 2 {
		t.Errorf("first hot water after %.1f minutes, expected 33", first)
	}
	if all := both.Sound.Bodies[body(t, c, "bottom")].Reached; math.Abs(all-114) > 5 {
		t.Errorf("the whole tank after %.0f minutes, expected 114", all)
	}
}
