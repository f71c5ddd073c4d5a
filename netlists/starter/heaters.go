package starter

import "fmt"

// dryer describes a dryer whose motor, once it runs, closes a centrifugal
// switch in the heater's feed.
func (s *draft) dryer() {
	watts, motor := s.rated(5000, 1200), 250.0
	s.section("The drum motor, and the switch that closes when it runs.")
	s.load("motor", "motor", s.supply.small, motor, "Drum motor", "cabinet floor")
	s.part("motor_switch", "centrifugal_switch", `driven_by = "motor", contact = "no"`, "Motor centrifugal switch", "on the motor")
	s.part("door_switch", "door_switch", `rest = "closed"`, "Door switch", "front frame") // closed with the door shut
	heat, motorFeed := s.dryerControl(watts)
	s.run(motor, motorFeed, "door_switch.1|door_switch.2", "motor.1")
	s.wire("motor.2", s.n(), "WH", 14)

	s.section("The heater and what protects it.")
	s.load("heater", "element", s.supply.volts, watts, "Heater", "heater duct")
	s.part("limit", "limit", "", "High limit", "heater duct")
	s.part("thermal_cutoff", "thermal_fuse", "", "Thermal cut-off", "heater duct")
	guards := []string{"thermal_cutoff.1|thermal_cutoff.2", "limit.1|limit.2", "motor_switch.com|motor_switch.no"}
	if !s.electronic() {
		s.part("thermostat", "thermostat", "", "Cycling thermostat", "blower housing")
		s.run(watts, heat, "thermostat.1")
		heat = "thermostat.2"
	}
	if s.both() {
		s.run(watts, heat, "heater.1")
		s.run(watts, s.legB(), append(guards, "heater.2")...)
		return
	}
	s.run(watts, heat, append(guards, "heater.1")...)
	s.run(watts, s.legB(), "heater.2")
}

// dryerControl describes what switches motor and heater, and returns where
// each is fed from.
func (s *draft) dryerControl(watts float64) (heat, motor string) {
	if s.electronic() {
		s.board(s.onSmall(panel), &sensor{"air_sensor", "Air sensor", "blower housing", ntc, 500, 60000, []string{"heat"}})
		s.relay("motor_relay", "Motor relay", panel)
		s.relay("heater_relay", "Heater relay", panel)
		s.run(250, s.l1(), "motor_relay.com")
		s.run(watts, s.legA(), "heater_relay.com")
		s.mode("off", "Off", nil)
		s.mode("heat", "Timed dry", []string{drives("motor_relay", "heater_relay"), "celsius = { air_sensor = 60 }"}, "motor", "heater")
		s.mode("air", "Air only", []string{drives("motor_relay")}, "motor")
		return "heater_relay.no", "motor_relay.no"
	}
	s.part("timer", "selector", `positions = ["off", "heat", "air"], chart = { heat = [["L", "M"], ["S", "H"]], air = [["L", "M"]] }`, "Timer", panel)
	s.run(250, s.l1(), "timer.L")
	s.run(watts, s.legA(), "timer.S")
	s.mode("off", "Off", nil)
	s.mode("heat", "Timed dry", []string{set("timer", "heat")}, "motor", "heater")
	s.mode("heat_satisfied", "Timed dry, air up to its temperature", []string{set("timer", "heat", "thermostat", "open")}, "motor")
	s.mode("air", "Air only", []string{set("timer", "air")}, "motor")
	return "timer.H", "timer.M"
}

