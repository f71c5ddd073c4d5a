package circuit

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// oven is a sound machine that the cases below spoil: an element in both legs
// behind a breaker and a board relay, a lamp behind a selector.
func oven() Spec {
	return Spec{
		Name:   "oven",
		Supply: SupplySpec{System: "split-phase"},
		Parts: []PartSpec{
			{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 40},
			{Name: "control", Kind: "control", Volts: 120, Watts: 5, Senses: []SenseSpec{
				{Name: "oven", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2400, Modes: []string{"bake"}}}},
			{Name: "sensor", Kind: "sensor", Curve: "pt3750", OhmsAt: 1000},
			{Name: "relay", Kind: "relay", DrivenBy: "control", Contact: "no"},
			{Name: "bake", Kind: "element", Volts: 240, Watts: 2400},
			{Name: "knob", Kind: "selector", Positions: []string{"off", "light"}, Chart: map[string][][]string{"light": {{"L", "1"}}}},
			{Name: "lamp", Kind: "lamp", Volts: 120, Watts: 40},
		},
		Wires: []WireSpec{
			{Name: "w1", From: "supply.L1", To: "breaker.L1.in"}, {Name: "w2", From: "supply.L2", To: "breaker.L2.in"},
			{From: "breaker.L1.out", To: "relay.com", Colour: "BK", AWG: 12, Metres: 1}, {From: "relay.no", To: "bake.1"},
			{From: "bake.2", To: "breaker.L2.out", Colour: "RD"},
			{From: "control.L", To: "breaker.L1.out"}, {From: "control.N", To: "supply.N"},
			{From: "control.S1", To: "sensor.1"}, {From: "control.S2", To: "sensor.2"},
			{From: "knob.L", To: "breaker.L1.out"}, {From: "knob.1", To: "lamp.1"}, {From: "lamp.2", To: "supply.N"},
		},
		Modes: []ModeSpec{
			{Name: "off", Off: []string{"bake"}},
			{Name: "bake", Drives: []string{"relay"}, On: []string{"bake"}, Celsius: map[string]float64{"sensor": 150}},
			{Name: "light", Set: map[string]string{"knob": "light"}, On: []string{"lamp"}},
		},
		Points: []PointSpec{{Name: "t1", At: "bake.1", Minutes: 5}},
	}
}

// part returns the oven's part of that name, to be spoiled.
func part(s *Spec, name string) *PartSpec {
	for i := range s.Parts {
		if s.Parts[i].Name == name {
			return &s.Parts[i]
		}
	}
	panic("no part " + name)
}

// add adds a part wired across L1 and neutral at the terminals given.
func add(s *Spec, p PartSpec, terminals ...string) {
	s.Parts = append(s.Parts, p)
	for i, t := range terminals {
		s.Wires = append(s.Wires, WireSpec{From: p.Name + "." + t, To: []string{"supply.L1", "supply.N"}[i%2]})
	}
}

