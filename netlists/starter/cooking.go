package starter

import (
	"fmt"
	"strconv"
)

// feed is what a control is supplied by, at which volts, and where it sits.
type feed struct {
	volts             float64
	line, back, place string
}

// sensor is what a control looks at, and what it must see in some modes.
type sensor struct {
	name, label, place string
	keys               string // in the netlist
	least, most        int    // ohms
	modes              []string
}

// ntc are the keys of a common thermistor.
const ntc = `curve = "ntc", ohms_at = 10000, beta = 3950`

// board describes a control, and the sensor it looks at if there is one.
func (s *draft) board(by feed, in *sensor) {
	keys := fmt.Sprintf("volts = %g, watts = 5", by.volts)
	if in != nil {
		keys += fmt.Sprintf(", senses = [\n{ name = %q, pins = [\"S1\", \"S2\"], min_ohms = %d, max_ohms = %d, modes = %s },\n]", in.name, in.least, in.most, tomlList(in.modes))
	}
	s.part("control", "control", keys, "Control", by.place)
	s.loads = append(s.loads, "control")
	s.wire(by.line, "control.L", colourOf(by.line), 18)
	s.wire(by.back, "control.N", colourOf(by.back), 18)
	points := []string{"control.L", "control.N"}
	if in != nil {
		s.part(in.name, "sensor", in.keys, in.label, in.place)
		s.wire(in.name+".1", "control.S1", "VT", 20)
		s.wire(in.name+".2", "control.S2", "VT", 20)
		points = append(points, "control.S1", "control.S2")
	}
	for _, at := range points {
		s.point(at)
	}
}

// onSmall and onHeaters are a control on a leg and neutral, and one on what the
// heaters are on.
func (s *draft) onSmall(place string) feed { return feed{s.supply.small, s.l1(), s.n(), place} }
func (s *draft) onHeaters(place string) feed {
	return feed{s.supply.volts, s.l1(), s.l2(), place}
}

func (s *draft) relay(name, label, place string) {
	s.part(name, "relay", `driven_by = "control", contact = "no"`, label, place)
}

// lineBreak lists the relay that breaks the other leg, where there is one,
// among those driven.
func (s *draft) lineBreak(relays ...string) string {
	if s.both() {
		relays = append(relays, "line_break_relay")
	}
	return drives(relays...)
}

// small reports whether the supply gives no more than a 120 V outlet.
func (s *draft) small() bool { return s.supply.volts == 120 }

// rated picks a heater's usual watts: on two legs, or on a 120 V outlet.
func (s *draft) rated(usual, small float64) float64 {
	if s.small() {
		return small
	}
	return usual
}

const (
	panel    = "behind the control panel"
	backwall = "behind the back panel"
)

func (s *draft) oven() {
	bake, broil := s.rated(2500, 1100), s.rated(3000, 1200)
	s.section("The oven.")
	s.load("bake_element", "element", s.supply.volts, bake, "Bake element", "oven floor")
	s.load("broil_element", "element", s.supply.volts, broil, "Broil element", "oven ceiling")
	s.part("oven_limit", "limit", "", "Oven high limit", backwall)
	if s.electronic() {
		s.electronicOven(broil)
		return
	}
	chart := `bake = [["L", "1"]], broil = [["L", "2"]]`
	if s.both() {
		chart = `bake = [["L", "1"], ["M", "C"]], broil = [["L", "2"], ["M", "C"]]`
	}
	s.part("oven_thermostat", "thermostat", "", "Oven thermostat", panel)
	s.part("oven_selector", "selector", fmt.Sprintf(`positions = ["off", "bake", "broil"], chart = { %s }`, chart), "Oven selector", panel)
	s.run(broil, s.legA(), "oven_thermostat.1|oven_thermostat.2", "oven_selector.L")
	s.run(broil, "oven_selector.1", "bake_element.1")
	s.run(broil, "oven_selector.2", "broil_element.1")
	if s.both() {
		s.run(broil, s.legB(), "oven_limit.1|oven_limit.2", "oven_selector.M|oven_selector.C", "bake_element.2")
		s.run(broil, "oven_selector.C", "broil_element.2")
	} else {
		s.run(broil, s.legB(), "oven_limit.1|oven_limit.2", "bake_element.2")
		s.run(broil, "oven_limit.2", "broil_element.2")
	}
	s.mode("off", "Off", nil)
	s.mode("bake", "Bake", []string{set("oven_selector", "bake")}, "bake_element")
	s.mode("bake_satisfied", "Bake, oven up to its temperature", []string{set("oven_selector", "bake", "oven_thermostat", "open")})
	s.mode("broil", "Broil", []string{set("oven_selector", "broil")}, "broil_element")
}

func (s *draft) electronicOven(watts float64) {
	s.board(s.onSmall(panel), &sensor{"oven_sensor", "Oven sensor", "oven back wall", `curve = "pt3750", ohms_at = 1000`, 900, 2900, []string{"bake", "broil"}})
	s.relay("bake_relay", "Bake relay", panel)
	s.relay("broil_relay", "Broil relay", panel)
	s.run(watts, s.legA(), "bake_relay.com")
	s.run(watts, s.legA(), "broil_relay.com")
	s.run(watts, "bake_relay.no", "bake_element.1")
	s.run(watts, "broil_relay.no", "broil_element.1")
	last := "oven_limit.2"
	if s.both() {
		s.relay("line_break_relay", "Line-break relay", panel)
		s.run(watts, s.legB(), "oven_limit.1|oven_limit.2", "line_break_relay.com")
		last = "line_break_relay.no"
	} else {
		s.run(watts, s.legB(), "oven_limit.1")
	}
	s.run(watts, last, "bake_element.2")
	s.run(watts, last, "broil_element.2")
	s.mode("off", "Off", nil)
	s.mode("bake", "Bake", []string{s.lineBreak("bake_relay"), "celsius = { oven_sensor = 177 }"}, "bake_element")
	s.mode("broil", "Broil", []string{s.lineBreak("broil_relay"), "celsius = { oven_sensor = 260 }"}, "broil_element")
}

