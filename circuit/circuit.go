// Package circuit models an appliance as a technician knows it: parts with
// terminals, wires between them, the supply that feeds them, the modes a
// person can select, and the faults that can befall any of it.
//
// Start with [Build], which turns a [Spec] (read from a file by package
// netlists) into an immutable [Circuit]. Package settle then says where every
// contact ends up in a mode and under given faults, phasor what the voltages
// are, and trace how a load is fed and what would starve it.
//
// Everything that conducts is a [Branch]: a wire, one pole of a breaker, one
// contact of a relay, a coil, an element. Faults happen to branches.
package circuit

import (
	"strings"
)

// Identifiers index the slices of one Circuit. They mean nothing elsewhere.
type (
	PartID     int
	WireID     int
	TerminalID int
	BranchID   int
	ModeID     int
	PanelID    int
	BodyID     int
)

// None marks an absent identifier of any kind.
const None = -1

// Reserved part names.
const (
	SupplyName  = "supply"
	ChassisName = "chassis"
)

// Defaults, all common practice without a published source.
const (
	DefaultSourceOhms = 0.02 // service transformer and drop, per conductor
	DefaultFeederOhms = 0.02 // branch circuit to the outlet, per conductor
	DefaultPickup     = 0.75 // share of rated volts at which a coil pulls in
	DefaultDropout    = 0.40 // share of rated volts at which a coil lets go
	RunShare          = 0.60 // share of rated volts at which a motor keeps running
	RoomCelsius       = 21.1 // 70 F
)

// Role says how a branch behaves electrically.
type Role uint8

const (
	// Join conducts whenever it is intact: a wire, a connector pin, a stud.
	Join Role = iota
	// Contact conducts when closed.
	Contact
	// Load has an impedance: an element, lamp, motor, coil, sensor, control.
	Load
	// Source is one conductor of the supply: an EMF behind a resistance. It
	// has one terminal, B.
	Source
	// Drive is the coil and driver of a relay on a control board. It has no
	// terminals.
	Drive
)

func (r Role) String() string {
	return [...]string{"join", "contact", "load", "source", "drive"}[r]
}

// Part is one component of the machine.
type Part struct {
	ID    PartID
	Name  string
	Label string
	Kind  Kind
	Place string
	// Spec is what was written; read it for ratings to show.
	Spec      PartSpec
	Terminals []TerminalID
	Branches  []BranchID
	// Positions are empty for a part that has none; Rest indexes them.
	Positions []string
	Rest      int
	// Body is the body whose temperature the part has, else None. Warmer than
	// Acts, in Celsius, it leaves its rest; cooler than Resets it returns,
	// where Returns is set. One with more than two positions takes the machine
	// to the mode's Cycles instead.
	Body         BodyID
	Acts, Resets float64
	Returns      bool
}

// LetsOff tells a thermostat that breaks when hot, and so lets heat off, from one
// that makes, as a fan's does, and from a limit.
func (p *Part) LetsOff() bool {
	return p.Kind == KindThermostat && p.Positions[p.Rest] != "open"
}

// Terminal is a place where wires land.
type Terminal struct {
	ID   TerminalID
	Part PartID
	// Name is the terminal's own; Ref is "part.terminal".
	Name, Ref string
	Wires     []WireID
}

// Wire joins two terminals.
type Wire struct {
	ID       WireID
	Name     string
	From, To TerminalID
	Colour   string
	// Size is the printed size ("12 AWG"), empty when not given.
	Size   string
	Metres float64
	Branch BranchID
}

// Branch is anything that conducts between two terminals, or drives something
// that does.
type Branch struct {
	ID BranchID
	// Ref names the branch: the part's name, "part.branch", or the wire's.
	Ref  string
	Name string
	Part PartID // None for a wire
	Wire WireID // None for a part's branch
	Role Role
	A, B TerminalID
	// Ohms is the series resistance of a join, closed contact or source.
	Ohms float64
	// Z is a load's impedance in ohms at line frequency.
	Z complex128
	// Volts and Watts are a load's rating; Watts is 0 where power is not the
	// point (a capacitor, a sensor).
	Volts, Watts float64
	// Amps is the rating of a breaker or fuse; 0 where it does not trip.
	Amps float64
	// Residual is the amps that go out by a part's poles and do not come back
	// by them, above which they all open; 0 where it does not watch for that.
	Residual float64
	// EMF is a source's voltage to the neutral point.
	EMF complex128
	// Rule says when a contact is closed.
	Rule Rule
	// Pickup and Dropout are volts at which a coil or motor acts and lets go.
	Pickup, Dropout float64
	// Start is the start winding a motor needs to get going, or None.
	Start BranchID
	// Sensor is set for temperature sensors.
	Sensor *SensorCurve
	// Secondary pairs a transformer's primary with its secondary, else None; Primary
	// the other way round.
	Secondary, Primary BranchID
	// TurnsRatio is primary volts over secondary volts.
	TurnsRatio float64
}

