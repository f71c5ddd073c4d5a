package circuit

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
)

// The lower functions turn a part into terminals and branches, one function
// per family of kinds. They run after the part's fields have been checked.

// lowering returns what turns a part of the kind into terminals and branches.
func (k Kind) lowering() func(*builder, *Part) {
	switch k {
	case KindTerminalBlock, KindConnector:
		return lowerPoles(Join)
	case KindElement, KindSurfaceElement, KindLamp, KindFan, KindSolenoid:
		return lowerLoad
	case KindMotor:
		return lowerMotor
	case KindTransformer:
		return lowerTransformer
	case KindResistor:
		return lowerResistor
	case KindCapacitor:
		return lowerCapacitor
	case KindSwitch, KindPushSwitch, KindSelector, KindThermostat, KindLimit, KindThermalFuse, KindFuse, KindDoorSwitch:
		return lowerSwitch
	case KindCyclingSwitch:
		return lowerCycling
	case KindBreaker, KindRCD:
		return lowerPoles(Contact)
	case KindNode:
		return lowerNode
	case KindRelay:
		return lowerRelay
	case KindCentrifugalSwitch:
		return lowerCentrifugal
	case KindLatch:
		return lowerLatch
	case KindSensor:
		return lowerSensor
	case KindControl:
		return lowerControl
	}
	return lowerLoad
}

// impedance returns the impedance that draws watts at volts with a lagging
// power factor; 0 power factor means 1.
func impedance(volts, watts, powerFactor float64) complex128 {
	if powerFactor == 0 || powerFactor == 1 {
		return complex(volts*volts/watts, 0)
	}
	size := volts * volts * powerFactor / watts
	return cmplx.Rect(size, math.Acos(powerFactor))
}

func (b *builder) load(p *Part, name, from, to string, volts, watts, powerFactor float64) *Branch {
	br := b.branch(p, name, Load, b.terminal(p, from), b.terminal(p, to))
	br.Volts, br.Watts = volts, watts
	br.Z = impedance(volts, watts, powerFactor)
	return br
}

func lowerLoad(b *builder, p *Part) {
	b.load(p, "", "1", "2", p.Spec.Volts, p.Spec.Watts, p.Spec.PowerFactor)
}

// defaultMotorPF is a small shaded-pole or split-phase motor's power factor
// (common practice, no source).
const defaultMotorPF = 0.6

func lowerMotor(b *builder, p *Part) {
	pf := p.Spec.PowerFactor
	if pf == 0 {
		pf = defaultMotorPF
	}
	name := ""
	if p.Spec.StartOhms > 0 {
		name = "main"
	}
	br := b.load(p, name, "1", "2", p.Spec.Volts, p.Spec.Watts, pf)
	br.Pickup, br.Dropout = RunShare*br.Volts, RunShare*br.Volts
	main := br.ID
	if p.Spec.StartOhms > 0 {
		start := b.branch(p, "start", Load, b.terminal(p, "3"), b.terminal(p, "2"))
		start.Z = complex(p.Spec.StartOhms, 0)
		start.Volts = p.Spec.Volts
		start.Pickup = RunShare * start.Volts
		b.c.branches[main].Start = start.ID
	}
}

func lowerResistor(b *builder, p *Part) {
	br := b.branch(p, "", Load, b.terminal(p, "1"), b.terminal(p, "2"))
	br.Z = complex(p.Spec.Ohms, 0)
	if p.Spec.Volts > 0 {
		br.Volts, br.Watts = p.Spec.Volts, p.Spec.Volts*p.Spec.Volts/p.Spec.Ohms
	}
}

func lowerCapacitor(b *builder, p *Part) {
	br := b.branch(p, "", Load, b.terminal(p, "1"), b.terminal(p, "2"))
	omega := 2 * math.Pi * b.c.supply.Hertz
	br.Z = complex(0, -1/(omega*p.Spec.Microfarads*1e-6))
}

