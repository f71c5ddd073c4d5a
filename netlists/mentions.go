package netlists

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// mention is a place in a netlist that names a part or a mode described
// elsewhere. In the path a star stands for any key or item.
type mention struct {
	path string
	// key is set where the last key is the name, rather than the value.
	key bool
	// whole is set where what mentions a part makes no sense without it.
	whole bool
}

// drivenBy names what drives a relay; a relay without it stays, to be found by
// the checks.
const drivenBy = "parts * driven_by"

// partMentions lists where parts are named, as "part" or "part.terminal".
var partMentions = []mention{
	{path: "wires * from", whole: true}, {path: "wires * to", whole: true}, {path: "points * at", whole: true},
	{path: drivenBy}, {path: "bodies * fan"},
	{path: "modes * drives *"}, {path: "modes * on *"}, {path: "modes * off *"},
	{path: "modes * set *", key: true}, {path: "modes * celsius *", key: true}, {path: "modes * share *", key: true},
	{path: "modes * duty *", key: true}, {path: "bodies * heats *", key: true}, {path: "words *", key: true},
}

var modeMentions = []mention{
	{path: "modes * after"}, {path: "modes * cycles"}, {path: "parts * senses * modes *"}, {path: "parts * codes * modes *"}, {path: "words *", key: true},
}

// at reports whether a path is the mention's.
func (m mention) at(path []string) bool {
	pieces := strings.Fields(m.path)
	if len(pieces) != len(path) {
		return false
	}
	for i, p := range pieces {
		if p != "*" && p != path[i] {
			return false
		}
	}
	return true
}

// mentioned returns the name that a site mentions, and where in the text the
// reference stands, as it is written; not ok where it mentions none.
func mentioned(list []mention, s site) (name string, m mention, ok bool) {
	for _, m := range list {
		if !m.at(s.path) {
			continue
		}
		ref, isText := s.value.str()
		if m.key {
			ref, isText = s.path[len(s.path)-1], len(s.pieces) > 0
		}
		if isText {
			return partOf(ref), m, true
		}
	}
	return "", mention{}, false
}

// forget takes out what names a part: wires and test points on it, and what the
// modes say of it.
func (e *Edit) forget(part string) {
	whole := map[string]bool{}
	key := func(path []string) string { return strings.Join(path, "\x00") }
	for _, s := range e.sites {
		if name, m, ok := mentioned(partMentions, s); ok && m.whole && name == part {
			whole[key(s.path[:2])] = true
		}
	}
	e.takeAll(func(s site) bool {
		name, m, ok := mentioned(partMentions, s)
		return len(s.path) >= 2 && whole[key(s.path[:2])] || ok && name == part && m.path != drivenBy
	})
}

// renamed is the change at a site that mentions a name.
func (m mention) renamed(s site, from, to string, p *printer) change {
	if !m.key {
		ref, _ := s.value.str()
		return change{s.value.span, p.text(to + strings.TrimPrefix(ref, from))}
	}
	last := s.pieces[len(s.pieces)-1]
	if _, rest, dotted := strings.Cut(s.path[len(s.path)-1], "."); dotted {
		return change{last, p.text(to + "." + rest)}
	}
	return change{last, p.key(to)}
}

// Rename gives a part, wire, mode, point, panel or body another name, and with
// a part or mode all that names it.
func (e *Edit) Rename(table, from, to string) error {
	path := e.wirePath([]string{table, from})
	switch {
	case e.prefix(path) == nil && e.inherits(path):
		return fmt.Errorf("%q cannot be renamed: %w", from, errElsewhere)
	case e.prefix(path) == nil:
		return fmt.Errorf("there is no %s.%s", table, from)
	case from != to && (e.prefix(e.wirePath([]string{table, to})) != nil || e.inherits([]string{table, to})):
		return fmt.Errorf("%q is taken", to)
	case table == "parts" && (to == circuit.SupplyName || to == circuit.ChassisName):
		return fmt.Errorf("%q is taken", to)
	}
	if table == "wires" && strings.HasPrefix(path[1], "[") {
		return e.Put(to, "wires", from, "name")
	}
	var p printer
	var changes []change
	lists := map[string][]mention{"parts": partMentions, "modes": modeMentions}
	for _, s := range e.sites {
		if below(s.path, path) {
			// The key that says the name, where this site has it.
			if i := len(s.pieces) - (len(s.path) - 1); i >= 0 && i < len(s.pieces) && s.pieces[i].at >= 0 {
				changes = append(changes, change{s.pieces[i], p.key(to)})
			}
		}
		if name, m, ok := mentioned(lists[table], s); ok && name == from {
			changes = append(changes, m.renamed(s, from, to, &p))
		}
	}
	if p.err != nil {
		return p.err
	}
	e.set(splice(e.text, changes))
	return nil
}