// unit is a surface unit.
type unit struct {
	name, label  string
	watts, small float64
}

func units() []unit {
	return []unit{
		{"left_front", "Left front", 2100, 800},
		{"left_rear", "Left rear", 1200, 600},
		{"right_rear", "Right rear", 1200, 600},
		{"right_front", "Right front", 1800, 800},
		{"centre_rear", "Centre rear", 1200, 600},
		{"centre_front", "Centre front", 1500, 600},
	}
}

func (s *draft) surface() {
	count, err := strconv.Atoi(s.a["surface"])
	if err != nil {
		return // vetted before
	}
	used := units()[:count]
	s.section("The surface units.")
	for i, u := range used {
		used[i].watts = s.rated(u.watts, u.small)
		s.load(u.name+"_element", "surface_element", s.supply.volts, used[i].watts, u.label+" element", "cooktop")
	}
	if s.a["heats"] == Cooktop {
		s.mode("off", "Off", nil)
	}
	switch {
	case s.a["heats"] == Cooktop && s.electronic():
		s.surfaceByRelays(used)
	case s.both():
		s.surfaceBySwitches(used)
	default:
		s.surfaceByOneLeg(used)
	}
}

func (s *draft) surfaceByRelays(used []unit) {
	s.board(s.onSmall("under the cooktop"), nil)
	all := 0.0
	for _, u := range used {
		all += u.watts
	}
	back := s.legB()
	if s.both() {
		s.relay("line_break_relay", "Line-break relay", "under the cooktop")
		s.run(all, back, "line_break_relay.com")
		back = "line_break_relay.no"
	}
	for _, u := range used {
		s.relay(u.name+"_relay", u.label+" relay", "under the cooktop")
		s.run(u.watts, s.legA(), u.name+"_relay.com|"+u.name+"_relay.no", u.name+"_element.1")
		s.run(u.watts, back, u.name+"_element.2")
		s.mode(u.name, u.label+" surface unit", []string{s.lineBreak(u.name + "_relay")}, u.name+"_element")
	}
}

// surfaceBySwitches describes infinite switches that break both legs, with
// their pilot lamp.
func (s *draft) surfaceBySwitches(used []unit) {
	// P carries the leg at L2 while a switch is on.
	s.load("surface_pilot", "lamp", s.supply.small, 1, "Surface pilot lamp", panel)
	pilot := "surface_pilot.1"
	for _, u := range used {
		sw := u.name + "_switch"
		s.part(sw, "cycling_switch", "", u.label+" switch", panel)
		s.run(u.watts, s.legA(), sw+".L1")
		s.run(u.watts, s.legB(), sw+".L2")
		s.run(u.watts, sw+".H1", u.name+"_element.1")
		s.run(u.watts, sw+".H2", u.name+"_element.2")
		s.wire(sw+".P", pilot, "BN", 18)
		s.point(pilot)
		pilot = sw + ".P"
		s.mode(u.name, u.label+" surface unit", []string{set(sw, "on")}, u.name+"_element", "surface_pilot")
	}
	if s.supply.single {
		s.wire("surface_pilot.2", s.l1(), "BK", 18)
		return
	}
	s.wire("surface_pilot.2", s.n(), "WH", 18)
}

// surfaceByOneLeg describes infinite switches with a contact in one leg.
func (s *draft) surfaceByOneLeg(used []unit) {
	for _, u := range used {
		sw := u.name + "_switch"
		s.part(sw, "cycling_switch", `positions = ["off", "on", "idle"], chart = { on = [["L", "H"]] }`, u.label+" switch", panel)
		s.run(u.watts, s.legA(), sw+".L|"+sw+".H", u.name+"_element.1")
		s.run(u.watts, s.legB(), u.name+"_element.2")
		s.mode(u.name, u.label+" surface unit", []string{set(sw, "on")}, u.name+"_element")
	}
}

// lamp describes the lamp inside, if there is one.
func (s *draft) lamp() {
	name, where := "oven_lamp", "oven back wall"
	if s.a["heats"] == Dryer {
		name, where = "drum_lamp", "drum"
	}
	switch s.a["lamp"] {
	case ByDoor:
		s.section("The lamp. Its switch closes when the door is opened.")
		s.part("lamp_switch", "door_switch", "", "Lamp switch", "front frame")
	case BySwitch:
		s.section("The lamp.")
		s.part("lamp_switch", "switch", "", "Lamp switch", panel)
	default:
		return
	}
	s.load(name, "lamp", s.supply.small, 25, "Lamp", where)
	s.run(25, s.l1(), "lamp_switch.1|lamp_switch.2", name+".1")
	s.wire(name+".2", s.n(), "WH", 18)
	label := "Light on"
	if s.a["lamp"] == ByDoor {
		label = "Door open"
	}
	keys := []string{set("lamp_switch", "closed")}
	if s.a["heats"] == Dryer && s.a["lamp"] == ByDoor {
		keys = []string{set("lamp_switch", "closed", "door_switch", "open")}
	}
	s.mode("light", label, keys, name)
}
