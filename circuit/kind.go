package circuit

import (
	"maps"
	"slices"
	"strings"
)

// Kind is what a part is. The zero Kind is not a part.
type Kind uint8

const (
	KindNone Kind = iota
	KindSupply
	KindChassis
	KindTerminalBlock
	KindConnector
	KindElement
	KindSurfaceElement
	KindLamp
	KindMotor
	KindFan
	KindSolenoid
	KindTransformer
	KindResistor
	KindCapacitor
	KindSwitch
	KindPushSwitch
	KindSelector
	KindCyclingSwitch
	KindThermostat
	KindLimit
	KindThermalFuse
	KindFuse
	KindBreaker
	KindRelay
	KindCentrifugalSwitch
	KindDoorSwitch
	KindLatch
	KindSensor
	KindControl
	KindNode
	KindRCD
)

// KindInfo tells what the netlist format knows of a kind.
type KindInfo struct {
	// Name is the kind's name in a netlist.
	Name string
	// Trade says what it is, in a technician's words.
	Trade string
	// Required and Optional list the fields a part of the kind takes besides
	// name, kind, label and place.
	Required, Optional []string
	// Prior is the default relative chance of failure (common practice, no
	// source).
	Prior float64

	poleKind  bool   // one branch per pole, terminals "P.in" and "P.out"
	positions string // the positions of a two-state contact, rest first
}

// heatFields are those of a contact that heat works.
var heatFields = []string{"body", "acts_celsius", "resets_celsius"}

var ratingFields = []string{"volts", "watts"}

var kindTable = [...]KindInfo{
	// The prior of no kind is a wire's, its two ends included.
	KindNone:    {Name: "", Prior: 0.4},
	KindSupply:  {Name: SupplyName, Trade: "the supply: legs, neutral, protective earth", Prior: 1.5},
	KindChassis: {Name: ChassisName, Trade: "the machine's metal", Prior: 0},
	KindTerminalBlock: {Name: "terminal_block", Trade: "studs that the cord and the harness share",
		Required: []string{"poles"}, Prior: 1, poleKind: true},
	KindConnector: {Name: "connector", Trade: "a plug, a cord or a harness connector, pin by pin",
		Optional: []string{"poles"}, Prior: 1, poleKind: true},
	KindElement: {Name: "element", Trade: "a heating element",
		Required: ratingFields, Optional: []string{"cold_ohms"}, Prior: 6},
	KindSurfaceElement: {Name: "surface_element", Trade: "a surface element or coil",
		Required: ratingFields, Optional: []string{"cold_ohms"}, Prior: 5},
	KindLamp: {Name: "lamp", Trade: "a lamp or pilot light",
		Required: ratingFields, Optional: []string{"cold_ohms"}, Prior: 4},
	KindMotor: {Name: "motor", Trade: "a motor; start_ohms gives it a start winding",
		Required: ratingFields, Optional: []string{"power_factor", "start_ohms", "cold_ohms"}, Prior: 3},
	KindFan: {Name: "fan", Trade: "a fan with its motor",
		Required: ratingFields, Optional: []string{"power_factor", "cold_ohms"}, Prior: 3},
	KindSolenoid: {Name: "solenoid", Trade: "a solenoid or valve coil",
		Required: ratingFields, Optional: []string{"power_factor", "cold_ohms"}, Prior: 2},
	KindTransformer: {Name: "transformer", Trade: "a transformer, primary P1 P2, secondary S1 S2",
		Required: []string{"volts", "watts", "secondary_volts"}, Optional: []string{"cold_ohms"}, Prior: 2},
	KindResistor: {Name: "resistor", Trade: "a resistor; rated volts make it count as a load",
		Required: []string{"ohms"}, Optional: []string{"volts"}, Prior: 1},
	KindCapacitor: {Name: "capacitor", Trade: "a capacitor",
		Required: []string{"microfarads"}, Prior: 2},
	KindSwitch: {Name: "switch", Trade: "a switch worked by hand",
		Optional: []string{"poles", "rest", "contact", "chart", "positions"}, Prior: 2,
		positions: "open closed"},
	KindPushSwitch: {Name: "push_switch", Trade: "a switch that springs back",
		Optional: []string{"poles", "rest", "contact", "chart", "positions"}, Prior: 2,
		positions: "open closed"},
	KindSelector: {Name: "selector", Trade: "a multi-position switch with a contact chart",
		Required: []string{"positions", "chart"}, Optional: []string{"rest"}, Prior: 3},
	KindCyclingSwitch: {Name: "cycling_switch", Trade: "an infinite switch: L1 L2 in, H1 H2 to the element, P to the pilot",
		Optional: []string{"chart", "positions", "rest"}, Prior: 4},
	KindThermostat: {Name: "thermostat", Trade: "a thermostat; cold is its rest",
		Optional: append([]string{"poles", "rest", "contact", "chart", "positions"}, heatFields...), Prior: 4,
		positions: "closed open"},
	KindLimit: {Name: "limit", Trade: "a high limit, self-resetting or with a button",
		Optional: append([]string{"poles", "rest", "contact"}, heatFields...), Prior: 3,
		positions: "closed open"},
	KindThermalFuse: {Name: "thermal_fuse", Trade: "a thermal fuse: closed when good, open for good once blown",
		Optional: []string{"body", "acts_celsius"}, Prior: 4, positions: "closed open"},
	KindFuse: {Name: "fuse", Trade: "a fuse",
		Optional: []string{"amps"}, Prior: 2.5, positions: "closed open"},
	KindBreaker: {Name: "breaker", Trade: "a breaker, one branch per pole",
		Optional: []string{"poles", "amps"}, Prior: 3, poleKind: true,
		positions: "closed open"},
	KindRelay: {Name: "relay", Trade: "a relay: coil A1 A2 (or driven_by a control) and contacts",
		Optional: []string{"volts", "watts", "power_factor", "driven_by", "contact", "contacts", "pickup", "dropout", "timed", "cold_ohms"},
		Prior:    6},
	KindCentrifugalSwitch: {Name: "centrifugal_switch", Trade: "contacts worked by a running motor",
		Required: []string{"driven_by"}, Optional: []string{"contact", "contacts"}, Prior: 3},
	KindDoorSwitch: {Name: "door_switch", Trade: "a switch worked by the door",
		Optional: []string{"poles", "rest", "contact"}, Prior: 3,
		positions: "open closed"},
	KindLatch: {Name: "latch", Trade: "a door latch with its switch, and its motor when rated",
		Optional: []string{"volts", "watts", "power_factor", "chart", "positions", "rest", "cold_ohms"}, Prior: 3},
	KindSensor: {Name: "sensor", Trade: "a temperature sensor",
		Required: []string{"curve", "ohms_at"}, Optional: []string{"beta", "body"}, Prior: 5},
	KindControl: {Name: "control", Trade: "an electronic control with its own supply terminals L and N",
		Required: []string{"volts", "watts"}, Optional: []string{"min_volts", "power_factor", "senses", "codes", "differential_kelvin"}, Prior: 4},
	KindNode: {Name: "node", Trade: "a splice: wires joined with no part between", Prior: 0},
	KindRCD: {Name: "rcd", Trade: "a residual-current device or GFCI: opens when what goes out does not come back",
		Required: []string{"poles", "residual_amps"}, Prior: 2, poleKind: true, positions: "closed open"},
}

