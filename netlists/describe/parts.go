package describe

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
)

// parts describes parts, or says more of parts that are there, or changes a wire.
func (s *draft) parts(names, words []string) error {
	if len(names) == 0 {
		return errors.New("a name goes before the colon, as in bake: element 2600 W 240 V")
	}
	for _, name := range names {
		wires := s.wires()
		if i := slices.IndexFunc(wires, func(w circuit.WireSpec) bool { return w.Name == name }); i >= 0 {
			if err := s.changeWire(name, words); err != nil {
				return err
			}
			continue
		}
		i := slices.IndexFunc(s.spec.Parts, func(p circuit.PartSpec) bool { return p.Name == name })
		if i < 0 {
			kind := ""
			if len(words) > 0 {
				kind = Kind(words[0])
			}
			var have []string
			for _, p := range s.spec.Parts {
				have = append(have, p.Name)
			}
			if near, err := pick("part", name, have); err == nil && kind == "" {
				name = near
				i = slices.Index(have, near)
			} else if kind == "" && numbered().MatchString(name) {
				return fmt.Errorf("there is no wire %s", name)
			} else if kind == "" {
				return fmt.Errorf("%s is new: the first word behind the colon is its kind: %s", name, Kinds())
			}
		}
		if err := s.part(name, i, words); err != nil {
			return err
		}
	}
	return nil
}

func (s *draft) part(name string, i int, words []string) error {
	var p circuit.PartSpec
	if i >= 0 {
		p = s.spec.Parts[i]
	} else {
		if err := checkName(name); err != nil {
			return err
		}
		if name == circuit.SupplyName || name == circuit.ChassisName {
			return fmt.Errorf("%s is always there", name)
		}
		p = circuit.PartSpec{Kind: Kind(words[0])}
		words = words[1:]
	}
	kind, err := circuit.ParseKind(p.Kind)
	if err != nil {
		return err
	}
	f := &fields{s: s, p: &p, kind: kind, set: map[string]bool{}}
	for _, word := range joined(words) {
		if err := f.take(word); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	if i < 0 {
		if short := f.missing(); short != "" {
			return fmt.Errorf("%s: kind %s also needs %s", name, p.Kind, short)
		}
		if err := s.Put(p, "parts", name); err != nil {
			return err
		}
	} else if err := s.putFields(p, f.set, "parts", name); err != nil {
		return err
	}
	p.Name = name
	s.tell("%s: %s", name, tellPart(p))
	return nil
}

// Kind is the kind that a word stands for: a kind's name, a word of the trade,
// or the beginning of either; empty where it is none.
func Kind(word string) string {
	word = strings.ReplaceAll(word, "-", "_")
	var names []string
	for _, k := range circuit.Kinds() {
		names = append(names, k.String())
	}
	trade := circuit.TradeWords()
	if slices.Contains(names, word) {
		return word
	}
	if kind := trade[strings.ToLower(word)]; kind != "" {
		return kind
	}
	if name, err := pick("kind", word, names); err == nil {
		return name
	}
	if name, err := pick("kind", word, slices.Sorted(maps.Keys(trade))); err == nil {
		return trade[name]
	}
	return ""
}

// Kinds lists the kinds by their names.
func Kinds() string {
	var names []string
	for _, k := range circuit.Kinds() {
		names = append(names, k.String())
	}
	return strings.Join(names, ", ")
}

// tellPart says what is known of a part, as it is written.
func tellPart(p circuit.PartSpec) string {
	out := []string{p.Kind}
	v := reflect.ValueOf(p)
	for i := range v.NumField() {
		key := v.Type().Field(i).Tag.Get("toml")
		if key != "name" && key != "kind" && !v.Field(i).IsZero() {
			out = append(out, fmt.Sprintf("%s %v", key, v.Field(i)))
		}
	}
	return strings.Join(out, ", ")
}

// fields takes the words that say what a part has.
type fields struct {
	s    *draft
	p    *circuit.PartSpec
	kind circuit.Kind
	set  map[string]bool // keys that were said
}

func field(p *circuit.PartSpec, key string) reflect.Value {
	v := reflect.ValueOf(p).Elem()
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("toml") == key {
			return v.Field(i)
		}
	}
	return reflect.Value{}
}

// takes lists what a part of the kind may have.
func (f *fields) takes(key string) bool {
	info := f.kind.Info()
	return slices.Contains(info.Required, key) || slices.Contains(info.Optional, key)
}

// missing lists what the kind needs and was not said.
func (f *fields) missing() string {
	var out []string
	for _, key := range f.kind.Info().Required {
		if field(f.p, key).IsZero() {
			out = append(out, key)
		}
	}
	return strings.Join(out, " and ")
}

// measures lists the keys that a figure may be for, by what it measures, in the
// order in which they are tried.
var measures = map[string][]string{
	"watts": {"watts"}, "volts": {"volts", "secondary_volts"}, "amps": {"amps", "residual_amps"},
	"ohms": {"ohms", "ohms_at", "start_ohms", "cold_ohms"}, "microfarads": {"microfarads"}, "celsius": {"acts_celsius", "resets_celsius"},
}

