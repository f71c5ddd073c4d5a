package report_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
	"legtrace/render/report"
)

// saying checks what reports say in words against an engine and a solver of its
// own: every figure in the text must be the solver's, to the digits printed.
type saying struct {
	t       *testing.T
	c       *circuit.Circuit
	r       *report.Reporter
	engine  *settle.Engine
	tracer  *trace.Tracer
	checked map[string]int // statements, by report
	name    string
}

// Every figure that loads, path, readings and live print, in every mode of
// every machine of the catalog with single faults, is found in the solver's
// answer; so is every figure of breaks and points, whose faults are their own.
// A run takes every fourth machine, the nightly one all. LEGTRACE_EVERY_FAULT=1 tries
// every fault in every mode, which takes minutes.
func TestWhatIsSaidIsWhatTheSolverFinds(t *testing.T) {
	checked := map[string]int{}
	stride := 47 // over the modes of a machine each fault comes up
	if os.Getenv("LEGTRACE_EVERY_FAULT") != "" {
		stride = 1
	}
	for k, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-mechanical" && entry.Name != "oven-230" || !circuittest.Sampled(k, 4) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		s := &saying{t: t, c: c, r: report.New(c), engine: settle.New(c), tracer: trace.New(c), checked: checked}
		faults := append([]circuit.Fault{{}}, meter.SingleFaults(c)...)
		for _, m := range c.Modes() {
			if _, err := s.r.Loads(report.Question{Mode: m.ID, Load: circuit.None}); err != nil {
				t.Fatal(err)
			}
			for i, f := range faults {
				if (i+int(m.ID))%stride != 0 {
					continue
				}
				q := report.Question{Mode: m.ID, Load: s.largest(m.ID)}
				s.name = entry.Name + ", " + m.Name
				if i > 0 {
					q.Faults, s.name = []circuit.Fault{f}, s.name+", "+c.FaultRef(f)
				}
				out, err := s.engine.Run(q.Mode, q.Faults)
				if err != nil {
					t.Fatalf("%s: %v", s.name, err)
				}
				s.loads(q, out)
				s.path(q, out)
				s.live(q, out)
				s.readings(q, out)
			}
			s.name = entry.Name + ", " + m.Name
			if circuittest.Nightly || m.ID%3 == 1 {
				s.breaks(m.ID)
				s.points(m.ID)
			}
		}
	}
	total := 0
	for _, n := range checked {
		total += n
	}
	t.Logf("%d statements checked: %v", total, checked)
	for _, report := range []string{"loads", "path", "readings", "live", "breaks", "points"} {
		if checked[report] == 0 {
			t.Errorf("nothing of %s was checked", report)
		}
	}
}