// Transformer figures for small control transformers (common practice, no
// source): the magnetising branch takes a twentieth of the rating, and full
// load drops the output by a twentieth.
const magnetisingShare, regulation = 0.05, 0.05

func lowerTransformer(b *builder, p *Part) {
	s := p.Spec
	primary := b.load(p, "primary", "P1", "P2", s.Volts, s.Watts, 0)
	primary.Z = complex(s.Volts*s.Volts/(s.Watts*magnetisingShare), 0)
	id := primary.ID
	secondary := b.branch(p, "secondary", Load, b.terminal(p, "S1"), b.terminal(p, "S2"))
	secondary.Z = complex(regulation*s.SecondaryVolts*s.SecondaryVolts/s.Watts, 0)
	secondary.Volts = s.SecondaryVolts
	primary = &b.c.branches[id]
	primary.Secondary, primary.TurnsRatio, secondary.Primary = secondary.ID, s.Volts/s.SecondaryVolts, primary.ID
	// The primary's draw depends on what the secondary feeds, so it has no
	// share of rated power to show.
	primary.Watts = 0
}

func lowerSensor(b *builder, p *Part) {
	curve := &SensorCurve{Law: p.Spec.Curve, OhmsAt: p.Spec.OhmsAt, Beta: p.Spec.Beta}
	_, isPlatinum := platinumLaws[curve.Law]
	switch {
	case !isPlatinum && curve.Law != "ntc":
		b.fail(b.path+".curve", `one of "pt3850", "pt3750", "ntc"`, "unknown curve %q", curve.Law)
		return
	case isPlatinum && curve.Beta != 0:
		b.fail(b.path+".beta", "only an ntc has a beta", "a platinum sensor takes no beta")
		return
	case curve.Law == "ntc" && curve.Beta == 0:
		b.fail(b.path, "add beta = ..., in kelvin, 500 to 10000", "an ntc sensor needs \"beta\"")
		return
	case curve.Law == "ntc" && (curve.Beta < 500 || curve.Beta > 10000):
		b.fail(b.path+".beta", "beta in kelvin, 500 to 10000", "beta %g", curve.Beta)
		return
	}
	ohms, err := curve.Ohms(RoomCelsius)
	if err != nil {
		b.fail(b.path, "", "%v", err)
		return
	}
	br := b.branch(p, "", Load, b.terminal(p, "1"), b.terminal(p, "2"))
	br.Z, br.Sensor = complex(ohms, 0), curve
}

func lowerControl(b *builder, p *Part) {
	supply := b.load(p, "", "L", "N", p.Spec.Volts, p.Spec.Watts, p.Spec.PowerFactor).ID
	minVolts := p.Spec.MinVolts
	if minVolts == 0 {
		minVolts = DefaultPickup * p.Spec.Volts
	}
	if minVolts > p.Spec.Volts {
		b.fail(b.path+".min_volts", "at most its rated volts", "min_volts %g on a %g V control", minVolts, p.Spec.Volts)
	}
	c := Control{Part: p.ID, Supply: supply, MinVolts: minVolts, Differential: p.Spec.DifferentialKelvin}
	seen := map[string]bool{}
	for i, s := range p.Spec.Senses {
		path := fmt.Sprintf("%s.senses[%d]", b.path, i)
		switch {
		case !validName(s.Name):
			b.fail(path, "letters, digits, '_' and '-'", "a sense needs a name, not %q", s.Name)
			continue
		case seen[s.Name]:
			b.fail(path+".name", "names must differ", "sense %q is described twice", s.Name)
			continue
		case len(s.Pins) != 2 || s.Pins[0] == s.Pins[1]:
			b.fail(path+".pins", `like pins = ["P1", "P2"]`, "sense %q needs two pins", s.Name)
			continue
		case !(s.MinOhms >= 0 && s.MaxOhms > s.MinOhms && s.MaxOhms < largest):
			b.fail(path, "min_ohms at least 0, max_ohms above it", "sense %q accepts %g to %g ohms", s.Name, s.MinOhms, s.MaxOhms)
			continue
		}
		seen[s.Name] = true
		c.Senses = append(c.Senses, Sense{Name: s.Name, MinOhms: s.MinOhms, MaxOhms: s.MaxOhms,
			Pin1: b.terminal(p, s.Pins[0]), Pin2: b.terminal(p, s.Pins[1])})
	}
	b.codes(p, &c)
	b.c.controls = append(b.c.controls, c)
}

