package starter

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// supply is a way of feeding a machine.
type supply struct {
	key, means string
	system     string
	volts      float64 // on the heaters
	small      float64 // on lamps, motors, controls
	wires      int
	single     bool // one leg and neutral
	strapped   bool // neutral bonded to the frame
}

func supplies() []supply {
	return []supply{
		{"240-4wire", "120/240 V, 4-wire: two legs, neutral, ground", "split-phase", 240, 120, 4, false, false},
		{"240-3wire", "120/240 V, 3-wire: neutral strapped to the frame", "split-phase", 240, 120, 3, false, true},
		{"208-4wire", "120/208 V, 4-wire: two legs of three-phase, neutral, ground", "wye", 208, 120, 4, false, false},
		{"208-3wire", "120/208 V, 3-wire: neutral strapped to the frame", "wye", 208, 120, 3, false, true},
		{"120", "120 V: line, neutral, ground", "single-phase", 120, 120, 3, true, false},
		{"230", "230 V single-phase: line, neutral, ground", "single-phase", 230, 230, 3, true, false},
	}
}

// Supply is the supply that goes by an answer to what feeds a machine.
func Supply(key string) (circuit.SupplySpec, bool) {
	list := supplies()
	i := slices.IndexFunc(list, func(s supply) bool { return s.key == key })
	if i < 0 {
		return circuit.SupplySpec{}, false
	}
	return circuit.SupplySpec{System: list[i].system, Volts: list[i].volts, Wires: list[i].wires}, true
}

func supplyOf(a Answers) supply {
	list := supplies()
	i := slices.IndexFunc(list, func(s supply) bool { return s.key == a["supply"] })
	return list[max(i, 0)]
}

// sheet is a netlist in the making.
type sheet struct {
	a       Answers
	supply  supply
	neutral bool // something is on neutral

	parts, wires, points, modes strings.Builder
	places                      map[string][2]string // label and place by part
	pointed                     map[string]bool
	wireCount                   int
	loads                       []string
	heavy                       []float64 // watts of the heaters
	pending                     []mode
}

type mode struct {
	name, label string
	keys        []string // lines of TOML
	on          []string
}

func newSheet(a Answers) *sheet {
	return &sheet{a: a, supply: supplyOf(a), places: map[string][2]string{}, pointed: map[string]bool{}}
}

// The conductors at the terminal block. A is the leg that each heater is
// switched in, B the other.

func (s *sheet) l1() string { return "terminal_block.L1.out" }
func (s *sheet) l2() string {
	if s.supply.single {
		return s.n()
	}
	return "terminal_block.L2.out"
}

func (s *sheet) n() string {
	s.neutral = true
	return "terminal_block.N.out"
}

func (s *sheet) legA() string {
	if s.a["switched"] == OnlyL2 {
		return s.l2()
	}
	return s.l1()
}

func (s *sheet) legB() string {
	if s.a["switched"] == OnlyL2 {
		return s.l1()
	}
	return s.l2()
}

func (s *sheet) both() bool       { return s.a["switched"] == Both }
func (s *sheet) electronic() bool { return s.a["control"] == Electronic }

// colourOf is what a wire from a terminal of the terminal block has.
func colourOf(terminal string) string {
	switch terminal {
	case "terminal_block.L1.out":
		return "BK"
	case "terminal_block.L2.out":
		return "RD"
	case "terminal_block.N.out":
		return "WH"
	}
	return "BU"
}

// section begins a group of parts and wires with a comment.
func (s *sheet) section(comment string) {
	for _, b := range []*strings.Builder{&s.parts, &s.wires} {
		b.WriteString("\n# " + comment + "\n")
	}
}

// part describes a part; the keys are TOML.
func (s *sheet) part(name, kind, keys, label, place string) {
	if keys != "" {
		keys = ", " + keys
	}
	fmt.Fprintf(&s.parts, "%s = { kind = %q%s, label = %q, place = %q }\n", name, kind, keys, label, place)
	s.places[name] = [2]string{label, place}
}