// largest is the load that a sound machine gives most in a mode.
func (s *saying) largest(mode circuit.ModeID) circuit.BranchID {
	out, err := s.engine.Run(mode, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	best := s.c.Loads()[0]
	for _, id := range s.c.Loads() {
		if out.AnyState.Watts(id) > out.AnyState.Watts(best) {
			best = id
		}
	}
	return best
}

// wrong tells what is said and is not so, and of which state.
func (s *saying) wrong(format string, args ...any) {
	s.t.Errorf("%s: %s", s.name, fmt.Sprintf(format, args...))
}

func (s *saying) text(d report.Document, err error) []string {
	s.t.Helper()
	if err != nil {
		s.t.Fatalf("%s: %v", s.name, err)
	}
	return strings.Split(written(s.t, d, report.FormatText), "\n")
}

// figureIn is a printed figure: its value, and half a unit of its last digit.
func figureIn(word string) (v, slack float64, ok bool) {
	v, err := strconv.ParseFloat(word, 64)
	slack = 0.5
	if _, digits, found := strings.Cut(word, "."); found {
		slack = 0.5 * math.Pow(10, -float64(len(digits)))
	}
	return v, slack * 1.01, err == nil
}

// isSaid compares "least to most", or one figure, with a range of the solver's.
func isSaid(words []string, r settle.Range, scale float64) bool {
	low, slack, ok := figureIn(words[0])
	high, slackHigh, okHigh := figureIn(words[len(words)-1])
	return ok && okHigh && math.Abs(low-scale*r.Least) <= slack+1e-4 && math.Abs(high-scale*r.Most) <= slackHigh+1e-4
}

var loadRow = regexp.MustCompile(`^  (\S.*?)  +([\d.]+)(?: to ([\d.]+))? +([\d.]+)(?: to ([\d.]+))? +([\d.]+)(?: to ([\d.]+))? +([\d.]+)(?: +([\d.]+) %)?  (\S.*)$`)

func ends(m []string, low, high int) []string {
	if m[high] == "" {
		return []string{m[low]}
	}
	return []string{m[low], m[high]}
}

func (s *saying) loads(q report.Question, out *settle.Outcome) {
	k := 0
	for _, line := range s.text(s.r.Loads(q)) {
		m := loadRow.FindStringSubmatch(strings.ReplaceAll(line, "\u00a0", " "))
		if m == nil {
			continue
		}
		id := s.c.Loads()[k]
		k++
		amps := out.Amps(id)
		if m[10] == "hums" || m[10] == "chatters" && out.Hums(id) { // kept from turning it draws four to six times that
			amps.Least, amps.Most = 4*amps.Least, 6*amps.Most
		}
		for _, x := range []struct {
			what      string
			low, high int
			is        settle.Range
		}{{"volts", 2, 3, out.LoadVolts(id)}, {"amps", 4, 5, amps}, {"watts", 6, 7, out.Watts(id)}} {
			s.checked["loads"]++
			if !isSaid(ends(m, x.low, x.high), x.is, 1) {
				s.wrong("loads says of the %s of %s: %q; the solver has %v", x.what, s.c.Branch(id).Ref, line, x.is)
			}
		}
		_, steady := out.Watts(id).Steady()
		if (m[10] == "chatters") == steady {
			s.wrong("loads calls %s %s; its power is steady: %v", s.c.Branch(id).Ref, m[10], steady)
		}
	}
	if k != len(s.c.Loads()) {
		s.wrong("loads shows %d of %d loads", k, len(s.c.Loads()))
	}
}

var hopRow = regexp.MustCompile(`^ *\d+  .* ([\w-]+\.[\w.-]+|chassis) +(?:([\d.]+)(?: to ([\d.]+))?|(floats))(?:  .*)?$`)

func (s *saying) path(q report.Question, out *settle.Outcome) {
	for _, line := range s.text(s.r.Path(q)) {
		m := hopRow.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		at, err := s.c.FindTerminal(m[1])
		if err != nil {
			continue // a name that the column breaks
		}
		s.checked["path"]++
		is, floats := settle.Range{Least: math.Inf(1)}, false
		for _, state := range out.InTurn() {
			v := cmplx.Abs(state.AnyState.Volts[at])
			is.Least, is.Most = min(is.Least, v), max(is.Most, v)
			floats = floats || state.AnyState.Floating[at]
		}
		if floats != (m[4] != "") || !floats && !isSaid(ends(m, 2, 3), is, 1) {
			s.wrong("path says %q; the solver has %v, floating: %v", line, is, floats)
		}
	}
}

var toEarth = regexp.MustCompile(`(\d+) V to earth`)

// live compares each voltage above a list of places with that of each place.
func (s *saying) live(q report.Question, out *settle.Outcome) {
	var head []string
	neutral := meter.New(s.c, meter.DefaultInstrument()).Reference()
	lines := s.text(s.r.Live(context.Background(), []circuit.ModeID{q.Mode}, q.Faults, nil))
	joined := ""
	for _, line := range lines {
		if strings.HasPrefix(line, "  One fault more") || strings.HasPrefix(line, "Caution") {
			break
		}
		joined += line + "\n"
	}
	for _, line := range strings.Split(joined, "\n") {
		if strings.HasPrefix(line, "  ") && strings.Contains(line, ", from ") && strings.HasSuffix(line, ":") {
			head = voltages(line)
			continue
		}
		if !strings.HasPrefix(line, "    ") || head == nil {
			head = nil
			continue
		}
		label := strings.TrimSpace(line)
		if at := strings.Index(label, "  "); at > 0 {
			label = label[:at]
		}
		terminals := s.labelled(label)
		for _, t := range terminals {
			s.checked["live"]++
			if !s.stands(out, neutral, t, head) {
				s.wrong("live says %v of %q, %s; the solver has %.1f V to earth", head, line, s.c.Terminal(t).Ref, cmplx.Abs(out.AnyState.Volts[t]))
			}
		}
	}
}

// voltages reads "120 V to earth, 0 V to neutral and the metal", or "120 V".
func voltages(head string) []string {
	head, _, _ = strings.Cut(strings.ReplaceAll(strings.TrimSpace(head), "\u00a0", " "), ", from ")
	return strings.Split(head, ", ")
}

// labelled finds the terminals that a line of live names: a part's label with
// its terminals.
func (s *saying) labelled(line string) []circuit.TerminalID {
	var out []circuit.TerminalID
	longest := ""
	for _, p := range s.c.Parts() {
		label := strings.Join(strings.Fields(p.Label), " ")
		rest, ok := strings.CutPrefix(line, label+" ")
		if !ok || len(label) <= len(longest) {
			continue
		}
		longest, out = label, nil
		for _, name := range strings.Split(rest, ", ") {
			for _, t := range p.Terminals {
				if s.c.Terminal(t).Name == name {
					out = append(out, t)
				}
			}
		}
	}
	return out
}

// stands reports whether a terminal is, in some state, at all the voltages told.
func (s *saying) stands(out *settle.Outcome, neutral, t circuit.TerminalID, told []string) bool {
	to := map[string]circuit.TerminalID{"neutral": neutral, "the metal": s.c.ChassisTerminal()}
	for _, state := range out.InTurn() {
		all := true
		for _, words := range told {
			figure, names, alike := strings.Cut(words, " V to ")
			figure = strings.TrimSuffix(figure, " V")
			if !alike {
				names = "earth and neutral and the metal"
			}
			want, err := strconv.ParseFloat(figure, 64)
			if err != nil {
				return true // the second half of a list of names
			}
			for _, name := range strings.Split(names, " and ") {
				v, known := state.AnyState.Volts[t], !state.AnyState.Floating[t]
				if ref, ok := to[name]; ok {
					v, known = state.AnyState.Between(t, ref)
				}
				// Joined terminals differ by what is lost along a wire.
				all = all && known && math.Abs(cmplx.Abs(v)-want) <= 3
			}
		}
		if all {
			return true
		}
	}
	return false
}

var readingRow = regexp.MustCompile(`^  (sound|broken) +(\S.*?)  +(\S.*?)(?:  +(differs|as good))?$`)
var figures = regexp.MustCompile(`[\d.]+`)

// readings takes the voltage across the load, and from each end to the metal.
func (s *saying) readings(q report.Question, out *settle.Outcome) {
	b := s.c.Branch(q.Load)
	metal := s.c.ChassisTerminal()
	sound, err := s.engine.Run(q.Mode, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	pairs := []report.Pair{{From: b.A, To: b.B}, {From: b.A, To: metal}}
	d, err := s.r.Readings(q, meter.Volts, pairs, report.MeterOptions{})
	at := -1
	for _, line := range s.text(d, err) {
		line = strings.ReplaceAll(line, "\u00a0", " ")
		if strings.HasPrefix(line, "  red ") {
			at++
		}
		m := readingRow.FindStringSubmatch(line)
		if m == nil || at < 0 || at >= len(pairs) {
			continue
		}
		o := sound
		if m[1] == "broken" {
			o = out
		}
		s.checked["readings"]++
		s.reading(o, pairs[at], m[2], m[3])
	}
	for _, p := range d.Readings {
		for _, remark := range p.Remarks {
			if strings.Contains(remark, "neither end is dead") {
				s.checked["readings"]++
				s.neitherDead(out, circuit.TerminalID(b.A), remark)
			}
		}
	}
}

// reading compares a nominal reading and its interval with a solve that has the
// meter's own input in it.
func (s *saying) reading(o *settle.Outcome, p report.Pair, nominal, interval string) {
	v := o.Volts(p.From, p.To)
	_, steady := v.Steady()
	switch {
	case strings.HasPrefix(nominal, "floating"):
		if !v.Floats {
			s.wrong("a reading is said to float; the solver has %v", v)
		}
		return
	case strings.HasPrefix(nominal, "jumps"):
		f := figures.FindAllString(nominal, -1)
		low, _ := strconv.ParseFloat(f[0], 64)
		high, _ := strconv.ParseFloat(f[1], 64)
		if steady || low > v.Least+0.5 || high < v.Most-0.5 {
			s.wrong("a reading is said to jump from %s; the solver has %v", nominal, v)
		}
		return
	case v.Floats:
		return // pulled down by the meter: a stated model of stray voltage
	}
	in := s.engine.Input(o)
	in.Probe = &phasor.Probe{A: p.From, B: p.To, Ohms: meter.DefaultInstrument().InputOhms}
	sol, err := o.Solver().Solve(in)
	if err != nil {
		s.t.Fatal(err)
	}
	u, _ := sol.Between(p.From, p.To)
	is := cmplx.Abs(u)
	said, slack, ok := figureIn(strings.TrimSuffix(nominal, " V"))
	if !ok || math.Abs(said-is) > max(slack, 0.006*is) {
		s.wrong("a reading is said to be %q; the solver has %.3f V", nominal, is)
	}
	f := figures.FindAllString(interval, -1)
	low, high := 0.0, 0.0
	switch len(f) {
	case 1:
		high, _ = strconv.ParseFloat(f[0], 64)
	case 2:
		low, _ = strconv.ParseFloat(f[0], 64)
		high, _ = strconv.ParseFloat(f[1], 64)
	}
	if is < low-0.5 || is > high+0.5 {
		s.wrong("a reading is said to lie in %q; the solver has %.3f V", interval, is)
	}
}

// neitherDead checks the voltages that a remark gives to both ends.
func (s *saying) neitherDead(out *settle.Outcome, at circuit.TerminalID, remark string) {
	m := toEarth.FindStringSubmatch(strings.ReplaceAll(remark, "\u00a0", " "))
	if m == nil {
		s.wrong("no voltage to earth in %q", remark)
		return
	}
	want, _ := strconv.ParseFloat(m[1], 64)
	if v := cmplx.Abs(out.AnyState.Volts[at]); math.Abs(v-want) > 3 {
		s.wrong("%q; the solver has %.1f V to earth", remark, v)
	}
}

var leftOf = regexp.MustCompile(`^ +(\d+)  .* ([\d.]+) W (\d+) %`)

// breaks opens one of each set that is said to leave the load dead or weak.
func (s *saying) breaks(mode circuit.ModeID) {
	load := s.largest(mode)
	d, err := s.r.Breaks(context.Background(), report.Question{Mode: mode, Load: load}, report.BreaksOptions{Order: 1})
	if errors.Is(err, trace.ErrNotEnergised) {
		return
	}
	for _, line := range s.text(d, err) {
		m := leftOf.FindStringSubmatch(strings.ReplaceAll(line, "\u00a0", " "))
		if m == nil {
			continue
		}
		n, _ := strconv.Atoi(m[1])
		var set report.Set
		for _, x := range d.Sets {
			if x.Number == n {
				set = x
			}
		}
		if said, slack, _ := figureIn(m[2]); math.Abs(said-set.Watts) > slack {
			s.wrong("breaks prints %s W of set %d, and has %g", m[2], n, set.Watts)
		}
	}
	for _, set := range d.Sets {
		var faults []circuit.Fault
		for _, m := range set.Members {
			id, err := s.c.FindBranch(m.AnyOf[0].Ref)
			if err != nil {
				s.t.Fatal(err)
			}
			faults = append(faults, circuit.Fault{Kind: circuit.Open, Branch: id})
		}
		out, err := s.engine.Run(mode, faults)
		if err != nil {
			s.t.Fatal(err)
		}
		s.checked["breaks"]++
		if is := out.LeastShare(load) * s.c.Branch(load).Watts; math.Abs(is-set.Watts) > 0.01*s.c.Branch(load).Watts {
			s.wrong("breaks leaves %s %.1f W with %v open; the solver has %.1f", s.c.Branch(load).Ref, set.Watts, set.Members[0].AnyOf[0].Ref, is)
		}
	}
}

// points takes every live reading of a sheet anew, sound and with each suspect
// present.
func (s *saying) points(mode circuit.ModeID) {
	e, err := s.r.Complain(context.Background(), report.Question{Mode: mode, Load: s.largest(mode)}, report.MeterOptions{})
	if errors.Is(err, trace.ErrNotEnergised) {
		return
	}
	if err != nil {
		s.t.Fatal(err)
	}
	d, err := s.r.Points(context.Background(), e, report.SheetOptions{})
	text := strings.Join(s.text(d, err), " ")
	squeezed := strings.Join(strings.Fields(strings.ReplaceAll(text, "\u00a0", " ")), " ")
	for _, step := range d.Steps {
		if step.Power != "on" || step.Function != "volts" {
			continue
		}
		at, err := s.c.FindMode(step.Mode.Name)
		if err != nil {
			s.t.Fatal(err)
		}
		p, _ := s.c.FindTerminal(step.From.Terminal)
		q, _ := s.c.FindTerminal(step.To.Terminal)
		s.listed(at, nil, report.Pair{From: p, To: q}, step.Good)
		for _, o := range step.Bad {
			if !strings.Contains(squeezed, o.Words+": ") {
				s.wrong("points does not print %q", o.Words)
			}
			if o.Words == "anything else" {
				continue // several readings in one line
			}
			for _, left := range o.Left {
				for _, ref := range left.Faults {
					f, err := s.c.ParseFault(ref)
					if err != nil {
						s.t.Fatal(err)
					}
					if len(f) == 1 && f[0].Kind == circuit.Open && len(left.Faults) == 1 {
						if out, err := s.engine.Run(at, f); err == nil && strings.Contains(o.Words, ", or floating") && out.Volts(p, q).Most < 1 {
							continue // steadily near zero, as it says
						}
						s.listed(at, f, report.Pair{From: p, To: q}, o.Reading)
					}
				}
			}
		}
	}
}

// listed compares an interval of a list with the solver's voltage.
func (s *saying) listed(mode circuit.ModeID, faults []circuit.Fault, p report.Pair, said report.Shown) {
	out, err := s.engine.Run(mode, faults)
	if err != nil {
		s.t.Fatal(err)
	}
	v := out.Volts(p.From, p.To)
	s.checked["points"]++
	switch {
	case v.Floats != said.Unsteady && !said.Jumps:
		if !v.Floats || said.High == nil || *said.High > 10 { // a meter's own input may tie the two
			s.wrong("points has %s with %v; the solver has %v", said.Range, faults, v)
		}
	case !v.Floats && said.Low != nil && said.High != nil && (v.Most < *said.Low-1 || v.Least > *said.High+1):
		s.wrong("points has %s with %v; the solver has %v", said.Range, faults, v)
	}
}
