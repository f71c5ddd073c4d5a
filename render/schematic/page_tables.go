package schematic

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Table is one of the tables that a drawing may have with it.
type Table string

// The tables, in the order in which they stand.
const (
	ContactTable Table = "contacts" // which are made in which mode, and by what
	PartTable    Table = "parts"    // ratings, good ohms, places
	WireTable    Table = "wires"    // colours, sizes, ends
	PlugTable    Table = "plugs"    // what each pole of a connector joins
	SymbolTable  Table = "symbols"  // the symbols on the page
	PlaceTable   Table = "places"   // sketches of where things are
)

// Tables lists all tables.
var Tables = []Table{ContactTable, PartTable, WireTable, PlugTable, SymbolTable, PlaceTable}

// ParseTables reads a list such as "contacts,parts"; "all" and "none" say what
// they say.
func ParseTables(list string) ([]Table, error) {
	switch list {
	case "all":
		return Tables, nil
	case "none":
		return []Table{}, nil
	}
	var out []Table
	for _, name := range strings.Split(list, ",") {
		t := Table(strings.TrimSpace(name))
		if !slices.Contains(Tables, t) {
			return nil, fmt.Errorf("tables %q: a list of contacts, parts, wires, plugs, symbols, places, or all or none", name)
		}
		out = append(out, t)
	}
	return out, nil
}

// ModeContacts is how contacts stand in a mode of the sound machine.
type ModeContacts struct {
	Mode     circuit.ModeID
	Conducts []bool // by branch
}

// tables makes those asked for that have anything in them.
func (d *Drawing) tables(units []*unit) []exhibit {
	make := map[Table]func() []exhibit{
		ContactTable: d.contactTable, PartTable: d.partTable, WireTable: d.wireTable, PlugTable: d.plugTable,
		SymbolTable: func() []exhibit { return d.symbolTable(units) }, PlaceTable: d.placeTable,
	}
	var out []exhibit
	for _, t := range Tables {
		if slices.Contains(d.Tables, t) {
			out = append(out, make[t]()...)
		}
	}
	return out
}

func one(t *grid) []exhibit {
	if len(t.rows) == 0 {
		return nil
	}
	t.measure()
	return []exhibit{t}
}

// contactTable is the chart of every contact by mode.
func (d *Drawing) contactTable() []exhibit {
	t := &grid{heading: "Contacts by mode: X closed, \u2013 open", head: []string{"Contact", "Moved by"}, upright: 2}
	for _, m := range d.Charts {
		t.head = append(t.head, d.Circuit.Mode(m.Mode).Label)
	}
	for i := range d.Circuit.Branches() {
		b := d.Circuit.Branch(circuit.BranchID(i))
		if b.Role != circuit.Contact || b.Part == circuit.None {
			continue
		}
		row := []string{d.Circuit.Label(b.ID), d.movedBy(b)}
		for _, m := range d.Charts {
			row = append(row, []string{"\u2013", "X"}[btoi(m.Conducts[i])])
		}
		t.rows = append(t.rows, row)
	}
	if len(d.Charts) == 0 {
		return nil
	}
	return one(t)
}

// movedBy says what moves a contact, in a word or two.
func (d *Drawing) movedBy(b *circuit.Branch) string {
	p := d.Circuit.Part(b.Part)
	switch b.Rule.Actuator {
	case circuit.ByCoil:
		s := d.Circuit.Label(b.Rule.By)
		if b.Rule.Timed {
			s += ", delayed"
		}
		return s
	case circuit.ByControl:
		return d.Circuit.Part(d.Circuit.ControlOf(b.Rule.By).Part).Label
	}
	switch p.Kind {
	case circuit.KindThermostat, circuit.KindLimit, circuit.KindThermalFuse:
		return "temperature"
	case circuit.KindFuse, circuit.KindBreaker, circuit.KindRCD:
		return "current"
	case circuit.KindDoorSwitch:
		return "door"
	}
	return "hand"
}

// sensorCelsius is the temperature for which a sensor's good ohms are told.
const sensorCelsius = 21

