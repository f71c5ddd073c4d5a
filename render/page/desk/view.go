package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/render/report"
)

// view is what the page shows of a situation.
type view struct {
	*situation
	C         *circuit.Circuit
	Title     string
	Supply    string
	File      string
	Edition   int
	Problems  []Problem
	Mode      *circuit.Mode
	Load      string
	Loads     []loadRow
	Alerts    []string
	Meter     reading
	Functions any
	Menus     *menus
	Controls  []control
	Look      *look
	Broken    []broken
	Cautions  []string
	OffWords  string
	// The rest is filled in where the page is written whole.
	Drawing   any
	Sheets    []any // of paper, asked for by themselves
	Breaks    *report.Breaks
	Standing  *standing
	Visit     *visitView
	Told      *told
	Complaint string
	Drill     *exercise
	// NoDrill says why the drill asked for cannot be.
	NoDrill string
	// Take is the move that takes the reading the meter is set up for.
	Take    string
	Debrief *debrief
	Lesson  *lessonView
	Levels  []drillLevel
	// All is set where nobody can ask for what is behind another door.
	All bool
	// Door is the way in that is open, Stage is set where the diagram has a
	// place behind it.
	Door  string
	Stage bool
	// Openings are what a visit may begin with, at a tap.
	Openings []openings
	// Families are the machines to choose from, where none is chosen; Bring is set
	// where one's own can be brought, Chosen where one was chosen.
	Families []family
	// Unsure are families for who does not know which machine it is; Narrow is what
	// is asked of one.
	Unsure        []Entry
	Narrow        *unsure
	Bring, Chosen bool
	Installable   bool
	// DescribeHelp says what a line that describes a machine may be; nil where none
	// can be described.
	DescribeHelp [][2]string
}

// behind tells which panel is behind which doors.
var behind = map[string][]string{
	"lobby": {DoorHome}, "visit": {DoorFind}, "told": {DoorFind}, "set": {DoorExplore}, "meter": {DoorExplore}, "tabs": {DoorExplore, DoorLearn},
	"loads": {DoorExplore}, "look": {DoorExplore}, "controls": {DoorExplore}, "breaks": {DoorExplore}, "standing": {DoorExplore},
	"drill": {DoorLearn}, "learn": {DoorLearn},
}

// Hides reports whether a panel is behind another door.
func (v *view) Hides(panel string) bool {
	switch {
	case v.C == nil:
		return panel != "lobby"
	case v.drill != nil && (panel == "set" || panel == "meter" || panel == "look"):
		return v.Door != DoorLearn
	case v.State.Lesson != "" && panel == "meter": // it shows what a lesson says
		return v.Door != DoorLearn
	case panel == "told" && (len(v.Notes) == 0 || v.drill != nil):
		return true
	}
	return !slices.Contains(behind[panel], v.Door)
}

// Fills reports whether a panel's inside is written: what nobody sees is asked for
// when its door is opened. Behind Find that is five sixths of what a tap brings.
func (v *view) Fills(panel string) bool { return v.C != nil && (!v.Hides(panel) || v.stays(panel)) }

// stays reports whether a panel is shown behind no door, by the style of a saved page
// whose reader has scripts off.
func (v *view) stays(panel string) bool {
	return v.All && (panel == "drawing" || panel == "loads")
}

// sees reports whether a piece of the page can be seen.
func (v *view) sees(piece string) bool {
	switch piece {
	case "drawing":
		return v.Stage
	case "debrief":
		return !v.Hides("drill")
	}
	return !v.Hides(piece)
}

// placeGroup is places for a probe that are chosen from together.
type placeGroup struct {
	Label  string
	Places []report.Name
}

// control is a part that has positions.
type control struct {
	Name, Label string
	Positions   []string
	Now         string
	ByHand      bool
}

// broken is a fault that is present.
type broken struct{ Ref, Words string }

// look is the part or wire looked at.
type look struct {
	Ref, Label, Kind, Place string
	Terminals               []terminalView
	Ways                    []way
	Control                 *control
	// Naming is the move that names it in a drill.
	Naming string
}

