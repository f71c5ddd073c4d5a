package circuit

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// FaultKind says how a branch has gone wrong.
type FaultKind uint8

const (
	// Open: conducts no more. A leg or neutral of the supply that is open is
	// lost; a board relay's coil that is open never pulls in.
	Open FaultKind = iota + 1
	// Short: zero ohms across.
	Short
	// HighResistance: Ohms in series.
	HighResistance
	// Welded: a contact that stays closed.
	Welded
	// Drifted: impedance, or a source's voltage, times Factor; of the first contact of
	// what lets heat off, by how much it acts above the room, times Factor.
	Drifted
	// Grounded: Ohms from a point of the branch to the chassis, the point At
	// of the way from terminal A to B.
	Grounded
	// Seized: a motor or a fan that cannot turn. It hums and draws, and what it works
	// does not act.
	Seized
	// Driven: a board relay's coil that its control energises whatever was
	// selected, as long as it has its supply.
	Driven
	// Fed: a supply conductor that brings Volts at Degrees to the supply's
	// neutral point in place of its own.
	Fed
	// Moved: a wire that lies between Ends in place of where it belongs.
	Moved
)

var faultNames = map[FaultKind]string{
	Open: "open", Short: "short", HighResistance: "high", Welded: "welded", Drifted: "drifted", Grounded: "grounded", Seized: "seized",
	Driven: "driven", Fed: "fed", Moved: "moved",
}

func (k FaultKind) String() string { return faultNames[k] }

// Fault is one thing gone wrong. The zero Fault is not valid.
type Fault struct {
	Kind   FaultKind
	Branch BranchID
	Ohms   float64 // HighResistance, Grounded
	Factor float64 // Drifted
	At     float64 // Grounded, 0 to 1

	Volts, Degrees float64 // Fed

	Ends [2]TerminalID // Moved
}

// Describe tells the fault in words.
func (c *Circuit) Describe(f Fault) string {
	label := c.Label(f.Branch)
	b := c.Branch(f.Branch)
	switch f.Kind {
	case Open:
		if b.Role == Source {
			return label + " lost"
		}
		if b.Part != None && b.Role == Load && c.parts[b.Part].Kind == KindControl {
			return label + " gives no output" // dead on its board, with nothing open to be found by ohms
		}
		return label + " open"
	case HighResistance:
		return fmt.Sprintf("%s high resistance, %.3g ohms", label, f.Ohms)
	case Drifted:
		if b.Role == Source {
			return fmt.Sprintf("%s at %.0f %% of its voltage", label, 100*f.Factor)
		}
		if b.Role == Contact {
			return fmt.Sprintf("%s out of calibration, %.0f %%", c.Part(b.Part).Label, 100*f.Factor)
		}
		return fmt.Sprintf("%s drifted to %.0f %%", label, 100*f.Factor)
	case Grounded:
		if f.Ohms > 0 {
			return fmt.Sprintf("%s leaks to chassis, %s ohms", label, strconv.FormatFloat(f.Ohms, 'f', -1, 64))
		}
		return label + " grounded to chassis"
	case Short:
		return label + " shorted"
	case Driven:
		return label + " driven all the time"
	case Fed:
		return fmt.Sprintf("%s brings %.4g V", label, f.Volts)
	case Moved:
		return fmt.Sprintf("%s from %s to %s", label, c.Terminal(f.Ends[0]).Ref, c.Terminal(f.Ends[1]).Ref)
	}
	return label + " " + f.Kind.String()
}