// partTable lists the parts as a technician asks for them.
func (d *Drawing) partTable() []exhibit {
	t := &grid{heading: "Parts", head: []string{"Name", "Part", "Rating", "Good ohms, by itself", "Place", "Wires"}}
	for i := range d.Circuit.Parts() {
		p := d.Circuit.Part(circuit.PartID(i))
		if p.Kind == circuit.KindSupply || p.Kind == circuit.KindChassis {
			continue
		}
		var ratings, ohms, wires []string
		for _, id := range p.Branches {
			b := d.Circuit.Branch(id)
			if b.Role == circuit.Load && b.A != circuit.None {
				if b.Watts > 0 && b.Volts > 0 {
					ratings = append(ratings, fmt.Sprintf("%g V %g W", b.Volts, b.Watts))
				}
				if v := meter.Cold(d.Circuit, id, sensorCelsius); v.High > 0 {
					s := fmt.Sprintf("%s to %s", threeDigits(v.Low), threeDigits(v.High))
					if b.Sensor != nil {
						s += fmt.Sprintf(" at %d C", sensorCelsius)
					}
					if len(p.Branches) > 1 && b.Name != "" {
						s = b.Name + " " + s
					}
					ohms = append(ohms, s)
				}
			}
			if b.Amps > 0 {
				ratings = append(ratings, fmt.Sprintf("%g A", b.Amps))
			}
			if b.Role == circuit.Contact && len(ohms) == 0 {
				ohms = append(ohms, fmt.Sprintf("closed 0 to %g", meter.GoodContactOhms))
			}
		}
		for _, id := range p.Terminals {
			for _, w := range d.Circuit.Terminal(id).Wires {
				wires = append(wires, d.Circuit.Wire(w).Name)
			}
		}
		slices.Sort(wires)
		t.rows = append(t.rows, []string{p.Name, p.Label, strings.Join(slices.Compact(ratings), ", "), strings.Join(slices.Compact(ohms), "; "), p.Place,
			strings.Join(slices.Compact(wires), " ")})
	}
	return one(t)
}

// threeDigits writes ohms as a technician reads them off a meter.
func threeDigits(ohms float64) string {
	for _, s := range []struct {
		below  float64
		format string
	}{{9.995, "%.2f"}, {99.95, "%.1f"}} {
		if ohms < s.below {
			return fmt.Sprintf(s.format, ohms)
		}
	}
	return fmt.Sprintf("%.0f", ohms)
}

func (d *Drawing) wireTable() []exhibit {
	t := &grid{heading: "Wires", head: []string{"Wire", "Colour", "Size", "From", "To"}}
	for i := range d.Circuit.Wires() {
		w := d.Circuit.Wire(circuit.WireID(i))
		t.rows = append(t.rows, []string{w.Name, w.Colour, w.Size, d.Circuit.Terminal(w.From).Ref, d.Circuit.Terminal(w.To).Ref})
	}
	return one(t)
}

// plugTable lists each connector's poles with what is wired to both sides.
func (d *Drawing) plugTable() []exhibit {
	t := &grid{heading: "Connectors, pole by pole", head: []string{"Connector", "Pole", "One side", "Other side"}}
	side := func(id circuit.TerminalID) string {
		var out []string
		for _, w := range d.Circuit.Terminal(id).Wires {
			wire := d.Circuit.Wire(w)
			far := wire.Other(id)
			out = append(out, strings.TrimSpace(wire.Name+" "+wire.Colour)+" to "+d.Circuit.Terminal(far).Ref)
		}
		return strings.Join(out, "; ")
	}
	for i := range d.Circuit.Parts() {
		p := d.Circuit.Part(circuit.PartID(i))
		if p.Kind != circuit.KindConnector {
			continue
		}
		for _, id := range p.Branches {
			b := d.Circuit.Branch(id)
			t.rows = append(t.rows, []string{p.Label, b.Name, side(b.A), side(b.B)})
		}
	}
	return one(t)
}

// symbolTable shows each symbol of the page once, with what the trade calls it.
func (d *Drawing) symbolTable(units []*unit) []exhibit {
	t := &grid{heading: "Symbols", head: []string{"", ""}}
	type look struct {
		kind  circuit.Kind
		shape shape
		role  circuit.Role
		nc    bool
	}
	seen := map[look]bool{}
	for _, u := range units {
		k := look{kind: u.part.Kind, shape: u.shape}
		if u.shape == shapeBranch {
			b := d.Circuit.Branch(u.branches[0])
			k.role, k.nc = b.Role, b.Role == circuit.Contact && normallyClosed(u.part, b)
		}
		if seen[k] || u.shape == shapeBox || u.shape == shapeStar {
			continue
		}
		seen[k] = true
		name := u.part.Kind.Info().Trade
		if i := strings.IndexAny(name, ";,"); i > 0 {
			name = name[:i]
		}
		switch {
		case u.part.Kind == circuit.KindRelay && u.load:
			name += ": its coil"
		case k.nc:
			name += ", made at rest"
		}
		sample := *u
		sample.upright, sample.half = false, reach
		t.rows = append(t.rows, []string{"", name})
		t.icons = append(t.icons, &sample)
	}
	return one(t)
}
