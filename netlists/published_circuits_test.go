package netlists_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

const kuphaldt = "T. R. Kuphaldt, Lessons in Electric Circuits, "

// publishedCircuits lists the circuits with the statements that the engine is
// held to. What a text leaves open, such as ratings, is ours.
var publishedCircuits = []publishedCircuit{
	{"navy-oven", "NAVEDTRA 14026, Construction Electrician Basic (1998)", "chapter 7, oven-heating elements, figure 7-6", "", []statement{
		{"an element reads somewhat less than 100 ohms", func(a *asked) string {
			return a.reads("off", "", "lower.1", "lower.2", 1, 100) + a.reads("off", "", "upper.1", "upper.2", 1, 100)
		}, ""},
		{"an element that has opened shows as open on the ohmmeter", func(a *asked) string {
			return a.reads("off", "lower:open", "lower.1", "lower.2", math.Inf(1), 0)
		}, ""},
		{"across the terminals of a switch that is off stands full line voltage, 240 V", func(a *asked) string {
			return is("the reading", a.volts("off", "", "oven_switch.L1", "oven_switch.B"), 240, 0.1)
		}, "agrees, so long as the rest of the circuit is whole: behind an open element the reading floats"},
		{"across the terminals of a switch that is on the reading is zero", func(a *asked) string {
			return is("the reading", a.volts("bake", "", "oven_switch.L1", "oven_switch.B"), 0, 0.01)
		}, ""},
		{"any voltage across a closed switch is a fault", func(a *asked) string {
			if v := a.volts("bake", "oven_switch.L1-B:high=2", "oven_switch.L1", "oven_switch.B"); v < 10 {
				return fmt.Sprintf("2 ohms in the closed switch show %.3g V", v)
			}
			return is("across the open contact", a.volts("bake", "oven_switch.L1-B:open", "oven_switch.L1", "oven_switch.B"), 240, 0.1)
		}, ""},
		{"the elements work off the thermostat and the timing device", func(a *asked) string {
			return a.starves("bake", "lower", "thermostat timer oven_switch lower supply.L1 supply.L2", "upper") +
				a.starves("broil", "upper", "thermostat timer oven_switch upper", "lower")
		}, ""},
		{"the timing device shuts the oven off", func(a *asked) string { return a.works("timed_out", "", "", "lower upper") }, ""},
		{"fed from one leg by the switch, from the other by timer and thermostat", func(a *asked) string {
			return a.path("bake", "lower", 0, "supply.L1 oven_switch.L1-B") + a.path("bake", "lower", 1, "supply.L2 timer thermostat")
		}, "agrees; the figure was not at hand: the order is as the text tells it"},
		{"first the voltage at the unit, then each element and control", func(a *asked) string {
			if test := a.first("bake", "lower"); !strings.HasPrefix(test, "dead lower.1 lower.2") {
				return "the first test with a meter is " + test
			}
			return ""
		}, "differs, and both are right: legtrace tries the other setting, then asks for the element's ohms with the supply removed; the text's order needs a live meter at once"},
	}},
	{"ladder-lamp", kuphaldt + "volume IV", "chapter 6, \"Ladder\" diagrams, figures 4 and 5", "", []statement{
		{"the switch works the lamp", func(a *asked) string { return a.works("closed", "", "lamp", "") + a.works("open", "", "", "lamp") }, ""},
		{"with wire 1 on ground the lamp is shorted out and gets no power", func(a *asked) string { return a.works("open", "wire_1:grounded", "", "lamp") }, ""},
		{"with wire 1 on ground the fuse blows when the switch closes", func(a *asked) string {
			return a.trips("closed", "wire_1:grounded", "fuse") + a.works("closed", "wire_1:grounded", "", "lamp")
		}, ""},
	}},
	{"ladder-lamp-swapped", kuphaldt + "volume IV", "chapter 6, \"Ladder\" diagrams, figure 6", "", []statement{
		{"with the switch on the grounded side a ground on wire 1 powers the lamp", func(a *asked) string { return a.works("open", "wire_1:grounded", "lamp", "") }, ""},
		{"the switch then has no effect", func(a *asked) string { return a.works("closed", "wire_1:grounded", "lamp", "") }, ""},
		{"no fuse blows", func(a *asked) string { return a.trips("closed", "wire_1:grounded", "") }, ""},
	}},
	{"ladder-logic", kuphaldt + "volume IV", "chapter 6, Digital logic functions", "", []statement{
		{"parallel contacts are OR: either lights the lamp", truth("or_lamp", "0111"), ""},
		{"series contacts are AND: both are needed", truth("and_lamp", "0001"), ""},
		{"a normally closed contact is NOT", truth("not_lamp", "1010"), ""},
		{"normally closed contacts in parallel are NAND", truth("nand_lamp", "1110"), ""},
		{"normally closed contacts in series are NOR", truth("nor_lamp", "1000"), ""},
		{"not A and B, or A and not B, is exclusive OR", truth("xor_lamp", "0110"), ""},
		{"a relay's normally closed contact inverts", truth("inv_lamp", "1010"), ""},
		{"of contacts in parallel no one alone cuts the lamp off; in series each does", func(a *asked) string {
			return a.starves("both", "or_lamp", "or_lamp", "A B") + a.starves("both", "and_lamp", "A B and_lamp", "")
		}, ""},
	}},
	{"burner-permissive", kuphaldt + "volume IV", "chapter 6, Permissive and interlock circuits, figure 1", "", []statement{
		{"with all conditions met the relay energizes and the green lamp is lit", func(a *asked) string { return a.works("all_met", "", "CR1.coil green", "red") }, ""},
		{"any one condition not met: the relay drops out and the red lamp lights", func(a *asked) string {
			var out string
			for _, mode := range []string{"pressure_low", "pressure_high", "no_air", "damper_shut", "door_open"} {
				out += a.works(mode, "", "red", "CR1.coil green")
			}
			return out
		}, "agrees, the text's CR2 in this sentence read as its CR1: one relay works both lamps"},
		{"an open in any permissive contact breaks the string", func(a *asked) string {
			return a.starves("all_met", "green", "low_pressure high_pressure air_flow damper door CR1 CR1.coil", "red")
		}, ""},
	}},
	{"reversing-starter", kuphaldt + "volume IV", "chapter 6, Permissive and interlock circuits, and Motor control circuits", "", []statement{
		{"Forward energizes M1", func(a *asked) string {
			return a.works("forward_held", "", "M1.coil runs_forward", "M2.coil runs_reverse")
		}, ""},
		{"the seal-in contact keeps it on when the button is released", func(a *asked) string {
			return a.works("forward", "", "M1.coil runs_forward", "runs_reverse") + a.works("reverse", "", "M2.coil runs_reverse", "runs_forward")
		}, ""},
		{"without the seal-in contact it runs only while the button is held", func(a *asked) string {
			return a.works("forward_held", "M1.seal:open", "runs_forward", "") + a.works("forward", "M1.seal:open", "", "runs_forward")
		}, ""},
		{"with M1 energized Reverse does nothing", func(a *asked) string {
			return a.works("reverse_pressed_too", "", "M1.coil runs_forward", "M2.coil runs_reverse")
		}, ""},
		{"without the interlock both buttons energize both contactors", func(a *asked) string {
			return a.works("reverse_pressed_too", "M1.lock:welded M2.lock:welded", "M1.coil M2.coil", "")
		}, ""},
		{"Stop unlatches, and it stays off when Stop is released", func(a *asked) string {
			return a.works("stop_held", "", "", "M1.coil runs_forward") + a.works("stop_released", "", "", "M1.coil M2.coil runs_forward runs_reverse")
		}, ""},
		{"an open overload contact keeps either contactor from energizing", func(a *asked) string { return a.works("overloaded", "", "", "M1.coil M2.coil") }, ""},
		{"stop, overload and the other's interlock contact are each in M1's way", func(a *asked) string {
			return a.starves("forward", "runs_forward", "stop overload M2.lock M1.seal M1.coil M1.main", "reverse M1.lock M2.seal")
		}, ""},
	}},
	{"fire-alarm", kuphaldt + "volume IV", "chapter 6, Fail-safe design, figures 1 and 2", "", []statement{
		{"any one switch energizes the siren", func(a *asked) string {
			return a.works("one", "", "siren", "") + a.works("two", "", "siren", "") + a.works("quiet", "", "", "siren")
		}, ""},
		{"with the wire of switch 2 open that switch energizes it no more", func(a *asked) string { return a.works("two", "b2:open", "", "siren") }, ""},
		{"the others still do", func(a *asked) string { return a.works("one", "b2:open", "siren", "") }, ""},
		{"and nobody knows until it is needed", func(a *asked) string { return a.works("quiet", "b2:open", "", "siren") }, ""},
	}},
	{"fire-alarm-fail-safe", kuphaldt + "volume IV", "chapter 6, Fail-safe design, figure 3", "", []statement{
		{"at rest the relay is energized and the siren silent", func(a *asked) string { return a.works("quiet", "", "CR1.coil", "siren") }, ""},
		{"a switch actuated drops the relay out and sounds the siren", func(a *asked) string { return a.works("two", "", "siren", "CR1.coil") }, ""},
		{"a break anywhere in the top rung sounds it", func(a *asked) string {
			var out string
			for _, f := range []string{"top_1", "top_2", "top_3", "top_4", "top_5", "top_6", "CR1.coil", "switch_1", "switch_2", "switch_3", "switch_4"} {
				out += a.works("quiet", f+":open", "siren", "")
			}
			return out
		}, ""},
		{"a break in the bottom rung leaves it silent when needed", func(a *asked) string {
			return a.works("two", "bottom_2:open", "", "siren") + a.starves("two", "siren", "bottom_1 bottom_2 bottom_3 CR1 siren", "top_1 switch_1")
		}, ""},
	}},
	{"series-resistors", kuphaldt + "volume I", "chapter 5, Component failure analysis, figures 1 to 3", "resistances of R1 and R3", []statement{
		{"20 mA flow", func(a *asked) string { return is("the current", a.amps("on", "", "w1"), 0.020, 1e-4) }, ""},
		{"R2 shorted: 60 mA", func(a *asked) string { return is("the current", a.amps("on", "R2:short", "w1"), 0.060, 1e-4) }, ""},
		{"R2 shorted: R1 and R3 drop the whole 9 V, R2 none", func(a *asked) string {
			return is("R1 and R3", a.volts("on", "R2:short", "R1.1", "R1.2")+a.volts("on", "R2:short", "R3.1", "R3.2"), 9, 1e-6) +
				is("R2", a.volts("on", "R2:short", "R2.1", "R2.2"), 0, 1e-6)
		}, ""},
		{"R2 open: no current, no drop on R1 and R3", func(a *asked) string {
			return is("the current", a.amps("on", "R2:open", "w1"), 0, 1e-9) + is("R1", a.volts("on", "R2:open", "R1.1", "R1.2"), 0, 1e-6) +
				is("R3", a.volts("on", "R2:open", "R3.1", "R3.2"), 0, 1e-6)
		}, ""},
		{"R2 open: the full supply stands across it", func(a *asked) string { return is("R2", a.volts("on", "R2:open", "R2.1", "R2.2"), 9, 1e-6) }, ""},
	}},
	{"parallel-resistors", kuphaldt + "volume I", "chapter 5, Component failure analysis, figures 4 to 8", "resistances", []statement{
		{"R2 open: voltage and current of the others stay", func(a *asked) string {
			return is("R1", a.volts("on", "R2:open", "R1.1", "R1.2"), 9, 0.05) + is("R1's current", a.amps("on", "R2:open", "R1"), a.amps("on", "", "R1"), 0.001) +
				is("R3's current", a.amps("on", "R2:open", "R3"), a.amps("on", "", "R3"), 0.001)
		}, ""},
		{"R2 open: only its own current and the total change", func(a *asked) string {
			return is("the total", a.amps("on", "R2:open", "supply.L1"), a.amps("on", "", "supply.L1")-a.amps("on", "", "R2"), 0.002) +
				is("R2's", a.amps("on", "R2:open", "R2"), 0, 1e-9)
		}, ""},
		{"R2 shorted: a real source leaves almost no voltage for the others", func(a *asked) string {
			return is("R1", a.volts("on", "R2:short", "R1.1", "R1.2"), 0, 0.01)
		}, ""},
	}},
	{"split-phase-loads", kuphaldt + "volume II", "chapter 10, Single-phase power systems, figure of the neutral conductor", "", []statement{
		{"each load takes 83.33 A", func(a *asked) string {
			return is("load 1", a.amps("on", "", "load_1"), 83.33, 0.01) + is("load 2", a.amps("on", "", "load_2"), 83.33, 0.01)
		}, ""},
		{"the neutral of equal loads carries nothing", func(a *asked) string { return is("the neutral", a.amps("on", "", "n"), 0, 1e-6) }, ""},
		{"240 V between the hot wires, 120 V on each load", func(a *asked) string {
			return is("hot to hot", a.volts("on", "", "supply.L1", "supply.L2"), 240, 1e-6) + is("load 1", a.volts("on", "", "load_1.1", "load_1.2"), 120, 1e-6)
		}, ""},
		{"the neutral carries the difference: all of it when one load is open", func(a *asked) string {
			return is("the neutral", a.amps("on", "load_2:open", "n"), 83.33, 0.01)
		}, ""},
		{"with the neutral each load is driven by itself", func(a *asked) string { return a.works("on", "load_2:open", "load_1", "") }, ""},
		{"without the neutral one load open stops the other", func(a *asked) string { return a.works("on", "n:open load_2:open", "", "load_1") }, ""},
		{"without the neutral equal loads in series keep 120 V", func(a *asked) string {
			return is("load 1", a.volts("on", "n:open", "load_1.1", "load_1.2"), 120, 1e-6)
		}, ""},
	}},
	{"open-neutral", "Open neutral, lecture slides on a multiwire branch circuit (public, no author)", "the case of 100 W and 200 W", "", []statement{
		{"100 W takes 0.8333 A, 200 W takes 1.6667 A", func(a *asked) string {
			return is("100 W", a.amps("on", "", "lamp_100"), 0.8333, 1e-4) + is("200 W", a.amps("on", "", "lamp_200"), 1.6667, 1e-4)
		}, ""},
		{"they are 144 and 72 ohms", func(a *asked) string {
			return is("100 W", a.volts("on", "", "lamp_100.1", "lamp_100.2")/a.amps("on", "", "lamp_100"), 144, 1e-3) +
				is("200 W", a.volts("on", "", "lamp_200.1", "lamp_200.2")/a.amps("on", "", "lamp_200"), 72, 1e-3)
		}, ""},
		{"neutral open: 216 ohms on 240 V, 1.111 A", func(a *asked) string { return is("the current", a.amps("on", "neutral:open", "w1"), 1.1111, 1e-4) }, "agrees; the slides' end was not at hand: by their ohms"},
		{"neutral open: 160 V on the 100 W, 80 V on the 200 W", func(a *asked) string {
			return is("100 W", a.volts("on", "neutral:open", "lamp_100.1", "lamp_100.2"), 160, 0.01) +
				is("200 W", a.volts("on", "neutral:open", "lamp_200.1", "lamp_200.2"), 80, 0.01)
		}, "agrees; the slides' end was not at hand: by their ohms"},
	}},
	{"motor-timer", "Shorted motor protection circuit, a text on fast reactor safety", "figures 1.24 and 1.25", "title of the book: J. Graham, Fast Reactor Safety (1971)", []statement{
		{"the switch closed: timer, relay, motor", func(a *asked) string { return a.works("running", "", "motor timer.coil relay.coil", "") }, ""},
		{"the switch opened: the reverse", func(a *asked) string { return a.works("off", "", "", "motor timer.coil relay.coil") }, ""},
		{"a motor that shorts while the relay is closed: the fuse opens", func(a *asked) string { return a.trips("running", "motor:short", "fuse") }, ""},
		{"a switch that is not opened: the timer takes the power off", func(a *asked) string { return a.works("left_on", "", "", "motor relay.coil") }, ""},
		{"the wire overheats only with motor short, fuse closed, and relay stuck", func(a *asked) string {
			return a.minimal("off", "ab", 100, "motor:short", "fuse:welded", "relay.contact:welded")
		}, ""},
		{"or with motor short, fuse closed, timer failed and switch failed", func(a *asked) string {
			return a.minimal("off", "ab", 100, "motor:short", "fuse:welded", "switch:welded", "late.contact:welded")
		}, ""},
	}},
	{"pressure-tank", "NUREG-0492, Fault Tree Handbook (1981)", "chapter VIII, the pressure tank", "the circuit and its sets", []statement{
		{"K2's contacts staying closed keep the pump on by themselves", func(a *asked) string { return a.keepsOn("full", "pump", 1, "K2") }, ""},
		{"the minimal sets of two are S with S1, K1 or R", func(a *asked) string {
			return a.keepsOn("full", "pump", 2, "K2", "S + S1", "K1 + S", "R + S")
		}, ""},
	}},
	{"baseboard-thermostats", "Basic HVAC (BCIT, open textbook, 2021)", "sections 8 and 11", "", []statement{
		{"3000 W at 240 V take 12.5 A", func(a *asked) string { return is("the current", a.amps("heating", "", "room"), 12.5, 1e-6) }, ""},
		{"2880 W at 240 V take 12 A", func(a *asked) string { return is("the current", a.amps("heating", "", "hall"), 12, 1e-6) }, ""},
		{"a thermostat of two poles opens all ungrounded conductors: Off is off", func(a *asked) string {
			return is("end 1", a.volts("off", "", "room.1", "chassis"), 0, 1e-6) + is("end 2", a.volts("off", "", "room.2", "chassis"), 0, 1e-6)
		}, ""},
		{"a thermostat of one pole does not: the heater stays live", func(a *asked) string {
			return a.works("off", "", "", "hall") + is("end 1", a.volts("off", "", "hall.1", "chassis"), 120, 1e-6) + is("end 2", a.volts("off", "", "hall.2", "chassis"), 120, 1e-6)
		}, ""},
		{"a thermostat is no disconnect: its line side stays live", func(a *asked) string {
			return is("line side", a.volts("off", "", "double.a.1", "chassis"), 120, 1e-6)
		}, ""},
	}},
	{"lamp-troubleshooting", "T. R. Kuphaldt, Socratic worksheets (open)", "Basic circuit troubleshooting, lamp with test points A to J", "", []statement{
		{"full voltage from any point of the upper wire to any of the lower", func(a *asked) string { return a.pairs("ABCDE", "FGHIJ", 12) }, ""},
		{"none between points of the same wire", func(a *asked) string { return a.pairs("ABCDE", "ABCDE", 0) + a.pairs("FGHIJ", "FGHIJ", 0) }, ""},
		{"voltage from C to H: the break lies on the lamp's side; none: on the battery's", func(a *asked) string {
			return is("lamp open", a.volts("on", "lamp:open", "upper.ab.out", "lower.fg.out"), 12, 1e-6) +
				is("wire from C on open", a.volts("on", "w2:open", "upper.ab.out", "lower.fg.out"), 12, 1e-6) +
				is("wire from A open", a.volts("on", "w1:open", "upper.ab.out", "lower.fg.out"), 0, 1e-6) +
				is("wire to F open", a.volts("on", "w6:open", "upper.ab.out", "lower.fg.out"), 0, 1e-6)
		}, ""},
		{"halve the circuit first, from C to H", func(a *asked) string {
			if test := a.first("on", "lamp"); !strings.Contains(test, "lamp.1") {
				return "the first test is " + test
			}
			return ""
		}, "differs, and both are right: halves count breaks as equally likely; legtrace weighs the lamp, which fails most, and tests at it first"},
	}},
	{"two-element-heater", "Troubleshooting an electric water heater, Plumbing & Mechanical (trade magazine)", "the operation and the checklist", "", []statement{
		{"a tank of cold water: the upper element heats first", func(a *asked) string { return a.works("cold", "", "upper", "lower") }, ""},
		{"the upper thermostat satisfied: the lower element heats", func(a *asked) string { return a.works("upper_satisfied", "", "lower", "upper") }, ""},
		{"both satisfied: neither", func(a *asked) string { return a.works("hot", "", "", "upper lower") }, ""},
		{"the lower element hangs on both thermostats, the upper on its own", func(a *asked) string {
			return a.starves("upper_satisfied", "lower", "upper_thermostat lower_thermostat limit breaker lower", "upper") +
				a.starves("cold", "upper", "upper_thermostat limit breaker upper", "lower_thermostat lower")
		}, ""},
		{"both at once would trip the 30 A breaker", func(a *asked) string {
			return is("the breaker", a.amps("cold", "upper_thermostat.no:welded", "breaker.L1"), 37.5, 0.01)
		}, "differs; the text is right after some minutes: legtrace shows 37.5 A and does not open a breaker below five times its rating, a stated limit"},
	}},
	{"catalog:water-heater", "Troubleshooting an electric water heater, Plumbing & Mechanical (trade magazine)", "asked of the catalog's water heater", "", []statement{
		{"cold: the upper element heats first", func(a *asked) string { return a.works("cold_tank", "", "upper_element", "lower_element") }, ""},
		{"the upper satisfied: power goes to the lower", func(a *asked) string { return a.works("top_hot", "", "lower_element", "upper_element") }, ""},
		{"the lower element hangs on both thermostats", func(a *asked) string {
			return a.starves("top_hot", "lower_element", "upper_thermostat lower_thermostat limit breaker lower_element", "upper_element")
		}, ""},
	}},
	{"catalog:range-mechanical", "NAVEDTRA 14026, Construction Electrician Basic (1998)", "chapter 7, asked of the catalog's range", "", []statement{
		{"an element reads somewhat less than 100 ohms", func(a *asked) string {
			return a.reads("off", "", "bake_element.1", "bake_element.2", 1, 100) + a.reads("off", "", "broil_element.1", "broil_element.2", 1, 100)
		}, ""},
		{"an open element shows as open", func(a *asked) string {
			return a.reads("off", "bake_element:open", "bake_element.1", "bake_element.2", math.Inf(1), 0)
		}, ""},
		{"the elements work off the thermostat", func(a *asked) string {
			return a.starves("bake", "bake_element", "oven_thermostat oven_selector bake_element", "broil_element") +
				a.starves("broil", "broil_element", "oven_thermostat oven_selector broil_element", "bake_element")
		}, ""},
		{"across a thermostat pole that is closed the reading is zero", func(a *asked) string {
			return is("the reading", a.volts("bake", "", "oven_thermostat.L1.1", "oven_thermostat.L1.2"), 0, 0.01)
		}, ""},
	}},
}

