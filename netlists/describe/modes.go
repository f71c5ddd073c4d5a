package describe

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
)

// partNames lists the parts of which one thing holds.
func (s *draft) partNames(has func(*circuit.Part) bool) []string {
	var out []string
	for i := range s.c.Parts() {
		if p := &s.c.Parts()[i]; has(p) {
			out = append(out, p.Name)
		}
	}
	return out
}

// modeLine is a mode as a line tells of it.
type modeLine struct {
	*draft
	m     circuit.ModeSpec
	set   map[string]bool // keys that were said
	loads []string
	state string // on or off: what the loads that follow are
}

// mode describes a mode, or says more of one that is there: what it drives and
// sets, and which loads are on, the others being off.
func (s *draft) mode(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("mode NAME, then what it drives and sets, then on and the loads")
	}
	name := words[1]
	if err := checkName(name); err != nil {
		return err
	}
	l := &modeLine{draft: s, m: circuit.ModeSpec{Name: name}, set: map[string]bool{}, loads: s.loads()}
	for words = joined(words[2:]); len(words) > 0; {
		used, err := l.take(words)
		if err != nil {
			return err
		}
		words = words[min(used, len(words)):]
	}
	if l.set["on"] { // whatever is not on is off
		for _, load := range l.loads {
			if !slices.Contains(l.m.On, load) && !slices.Contains(l.m.Off, load) {
				l.m.Off = append(l.m.Off, load)
			}
		}
	}
	s.tell("mode %s%s", name, tellMode(l.m))
	switch there := slices.ContainsFunc(s.spec.Modes, func(o circuit.ModeSpec) bool { return o.Name == name }); {
	case !there:
		return s.Put(l.m, "modes", name)
	case len(l.set) == 0:
		return fmt.Errorf("mode %s is there already", name)
	}
	return s.putFields(l.m, l.set, "modes", name)
}

// take takes the first word, with the next one where that belongs to it, and returns
// how many it took.
func (l *modeLine) take(words []string) (used int, err error) {
	word, next := words[0], ""
	if len(words) > 1 {
		next = plain(words[1])
	}
	used = 1
	minutes, of, ok := netlists.Measure(word)
	switch lower := strings.ToLower(word); {
	case quoted(word):
		l.m.Label, l.set["label"] = plain(word), true
	case l.state != "" && slices.Contains(l.loads, word): // a load of that name is meant
		err = l.load(word)
	case lower == "on" || lower == "off":
		l.state, l.set["on"], l.set["off"] = lower, true, true
	case lower == "brief":
		l.m.Brief, l.set[lower] = true, true
	case lower == "cycles":
		used, l.set[lower] = 2, true
		l.m.Cycles, err = l.modeNamed(next)
	case lower == "after":
		used, l.set[lower] = 2, true
		l.m.After, err = l.modeNamed(next)
	case lower == "how":
		used, l.set[lower] = 2, true
		l.m.How = next
	case slices.Contains([]string{"hand", "wait", "heat", "cool", "chance"}, lower):
		l.m.Reached, l.set["reached"] = lower, true
	case ok && of == "minutes":
		l.m.Minutes, l.set[of] = minutes, true
	case l.state != "":
		err = l.load(word)
	default:
		err = l.setting(&l.m, l.set, word)
	}
	return used, err
}

// load takes a load that is on, or off.
func (l *modeLine) load(word string) error {
	load, err := pick("load", word, l.loads)
	if l.state == "on" {
		l.m.On = append(l.m.On, load)
	} else {
		l.m.Off = append(l.m.Off, load)
	}
	return err
}

func tellMode(m circuit.ModeSpec) string {
	var out []string
	if len(m.Drives) > 0 {
		out = append(out, "drives "+strings.Join(m.Drives, ", "))
	}
	for _, part := range slices.Sorted(maps.Keys(m.Set)) {
		out = append(out, part+" "+m.Set[part])
	}
	for _, part := range slices.Sorted(maps.Keys(m.Celsius)) {
		out = append(out, fmt.Sprintf("%s %g C", part, m.Celsius[part]))
	}
	if len(m.On)+len(m.Off) > 0 {
		out = append(out, "on: "+strings.Join(append(m.On, "nothing")[:max(len(m.On), 1)], ", "))
	}
	if len(out) == 0 {
		return ""
	}
	return ": " + strings.Join(out, "; ")
}