// FaultRef writes the fault as [Circuit.ParseFault] reads it.
func (c *Circuit) FaultRef(f Fault) string {
	s := c.Branch(f.Branch).Ref + ":" + f.Kind.String()
	switch {
	case f.Kind == HighResistance:
		s += "=" + strconv.FormatFloat(f.Ohms, 'g', -1, 64)
	case f.Kind == Fed:
		s += "=" + strconv.FormatFloat(f.Volts, 'g', -1, 64) + "/" + strconv.FormatFloat(f.Degrees, 'g', -1, 64)
	case f.Kind == Moved:
		s += "=" + c.Terminal(f.Ends[0]).Ref + "/" + c.Terminal(f.Ends[1]).Ref
	case f.Kind == Drifted:
		s += "=" + strconv.FormatFloat(f.Factor, 'g', -1, 64)
	case f.Kind == Grounded && (f.At != 0.5 || f.Ohms > 0):
		s += "=" + strconv.FormatFloat(f.At, 'g', -1, 64)
		if f.Ohms > 0 {
			s += "/" + strconv.FormatFloat(f.Ohms, 'g', -1, 64)
		}
	}
	return s
}

// ParseFault reads "what:how", such as "broil_relay.contact:welded",
// "w12:open", "supply.L1:open" (a lost leg), "w7:high=4" (ohms),
// "supply:drifted=0.9" (low supply, every leg), "bake_element:grounded=0.3"
// (the point, from 0 at terminal 1 to 1 at terminal 2),
// "bake_element:grounded=0.3/2000" (a leak there of 2000 ohms),
// "supply.L2:fed=120/120" (what a leg of a star service brings) or
// "w7:moved=relay.com/element.1" (where a wire lies). A part's name
// alone stands for all of its branches that can fail that way, so one reference
// may give several faults.
func (c *Circuit) ParseFault(ref string) ([]Fault, error) {
	out, err := c.parseFault(ref)
	if err != nil {
		return nil, fmt.Errorf("fault %q: %w", ref, err)
	}
	return out, nil
}