// truth compares a lamp with its truth table: neither, A, B, both.
func truth(lamp, table string) func(*asked) string {
	return func(a *asked) string {
		for i, mode := range []string{"neither", "a", "b", "both"} {
			on, not := lamp, ""
			if table[i] == '0' {
				on, not = "", lamp
			}
			if against := a.works(mode, "", on, not); against != "" {
				return against
			}
		}
		return ""
	}
}

// trips compares what opens of the protection: the part named, or nothing.
func (a *asked) trips(mode, faults, part string) string {
	var got []string
	for _, id := range a.settle(mode, faults).Tripped {
		got = append(got, a.c.Part(a.c.Branch(id).Part).Name)
	}
	if part == "" && len(got) == 0 || part != "" && slices.Contains(got, part) {
		return ""
	}
	return fmt.Sprintf("%q open, not %q", got, part)
}

// minimal holds that a branch carries more than some amps with all of the
// faults, and does not with any one of them left out.
func (a *asked) minimal(mode, branch string, amps float64, faults ...string) string {
	if got := a.amps(mode, strings.Join(faults, " "), branch); got < amps {
		return fmt.Sprintf("with all of them %.3g A flow", got)
	}
	for i := range faults {
		rest := slices.Delete(slices.Clone(faults), i, i+1)
		if got := a.amps(mode, strings.Join(rest, " "), branch); got >= amps {
			return fmt.Sprintf("without %s %.3g A flow as well", faults[i], got)
		}
	}
	return ""
}

// pairs compares the voltage between every test point of one list and every one
// of another.
func (a *asked) pairs(from, to string, volts float64) string {
	at := map[string]string{}
	for _, p := range a.c.Points() {
		at[p.Name] = a.c.Terminal(p.Terminal).Ref
	}
	for _, p := range strings.Split(from, "") {
		for _, q := range strings.Split(to, "") {
			if against := is(p+" to "+q, a.volts("on", "", at[p], at[q]), volts, 1e-6); p != q && against != "" {
				return against
			}
		}
	}
	return ""
}
