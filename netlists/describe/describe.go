// Package describe writes a machine down in lines as one reads them off a sheet
// or out of a harness table: from which part and terminal, what colour and gauge,
// to which.
//
// Start with [Begin] for the text of a machine without parts; [Enter] takes one
// line and gives the netlist's text as it is then, everything else in it as it
// was written. A part that a line names for the first time is asked for by
// [Unknown]. What a line may say is [Help].
package describe

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/netlists/starter"
)

// Begin returns a machine without parts, on the usual supply.
func Begin(name string) []byte {
	supply, _ := starter.Supply("240-4wire")
	return fmt.Appendf(nil, "name = %q\n\n[supply]\nsystem = %q\nvolts = %g\nwires = %d\n\n[parts]\n\n[wires]\n\n[modes.off]\nlabel = \"Off\"\n",
		name, supply.System, supply.Volts, supply.Wires)
}

// Help says what a line may be, the short forms with it.
var Help = []struct{ Form, Means string }{
	{"FROM COLOUR GAUGE TO", "a wire: block.L1 BK 12 fuse. Go on in the line for the next: fuse.2 RD 12 relay.com"},
	{"PART", "alone it stands for its first end without a wire; a run goes in by one end and out by the next. block.L1 is that pole, in and out"},
	{`"`, "as the wire above: colour and gauge"},
	{"PART: KIND RATINGS", "a part: bake: element 2600 W 240 V. Several: bake, broil: element. Of one that is there: bake: 3 kW"},
	{"", `kinds may be shortened, as parts may: the first letters, or the first of each word, ub for upper_bake. Also "label", @place, KEY=VALUE`},
	{"selector: selector off bake(L1-1 L2-C)", "positions, rest first, and what each joins"},
	{"sense NAME PIN PIN 900-2900", "what the control must see between two pins; then: in MODE ..."},
	{"code CODE SENSE >2900 MEANING", "what the control shows, above or below which ohms"},
	{"mode NAME RELAYS SWITCH=POSITION SENSOR=177C on LOADS", "what can be selected, and which loads are on; the others are off"},
	{"point ENDS 5 min @place", "test points"},
	{"again upper=lower U1=V1", "once more all that has one word in its name, with the other"},
	{"supply 240-4wire", "what feeds it: " + strings.Join(starter.Values("supply"), ", ")},
	{"name, title, note", "of the machine"},
	{"W7: KEY=VALUE", "changes a wire: w7: BU 14, w7: to=bake.2"},
	{"drop NAME, rename NAME NAME", "a part, wire, mode or point"},
}

// Unknown is the error of a line that names a part for the first time. Once
// "PART: KIND" was entered, the line can be entered again.
type Unknown struct {
	Part string
	// Near is the part that may be meant, where one is close.
	Near string
}

func (u *Unknown) Error() string {
	s := u.Part + " is not on the list yet"
	if u.Near != "" {
		s += ", or is it " + u.Near
	}
	return s + ": what kind of part is it?"
}

// Enter takes a line. It returns the text as it is with it, and what was
// understood. The error is of type [*Unknown], of [netlists.Errors] where the
// text is no TOML, or says what is wrong with the line; the text is then nil.
func Enter(name string, text []byte, line string) (after []byte, said []string, err error) {
	words, err := split(line)
	if err != nil {
		return nil, nil, err
	}
	if len(words) == 0 {
		return text, nil, nil
	}
	s, err := open(name, text)
	if err != nil {
		return nil, nil, err
	}
	if err := s.take(words); err != nil {
		return nil, nil, err
	}
	after, err = s.Text()
	return after, s.said, err
}

// draft is a netlist while a line is written into it.
type draft struct {
	*netlists.Edit
	spec circuit.Spec
	c    *circuit.Circuit
	said []string
}

func open(name string, text []byte) (*draft, error) {
	e, err := netlists.NewEdit(name, text)
	if err != nil {
		return nil, err
	}
	s := &draft{Edit: e}
	if s.spec, _, err = netlists.Parse(name, text); err != nil {
		return nil, err
	}
	if s.c, _ = circuit.Build(s.spec); s.c != nil {
		return s, nil
	}
	// With a slip somewhere the other parts are still known.
	bare := circuit.Spec{Name: "parts", Supply: s.spec.Supply, Modes: []circuit.ModeSpec{{Name: "off"}}}
	for _, p := range s.spec.Parts {
		p.Body, p.ActsCelsius, p.ResetsCelsius, p.Codes, p.Senses = "", 0, 0, nil, slices.Clone(p.Senses)
		for i := range p.Senses {
			p.Senses[i].Modes = nil
		}
		bare.Parts = append(bare.Parts, p)
	}
	for {
		var problems []circuit.Problem
		if s.c, problems = circuit.Build(bare); s.c != nil {
			return s, nil
		}
		sound := len(bare.Parts)
		bare.Parts = slices.DeleteFunc(bare.Parts, func(p circuit.PartSpec) bool {
			return slices.ContainsFunc(problems, func(q circuit.Problem) bool {
				return q.Path == "parts."+p.Name || strings.HasPrefix(q.Path, "parts."+p.Name+".")
			})
		})
		if len(bare.Parts) == sound {
			return nil, fmt.Errorf("mend this first: %s", problems[0])
		}
	}
}

