package starter

import (
	"bytes"
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/template"

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

// draft is a netlist in the making.
type draft struct {
	a       Answers
	supply  supply
	neutral bool // something is on neutral

	parts, wires, points strings.Builder
	places               map[string][2]string // label and place by part
	pointed              map[string]bool
	wireCount            int
	loads                []string
	heavy                []float64 // watts of the heaters
	modes                []mode
}

type mode struct {
	Name, Label string
	Keys        []string // lines of TOML
	On, Off     []string
}

func newDraft(a Answers) *draft {
	return &draft{a: a, supply: supplyOf(a), places: map[string][2]string{}, pointed: map[string]bool{}}
}

// The conductors at the terminal block. A is the leg that each heater is
// switched in, B the other.

func (s *draft) l1() string { return "terminal_block.L1.out" }
func (s *draft) l2() string {
	if s.supply.single {
		return s.n()
	}
	return "terminal_block.L2.out"
}

func (s *draft) n() string {
	s.neutral = true
	return "terminal_block.N.out"
}

func (s *draft) legA() string {
	if s.a["switched"] == OnlyL2 {
		return s.l2()
	}
	return s.l1()
}

func (s *draft) legB() string {
	if s.a["switched"] == OnlyL2 {
		return s.l1()
	}
	return s.l2()
}

func (s *draft) both() bool       { return s.a["switched"] == Both }
func (s *draft) electronic() bool { return s.a["control"] == Electronic }

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
func (s *draft) section(comment string) {
	for _, b := range []*strings.Builder{&s.parts, &s.wires} {
		b.WriteString("\n# " + comment + "\n")
	}
}

// part describes a part; the keys are TOML.
func (s *draft) part(name, kind, keys, label, place string) {
	if keys != "" {
		keys = ", " + keys
	}
	fmt.Fprintf(&s.parts, "%s = { kind = %q%s, label = %q, place = %q }\n", name, kind, keys, label, place)
	s.places[name] = [2]string{label, place}
}

// load describes a part that takes power.
func (s *draft) load(name, kind string, volts, watts float64, label, place string) {
	s.part(name, kind, fmt.Sprintf("volts = %g, watts = %g", volts, watts), label, place)
	s.loads = append(s.loads, name)
	if kind == "element" || kind == "surface_element" {
		s.heavy = append(s.heavy, watts)
	}
}

// wire joins two terminals.
func (s *draft) wire(from, to, colour string, awg int) {
	s.wireCount++
	fmt.Fprintf(&s.wires, "w%02d = { from = %q, to = %q, colour = %q, awg = %d }\n", s.wireCount, from, to, colour, awg)
}

// run wires terminals one after the other and lists a test point where each
// wire begins and ends, so that both sides of every contact are got at. Passing
// through a part takes two terminals, "in|out".
func (s *draft) run(watts float64, from string, stops ...string) {
	colour := colourOf(from)
	if !strings.HasPrefix(from, "terminal_block.") { // which has points of its own
		s.point(from)
	}
	for _, stop := range stops {
		in, out, through := strings.Cut(stop, "|")
		s.wire(from, in, colour, gauge(watts/s.supply.volts))
		s.point(in)
		if through {
			from = out
			s.point(from)
		}
	}
}

// point lists a test point, once.
func (s *draft) point(at string) {
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
func (s *draft) mode(name, label string, keys []string, on ...string) {
	s.modes = append(s.modes, mode{Name: name, Label: label, Keys: keys, On: on})
}

// loaded adds to every mode what is always fed, and the loads that are off.
func (s *draft) loaded() []mode {
	out := slices.Clone(s.modes)
	for i := range out {
		m := &out[i]
		if slices.Contains(s.loads, "control") {
			m.On = append([]string{"control"}, m.On...)
		}
		for _, load := range s.loads {
			if !slices.Contains(m.On, load) {
				m.Off = append(m.Off, load)
			}
		}
	}
	return out
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
func (s *draft) breaker() int {
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

// frame is the netlist around what a machine's own description writes.
//
//go:embed netlist.tmpl
var frame string

// text puts the netlist together.
func (s *draft) text(name string) ([]byte, error) {
	t, err := template.New("netlist").Funcs(template.FuncMap{
		"quote":  strconv.Quote,
		"list":   tomlList,
		"colour": func(leg string) string { return colourOf("terminal_block." + leg + ".out") },
	}).Parse(frame)
	if err != nil {
		return nil, err
	}
	if name == "" {
		name = s.a["heats"]
	}
	legs := []string{"L1", "L2"}
	if s.supply.single {
		legs = legs[:1]
	}
	neutral, poles := s.neutral || s.supply.strapped, legs
	if neutral {
		poles = append(slices.Clone(legs), "N")
	}
	amps := s.breaker()
	var b bytes.Buffer
	err = t.Execute(&b, map[string]any{
		"Name": name, "Title": s.title(), "Notes": s.notes(),
		"System": s.supply.system, "Volts": s.supply.volts, "Conductors": s.supply.wires, "Strapped": s.supply.strapped,
		"Legs": legs, "Poles": poles, "Neutral": neutral, "Amps": amps, "AWG": gauge(float64(amps)),
		"Parts": s.parts.String(), "Wires": s.wires.String(), "Points": s.points.String(), "Modes": s.loaded(),
	})
	return b.Bytes(), err
}

func (s *draft) title() string {
	what := map[string]string{Range: "Range", Oven: "Oven", Cooktop: "Cooktop", Dryer: "Dryer", WaterHeater: "Water heater", Heater: "Heater"}
	volts, _, _ := strings.Cut(s.supply.means, ":")
	return fmt.Sprintf("%s with %s control, %s", what[s.a["heats"]], s.a["control"], volts)
}

func (s *draft) notes() string {
	var b strings.Builder
	b.WriteString("Begun from a few answers; not yet compared with a machine.\n")
	for _, key := range Keys() {
		if means := Means(s.a, key); means != "" {
			fmt.Fprintf(&b, "%s: %s.\n", circuit.UpperFirst(key), means)
		}
	}
	return b.String()
}
