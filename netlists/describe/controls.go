package describe

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
)

// control finds the control that a line is about: the one whose name comes first
// in it, or the only one.
func (s *draft) control(words []string) (*circuit.PartSpec, []string, error) {
	var names []string
	for _, p := range s.spec.Parts {
		if p.Kind == circuit.KindControl.String() {
			names = append(names, p.Name)
		}
	}
	name := ""
	if len(words) > 0 && slices.Contains(names, words[0]) {
		name, words = words[0], words[1:]
	}
	switch {
	case len(names) == 0:
		return nil, nil, fmt.Errorf("there is no control yet: NAME: control 120 V 5 W")
	case name == "" && len(names) > 1:
		return nil, nil, fmt.Errorf("say which control first: %s", strings.Join(names, ", "))
	case name == "":
		name = names[0]
	}
	i := slices.IndexFunc(s.spec.Parts, func(p circuit.PartSpec) bool { return p.Name == name })
	if len(words) == 0 {
		return nil, nil, fmt.Errorf("a name is missing")
	}
	return &s.spec.Parts[i], words, nil
}

// sense says what a control must see between two of its pins, or in which modes.
func (s *draft) sense(words []string) error {
	control, words, err := s.control(words[1:])
	if err != nil {
		return err
	}
	rest := joined(words[1:])
	name, in := words[0], slices.Index(rest, "in")
	if in == 0 { // more of one that is there
		if name, err = pick("sense", name, senseNames(control)); err != nil {
			return err
		}
	}
	i := slices.Index(senseNames(control), name)
	if i < 0 {
		control.Senses = append(control.Senses, circuit.SenseSpec{Name: name})
		i = len(control.Senses) - 1
	}
	sense := &control.Senses[i]
	if in >= 0 {
		sense.Modes = nil
		for _, word := range rest[in+1:] {
			mode, err := s.modeNamed(word)
			if err != nil {
				return err
			}
			sense.Modes = append(sense.Modes, mode)
		}
		rest = rest[:in]
	}
	var pins []string
	for _, word := range rest {
		low, high, isRange := strings.Cut(word, "-")
		least, _, ok := netlists.Measure(low)
		most, _, okToo := netlists.Measure(high)
		if isRange && ok && okToo {
			sense.MinOhms, sense.MaxOhms = least, most
			continue
		}
		pins = append(pins, word)
	}
	if len(pins) > 0 {
		sense.Pins = pins
	}
	if len(sense.Pins) != 2 || sense.MaxOhms == 0 {
		return fmt.Errorf("sense NAME PIN PIN 900-2900")
	}
	s.tell("%s: %s senses %g to %g ohms between %s", sense.Name, control.Name, sense.MinOhms, sense.MaxOhms, strings.Join(sense.Pins, " and "))
	return s.Put(control.Senses, "parts", control.Name, "senses")
}

func senseNames(control *circuit.PartSpec) []string {
	var out []string
	for _, sense := range control.Senses {
		out = append(out, sense.Name)
	}
	return out
}

func (s *draft) modeNamed(word string) (string, error) {
	var names []string
	for _, m := range s.spec.Modes {
		names = append(names, m.Name)
	}
	return pick("mode", word, names)
}

// code says what a control shows when it senses more or less than some ohms.
func (s *draft) code(words []string) error {
	control, words, err := s.control(words[1:])
	if err != nil {
		return err
	}
	code := circuit.CodeSpec{Code: plain(words[0])}
	var means []string
	for _, word := range joined(words[1:]) {
		number, _, ok := netlists.Measure(strings.TrimLeft(word, "<>"))
		name, err := pick("sense", word, senseNames(control))
		switch {
		case word[0] == '>' && ok:
			code.Above = number
		case word[0] == '<' && ok:
			code.Below = number
		case err == nil && code.Sense == "" && len(means) == 0:
			code.Sense = name
		default:
			means = append(means, plain(word))
		}
	}
	code.Means = strings.Join(means, " ")
	control.Codes = slices.DeleteFunc(control.Codes, func(o circuit.CodeSpec) bool {
		if o.Code == code.Code {
			code.Modes = o.Modes
		}
		return o.Code == code.Code
	})
	control.Codes = append(control.Codes, code)
	s.tell("%s shows %s: %s", control.Name, code.Code, code.Means)
	return s.Put(control.Codes, "parts", control.Name, "codes")
}

// again writes down once more all that has a word in its name, with another word
// in its place: the lower oven as the upper one. Further pairs do the same for
// terminals.
func (s *draft) again(words []string) error {
	var t twin
	for _, word := range words[1:] {
		from, to, ok := strings.Cut(word, "=")
		if !ok || from == "" || checkName(to) != nil {
			return fmt.Errorf("again WORD=WORD, as in again upper=lower U1=V1")
		}
		t = append(t, [2]string{from, to})
	}
	if len(t) == 0 {
		return fmt.Errorf("again WORD=WORD, as in again upper=lower U1=V1")
	}
	before := len(s.said)
	twins, err := s.partsAgain(t)
	if err != nil {
		return err
	}
	for _, again := range []func(twin, map[string]bool) error{s.wiresAgain, s.modesAgain, s.pointsAgain} {
		if err := again(t, twins); err != nil {
			return err
		}
	}
	if len(s.said) == before {
		return fmt.Errorf("nothing has %q in its name that is not there with %q", t[0][0], t[0][1])
	}
	return nil
}