// refusals spoil the oven in one way each. The problem is told once, with no
// blame on what refers to the spoiled thing.
var refusals = map[string]struct {
	spoil func(*Spec)
	want  string
}{
	"machine's name":      {func(s *Spec) { s.Name = "my oven" }, `name: "my oven" cannot be a name (letters, digits, '_' and '-', at most 64)`},
	"title":               {func(s *Spec) { s.Title = "oven\x1b[31m" }, `title: control characters in "oven\x1b[31m" (plain text)`},
	"notes":               {func(s *Spec) { s.Notes = "a\u202eb" }, `notes: control characters in "a\u202eb" (plain text)`},
	"no system":           {func(s *Spec) { s.Supply.System = "" }, "supply.system: the supply has no system (one of delta, single-phase, split-phase, star, wye)"},
	"unknown system":      {func(s *Spec) { s.Supply.System = "corner" }, `supply.system: unknown system "corner" (one of delta, single-phase, split-phase, star, wye)`},
	"wires of the supply": {func(s *Spec) { s.Supply.Wires = 2 }, "supply.wires: 2 wires on a split-phase supply (3 or 4)"},
	"supply's volts":      {func(s *Spec) { s.Supply.Volts = 24000 }, "supply.volts: 24000 V is not possible (1 to 1000)"},
	"supply's NaN":        {func(s *Spec) { s.Supply.Volts = math.NaN() }, "supply.volts: NaN V is not possible (1 to 1000)"},
	"frequency":           {func(s *Spec) { s.Supply.Hertz = 5 }, "supply.hertz: 5 Hz is not possible (10 to 1000)"},
	"source ohms":         {func(s *Spec) { v := -1.0; s.Supply.SourceOhms = &v }, "supply.source_ohms: -1 ohms is not possible (0 to 1000)"},
	"feeder ohms":         {func(s *Spec) { v := 1e-9; s.Supply.FeederOhms = &v }, "supply.feeder_ohms: 1e-09 ohms is not possible (0 to 1000)"},

	"part without a name": {func(s *Spec) { s.Parts = append(s.Parts, PartSpec{Kind: "lamp"}) }, `parts.: "" cannot be a name (letters, digits, '_' and '-', at most 64)`},
	"part's name":         {func(s *Spec) { s.Parts = append(s.Parts, PartSpec{Name: "bake element"}) }, `parts.bake element: "bake element" cannot be a name (write "bake_element": letters, digits, '_' and '-', at most 64)`},
	"long name": {func(s *Spec) { s.Parts = append(s.Parts, PartSpec{Name: strings.Repeat("a", 65)}) },
		"parts." + strings.Repeat("a", 65) + `: "` + strings.Repeat("a", 65) + `" cannot be a name (letters, digits, '_' and '-', at most 64)`},
	"reserved name":   {func(s *Spec) { s.Parts = append(s.Parts, PartSpec{Name: "supply"}) }, `parts.supply: "supply" is reserved (choose another name)`},
	"reserved metal":  {func(s *Spec) { s.Parts = append(s.Parts, PartSpec{Name: "chassis"}) }, `parts.chassis: "chassis" is reserved (choose another name)`},
	"part twice":      {func(s *Spec) { s.Parts = append(s.Parts, *part(s, "bake")) }, `parts.bake: part "bake" is described twice (names must differ)`},
	"no kind":         {func(s *Spec) { part(s, "bake").Kind = "" }, `parts.bake: part "bake" has no kind (add kind = "...")`},
	"unknown kind":    {func(s *Spec) { part(s, "bake").Kind = "elemnt" }, `parts.bake.kind: unknown kind "elemnt" (did you mean "element"?)`},
	"unlikely kind":   {func(s *Spec) { part(s, "bake").Kind = "xyzzyx" }, `parts.bake.kind: unknown kind "xyzzyx"`},
	"label":           {func(s *Spec) { part(s, "bake").Label = "a\x07" }, `parts.bake.label: control characters in "a\a" (plain text)`},
	"place":           {func(s *Spec) { part(s, "bake").Place = "a\u200bb" }, `parts.bake.place: control characters in "a\u200bb" (plain text)`},
	"foreign field":   {func(s *Spec) { part(s, "bake").Ohms = 3 }, `parts.bake.ohms: an element takes no "ohms" (it takes cold_ohms, kind, label, name, note, place, volts, watts)`},
	"missing field":   {func(s *Spec) { part(s, "bake").Watts = 0 }, `parts.bake: an element needs "watts" (add watts = ..., greater than 0 if a number)`},
	"negative rating": {func(s *Spec) { part(s, "bake").Watts = -3 }, "parts.bake.watts: -3 is not possible (a number from 1e-06 to 1e+07)"},
	"endless rating":  {func(s *Spec) { part(s, "bake").Volts = math.Inf(1) }, "parts.bake.volts: +Inf is not possible (a number from 1e-06 to 1e+07)"},
	"power factor": {func(s *Spec) {
		add(s, PartSpec{Name: "fan", Kind: "fan", Volts: 120, Watts: 9, PowerFactor: 1.2}, "1", "2")
	},
		"parts.fan.power_factor: power factor 1.2 (above 0 and at most 1)"},
	"pickup": {func(s *Spec) {
		add(s, PartSpec{Name: "k", Kind: "relay", Volts: 120, Watts: 2, Contact: "no", PickupShare: 1.5}, "com", "no", "A1", "A2")
	},
		"parts.k: pickup 1.5, dropout 0 (shares of rated volts, above 0 and at most 1)"},
	"dropout above pickup": {func(s *Spec) {
		add(s, PartSpec{Name: "k", Kind: "relay", Volts: 100, Watts: 2, Contact: "no", PickupShare: 0.5, DropoutShare: 0.75}, "com", "no", "A1", "A2")
	}, "parts.k.dropout: the coil lets go at 75 V and pulls in at 50 V (at most the pickup)"},
	"relay without a coil": {func(s *Spec) { add(s, PartSpec{Name: "k", Kind: "relay", Contact: "no"}, "com", "no") },
		"parts.k: a relay needs a coil (give the coil volts and watts, or driven_by)"},
	"rated board relay": {func(s *Spec) { part(s, "relay").Volts = 12 }, "parts.relay: a board relay's coil has no terminals to rate (leave out volts and watts, or driven_by)"},
	"no contact":        {func(s *Spec) { part(s, "relay").Contact = "" }, `parts.relay: a relay needs contact or contacts (like contact = "no")`},
	"contact twice":     {func(s *Spec) { part(s, "relay").Contacts = map[string]string{"a": "no"} }, `parts.relay: a relay needs contact or contacts (like contact = "no")`},
	"form":              {func(s *Spec) { part(s, "relay").Contact = "maybe" }, `parts.relay.contact: unknown contact form "maybe" ("no", "nc" or "changeover")`},
	"form of one of several": {func(s *Spec) { p := part(s, "relay"); p.Contact, p.Contacts = "", map[string]string{"a": "on"} },
		`parts.relay.contacts.a: unknown contact form "on" ("no", "nc" or "changeover")`},
	"contact's name": {func(s *Spec) {
		p := part(s, "relay")
		p.Contact, p.Contacts = "", map[string]string{"a b": "no"}
	},
		`parts.relay.contacts: "a b" cannot be a contact's name (letters, digits, '_' and '-')`},
	"contact called coil": {func(s *Spec) {
		p := part(s, "relay")
		p.Contact, p.Contacts = "", map[string]string{"coil": "no"}
		s.Wires[2].To, s.Wires[3].From = "relay.coil.com", "relay.coil.no"
	}, `parts.relay: "relay.coil" names two things (rename a terminal or a contact)`},
	"too many contacts": {func(s *Spec) {
		p := part(s, "relay")
		p.Contact, p.Contacts = "", map[string]string{}
		for i := 0; i <= MaxPoles; i++ {
			p.Contacts["c"+strings.Repeat("x", i%60)+string(rune('a'+i/60))] = "no"
		}
	}, "parts.relay.contacts: 65 contacts, more than the 64 legtrace takes"},
	"driven by nothing": {func(s *Spec) { part(s, "relay").DrivenBy = "contrl" }, `parts.relay.driven_by: unknown control "contrl" (did you mean "control"?)`},
	"driven by a spoiled control": {func(s *Spec) { part(s, "control").Watts = -1 },
		"parts.control.watts: -1 is not possible (a number from 1e-06 to 1e+07)"},
	"centrifugal switch on a lamp": {func(s *Spec) {
		add(s, PartSpec{Name: "cs", Kind: "centrifugal_switch", DrivenBy: "lamp", Contact: "no"}, "com", "no")
	}, `parts.cs.driven_by: "lamp" is not a motor`},
	"centrifugal switch on nothing": {func(s *Spec) {
		add(s, PartSpec{Name: "cs", Kind: "centrifugal_switch", DrivenBy: "lampp", Contact: "no"}, "com", "no")
	}, `parts.cs.driven_by: unknown part "lampp" (did you mean "lamp"?)`},
	"min_volts": {func(s *Spec) { part(s, "control").MinVolts = 130 }, "parts.control.min_volts: min_volts 130 on a 120 V control (at most its rated volts)"},
	"sense without a name": {func(s *Spec) { part(s, "control").Senses[0].Name = "" },
		`parts.control.senses[0]: a sense needs a name, not "" (letters, digits, '_' and '-')`},
	"sense's pins": {func(s *Spec) { part(s, "control").Senses[0].Pins = []string{"S1"} }, `parts.control.senses[0].pins: sense "oven" needs two pins (like pins = ["P1", "P2"])`},
	"sense's ohms": {func(s *Spec) { part(s, "control").Senses[0].MaxOhms = 10 },
		`parts.control.senses[0]: sense "oven" accepts 900 to 10 ohms (min_ohms at least 0, max_ohms above it)`},
	"sense twice": {func(s *Spec) { p := part(s, "control"); p.Senses = append(p.Senses, p.Senses[0]) },
		`parts.control.senses[1].name: sense "oven" is described twice (names must differ)`},
	"sense's mode": {func(s *Spec) { part(s, "control").Senses[0].Modes = []string{"bakee"} }, `parts.control.senses[0].modes[0]: unknown mode "bakee" (did you mean "bake"?)`},
	"curve":        {func(s *Spec) { part(s, "sensor").Curve = "pt100" }, `parts.sensor.curve: unknown curve "pt100" (one of "pt3850", "pt3750", "ntc")`},
	"beta of platinum": {func(s *Spec) { part(s, "sensor").Beta = 3000 },
		"parts.sensor.beta: a platinum sensor takes no beta (only an ntc has a beta)"},
	"beta": {func(s *Spec) { p := part(s, "sensor"); p.Curve, p.Beta = "ntc", 20 }, "parts.sensor.beta: beta 20 (beta in kelvin, 500 to 10000)"},
	"latch with half a motor": {func(s *Spec) { add(s, PartSpec{Name: "latch", Kind: "latch", Volts: 120}, "1", "2") },
		"parts.latch: a latch motor needs volts and watts (give both volts and watts, or neither)"},

	"pole's name":    {func(s *Spec) { part(s, "breaker").Poles[1] = "L 2" }, `parts.breaker.poles[1]: pole "L 2" (pole names must differ)`},
	"pole twice":     {func(s *Spec) { part(s, "breaker").Poles[1] = "L1" }, `parts.breaker.poles[1]: pole "L1" (pole names must differ)`},
	"too many poles": {func(s *Spec) { part(s, "breaker").Poles = make([]string, 65) }, "parts.breaker.poles: 65 poles, more than the 64 legtrace takes"},
	"rest": {func(s *Spec) { add(s, PartSpec{Name: "door", Kind: "door_switch", Rest: "ajar"}, "1", "2") },
		`parts.door.rest: unknown position "ajar" (one of open, closed)`},
	"contact of a switch": {func(s *Spec) { add(s, PartSpec{Name: "door", Kind: "door_switch", Contact: "no"}, "1", "2") },
		`parts.door.contact: contact "no" on a door_switch ("changeover", or leave it out and use rest)`},
	"chart and poles": {func(s *Spec) {
		add(s, PartSpec{Name: "sw", Kind: "switch", Poles: []string{"a"}, Chart: map[string][][]string{"on": {{"1", "2"}}}}, "1", "2")
	}, "parts.sw: a chart says it all (give either a chart or contact and poles)"},
	"one position": {func(s *Spec) { part(s, "knob").Positions = []string{"light"} }, "parts.knob.positions: 1 positions (2 to 64 positions)"},
	"position twice": {func(s *Spec) { part(s, "knob").Positions = []string{"light", "light"} },
		`parts.knob.positions[1]: position "light" (position names must differ)`},
	"position of the chart": {func(s *Spec) { part(s, "knob").Positions = []string{"off", "on"} },
		`parts.knob.chart.light: unknown position "light" (one of off, on)`},
	"lone terminal in the chart": {func(s *Spec) { part(s, "knob").Chart["off"] = [][]string{{"L"}} },
		"parts.knob.chart.off[0]: a contact that joins nothing (at least two terminals)"},
	"terminal joined to itself": {func(s *Spec) { part(s, "knob").Chart["off"] = [][]string{{"L", "L"}} },
		`parts.knob.chart.off[0]: "L" joins itself (two different terminals)`},
	"empty chart": {func(s *Spec) { part(s, "knob").Chart = map[string][][]string{"off": {}} },
		"parts.knob.chart: the chart joins nothing (list the terminals each position joins)"},
	"terminal's name": {func(s *Spec) { part(s, "knob").Chart["off"] = [][]string{{"L", "a b"}} },
		`parts.knob: "a b" cannot be a terminal's name (letters, digits, '_' and '-')`},
	"chart that names two contacts alike": {func(s *Spec) {
		part(s, "knob").Chart["off"] = [][]string{{"a-b", "c"}, {"a", "b-c"}}
		for _, t := range []string{"a-b", "c", "a", "b-c"} {
			s.Wires = append(s.Wires, WireSpec{From: "knob." + t, To: "supply.N"})
		}
	}, `parts.knob: "knob.a-b-c" names two things (rename a terminal or a contact)`},

	"wire without an end":    {func(s *Spec) { s.Wires = append(s.Wires, WireSpec{From: "bake.1"}) }, `wires[12].to: no terminal is named (like "broil_element.1")`},
	"unknown part of a wire": {func(s *Spec) { s.Wires[11].From = "lampp.2"; s.Wires[11].To = "lamp.2" }, `wires[11].from: unknown terminal "lampp.2" (did you mean "lamp.2"?)`},
	"unknown terminal":       {func(s *Spec) { s.Wires = append(s.Wires, WireSpec{From: "bake.3", To: "bake.1"}) }, `wires[12].from: unknown terminal "bake.3" (it has bake.1, bake.2)`},
	"no terminal":            {func(s *Spec) { s.Wires = append(s.Wires, WireSpec{From: "bake", To: "bake.1"}) }, `wires[12].from: "bake" names a part but no terminal (it has bake.1, bake.2)`},
	"wire to itself":         {func(s *Spec) { s.Wires = append(s.Wires, WireSpec{From: "bake.1", To: "bake.1"}) }, `wires[12].to: wire "w13" joins bake.1 to itself (two different terminals)`},
	"wire's name":            {func(s *Spec) { s.Wires[0].Name = "w 1" }, `wires[0].name: "w 1" cannot be a name (letters, digits, '_' and '-', at most 64)`},
	"wire twice":             {func(s *Spec) { s.Wires[1].Name = "w1" }, `wires[1].name: wire "w1" is described twice (names must differ)`},
	"wire named like a part": {func(s *Spec) { s.Wires[1].Name = "bake" }, `wires[1].name: wire "bake" has the name of a part (names must differ)`},
	"colour":                 {func(s *Spec) { s.Wires[2].Colour = "black" }, `wires[2].colour: unknown colour "black" (did you mean "BK"?)`},
	"two sizes":              {func(s *Spec) { s.Wires[2].SquareMM = 2.5 }, "wires[2]: two sizes for one wire (give awg or mm2)"},
	"gauge":                  {func(s *Spec) { s.Wires[2].AWG = 99 }, "wires[2].awg: AWG 99 (1 to 40)"},
	"square millimetres":     {func(s *Spec) { s.Wires[2].AWG, s.Wires[2].SquareMM = 0, 900 }, "wires[2].mm2: 900 mm2 (0.05 to 500)"},
	"length":                 {func(s *Spec) { s.Wires[2].Metres = -1 }, "wires[2].metres: -1 m (0.001 to 1000)"},
	"length without a size":  {func(s *Spec) { s.Wires[2].AWG = 0 }, "wires[2]: a length without a size gives no resistance (add awg or mm2)"},

	"no modes":            {func(s *Spec) { s.Modes = nil; part(s, "control").Senses[0].Modes = nil }, "modes: the machine has no modes (add at least [modes.off])"},
	"mode's name":         {func(s *Spec) { s.Modes[2].Name = "" }, `modes.: "" cannot be a name (letters, digits, '_' and '-', at most 64)`},
	"mode twice":          {func(s *Spec) { s.Modes[2].Name = "off" }, `modes.off: mode "off" is described twice (names must differ)`},
	"mode's label":        {func(s *Spec) { s.Modes[2].Label = "\x00" }, `modes.light.label: control characters in "\x00" (plain text)`},
	"position of nothing": {func(s *Spec) { s.Modes[0].Set = map[string]string{"knop": "off"} }, `modes.off.set.knop: unknown part "knop" (did you mean "knob"?)`},
	"position of a lamp":  {func(s *Spec) { s.Modes[0].Set = map[string]string{"lamp": "on"} }, `modes.off.set.lamp: "lamp" has no positions (only switches, thermostats and the like can be set)`},
	"unknown position":    {func(s *Spec) { s.Modes[2].Set["knob"] = "bright" }, `modes.light.set.knob: unknown position "bright" of "knob" (one of off, light)`},
	"drive":               {func(s *Spec) { s.Modes[1].Drives = []string{"bake"} }, `modes.bake.drives[0]: unknown board relay "bake"`},
	"sensor":              {func(s *Spec) { s.Modes[1].Celsius = map[string]float64{"sensr": 20} }, `modes.bake.celsius.sensr: unknown sensor "sensr" (did you mean "sensor"?)`},
	"temperature":         {func(s *Spec) { s.Modes[1].Celsius["sensor"] = 5000 }, "modes.bake.celsius.sensor: temperature 5000 C is outside the sensor's range -200 to 600 C"},
	"expected twice":      {func(s *Spec) { s.Modes[1].Off = []string{"bake"} }, `modes.bake.off[0]: "bake" is already expected in modes.bake.on[0] (say it once)`},
	"expected of nothing": {func(s *Spec) { s.Modes[1].On = []string{"bale"} }, `modes.bake.on[0]: unknown load "bale" (did you mean "bake"?)`},
	"expected share":      {func(s *Spec) { s.Modes[2].Share = map[string]float64{"bake": 5} }, "modes.light.share.bake: share 5 (a share of rated power, 0 to 4)"},
	"after nothing":       {func(s *Spec) { s.Modes[1].After = "of" }, `modes.bake.after: unknown mode "of" (did you mean "off"?)`},
	"modes in a circle":   {func(s *Spec) { s.Modes[1].After, s.Modes[0].After = "off", "bake" }, `modes.off.after: mode "off" comes after itself (break the circle)`},

	"point's name":    {func(s *Spec) { s.Points[0].Name = "t 1" }, `points.t 1: "t 1" cannot name a test point (letters, digits, '_' and '-', each used once)`},
	"point twice":     {func(s *Spec) { s.Points = append(s.Points, s.Points[0]) }, `points.t1: "t1" cannot name a test point (letters, digits, '_' and '-', each used once)`},
	"point at no end": {func(s *Spec) { s.Points[0].At = "" }, `points.t1.at: no terminal is named (like "broil_element.1")`},
	"point as node":   {func(s *Spec) { s.Points[0].Name = "chassis" }, `points.chassis: "chassis" is the terminal of that name, and the point is at another (name it otherwise)`},
	"point's label":   {func(s *Spec) { s.Points[0].Label = "\x01" }, `points.t1.label: control characters in "\x01" (plain text)`},
	"point's power":   {func(s *Spec) { s.Points[0].Power = "on" }, `points.t1.power: unknown power state "on" ("off", "live" or "either")`},
	"point's minutes": {func(s *Spec) { s.Points[0].Minutes = math.NaN() }, "points.t1.minutes: NaN minutes (0 to 1000)"},
	"prior of a kind": {func(s *Spec) { s.Priors = map[string]float64{"relais": 2} }, `priors.relais: unknown kind or way to fail "relais" (did you mean "relay"?)`},
	"size of what":    {func(s *Spec) { s.Sizes = map[string][][]float64{"joints": {{1, 2, 1}}} }, `sizes.joints: unknown size "joints" (did you mean "joint"?)`},
	"no sizes":        {func(s *Spec) { s.Sizes = map[string][][]float64{"joint": {}} }, "sizes.joint: 0 stretches: 1 to 8 can be weighed (like [[0.5, 20, 0.7], [20, 2000, 0.3]])"},
	"size's figures":  {func(s *Spec) { s.Sizes = map[string][][]float64{"joint": {{1, 2}}} }, "sizes.joint[0]: a stretch has 3 figures, not 2 (from, to and its share, as in [0.5, 20, 0.7])"},
	"size backwards":  {func(s *Spec) { s.Sizes = map[string][][]float64{"joint": {{5, 2, 1}}} }, "sizes.joint[0]: from 5 to 2 (from below to, both within 0.001 to 1e+07 ohms)"},
	"size not so":     {func(s *Spec) { s.Sizes = map[string][][]float64{"aged": {{0.5, 2, 1}}} }, "sizes.aged[0]: from 0.5 to 2 (from below to, both within 1.01 to 100 of its ohms)"},
	"sizes overlap":   {func(s *Spec) { s.Sizes = map[string][][]float64{"joint": {{1, 5, 1}, {2, 9, 1}}} }, "sizes.joint[1]: from 2, below the end of the one before, 5 (one after the other, from small to large)"},
	"size's share":    {func(s *Spec) { s.Sizes = map[string][][]float64{"joint": {{1, 5, 0}}} }, "sizes.joint[0]: share 0 (above 0, at most 1e6)"},
	"mistake of what": {func(s *Spec) { s.Mistakes = map[string]float64{"slips": 0.1} }, `mistakes.slips: unknown mistake "slips" (did you mean "slip"?)`},
	"mistake":         {func(s *Spec) { s.Mistakes = map[string]float64{"slip": 0.6} }, "mistakes.slip: chance 0.6 (1e-6 to 0.2)"},
	"prior":           {func(s *Spec) { s.Priors = map[string]float64{"relay": -2} }, "priors.relay: prior -2 (0 to 1e6)"},

	"too many parts":  {func(s *Spec) { s.Parts = make([]PartSpec, MaxParts+1) }, "parts: 20001 parts, more than the 20000 legtrace takes"},
	"too many wires":  {func(s *Spec) { s.Wires = make([]WireSpec, MaxWires+1) }, "wires: 40001 wires, more than the 40000 legtrace takes"},
	"too many modes":  {func(s *Spec) { s.Modes = make([]ModeSpec, MaxModes+1) }, "modes: 201 modes, more than the 200 legtrace takes"},
	"too many points": {func(s *Spec) { s.Points = make([]PointSpec, MaxPoints+1) }, "points: 2001 test points, more than the 2000 legtrace takes"},
}

