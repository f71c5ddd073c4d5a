package desk

import (
	"html/template"
	"strings"
)

// menus are the long lists of a machine that something is chosen from. They are the
// same whatever is set: they are written out once, and not by the templates at every
// tap, which would take most of its time.
type menus struct{ modes, loads, places, clamps, parts, named, wires, jump string }

// menus of the machine that a bench is for.
func (b *bench) menus() *menus {
	b.stand.mu.Lock()
	defer b.stand.mu.Unlock()
	if b.stand.menus == nil {
		b.stand.menus = b.newMenus()
	}
	return b.stand.menus
}

func (b *bench) newMenus() *menus {
	var modes, loads, places, clamps, parts, named, wires, jump strings.Builder
	for _, m := range b.ModeNames() {
		if m.Ref != byHand {
			option(&modes, m.Ref, m.Label)
		}
	}
	for _, l := range b.LoadNames() {
		option(&loads, l.Ref, l.Label)
	}
	for _, g := range b.places() {
		places.WriteString(`<optgroup label="` + template.HTMLEscapeString(g.Label) + `">`)
		for _, p := range g.Places {
			option(&places, p.Ref, p.Label)
		}
		places.WriteString("</optgroup>")
	}
	leap := func(label, ref string) {
		jump.WriteString(`<option value="` + template.HTMLEscapeString(label) + `" data-pick="` + template.HTMLEscapeString(ref) + `"></option>`)
	}
	for _, p := range b.c.Parts() {
		option(&parts, "part:"+p.Name, p.Label)
		option(&named, p.Name, p.Label)
		leap(p.Label, "part:"+p.Name)
	}
	for _, w := range b.WireNames() {
		words := w.Ref + ": " + w.Label
		option(&clamps, w.Ref, words)
		option(&wires, "wire:"+w.Ref, words)
		leap(words, "wire:"+w.Ref)
	}
	return &menus{modes: modes.String(), loads: loads.String(), places: places.String(), clamps: clamps.String(), parts: parts.String(), named: named.String(), wires: wires.String(), jump: jump.String()}
}

func option(to *strings.Builder, value, label string) {
	to.WriteString(`<option value="` + template.HTMLEscapeString(value) + `">` + template.HTMLEscapeString(label) + `</option>`)
}

// chosen marks what is chosen in a list.
func chosen(list, value string) template.HTML {
	is := `<option value="` + template.HTMLEscapeString(value) + `"`
	return template.HTML(strings.ReplaceAll(list, is+">", is+" selected>"))
}

// Modes and Loads are those of the machine, one of them chosen.
func (m *menus) Modes(value string) template.HTML { return chosen(m.modes, value) }
func (m *menus) Loads(value string) template.HTML { return chosen(m.loads, value) }

// Places are where a probe can go, one of them chosen.
func (m *menus) Places(value string) template.HTML { return chosen(m.places, value) }

// Clamps are the wires that a clamp can go around, one of them chosen.
func (m *menus) Clamps(value string) template.HTML { return chosen(m.clamps, value) }

// Parts and Wires are what can be looked at, Jump both with what to find them by; Named
// are parts that a drill's fault may be in.
func (m *menus) Parts() template.HTML { return template.HTML(m.parts) }
func (m *menus) Named() template.HTML { return template.HTML(m.named) }
func (m *menus) Wires() template.HTML { return template.HTML(m.wires) }
func (m *menus) Jump() template.HTML  { return template.HTML(m.jump) }