// verbs are the lines that begin with a word of their own.
var verbs = map[string]func(*draft, []string) error{
	"mode": (*draft).mode, "point": (*draft).points, "sense": (*draft).sense, "code": (*draft).code,
	"again": (*draft).again, "drop": (*draft).drop, "rename": (*draft).rename, "supply": (*draft).supply,
	"name": (*draft).head, "title": (*draft).head, "note": (*draft).head,
}

func (s *draft) take(words []string) error {
	if verb := verbs[strings.ToLower(words[0])]; verb != nil {
		return verb(s, words)
	}
	if names, rest, ok := cutColon(words); ok {
		return s.parts(names, rest)
	}
	return s.run(words)
}

// cutColon parts "a, b: element 240 V" into names and the rest.
func cutColon(words []string) (names, rest []string, ok bool) {
	for i, w := range words {
		head, tail, found := strings.Cut(w, ":")
		for _, name := range strings.Split(head, ",") {
			if name != "" {
				names = append(names, name)
			}
		}
		switch {
		case strings.HasPrefix(w, `"`) || strings.HasPrefix(w, "@"):
			return nil, nil, false
		case found && tail != "":
			return names, append([]string{tail}, words[i+1:]...), true
		case found:
			return names, words[i+1:], true
		}
	}
	return nil, nil, false
}

func (s *draft) tell(format string, args ...any) {
	s.said = append(s.said, fmt.Sprintf(format, args...))
}

func (s *draft) head(words []string) error {
	text := plain(strings.Join(words[1:], " "))
	if text == "" {
		return fmt.Errorf("%s of the machine: say it behind the word", words[0])
	}
	key := strings.ToLower(words[0])
	if key == "note" {
		key = "notes"
		text = strings.TrimSpace(s.spec.Notes + " " + text)
	}
	s.tell("%s: %s", words[0], text)
	return s.Put(text, key)
}

func (s *draft) supply(words []string) error {
	key, err := pick("supply", strings.Join(words[1:], "-"), starter.Values("supply"))
	if err != nil {
		return err
	}
	spec, _ := starter.Supply(key)
	s.tell("supply %s: %g V, %d wires", spec.System, spec.Volts, spec.Wires)
	for _, one := range []struct {
		key   string
		value any
	}{{"system", spec.System}, {"volts", spec.Volts}, {"wires", spec.Wires}} {
		if err := s.Put(one.value, "supply", one.key); err != nil {
			return err
		}
	}
	return nil
}

// named finds what goes by a name: a part, wire, mode or point.
func (s *draft) named(word string) (table, name string, err error) {
	lists := []struct {
		table string
		names []string
	}{{"parts", nil}, {"wires", nil}, {"modes", nil}, {"points", nil}}
	for _, p := range s.spec.Parts {
		lists[0].names = append(lists[0].names, p.Name)
	}
	for _, w := range s.wires() {
		lists[1].names = append(lists[1].names, w.Name)
	}
	for _, m := range s.spec.Modes {
		lists[2].names = append(lists[2].names, m.Name)
	}
	for _, p := range s.spec.Points {
		lists[3].names = append(lists[3].names, p.Name)
	}
	for _, l := range lists {
		if slices.Contains(l.names, word) {
			return l.table, word, nil
		}
	}
	for _, l := range lists {
		if name, err := pick(strings.TrimSuffix(l.table, "s"), word, l.names); err == nil {
			return l.table, name, nil
		}
	}
	return "", "", fmt.Errorf("nothing goes by the name %q", word)
}

func (s *draft) drop(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("drop what? A part, wire, mode or point by its name")
	}
	for _, word := range words[1:] {
		table, name, err := s.named(word)
		if err != nil {
			return err
		}
		if err := s.Take(table, name); err != nil {
			return err
		}
		s.tell("%s %s is gone", strings.TrimSuffix(table, "s"), name)
	}
	return nil
}

func (s *draft) rename(words []string) error {
	if len(words) != 3 {
		return fmt.Errorf("rename NAME NAME, as in rename bake bake_element")
	}
	table, name, err := s.named(words[1])
	if err != nil {
		return err
	}
	if err := checkName(words[2]); err != nil {
		return err
	}
	s.tell("%s is %s now", name, words[2])
	return s.Rename(table, name, words[2])
}