// loads are the parts that a mode says on or off of.
func (s *draft) loads() []string {
	var out []string
	for _, id := range s.c.Loads() {
		b := s.c.Branch(id)
		if k := s.c.Part(b.Part).Kind; !strings.Contains(b.Ref, ".") && k != circuit.KindRelay && k != circuit.KindLatch {
			out = append(out, b.Ref)
		}
	}
	return out
}

// setting takes what a mode drives or sets: a board relay, PART=POSITION, a
// switch by its name for its other position, SENSOR=177C, SWITCH=30%.
func (s *draft) setting(m *circuit.ModeSpec, set map[string]bool, word string) error {
	head, value, given := strings.Cut(word, "=")
	name, err := pick("part", head, s.partNames(func(p *circuit.Part) bool {
		return len(p.Positions) > 0 || p.Kind == circuit.KindSensor || s.driven(p.Name)
	}))
	if err != nil {
		return err
	}
	id, err := s.c.FindPart(name)
	if err != nil {
		return err
	}
	part := s.c.Part(id)
	number, of, isFigure := netlists.Measure(value)
	switch {
	case part.Kind == circuit.KindSensor && given && isFigure && (of == "celsius" || of == ""):
		m.Celsius = with(m.Celsius, name, number)
		set["celsius"] = true
	case part.Kind == circuit.KindSensor:
		return fmt.Errorf("a sensor takes a temperature, as in %s=177C", head)
	case given && of == "share":
		m.Duty = with(m.Duty, name, number)
		set["duty"] = true
	case given:
		position, err := pick("position of "+name, value, part.Positions)
		if err != nil {
			return err
		}
		m.Set = with(m.Set, name, position)
		set["set"] = true
	case s.driven(name):
		m.Drives = append(m.Drives, name)
		set["drives"] = true
	case len(part.Positions) == 2:
		m.Set = with(m.Set, name, part.Positions[1-part.Rest])
		set["set"] = true
	default:
		return fmt.Errorf("%s has the positions %s: say which, as in %s=%s", name, strings.Join(part.Positions, ", "), head, part.Positions[len(part.Positions)-1])
	}
	return nil
}

// putFields writes the fields of a spec that were said, in the order that the
// format has them.
func (s *draft) putFields(spec any, said map[string]bool, path ...string) error {
	v := reflect.ValueOf(spec)
	for i := range v.NumField() {
		if key := v.Type().Field(i).Tag.Get("toml"); said[key] {
			if err := s.Put(v.Field(i).Interface(), append(slices.Clip(path), key)...); err != nil {
				return err
			}
		}
	}
	return nil
}

func with[T any](m map[string]T, key string, value T) map[string]T {
	if m == nil {
		m = map[string]T{}
	}
	m[key] = value
	return m
}

// driven reports whether a part is a relay on a control's board.
func (s *draft) driven(name string) bool {
	return slices.ContainsFunc(s.spec.Parts, func(p circuit.PartSpec) bool {
		return p.Name == name && p.DrivenBy != "" && p.Kind == circuit.KindRelay.String()
	})
}

// points lists test points: ends, minutes, a place, and a label for one alone.
func (s *draft) points(words []string) error {
	var p circuit.PointSpec
	var ends []string
	for _, word := range joined(words[1:]) {
		minutes, of, ok := netlists.Measure(word)
		switch {
		case word[0] == '@':
			p.Place = plain(word[1:])
		case quoted(word):
			p.Label = plain(word)
		case ok && of == "minutes":
			p.Minutes = minutes
		case word == "live" || word == "off" || word == "either":
			p.Power = word
		default:
			ends = append(ends, word)
		}
	}
	if len(ends) == 0 || len(ends) > 1 && p.Label != "" {
		return fmt.Errorf("point END, as in point block.L1 5 min; a label goes with one end")
	}
	for _, word := range ends {
		if err := s.point(p, word); err != nil {
			return err
		}
	}
	return nil
}

// point lists one, END or NAME=END.
func (s *draft) point(p circuit.PointSpec, word string) error {
	name, end, named := strings.Cut(word, "=")
	if !named {
		end = name
	}
	at, err := s.stop(end, map[string]bool{})
	if err != nil {
		return err
	}
	p.At = at.out
	if !named {
		name = strings.ReplaceAll(p.At, ".", "_")
	}
	if err := checkName(name); err != nil {
		return err
	}
	s.tell("point %s at %s", name, p.At)
	return s.Put(p, "points", name)
}