// terminalView is a terminal of what is looked at. Lift is the move that takes
// its leads off in a drill, or puts them back where Lifted is set.
type terminalView struct {
	Ref, Name, Volts, Wires string
	Lift                    string
	Lifted                  bool
}

// way is one way in which something can fail.
type way struct {
	Ref, Label, Kind string
	// Figure says what figure is to be given with it, and which is usual.
	Figure, Usual string
	On            bool
}

// failures are the ways in which a branch can fail, in the page's words.
var failures = []struct {
	kind          circuit.FaultKind
	words         string
	figure, usual string
}{
	{circuit.Open, "open", "", ""},
	{circuit.Short, "shorted", "", ""},
	{circuit.HighResistance, "high resistance", "ohms", "4"},
	{circuit.Welded, "welded closed", "", ""},
	{circuit.Drifted, "drifted", "times its value", "0.9"},
	{circuit.Grounded, "grounded to the frame", "of the way from terminal 1, 0 to 1", "0.5"},
}

// show works out what is at hand: what each load gets, the meter, what is
// looked at. It is what a tap waits for.
func (b *bench) show(x *situation) (*view, error) {
	out, err := b.settled(x)
	if err != nil {
		return nil, err
	}
	v := &view{situation: x, C: b.c, Title: cmp.Or(b.c.Title(), b.c.Name(), "Machine"), Supply: b.supply(), Mode: b.c.Mode(x.question.Mode),
		Functions: words, Menus: b.menus(), Controls: b.controls(x), Cautions: report.Cautions(),
		Complaint: x.State.Complaint, Drill: x.drill, Levels: drillLevels,
		Door: x.door(), Bring: x.desk.lib.Read != nil, Chosen: x.desk.lib.List != nil, DescribeHelp: x.desk.lib.describeHelp()}
	if v.Door == DoorFind && len(x.Notes) == 0 {
		v.Openings = b.openings(x.desk.machine.mainMode())
	}
	v.Stage = v.Door == DoorExplore || v.Door == DoorFind && len(x.Notes) > 0 || v.Door == DoorLearn && (x.drill != nil || x.State.Lesson != "")
	if x.question.Load != circuit.None {
		v.Load = b.c.Branch(x.question.Load).Ref
	}
	v.OffWords = "supply removed"
	if len(b.breakers()) > 0 {
		v.OffWords = "breaker off"
	}
	if x.drill != nil {
		b.showDrill(x, out, v)
		return v, nil
	}
	if err := b.loads(x, out, v); err != nil {
		return nil, err
	}
	if v.Meter, err = b.read(x, out); err != nil {
		return nil, err
	}
	if len(x.faults) > 0 {
		if err := b.besideSound(x, v); err != nil {
			return nil, err
		}
	}
	for _, ref := range x.Faults {
		faults, err := b.c.ParseFault(ref)
		if err != nil {
			return nil, err
		}
		v.Broken = append(v.Broken, broken{ref, b.c.Describe(faults[0])})
	}
	v.Look = b.look(x, out)
	return v, nil
}

// controlWords tells why a control drives nothing.
func (b *bench) controlWords(c circuit.Control, s settle.ControlState) string {
	label := b.c.Part(c.Part).Label
	if !s.Powered {
		return fmt.Sprintf("%s is not powered: it gets %.0f V and needs %.0f V.", label, s.Volts, c.MinVolts)
	}
	var bad []string
	for i, sense := range s.Senses {
		if !sense.OK {
			saw := "open"
			if sense.Connected {
				saw = fmt.Sprintf("%.4g Ω", sense.Ohms)
			}
			bad = append(bad, fmt.Sprintf("%s reads %s and has to be %.4g to %.4g Ω", strings.ReplaceAll(c.Senses[i].Name, "_", " "), saw, c.Senses[i].MinOhms, c.Senses[i].MaxOhms))
		}
	}
	return label + " drives nothing: " + strings.Join(bad, "; ") + "."
}