// partsAgain returns the parts that get a twin now.
func (s *draft) partsAgain(t twin) (map[string]bool, error) {
	twins := map[string]bool{}
	for _, p := range s.spec.Parts {
		if q := p; t.changes(&q.Name, p.Name) && s.newPart(q.Name) {
			twins[p.Name] = true
			q.DrivenBy, q.Body = t.name(p.DrivenBy), ""
			q.Label, q.Place = t.words(p.Label), t.words(p.Place)
			q.Senses, q.Codes = slices.Clone(p.Senses), slices.Clone(p.Codes)
			for i := range q.Senses {
				q.Senses[i].Modes = t.refs(q.Senses[i].Modes)
			}
			for i := range q.Codes {
				q.Codes[i].Modes = t.refs(q.Codes[i].Modes)
			}
			if err := s.Put(q, "parts", q.Name); err != nil {
				return nil, err
			}
			s.tell("%s as %s", q.Name, p.Name)
		}
	}
	return twins, nil
}

func (s *draft) wiresAgain(t twin, twins map[string]bool) error {
	wires := s.wires()
	for _, w := range wires {
		if !twins[partOf(w.From)] && !twins[partOf(w.To)] {
			continue
		}
		w.From, w.To, w.Name = t.ref(w.From), t.ref(w.To), nextName(wires)
		if err := s.Put(w, "wires", w.Name); err != nil {
			return err
		}
		wires = append(wires, w)
		s.tell("%s", tellWire(w))
	}
	return nil
}

func (s *draft) pointsAgain(t twin, twins map[string]bool) error {
	for _, p := range s.spec.Points {
		q := p
		q.At, q.Label, q.Place = t.ref(p.At), t.words(p.Label), t.words(p.Place)
		if !t.changes(&q.Name, p.Name) || !twins[partOf(p.At)] {
			continue
		}
		if err := s.Put(q, "points", q.Name); err != nil {
			return err
		}
		s.tell("point %s", q.Name)
	}
	return nil
}

func (s *draft) modesAgain(t twin, _ map[string]bool) error {
	for _, m := range s.spec.Modes {
		n := m
		exists := slices.ContainsFunc(s.spec.Modes, func(o circuit.ModeSpec) bool { return o.Name == t.name(m.Name) })
		if !t.changes(&n.Name, m.Name) || exists {
			continue
		}
		n.Label, n.Cycles, n.After = t.words(m.Label), t.name(m.Cycles), t.name(m.After)
		n.Drives, n.On = t.refs(m.Drives), t.refs(m.On)
		n.Set, n.Celsius, n.Duty, n.Share = keys(t, m.Set), keys(t, m.Celsius), keys(t, m.Duty), keys(t, m.Share)
		// Off is what is not on: the other twin's loads too.
		if n.Off = nil; m.Off != nil {
			loads := s.loads()
			for _, load := range slices.Clone(loads) {
				if other := t.ref(load); !slices.Contains(loads, other) {
					loads = append(loads, other)
				}
			}
			for _, load := range loads {
				if !slices.Contains(n.On, load) && n.Share[load] == 0 {
					n.Off = append(n.Off, load)
				}
			}
		}
		if err := s.Put(n, "modes", n.Name); err != nil {
			return err
		}
		s.tell("mode %s as %s", n.Name, m.Name)
	}
	return nil
}

func (s *draft) newPart(name string) bool {
	return !slices.ContainsFunc(s.spec.Parts, func(p circuit.PartSpec) bool { return p.Name == name })
}

// twin is words and what stands in their places.
type twin [][2]string

// pieces are the words of a name, parted by _ or -.
var pieces = pattern(`[^_-]+`)

// name replaces the words of a name.
func (t twin) name(name string) string {
	return pieces().ReplaceAllStringFunc(name, func(piece string) string {
		for _, pair := range t {
			if piece == pair[0] {
				return pair[1]
			}
		}
		return piece
	})
}

func (t twin) changes(to *string, name string) bool {
	*to = t.name(name)
	return *to != name
}

// partOf is the part of a "part.terminal".
func partOf(ref string) string {
	part, _, _ := strings.Cut(ref, ".")
	return part
}

// ref replaces words in a "part.terminal".
func (t twin) ref(ref string) string {
	part, end, dotted := strings.Cut(ref, ".")
	if !dotted {
		return t.name(part)
	}
	return t.name(part) + "." + t.name(end)
}

func (t twin) refs(list []string) []string {
	var out []string
	for _, ref := range list {
		out = append(out, t.ref(ref))
	}
	return out
}

func keys[T any](t twin, m map[string]T) map[string]T {
	var out map[string]T
	for k, v := range m {
		out = with(out, t.ref(k), v)
	}
	return out
}

// words replaces words of a sentence, as they stand and with a capital.
func (t twin) words(s string) string {
	for _, pair := range t {
		s = strings.ReplaceAll(s, pair[0], pair[1])
		s = strings.ReplaceAll(s, circuit.UpperFirst(pair[0]), circuit.UpperFirst(pair[1]))
	}
	return s
}