var (
	bracketed = pattern(`^([A-Za-z0-9_-]+)\((.*)\)$`)
	contacts  = []string{"no", "nc", "changeover"}
	curves    = []string{"pt3750", "pt3850", "ntc"}
)

func (f *fields) put(key string, value any) {
	v := field(f.p, key)
	v.Set(reflect.ValueOf(value).Convert(v.Type()))
	f.set[key] = true
}

func (f *fields) take(word string) error {
	if word[0] == '@' {
		f.put("place", plain(word[1:]))
		return nil
	}
	if quoted(word) {
		f.put("label", plain(word))
		return nil
	}
	if key, value, given := strings.Cut(word, "="); given {
		return f.key(key, plain(value))
	}
	if m := bracketed().FindStringSubmatch(word); m != nil {
		return f.group(m[1], m[2])
	}
	if number, of, ok := netlists.Measure(word); ok && of != "" {
		for _, key := range measures[of] {
			if f.takes(key) && !f.set[key] {
				f.put(key, number)
				return nil
			}
		}
		return fmt.Errorf("%s: %s is not a rating of kind %s", word, of, f.kind)
	}
	return f.word(word)
}

// word takes a word that is neither marked nor a rating.
func (f *fields) word(word string) error {
	lower := strings.ToLower(word)
	switch {
	case slices.Contains(contacts, lower) && f.takes("contact"):
		f.put("contact", lower)
	case slices.Contains(curves, lower) && f.takes("curve"):
		f.put("curve", lower)
	case (lower == "open" || lower == "closed") && f.takes("rest") && !f.takesPositions():
		f.put("rest", lower)
	case f.takes("driven_by") && f.driver(word) != "":
		f.put("driven_by", f.driver(word))
	case f.takesPositions():
		f.put("positions", append(f.positions(), word))
	case f.takes("poles") && checkName(word) == nil:
		f.put("poles", append(f.poles(), word))
	default:
		return fmt.Errorf("%q says nothing of kind %s", word, f.kind)
	}
	return nil
}

// takesPositions tells a switch whose positions are named from one that is open
// or closed.
func (f *fields) takesPositions() bool {
	return slices.Contains(f.kind.Info().Required, "positions") || f.takes("positions") && !f.takes("poles")
}

// positions and poles are what was said so far: a first word takes the place of
// what was there.
func (f *fields) positions() []string {
	if !f.set["positions"] {
		return nil
	}
	return f.p.Positions
}

func (f *fields) poles() []string {
	if !f.set["poles"] {
		return nil
	}
	return f.p.Poles
}

// driver is the control or motor that a word names.
func (f *fields) driver(word string) string {
	var names []string
	for _, p := range f.s.spec.Parts {
		if k, err := circuit.ParseKind(p.Kind); err == nil && (k == circuit.KindControl || k == circuit.KindMotor) {
			names = append(names, p.Name)
		}
	}
	name, err := pick("control", word, names)
	if err != nil {
		return ""
	}
	return name
}

// group takes NAME(...): what a position joins, or the form of a relay's contact.
func (f *fields) group(name, inside string) error {
	if f.takes("contacts") {
		if !slices.Contains(contacts, inside) {
			return fmt.Errorf("%s(%s): a contact is no, nc or changeover", name, inside)
		}
		if f.p.Contacts == nil || !f.set["contacts"] {
			f.p.Contacts = map[string]string{}
		}
		f.p.Contacts[name], f.set["contacts"] = inside, true
		return nil
	}
	if !f.takes("chart") {
		return fmt.Errorf("%s(%s): kind %s has no contact chart", name, inside, f.kind)
	}
	var groups [][]string
	for _, g := range strings.Fields(inside) {
		groups = append(groups, strings.Split(g, "-"))
	}
	if !slices.Contains(f.p.Positions, name) {
		f.put("positions", append(f.positions(), name))
	}
	if f.p.Chart == nil {
		f.p.Chart = map[string][][]string{}
	}
	f.p.Chart[name], f.set["chart"] = groups, true
	return nil
}

// key takes KEY=VALUE for any key that the kind has; pf stands for power_factor.
func (f *fields) key(key, value string) error {
	info := f.kind.Info()
	key, err := pick("key of a "+f.kind.String(), key, slices.Concat(info.Required, info.Optional, []string{"label", "place", "note"}))
	if err != nil {
		return err
	}
	switch v := field(f.p, key); v.Interface().(type) {
	case string:
		f.put(key, value)
	case float64:
		number, _, ok := netlists.Measure(value)
		if !ok {
			return fmt.Errorf("%s=%s: a figure is expected", key, value)
		}
		f.put(key, number)
	case bool:
		f.put(key, value == "true" || value == "yes")
	case []string:
		f.put(key, strings.Split(value, ","))
	default:
		return fmt.Errorf("%s cannot be said in a word: it is written in the netlist", key)
	}
	return nil
}