// Actuator says what moves a contact.
type Actuator uint8

const (
	ByPosition Actuator = iota // the part's own position
	ByCoil                     // a coil or motor: energised or not
	ByControl                  // a board relay's Drive branch
)

// Rule says when a contact is closed.
type Rule struct {
	Actuator Actuator
	// By is the coil, motor winding or drive that moves the contact.
	By BranchID
	// NormallyClosed contacts open when By acts.
	NormallyClosed bool
	// Timed contacts act only once By has stayed energised.
	Timed bool
	// Closed tells, per position of the part, whether the contact is closed.
	Closed []bool
}

// Mode is what the person selected, resolved.
type Mode struct {
	ID    ModeID
	Name  string
	Label string
	// Position holds every part's position index.
	Position []int
	// Drives lists the Drive branches the control calls for.
	Drives []BranchID
	After  ModeID
	Brief  bool
	// Reached says how the mode comes about, Minutes how long that takes (0:
	// not known), How what to do for it in words.
	Reached Reach
	Minutes float64
	How     string
	// Cycles is the mode this one alternates with once satisfied, or None.
	Cycles ModeID
	// Duty holds the share of its time that a cycling switch is on.
	Duty map[PartID]float64
	// Celsius holds sensor temperatures by branch where given.
	Celsius map[BranchID]float64
	Expect  []Expectation
}

// Expectation is what a sound machine does with a load in a mode.
type Expectation struct {
	Load BranchID
	// Share is the expected share of rated power: 1, 0 or between.
	Share float64
	// Path locates it in the netlist.
	Path string
}

// Sense is something a control must see between two of its pins.
type Sense struct {
	Name             string
	Pin1, Pin2       TerminalID
	MinOhms, MaxOhms float64
	Modes            map[ModeID]bool // nil: every mode
}

// Control is a control board.
type Control struct {
	Part PartID
	// Supply is the load branch that stands for the board's own consumption.
	Supply   BranchID
	MinVolts float64
	Senses   []Sense
	Codes    []Code
	// Differential is in kelvin, about the temperature that it holds.
	Differential float64
}

// Point is a named place for a probe.
type Point struct {
	Name, Label, Place string
	Terminal           TerminalID
	Minutes            float64
	Power              string
}

// Supply is the resolved supply.
type Supply struct {
	System string
	Volts  float64 // between legs, or leg to neutral for single-phase
	Hertz  float64
	Wires  int
	// Legs and Neutral are source branches; Earth is None on a supply that
	// brings no protective earth.
	Legs    []BranchID
	Neutral BranchID
	Earth   BranchID
}

// Circuit is a machine, checked and resolved. It never changes; slices it
// returns must not be written to.
type Circuit struct {
	name, title string
	supply      Supply
	parts       []Part
	terminals   []Terminal
	wires       []Wire
	branches    []Branch
	modes       []Mode
	controls    []Control
	points      []Point
	panels      []Panel
	places      []Place
	bodies      []Body
	priors      map[Kind]float64
	ways        map[string]float64 // shares of ways to fail
	ranges      []Range
	mistakes    []Mistake
	spec        Spec

	partByName     map[string]PartID
	wireByName     map[string]WireID
	modeByName     map[string]ModeID
	terminalByRef  map[string]TerminalID
	earlier        []ModeID // by mode
	branchByRef    map[string]BranchID
	loadByRef      map[string]BranchID
	panelByName    map[string]PanelID
	placeByName    map[string]int
	bodyByName     map[string]BodyID
	controlOfDrive map[BranchID]int
}

func (c *Circuit) Name() string          { return c.name }
func (c *Circuit) Title() string         { return c.title }
func (c *Circuit) Supply() Supply        { return c.supply }
func (c *Circuit) Parts() []Part         { return c.parts }
func (c *Circuit) Terminals() []Terminal { return c.terminals }
func (c *Circuit) Wires() []Wire         { return c.wires }
func (c *Circuit) Branches() []Branch    { return c.branches }
func (c *Circuit) Modes() []Mode         { return c.modes }
func (c *Circuit) Controls() []Control   { return c.controls }
func (c *Circuit) Points() []Point       { return c.points }
func (c *Circuit) Panels() []Panel       { return c.panels }
func (c *Circuit) Places() []Place       { return c.places }
func (c *Circuit) Bodies() []Body        { return c.bodies }