// load describes a part that takes power.
func (s *sheet) load(name, kind string, volts, watts float64, label, place string) {
	s.part(name, kind, fmt.Sprintf("volts = %g, watts = %g", volts, watts), label, place)
	s.loads = append(s.loads, name)
	if kind == "element" || kind == "surface_element" {
		s.heavy = append(s.heavy, watts)
	}
}

// wire joins two terminals.
func (s *sheet) wire(from, to, colour string, awg int) {
	s.wireCount++
	fmt.Fprintf(&s.wires, "w%02d = { from = %q, to = %q, colour = %q, awg = %d }\n", s.wireCount, from, to, colour, awg)
}

// run wires terminals one after the other and lists a test point where each
// wire ends. Passing through a part takes two terminals, "in|out".
func (s *sheet) run(watts float64, from string, stops ...string) {
	colour := colourOf(from)
	for _, stop := range stops {
		in, out, through := strings.Cut(stop, "|")
		s.wire(from, in, colour, gauge(watts/s.supply.volts))
		s.point(in)
		if through {
			from = out
		}
	}
}

// point lists a test point, once.
func (s *sheet) point(at string) {
	part, terminal, _ := strings.Cut(at, ".")
	said := s.places[part]
	if s.pointed[at] || said[0] == "" {
		return
	}
	s.pointed[at] = true
	fmt.Fprintf(&s.points, "%s = { at = %q, label = %q, place = %q, minutes = 8 }\n",
		strings.ReplaceAll(at, ".", "_"), at, said[0]+" "+terminal, said[1])
}

// mode describes what the person selects; loads not on are off.
func (s *sheet) mode(name, label string, keys []string, on ...string) {
	s.pending = append(s.pending, mode{name, label, keys, on})
}

func (s *sheet) writeModes() {
	for _, m := range s.pending {
		fmt.Fprintf(&s.modes, "\n[modes.%s]\nlabel = %q\n", m.name, m.label)
		for _, key := range m.keys {
			s.modes.WriteString(key + "\n")
		}
		// What is always fed is on in every mode.
		on := m.on
		if slices.Contains(s.loads, "control") {
			on = append([]string{"control"}, on...)
		}
		var off []string
		for _, load := range s.loads {
			if !slices.Contains(on, load) {
				off = append(off, load)
			}
		}
		for _, list := range []struct {
			key   string
			loads []string
		}{{"on", on}, {"off", off}} {
			if len(list.loads) > 0 {
				fmt.Fprintf(&s.modes, "%s = %s\n", list.key, tomlList(list.loads))
			}
		}
	}
}

func tomlList(words []string) string { return `["` + strings.Join(words, `", "`) + `"]` }

func set(pairs ...string) string {
	var out []string
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, fmt.Sprintf("%s = %q", pairs[i], pairs[i+1]))
	}
	return "set = { " + strings.Join(out, ", ") + " }"
}

func drives(relays ...string) string { return "drives = " + tomlList(relays) }

// gauge is the AWG of a wire that carries so many amps: common practice for
// copper, no source; well within NFPA 70 table 310.16 (from memory).
func gauge(amps float64) int {
	for _, size := range []struct {
		amps float64
		awg  int
	}{{5, 18}, {15, 14}, {20, 12}, {30, 10}, {40, 8}, {55, 6}, {75, 4}} {
		if amps <= size.amps {
			return size.awg
		}
	}
	return 2
}

// breaker is the rating that a machine of such heaters is usually fed from: a
// quarter more than its largest heater draws and two fifths of what the others
// draw, since they cycle (common practice, no source).
func (s *sheet) breaker() int {
	largest, all := 0.0, 0.0
	for _, w := range s.heavy {
		largest, all = max(largest, w), all+w
	}
	need := (1.25*largest + 0.4*(all-largest)) / s.supply.volts
	for _, rating := range []int{15, 20, 25, 30, 40, 50, 60, 80} {
		if need <= float64(rating) {
			return rating
		}
	}
	return 100
}

