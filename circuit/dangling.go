package circuit

import "strings"

// dangling warns of terminals with no wire and of parts no wire reaches. A part
// that a wire with a slip in it may have been meant for is left out.
func (b *builder) dangling() {
	c := b.c
	for i := range c.parts {
		p := &c.parts[i]
		if p.Kind == KindChassis || p.Kind == KindSupply || b.failed[p.ID] || b.meant[p.ID] {
			continue
		}
		bare := []string{}
		for _, t := range p.Terminals {
			if len(c.terminals[t].Wires) == 0 && !b.landed[t] && !b.spareThrow(p, t) {
				bare = append(bare, c.terminals[t].Name)
			}
		}
		path := "parts." + p.Name
		switch {
		case len(bare) == 0:
		case len(bare) == len(p.Terminals):
			b.warn(path, "wire it, or drop the part", "nothing is wired to %q", p.Name)
		case p.Kind == KindSelector || p.Kind == KindCyclingSwitch || p.Kind.info().poleKind:
			b.warn(path, "", "no wire on terminal %s of %q", strings.Join(bare, ", "), p.Name)
		default:
			b.warn(path, "wire it, or drop the part", "no wire on terminal %s of %q", strings.Join(bare, ", "), p.Name)
		}
	}
}

// spareThrow reports whether a terminal is the throw of a changeover contact that
// is not used, while its common and its other throw are.
func (b *builder) spareThrow(p *Part, t TerminalID) bool {
	name := b.c.terminals[t].Name
	i := strings.LastIndexByte(name, '.') + 1
	pole, throw := name[:i], name[i:]
	other := map[string]string{"nc": "no", "no": "nc"}[throw]
	if other == "" {
		return false
	}
	for _, used := range []string{"com", other} {
		id, ok := b.c.terminalByRef[p.Name+"."+pole+used]
		if !ok || !b.landed[id] {
			return false
		}
	}
	return true
}