// Spec returns what the circuit was built from, with defaults not filled in.
func (c *Circuit) Spec() Spec { return c.spec }

func (c *Circuit) Part(id PartID) *Part             { return &c.parts[id] }
func (c *Circuit) Terminal(id TerminalID) *Terminal { return &c.terminals[id] }
func (c *Circuit) Wire(id WireID) *Wire             { return &c.wires[id] }
func (c *Circuit) Branch(id BranchID) *Branch       { return &c.branches[id] }
func (c *Circuit) Mode(id ModeID) *Mode             { return &c.modes[id] }

// Words are what people call parts and modes, by their names.
func (c *Circuit) Words() map[string][]string { return c.spec.Words }

// Phrases are what people say of this machine besides the tables of a language, by the
// code of the language and the row.
func (c *Circuit) Phrases() map[string]map[string][]string { return c.spec.Phrases }

// Tales are the chances of what is told that this machine has otherwise, by what is
// told and by "base", a kind of part or a way to fail.
func (c *Circuit) Tales() map[string]map[string]float64 { return c.spec.Tales }

// Prior returns the relative chance that a part of the kind is the failed one.
func (c *Circuit) Prior(k Kind) float64 { return c.priors[k] }

// ControlOf returns the control that works a Drive branch.
func (c *Circuit) ControlOf(drive BranchID) *Control {
	return &c.controls[c.controlOfDrive[drive]]
}

// DrivenBy is the control that drives a part, on whose board it sits; None for others.
func (c *Circuit) DrivenBy(part PartID) PartID {
	for _, id := range c.Part(part).Branches {
		if c.Branch(id).Role == Drive {
			return c.ControlOf(id).Part
		}
	}
	return None
}

// ChassisTerminal returns the terminal that stands for the machine's metal.
func (c *Circuit) ChassisTerminal() TerminalID { return c.terminalByRef[ChassisName] }

// Earlier is the mode that one which is waited for comes of by its heat: one set alike
// but for what heat works, else the one before it. It is None for other modes.
func (c *Circuit) Earlier(mode ModeID) ModeID { return c.earlier[mode] }

// OffMode is the mode named off, else the first: the first mode of a netlist is
// Off by custom.
func (c *Circuit) OffMode() ModeID {
	if id, err := c.FindMode("off"); err == nil {
		return id
	}
	return 0
}

// Loads lists the branches that have a power rating, in netlist order.
func (c *Circuit) Loads() []BranchID {
	var out []BranchID
	for i := range c.branches {
		if c.branches[i].Role == Load && c.branches[i].Watts > 0 {
			out = append(out, BranchID(i))
		}
	}
	return out
}

// Label returns what to call a branch in a sentence: "Broil relay contact",
// "Range breaker pole L1", "wire w12".
func (c *Circuit) Label(id BranchID) string {
	b := &c.branches[id]
	if b.Wire != None {
		return "wire " + c.wires[b.Wire].Name
	}
	p := &c.parts[b.Part]
	if b.Name == "" {
		return p.Label
	}
	switch {
	case p.Kind == KindSupply:
		return p.Label + " " + b.Name
	case p.Kind.info().poleKind && b.Role != Load:
		return p.Label + " pole " + b.Name
	}
	if b.Role == Contact {
		return p.Label + " " + contactWords(p.Kind, b.Name)
	}
	return p.Label + " " + b.Name
}

// contactWords call a contact so that its form is not taken for what is wrong with it.
func contactWords(k Kind, name string) string {
	switch {
	case name == "no" || name == "nc":
		return strings.ToUpper(name) + " contact"
	case k == KindCentrifugalSwitch:
		return name + " contact"
	case k == KindRelay && len(name) == 1: // "a open" is no article
		return "contact " + name
	}
	return name
}

// DescribeWire tells a wire's colour and size and where it runs.
func (c *Circuit) DescribeWire(id WireID) string {
	w := &c.wires[id]
	var how []string
	if w.Colour != "" {
		how = append(how, w.Colour)
	}
	if w.Size != "" {
		how = append(how, w.Size)
	}
	s := c.PlaceLabel(w.From) + " to " + c.PlaceLabel(w.To)
	if len(how) > 0 {
		s += " (" + strings.Join(how, ", ") + ")"
	}
	return s
}