// Guards tells whether a part of the kind opens all its poles by a current: a
// breaker, a residual-current device. It belongs to the house.
func (k Kind) Guards() bool { return k == KindBreaker || k == KindRCD }

// RestPositions are the positions of a contact that is open or closed, the rest
// first: "open closed"; empty for other kinds.
func (k Kind) RestPositions() string { return k.info().positions }

func (k Kind) info() *KindInfo {
	if int(k) >= len(kindTable) {
		return &kindTable[KindNone]
	}
	return &kindTable[k]
}

// String returns the kind's name in a netlist.
func (k Kind) String() string { return k.info().Name }

// Info returns what the format knows of the kind.
func (k Kind) Info() KindInfo { return *k.info() }

// Kinds lists the kinds a netlist may use, by name.
func Kinds() []Kind {
	var out []Kind
	for k := KindTerminalBlock; int(k) < len(kindTable); k++ {
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b Kind) int { return strings.Compare(a.String(), b.String()) })
	return out
}

// Heats reports whether a part of the kind is there to heat.
func (k Kind) Heats() bool { return k == KindElement || k == KindSurfaceElement }

// ParseKind returns the kind of that name.
func ParseKind(name string) (Kind, error) {
	for k := KindTerminalBlock; int(k) < len(kindTable); k++ {
		if k.String() == name {
			return k, nil
		}
	}
	names := map[string]Kind{} // what may be meant
	for _, k := range Kinds() {
		names[k.String()] = k
	}
	k, err := lookUp(names, "kind", name)
	if u, ok := err.(*UnknownNameError); ok {
		u.meant = otherKinds[strings.ToLower(strings.NewReplacer("-", "_", " ", "_").Replace(name))]
	}
	return k, err
}

// TradeWords gives, for words of the trade that are no kind's name, the kind that
// is meant.
func TradeWords() map[string]string { return maps.Clone(otherKinds) }

// otherKinds are words of the trade that people take for a kind.
var otherKinds = map[string]string{
	"heater": "element", "heating_element": "element", "bake_element": "element", "broil_element": "element", "igniter": "element",
	"burner": "surface_element", "surface_unit": "surface_element", "surface_burner": "surface_element", "radiant": "surface_element",
	"bulb": "lamp", "light": "lamp", "pilot": "lamp", "pilot_light": "lamp", "indicator": "lamp", "neon": "lamp",
	"blower": "fan", "valve": "solenoid", "coil": "solenoid", "contactor": "relay", "starter": "relay",
	"infinite_switch": "cycling_switch", "infinite": "cycling_switch", "burner_switch": "cycling_switch", "timer": "selector",
	"rotary_switch": "selector", "knob": "selector", "button": "push_switch", "pushbutton": "push_switch", "push_button": "push_switch",
	"pressure_switch": "switch", "toggle": "switch", "stat": "thermostat", "cycling_thermostat": "thermostat",
	"hi_limit": "limit", "high_limit": "limit", "limit_switch": "limit", "safety": "limit",
	"thermofuse": "thermal_fuse", "cutoff": "thermal_fuse", "cut_off": "thermal_fuse", "thermal_cutoff": "thermal_fuse", "tco": "thermal_fuse",
	"circuit_breaker": "breaker", "plug": "connector", "cord": "connector", "receptacle": "connector", "outlet": "connector",
	"terminal_strip": "terminal_block", "block": "terminal_block", "probe": "sensor", "rtd": "sensor", "thermistor": "sensor",
	"board": "control", "pcb": "control", "clock": "control", "lock": "latch",
	"splice": "node", "wire_nut": "node", "junction": "node", "joint": "node", "gfci": "rcd", "residual_current_device": "rcd",
}