func (c *Circuit) parseFault(ref string) ([]Fault, error) {
	what, how, ok := strings.Cut(ref, ":")
	if !ok {
		return nil, errors.New("write it as part:open, part:welded, wire:high=4")
	}
	how, figure, given := strings.Cut(how, "=")
	kind, err := parseFaultKind(how)
	if err != nil {
		return nil, err
	}
	f := Fault{Kind: kind, At: 0.5}
	switch {
	case kind == Moved:
		err = c.parseEnds(&f, figure)
	case given:
		err = f.parseFigure(figure)
	}
	if err == nil {
		err = f.possible(what, given)
	}
	if err != nil {
		return nil, err
	}
	branches, err := c.faultBranches(what)
	if err != nil {
		return nil, err
	}
	var out []Fault
	for _, id := range branches {
		f.Branch = id
		if c.CanFail(f) {
			out = append(out, f)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s cannot be %s", what, kind)
	}
	return out, nil
}

func parseFaultKind(how string) (FaultKind, error) {
	var names []string
	for k := Open; k <= Moved; k++ {
		if names = append(names, k.String()); k.String() == how {
			return k, nil
		}
	}
	hint := cmp.Or(NearestHint(how, names), "one of "+strings.Join(names, ", "))
	if n := otherFaults[strings.ToLower(how)]; n != "" {
		hint = fmt.Sprintf("did you mean %q?", n)
	}
	return 0, fmt.Errorf("unknown kind %q (%s)", how, hint)
}

// parseEnds reads where a moved wire lies.
func (c *Circuit) parseEnds(f *Fault, figure string) error {
	from, to, _ := strings.Cut(figure, "/")
	for i, at := range [2]string{from, to} {
		var err error
		if f.Ends[i], err = c.FindTerminal(at); err != nil {
			return fmt.Errorf("give where the wire lies, as in w7:moved=relay.com/element.1: %w", err)
		}
	}
	return nil
}

// parseFigure reads a fault's figure, or the two of a ground or of what a leg brings.
func (f *Fault) parseFigure(figure string) error {
	second := ""
	if f.Kind == Grounded || f.Kind == Fed {
		figure, second, _ = strings.Cut(figure, "/")
	}
	v, err := faultFigure(figure)
	if err != nil {
		return err
	}
	more := 0.0
	if second != "" {
		if more, err = faultFigure(second); err != nil {
			return err
		}
	}
	switch f.Kind {
	case HighResistance:
		f.Ohms = v
	case Drifted:
		f.Factor = v
	case Grounded:
		f.At, f.Ohms = v, more
	case Fed:
		f.Volts, f.Degrees = v, more
	default:
		return fmt.Errorf("%s takes no figure", f.Kind)
	}
	return nil
}

// possible refuses figures that no fault of the kind has.
func (f *Fault) possible(what string, given bool) error {
	switch {
	case f.Kind == HighResistance && f.Ohms < smallest:
		return fmt.Errorf("give its ohms, as in %s:high=4", what)
	case f.Kind == Fed && (!given || f.Degrees >= 360):
		return fmt.Errorf("give its volts and degrees, as in %s:fed=120/180", what)
	case f.Kind == Drifted && f.Factor < smallest:
		return fmt.Errorf("give its factor, as in %s:drifted=1.5", what)
	case f.Kind == Grounded && f.At > 1:
		return errors.New("the grounded point lies from 0 to 1")
	case f.Kind == Grounded && f.Ohms > 0 && f.Ohms < smallest:
		return errors.New("a leak of so few ohms is a ground: leave them out")
	}
	return nil
}

// otherFaults are words of the trade for a fault, in lower case.
var otherFaults = map[string]string{
	"blown": "open", "broken": "open", "burnt": "open", "burned": "open", "burnt_out": "open", "dead": "open", "cut": "open", "lost": "open",
	"tripped": "open", "off": "open", "unplugged": "open", "bad": "open", "failed": "open", "missing": "open",
	"stuck": "welded", "fused": "welded", "closed": "welded", "sticking": "welded", "shorted": "short", "bridged": "short",
	"loose": "high", "corroded": "high", "burnt_contact": "high", "resistance": "high", "resistive": "high",
	"ground": "grounded", "earthed": "grounded", "leaking": "grounded", "drift": "drifted", "weak": "drifted",
}

func faultFigure(figure string) (float64, error) {
	v, err := strconv.ParseFloat(figure, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 || v > largest {
		return 0, fmt.Errorf("%q is not a number from 0 to %g", figure, float64(largest))
	}
	return v, nil
}

func (c *Circuit) faultBranches(what string) ([]BranchID, error) {
	if id, ok := c.branchByRef[what]; ok {
		return []BranchID{id}, nil
	}
	if id, ok := c.partByName[what]; ok {
		return c.parts[id].Branches, nil
	}
	return nil, &UnknownNameError{What: "part or wire", Name: what, candidates: func() []string {
		return append(sortedKeys(c.branchByRef), sortedKeys(c.partByName)...)
	}}
}

// CanFail reports whether a branch can fail in that way.
func (c *Circuit) CanFail(f Fault) bool {
	b := c.Branch(f.Branch)
	switch f.Kind {
	case Open:
		return true
	case HighResistance:
		return b.Role != Drive
	case Welded:
		return b.Role == Contact
	case Short:
		return b.Role == Load && b.Secondary == None && b.Primary == None
	case Drifted:
		return b.Role == Load || b.Role == Source && b.EMF != 0 || b.Role == Contact && c.parts[b.Part].LetsOff() && c.parts[b.Part].Body != None && b.ID == c.parts[b.Part].Branches[0]
	case Driven:
		return b.Role == Drive
	case Fed:
		return b.Role == Source
	case Moved:
		return b.Wire != None && f.Ends[0] != f.Ends[1]
	case Seized:
		return b.Role == Load && (c.parts[b.Part].Kind == KindFan || b.Pickup > 0 && c.parts[b.Part].Kind == KindMotor && b.Name != "start")
	case Grounded:
		return b.Role == Load && b.Secondary == None && b.Primary == None || b.Role == Join || b.Role == Contact
	}
	return false
}