// places lists where a probe can go: test points first, then part by part.
func (b *bench) places() []placeGroup {
	points := placeGroup{Label: "Test points"}
	for _, p := range b.c.Points() {
		label := p.Label
		if label == "" {
			label = p.Name
		}
		points.Places = append(points.Places, report.Name{Ref: b.ref(p.Terminal), Label: label})
	}
	var out []placeGroup
	if len(points.Places) > 0 {
		out = append(out, points)
	}
	for _, p := range b.c.Parts() {
		g := placeGroup{Label: p.Label}
		for _, t := range p.Terminals {
			if b.c.PointAt(t) == nil {
				g.Places = append(g.Places, report.Name{Ref: b.ref(t), Label: b.c.PartLabel(t)})
			}
		}
		if len(g.Places) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// controls lists the parts that stand in one of several positions.
func (b *bench) controls(x *situation) []control {
	var out []control
	for _, p := range b.c.Parts() {
		if c := b.control(x, p.ID); c != nil {
			out = append(out, *c)
		}
	}
	return out
}

func (b *bench) control(x *situation, id circuit.PartID) *control {
	p := b.c.Part(id)
	if len(p.Positions) < 2 {
		return nil
	}
	c := &control{Name: p.Name, Label: p.Label, Positions: p.Positions}
	if at := b.c.Mode(x.question.Mode).Position[id]; at >= 0 && at < len(p.Positions) {
		c.Now = p.Positions[at]
	}
	for _, s := range x.Set {
		c.ByHand = c.ByHand || strings.HasPrefix(s, p.Name+":")
	}
	return c
}

func (b *bench) look(x *situation, out *settle.Outcome) *look {
	present := map[string]bool{}
	for _, f := range x.faults {
		present[b.c.Branch(f.Branch).Ref+":"+f.Kind.String()] = true
	}
	switch {
	case x.part != circuit.None:
		p := b.c.Part(x.part)
		l := &look{Ref: x.Pick, Label: p.Label, Naming: "name " + p.Name, Kind: strings.ReplaceAll(p.Kind.String(), "_", " "), Place: p.Place, Control: b.control(x, p.ID)}
		if l.Label == "" {
			l.Label = p.Name
		}
		for _, t := range p.Terminals {
			l.Terminals = append(l.Terminals, b.terminal(x, out, t))
		}
		for _, id := range p.Branches {
			l.Ways = append(l.Ways, b.ways(id, present)...)
		}
		return l
	case x.wire != circuit.None:
		w := b.c.Wire(x.wire)
		l := &look{Ref: x.Pick, Label: "Wire " + w.Name, Naming: "name " + w.Name, Kind: b.c.DescribeWire(w.ID)}
		for _, t := range [2]circuit.TerminalID{w.From, w.To} {
			l.Terminals = append(l.Terminals, b.terminal(x, out, t))
		}
		l.Ways = b.ways(w.Branch, present)
		return l
	}
	return nil
}

func (b *bench) terminal(x *situation, out *settle.Outcome, t circuit.TerminalID) terminalView {
	term := b.c.Terminal(t)
	v := terminalView{Ref: term.Ref, Name: term.Name, Volts: "floats"}
	if p := b.c.PointAt(t); p != nil && p.Label != "" {
		v.Name = p.Label
	}
	v.Wires = b.Leads(t)
	if u, known := out.AnyState.ToEarth(t); known {
		v.Volts = fmt.Sprintf("%.0f V to N", abs(u))
	}
	if most := b.meter.Touch(out, t).Earth; out.Chatter != nil && most > 0 {
		v.Volts = fmt.Sprintf("jumps, up to %.0f V to N", most)
	}
	return v
}

func (b *bench) ways(id circuit.BranchID, present map[string]bool) []way {
	var out []way
	br := b.c.Branch(id)
	for _, f := range failures {
		if !b.c.CanFail(circuit.Fault{Kind: f.kind, Branch: id}) {
			continue
		}
		ref := br.Ref + ":" + f.kind.String()
		words := f.words
		if br.Role == circuit.Source && f.kind == circuit.Open {
			words = "lost"
		}
		out = append(out, way{Ref: ref, Label: b.c.Label(id), Kind: words, Figure: f.figure, Usual: f.usual, On: present[ref]})
	}
	return out
}

// supply says what feeds the machine.
func (b *bench) supply() string {
	s := b.c.Supply()
	return fmt.Sprintf("%s, %.0f Hz, %d wires", s.Words(), s.Hertz, s.Wires)
}
