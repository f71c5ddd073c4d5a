package circuit

import (
	"cmp"
	"fmt"
)

// Panel is something to be opened, taken off or pulled out before what lies
// behind it can be reached.
type Panel struct {
	Name, Label string
	// Minutes is the effort to open it, Close that to shut it again.
	Minutes, Close float64
	// Behind is the panel to be opened before this one, or None.
	Behind PanelID
}

// Place is a place in the machine, by the words that parts and test points use
// for it.
type Place struct {
	Name string
	// Panel stands in front of it; None where it lies open.
	Panel PanelID
	// Box is where a view of the machine shows it; nil where not told.
	Box *Box
}

// Box is a rectangle in a view of the machine, in hundredths of the view's
// width and height from its upper left corner.
type Box struct {
	View       string
	X, Y, W, H float64
}

// PlaceNamed returns what is told of a place, as the place of a part or test
// point names it; nil where nothing is.
func (c *Circuit) PlaceNamed(name string) *Place {
	if i, ok := c.placeByName[name]; ok {
		return &c.places[i]
	}
	return nil
}

// PanelsTo lists what has to be opened to reach a place, outermost first. It is
// empty for a place that lies open or that nothing is told of.
func (c *Circuit) PanelsTo(place string) []PanelID {
	p := c.PlaceNamed(place)
	if p == nil {
		return nil
	}
	var out []PanelID
	for id := p.Panel; id != None; id = c.panels[id].Behind {
		out = append([]PanelID{id}, out...)
	}
	return out
}

func (b *builder) panels(specs []PanelSpec) {
	c := b.c
	for _, s := range specs {
		path := "panels." + s.Name
		if _, taken := c.panelByName[s.Name]; taken || !validName(s.Name) {
			b.fail(path, "letters, digits, '_' and '-', each used once", "%q cannot name a panel", s.Name)
			continue
		}
		b.text(path+".label", s.Label, false)
		label := s.Label
		if label == "" {
			label = humanise(s.Name)
		}
		b.minutes(path+".minutes", s.Minutes)
		b.minutes(path+".close", s.Close)
		c.panelByName[s.Name] = PanelID(len(c.panels))
		c.panels = append(c.panels, Panel{Name: s.Name, Label: label, Minutes: s.Minutes, Close: cmp.Or(s.Close, s.Minutes), Behind: None})
	}
	for _, s := range specs {
		id, known := c.panelByName[s.Name]
		if s.Behind == "" || !known {
			continue
		}
		path := "panels." + s.Name + ".behind"
		behind, err := find(c.panelByName, "panel", s.Behind)
		if err != nil {
			b.failErr(path, err)
			continue
		}
		for at := behind; at != None; at = c.panels[at].Behind {
			if at == id {
				b.fail(path, "break the circle", "panel %q is behind itself", s.Name)
				behind = None
				break
			}
		}
		c.panels[id].Behind = behind
	}
}

func (b *builder) places(specs []PlaceSpec) {
	c := b.c
	used := map[string]bool{}
	for i := range c.parts {
		used[c.parts[i].Place] = true
	}
	for i := range c.points {
		used[c.points[i].Place] = true
	}
	for _, s := range specs {
		path := "places." + s.Name
		if s.Name == "" || len(s.Name) > 4*MaxName || !printable(s.Name) || c.PlaceNamed(s.Name) != nil {
			b.fail(path, fmt.Sprintf("plain text of 1 to %d bytes, each used once", 4*MaxName), "%q cannot name a place", s.Name)
			continue
		}
		p := Place{Name: s.Name, Panel: None}
		if s.Panel != "" {
			id, err := find(c.panelByName, "panel", s.Panel)
			if err != nil {
				b.failErr(path+".panel", err)
			}
			p.Panel = id
		}
		p.Box = b.box(path, s)
		c.placeByName[s.Name] = len(c.places)
		c.places = append(c.places, p)
		if !used[s.Name] {
			b.warn(path, NearestHint(s.Name, sortedKeys(used)), "no part or test point is at %q", s.Name)
		}
	}
}

// box checks the box of a place; nil where none is given.
func (b *builder) box(path string, s PlaceSpec) *Box {
	b.text(path+".view", s.View, false)
	if s.View == "" && s.X == 0 && s.Y == 0 && s.W == 0 && s.H == 0 {
		return nil
	}
	if !(s.X >= 0 && s.Y >= 0 && s.W > 0 && s.H > 0 && s.X+s.W <= 100 && s.Y+s.H <= 100) || s.View == "" {
		b.fail(path, "a view, and x, y, w, h in hundredths of it, w and h above 0, all of it inside",
			"no box: view %q, x %g, y %g, w %g, h %g", s.View, s.X, s.Y, s.W, s.H)
		return nil
	}
	return &Box{View: s.View, X: s.X, Y: s.Y, W: s.W, H: s.H}
}

func (b *builder) minutes(path string, v float64) {
	if !(v >= 0 && v <= 1000) {
		b.fail(path, "0 to 1000", "%g minutes", v)
	}
}