// text puts the netlist together.
func (s *sheet) text(name string) string {
	house, feed, posts := s.house()
	s.writeModes()
	var b strings.Builder
	b.WriteString("# Begun with legtrace new. A start, and no machine of any maker: go through it\n")
	b.WriteString("# wire by wire with the diagram of the machine at hand, and change what differs.\n")
	b.WriteString("# FORMAT.md explains every key; legtrace check finds slips.\n\n")
	if name == "" {
		name = s.a["heats"]
	}
	fmt.Fprintf(&b, "name = %q\ntitle = %q\nnotes = \"\"\"\n%s\"\"\"\n", name, s.title(), s.notes())
	fmt.Fprintf(&b, "\n[supply]\nsystem = %q\nvolts = %g # on the nameplate\nwires = %d\n", s.supply.system, s.supply.volts, s.supply.wires)
	b.WriteString("\n# Ratings are on the nameplate and on the parts; places are where to look.\n[parts]\n" + house + s.parts.String())
	b.WriteString("\n# From a terminal to a terminal. Colours by IEC 60757; read colour and gauge off\n# the machine, they are what you look for behind the panel.\n[wires]\n" + feed + s.wires.String())
	b.WriteString("\n# What can be selected, and which loads a sound machine then has on or off.\n" + strings.TrimPrefix(s.modes.String(), "\n"))
	b.WriteString("\n# Where a probe can reach, and the minutes it takes (common practice, no source).\n[points]\n" + posts + s.points.String())
	return b.String()
}

func (s *sheet) title() string {
	what := map[string]string{Range: "Range", Oven: "Oven", Cooktop: "Cooktop", Dryer: "Dryer", WaterHeater: "Water heater", Heater: "Heater"}
	volts, _, _ := strings.Cut(s.supply.means, ":")
	return fmt.Sprintf("%s with %s control, %s", what[s.a["heats"]], s.a["control"], volts)
}

func (s *sheet) notes() string {
	var b strings.Builder
	b.WriteString("Begun from a few answers; not yet compared with a machine.\n")
	for _, key := range Keys() {
		if means := Means(s.a, key); means != "" {
			fmt.Fprintf(&b, "%s: %s.\n", strings.ToUpper(key[:1])+key[1:], means)
		}
	}
	return b.String()
}

// house describes what feeds the machine, down to its terminal block.
func (s *sheet) house() (parts, wires, points string) {
	if s.supply.strapped {
		s.neutral = true
	}
	legs := []string{"L1"}
	if !s.supply.single {
		legs = append(legs, "L2")
	}
	poles := legs
	if s.neutral {
		poles = append(slices.Clone(legs), "N")
	}
	amps := s.breaker()
	awg := gauge(float64(amps))
	where := "back, low, behind the cover"
	parts = fmt.Sprintf("# From the house.\nbreaker = { kind = \"breaker\", poles = %s, amps = %d, label = \"Breaker\", place = \"house panel\" }\n", tomlList(legs), amps) +
		fmt.Sprintf("terminal_block = { kind = \"terminal_block\", poles = %s, label = \"Terminal block\", place = %q }\n", tomlList(poles), where)
	wires = "# From the house.\n"
	wire := func(name, from, to, colour string) {
		wires += fmt.Sprintf("%s = { from = %q, to = %q, colour = %q, awg = %d }\n", name, from, to, colour, awg)
	}
	for i, leg := range legs {
		colour := []string{"BK", "RD"}[i]
		wire("feed_"+leg, "supply."+leg, "breaker."+leg+".in", colour)
		wire("line_"+leg, "breaker."+leg+".out", "terminal_block."+leg+".in", colour)
	}
	if s.neutral {
		wire("line_N", "supply.N", "terminal_block.N.in", "WH")
	}
	if s.supply.strapped {
		wires += fmt.Sprintf("strap = { from = \"terminal_block.N.out\", to = \"chassis\", awg = %d } # 3-wire hookup: neutral strapped to the frame\n", awg)
	} else {
		wire("earth", "supply.G", "chassis", "GN")
	}
	for _, pole := range poles {
		points += fmt.Sprintf("tb_%s = { at = \"terminal_block.%s.out\", label = \"Terminal block %s\", place = %q, minutes = 5 }\n", pole, pole, pole, where)
	}
	return parts, wires, points
}