// waterHeater describes two elements of which one heats at a time.
func (s *draft) waterHeater() {
	watts := s.rated(4500, 1500)
	const upper, lower = "behind the upper cover", "behind the lower cover"
	s.section("The tank.")
	s.load("upper_element", "element", s.supply.volts, watts, "Upper element", upper)
	s.load("lower_element", "element", s.supply.volts, watts, "Lower element", lower)
	a, back := "", s.legB()
	if s.both() {
		s.part("reset_limit", "limit", `poles = ["A", "B"]`, "Manual-reset limit", upper)
		s.run(watts, s.legA(), "reset_limit.A.1")
		s.run(watts, s.legB(), "reset_limit.B.1")
		a, back = "reset_limit.A.2", "reset_limit.B.2"
	} else {
		s.part("reset_limit", "limit", "", "Manual-reset limit", upper)
		s.run(watts, s.legA(), "reset_limit.1")
		a = "reset_limit.2"
	}
	if s.electronic() {
		s.waterHeaterByRelays(watts, a, back, upper)
		return
	}
	s.part("upper_thermostat", "thermostat", `contact = "changeover"`, "Upper thermostat", upper)
	s.part("lower_thermostat", "thermostat", "", "Lower thermostat", lower)
	s.run(watts, a, "upper_thermostat.com")
	s.run(watts, "upper_thermostat.nc", "upper_element.1")
	s.run(watts, "upper_thermostat.no", "lower_thermostat.1|lower_thermostat.2", "lower_element.1")
	s.run(watts, back, "upper_element.2")
	s.run(watts, back, "lower_element.2")
	s.mode("cold", "Tank cold: upper element", nil, "upper_element")
	s.mode("upper_hot", "Top of the tank hot: lower element", []string{set("upper_thermostat", "actuated")}, "lower_element")
	s.mode("hot", "Tank hot", []string{set("upper_thermostat", "actuated", "lower_thermostat", "open")})
}

func (s *draft) waterHeaterByRelays(watts float64, a, back, place string) {
	s.board(s.onHeaters(place), &sensor{"tank_sensor", "Tank sensor", place, ntc, 500, 60000, []string{"upper", "lower"}})
	s.relay("upper_relay", "Upper relay", place)
	s.relay("lower_relay", "Lower relay", place)
	if s.both() {
		s.relay("line_break_relay", "Line-break relay", place)
		s.run(watts, back, "line_break_relay.com")
		back = "line_break_relay.no"
	}
	for _, which := range []string{"upper", "lower"} {
		s.run(watts, a, fmt.Sprintf("%s_relay.com|%[1]s_relay.no", which), which+"_element.1")
		s.run(watts, back, which+"_element.2")
	}
	s.mode("off", "Off, or tank hot", nil)
	s.mode("upper", "Upper element", []string{s.lineBreak("upper_relay"), "celsius = { tank_sensor = 30 }"}, "upper_element")
	s.mode("lower", "Lower element", []string{s.lineBreak("lower_relay"), "celsius = { tank_sensor = 50 }"}, "lower_element")
}

// heater describes one element, its limit and what switches it.
func (s *draft) heater() {
	watts := s.rated(2000, 1200)
	const place = "end of the heater, behind the cover"
	s.section("The heater.")
	s.load("heater", "element", s.supply.volts, watts, "Heater", "along the heater")
	s.part("limit", "limit", "", "High limit", "along the heater")
	back := s.legB()
	if s.electronic() {
		s.board(s.onHeaters(place), &sensor{"room_sensor", "Room sensor", place, ntc, 2000, 60000, []string{"heat"}})
		s.relay("heater_relay", "Heater relay", place)
		if s.both() {
			s.relay("line_break_relay", "Line-break relay", place)
			s.run(watts, back, "line_break_relay.com")
			back = "line_break_relay.no"
		}
		s.run(watts, s.legA(), "heater_relay.com|heater_relay.no", "limit.1|limit.2", "heater.1")
		s.run(watts, back, "heater.2")
		s.mode("off", "Off, or room warm", nil)
		s.mode("heat", "Heating", []string{s.lineBreak("heater_relay")}, "heater")
		return
	}
	if s.both() {
		s.part("thermostat", "thermostat", `poles = ["A", "B"]`, "Two-pole thermostat", place)
		s.run(watts, s.legA(), "thermostat.A.1|thermostat.A.2", "limit.1|limit.2", "heater.1")
		s.run(watts, back, "thermostat.B.1|thermostat.B.2", "heater.2")
	} else {
		s.part("thermostat", "thermostat", "", "Thermostat", place)
		s.run(watts, s.legA(), "thermostat.1|thermostat.2", "limit.1|limit.2", "heater.1")
		s.run(watts, back, "heater.2")
	}
	s.mode("cold", "Room cold: thermostat calls", nil, "heater")
	s.mode("warm", "Room warm", []string{set("thermostat", "open")})
}