func lowerPoles(role Role) func(*builder, *Part) {
	return func(b *builder, p *Part) {
		poles, ok := b.poles(p)
		if !ok {
			return
		}
		if role == Contact {
			b.setPositions(p, []string{"closed", "open"}, "")
		}
		for _, pole := range poles {
			in, out := "in", "out"
			if pole != "" {
				in, out = pole+".in", pole+".out"
			}
			br := b.branch(p, pole, role, b.terminal(p, in), b.terminal(p, out))
			br.Amps, br.Residual = p.Spec.Amps, p.Spec.ResidualAmps
			if role == Contact {
				br.Rule.Closed = []bool{true, false}
			}
		}
	}
}

// lowerNode makes the one terminal of a splice, which goes by its name alone.
func lowerNode(b *builder, p *Part) {
	b.c.terminalByRef[p.Name] = b.terminalRaw(p.ID, "", p.Name)
}

// poles returns the part's pole names, or one unnamed pole.
func (b *builder) poles(p *Part) ([]string, bool) {
	if len(p.Spec.Poles) == 0 {
		return []string{""}, true
	}
	if len(p.Spec.Poles) > MaxPoles {
		b.fail(b.path+".poles", "", "%d poles, more than the %d legtrace takes", len(p.Spec.Poles), MaxPoles)
		return nil, false
	}
	seen := map[string]bool{}
	for i, pole := range p.Spec.Poles {
		if !validName(pole) || seen[pole] {
			b.fail(fmt.Sprintf("%s.poles[%d]", b.path, i), "pole names must differ", "pole %q", pole)
			return nil, false
		}
		seen[pole] = true
	}
	return p.Spec.Poles, true
}

// setPositions gives the part its positions, rest from the spec if named.
func (b *builder) setPositions(p *Part, positions []string, rest string) {
	p.Positions = positions
	if p.Spec.Rest != "" {
		rest = p.Spec.Rest
	}
	for i, name := range positions {
		if name == rest {
			p.Rest = i
			return
		}
	}
	if rest != "" {
		b.fail(b.path+".rest", "one of "+strings.Join(positions, ", "), "unknown position %q", rest)
	}
}

// lowerSwitch lowers every hand- or heat-worked contact: two-terminal, per
// pole, changeover, or by contact chart.
func lowerSwitch(b *builder, p *Part) {
	s := p.Spec
	if len(s.Chart) > 0 || len(s.Positions) > 0 {
		if s.Contact != "" || len(s.Poles) > 0 {
			b.fail(b.path, "give either a chart or contact and poles", "a chart says it all")
			return
		}
		b.chart(p, s.Positions, s.Chart)
		return
	}
	switch s.Contact {
	case "":
		b.setPositions(p, strings.Fields(p.Kind.info().positions), "")
	case "changeover":
		b.setPositions(p, []string{"rest", "actuated"}, "")
	default:
		b.fail(b.path+".contact", `"changeover", or leave it out and use rest`, "contact %q on a %s", s.Contact, p.Kind)
		return
	}
	poles, ok := b.poles(p)
	if !ok {
		return
	}
	for _, pole := range poles {
		prefix := ""
		if pole != "" {
			prefix = pole + "."
		}
		if s.Contact == "changeover" {
			common := b.terminal(p, prefix+"com")
			b.branch(p, prefix+"nc", Contact, common, b.terminal(p, prefix+"nc")).Rule.Closed = []bool{true, false}
			b.branch(p, prefix+"no", Contact, common, b.terminal(p, prefix+"no")).Rule.Closed = []bool{false, true}
			continue
		}
		br := b.branch(p, pole, Contact, b.terminal(p, prefix+"1"), b.terminal(p, prefix+"2"))
		br.Amps = s.Amps
		br.Rule.Closed = []bool{p.Positions[0] == "closed", p.Positions[1] == "closed"}
	}
}