func TestBuildRefuses(t *testing.T) {
	for name, r := range refusals {
		t.Run(name, func(t *testing.T) {
			spec := oven()
			r.spoil(&spec)
			c, problems := Build(spec)
			if c != nil {
				t.Error("the machine is accepted")
			}
			if diff := cmp.Diff([]string{r.want}, said(problems)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func said(problems []Problem) []string {
	var out []string
	for _, p := range problems {
		out = append(out, p.String())
	}
	return out
}

func TestBuildAcceptsASoundMachine(t *testing.T) {
	c, problems := Build(oven())
	if c == nil || len(problems) > 0 {
		t.Fatal(said(problems))
	}
}

// Warnings do not stop a machine.
func TestBuildWarns(t *testing.T) {
	spec := oven()
	spec.Parts = append(spec.Parts, PartSpec{Name: "block", Kind: "terminal_block", Poles: []string{"a", "b"}})
	spec.Wires = append(spec.Wires, WireSpec{From: "block.a.in", To: "supply.L1"}, WireSpec{From: "supply.L1", To: "block.a.in"})
	add(&spec, PartSpec{Name: "loose", Kind: "lamp", Volts: 120, Watts: 5}, "1")
	add(&spec, PartSpec{Name: "spare", Kind: "lamp", Volts: 120, Watts: 5})
	c, problems := Build(spec)
	want := []string{
		`wires[13]: wires "w13" and "w14" run between the same terminals (drop one, unless the machine really has two)`,
		`parts.block: no wire on terminal a.out, b.in, b.out of "block"`,
		`parts.loose: no wire on terminal 2 of "loose" (wire it, or drop the part)`,
		`parts.spare: nothing is wired to "spare" (wire it, or drop the part)`,
	}
	if diff := cmp.Diff(want, said(problems)); diff != "" || c == nil {
		t.Errorf("built: %v\n%s", c != nil, diff)
	}
}

// A bad figure of the supply or of a wire hides nothing else that is wrong with
// either.
func TestBuildTellsEverythingWrongWithAWire(t *testing.T) {
	spec := oven()
	spec.Supply.Wires, spec.Supply.Hertz = 5, 2
	spec.Wires[2] = WireSpec{From: "supply.L3", To: "bake.9", AWG: 99, Colour: "yellow", Name: "w 2"}
	_, problems := Build(spec)
	want := []string{"supply.wires", "supply.hertz", "wires[2].from", "wires[2].to", "wires[2].name", "wires[2].awg", "wires[2].colour", "parts.relay"}
	var paths []string
	for _, p := range problems {
		paths = append(paths, p.Path)
	}
	if diff := cmp.Diff(want, paths); diff != "" {
		t.Error(diff)
	}
}

// Every problem is told at once, in the order of the netlist.
func TestBuildTellsAllProblemsAtOnce(t *testing.T) {
	spec := oven()
	spec.Supply.Hertz = 5
	part(&spec, "bake").Kind = "elemnt"
	spec.Wires[11].To = "suply.N"
	spec.Modes[2].Set["knob"] = "bright"
	_, problems := Build(spec)
	want := []string{"supply.hertz", "parts.bake.kind", "wires[11].to", "modes.light.set.knob"}
	var paths []string
	for _, p := range problems {
		paths = append(paths, p.Path)
	}
	if diff := cmp.Diff(want, paths); diff != "" {
		t.Error(diff)
	}
}

// A wire without a name is given one that nothing else has.
func TestWiresGetFreeNames(t *testing.T) {
	spec := oven()
	spec.Wires[1].Name = "w4"
	spec.Parts = append(spec.Parts, PartSpec{Name: "w5", Kind: "lamp", Volts: 120, Watts: 5})
	spec.Wires = append(spec.Wires, WireSpec{From: "w5.1", To: "supply.L1"}, WireSpec{From: "w5.2", To: "supply.N"})
	c, problems := Build(spec)
	if c == nil {
		t.Fatal(said(problems))
	}
	var names []string
	for _, w := range c.Wires()[:6] {
		names = append(names, w.Name)
	}
	if diff := cmp.Diff([]string{"w1", "w4", "w3", "w4a", "w5a", "w6"}, names); diff != "" {
		t.Error(diff)
	}
}