// chart lowers a contact chart: in each group of a position the first terminal
// joins each of the others.
func (b *builder) chart(p *Part, positions []string, chart map[string][][]string) {
	if len(positions) < 2 || len(positions) > MaxPoles {
		b.fail(b.path+".positions", fmt.Sprintf("2 to %d positions", MaxPoles), "%d positions", len(positions))
		return
	}
	if !b.chartNames(positions, chart) {
		return
	}
	b.setPositions(p, positions, positions[0])
	pairs := map[[2]string][]bool{}
	var order [][2]string
	for at, name := range positions {
		for g, group := range chart[name] {
			if len(group) < 2 {
				b.fail(fmt.Sprintf("%s.chart.%s[%d]", b.path, name, g), "at least two terminals", "a contact that joins nothing")
				continue
			}
			for _, other := range group[1:] {
				pair := [2]string{group[0], other}
				if _, ok := pairs[[2]string{other, group[0]}]; ok {
					pair = [2]string{other, group[0]}
				}
				if pair[0] == pair[1] {
					b.fail(fmt.Sprintf("%s.chart.%s[%d]", b.path, name, g), "two different terminals", "%q joins itself", other)
					continue
				}
				if pairs[pair] == nil {
					pairs[pair] = make([]bool, len(positions))
					order = append(order, pair)
				}
				pairs[pair][at] = true
			}
		}
	}
	if len(order) == 0 {
		b.fail(b.path+".chart", "list the terminals each position joins", "the chart joins nothing")
	}
	for _, pair := range order {
		name := pair[0] + "-" + pair[1]
		br := b.branch(p, name, Contact, b.terminal(p, pair[0]), b.terminal(p, pair[1]))
		br.Rule.Closed = pairs[pair]
	}
}

// chartNames checks the names of positions, and that the chart has no others.
func (b *builder) chartNames(positions []string, chart map[string][][]string) bool {
	seen := map[string]bool{}
	for i, name := range positions {
		if !validName(name) || seen[name] {
			b.fail(fmt.Sprintf("%s.positions[%d]", b.path, i), "position names must differ", "position %q", name)
			return false
		}
		seen[name] = true
	}
	for _, name := range sortedKeys(chart) {
		if !seen[name] {
			b.fail(b.path+".chart."+name, "one of "+strings.Join(positions, ", "), "unknown position %q", name)
			return false
		}
	}
	return true
}

// lowerCycling lowers an infinite switch. In "on" both legs pass; in "idle",
// the part of its cycle without heat, L2 and the pilot stay made.
func lowerCycling(b *builder, p *Part) {
	if len(p.Spec.Chart) > 0 || len(p.Spec.Positions) > 0 {
		b.chart(p, p.Spec.Positions, p.Spec.Chart)
		return
	}
	b.chart(p, []string{"off", "on", "idle"}, map[string][][]string{
		"on":   {{"L1", "H1"}, {"L2", "H2"}, {"L2", "P"}},
		"idle": {{"L2", "H2"}, {"L2", "P"}},
	})
}

func lowerLatch(b *builder, p *Part) {
	s := p.Spec
	if (s.Volts > 0) != (s.Watts > 0) {
		b.fail(b.path, "give both volts and watts, or neither", "a latch motor needs volts and watts")
		return
	}
	if s.Volts > 0 {
		pf := s.PowerFactor
		if pf == 0 {
			pf = defaultMotorPF
		}
		b.load(p, "motor", "M1", "M2", s.Volts, s.Watts, pf)
	}
	if len(s.Chart) > 0 || len(s.Positions) > 0 {
		b.chart(p, s.Positions, s.Chart)
		return
	}
	b.chart(p, []string{"unlocked", "locked"}, map[string][][]string{"locked": {{"1", "2"}}})
}
