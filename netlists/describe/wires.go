package describe

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
)

// stop is a part on the way of a run: where a wire ends and where the next one
// begins; the latter empty where there is none left.
type stop struct{ in, out string }

// run takes wires one behind the other: end, colour and gauge, end, and so on.
func (s *draft) run(words []string) error {
	words = joined(words)
	taken := map[string]bool{}
	wires := s.wires()
	for _, w := range wires {
		taken[w.From], taken[w.To] = true, true
	}
	var from *stop
	var w circuit.WireSpec
	for i, word := range words {
		if from != nil && i < len(words)-1 && s.looks(&w, word, wires) {
			continue
		}
		at, err := s.stop(word, taken)
		if err != nil {
			return err
		}
		if from == nil {
			// The run begins here: what would be passed through is left by its
			// first free end.
			if !strings.Contains(word, ".") {
				at.out = at.in
			}
			from = &at
			continue
		}
		if from.out == "" {
			return fmt.Errorf("no end of %s is left to go on from: name one", words[i-1])
		}
		w.From, w.To, w.Name = from.out, at.in, nextName(wires)
		if w.From == w.To {
			return fmt.Errorf("a wire from %s to itself", w.From)
		}
		if err := s.Put(w, "wires", w.Name); err != nil {
			return err
		}
		s.tell("%s", tellWire(w))
		taken[w.From], taken[w.To] = true, true
		wires = append(wires, w)
		w, from = circuit.WireSpec{}, &at
	}
	if len(words) < 2 {
		return fmt.Errorf("%q alone is no wire: FROM COLOUR GAUGE TO, or PART: KIND RATINGS", words[0])
	}
	return nil
}

func tellWire(w circuit.WireSpec) string {
	var how []string
	if w.Colour != "" {
		how = append(how, w.Colour)
	}
	if w.AWG != 0 {
		how = append(how, strconv.Itoa(w.AWG)+" AWG")
	}
	if w.SquareMM != 0 {
		how = append(how, fmt.Sprintf("%g mm2", w.SquareMM))
	}
	if w.Metres != 0 {
		how = append(how, fmt.Sprintf("%g m", w.Metres))
	}
	return strings.Join(slices.DeleteFunc([]string{w.Name + ":", w.From, strings.Join(how, " "), "to", w.To}, func(s string) bool { return s == "" }), " ")
}

// wires lists the wires by the names they go by.
func (s *draft) wires() []circuit.WireSpec {
	out := slices.Clone(s.spec.Wires)
	for i := range out {
		if out[i].Name == "" {
			out[i].Name = fmt.Sprintf("w%d", i+1)
		}
	}
	return out
}

var numbered = pattern(`^w(\d{1,5})$`)

// nextName is the wire after the last one that goes by w and a number, with as
// many digits as that.
func nextName(wires []circuit.WireSpec) string {
	last, digits := 0, 1
	for _, w := range wires {
		if m := numbered().FindStringSubmatch(w.Name); m != nil {
			if n, _ := strconv.Atoi(m[1]); n > last {
				last, digits = n, len(m[1])
			}
		}
	}
	return fmt.Sprintf("w%0*d", digits, last+1)
}

var colourAndGauge = pattern(`^([a-zA-Z/]+?)(\d[\d.,]*(?:mm2|awg|ga)?)$`)

// looks takes a word that tells how a wire looks; a part of just that name is
// none.
func (s *draft) looks(w *circuit.WireSpec, word string, before []circuit.WireSpec) bool {
	if _, err := s.c.FindPart(word); err == nil {
		return false
	}
	if word == `"` {
		if len(before) > 0 {
			last := before[len(before)-1]
			w.Colour, w.AWG, w.SquareMM = last.Colour, last.AWG, last.SquareMM
		}
		return true
	}
	if slices.Contains([]string{"-", "with", "stripe", "striped", "tracer"}, strings.ToLower(word)) {
		return true
	}
	if m := colourAndGauge().FindStringSubmatch(word); m != nil && circuit.ColourCode(m[1]) != "" {
		w.Colour, word = circuit.ColourCode(m[1]), m[2]
	} else if code := circuit.ColourCode(strings.TrimSpace(w.Colour + " " + word)); code != "" && !strings.ContainsAny(word, "0123456789.") {
		w.Colour = code
		return true
	}
	number, of, ok := netlists.Measure(word)
	switch {
	case ok && (of == "" || of == "awg"):
		w.AWG = int(number)
	case ok && of == "mm2":
		w.SquareMM = number
	case ok && of == "metres":
		w.Metres = number
	default:
		return false
	}
	return true
}

// stop finds the terminals that a word stands for. Those that a wire reaches are
// taken.
func (s *draft) stop(word string, taken map[string]bool) (stop, error) {
	head, tail, named := strings.Cut(word, ".")
	var names []string
	for _, p := range s.c.Parts() {
		names = append(names, p.Name)
	}
	name, err := pick("part", head, names)
	var none *notThere
	if end := circuit.SupplyName + "." + strings.ToUpper(head); errors.As(err, &none) && !named {
		if _, err := s.c.FindTerminal(end); err == nil { // the sheet has its conductors by these names alone
			return stop{end, end}, nil
		}
	}
	if errors.As(err, &none) && checkName(head) == nil {
		return stop{}, &Unknown{head, none.near}
	}
	if err != nil {
		return stop{}, err
	}
	id, err := s.c.FindPart(name)
	if err != nil {
		return stop{}, err
	}
	var refs, ends []string
	for _, t := range s.c.Part(id).Terminals {
		ref := s.c.Terminal(t).Ref
		refs, ends = append(refs, ref), append(ends, strings.TrimPrefix(strings.TrimPrefix(ref, name), "."))
	}
	switch {
	case len(refs) == 1:
		return stop{refs[0], refs[0]}, nil
	case !named:
		free := slices.DeleteFunc(slices.Clone(refs), func(ref string) bool { return taken[ref] })
		if len(free) == 0 {
			return stop{}, fmt.Errorf("every end of %s has a wire: say which, of %s", name, strings.Join(refs, ", "))
		}
		return stop{free[0], append(free, "")[1]}, nil
	}
	if i := slices.IndexFunc(ends, func(end string) bool { return strings.EqualFold(end, tail) }); i >= 0 {
		return stop{refs[i], refs[i]}, nil
	}
	// A pole: in by its first end, or by its second where that has a wire.
	var pole []string
	for i, end := range ends {
		if strings.HasPrefix(strings.ToLower(end), strings.ToLower(tail)+".") {
			pole = append(pole, refs[i])
		}
	}
	if len(pole) >= 2 {
		if taken[pole[0]] {
			pole[0] = pole[1]
		}
		return stop{pole[0], pole[1]}, nil
	}
	end, err := pick("end "+name, tail, ends)
	if err != nil {
		return stop{}, err
	}
	return stop{name + "." + end, name + "." + end}, nil
}

// changeWire gives a wire that is there other looks or ends.
func (s *draft) changeWire(name string, words []string) error {
	put := func(value any, key string) error { return s.Put(value, "wires", name, key) }
	for _, word := range joined(words) {
		key, value, given := strings.Cut(word, "=")
		var looks circuit.WireSpec
		switch {
		case given && (key == "from" || key == "to"):
			at, err := s.stop(value, map[string]bool{})
			if err != nil {
				return err
			}
			if err := put(at.in, key); err != nil {
				return err
			}
		case !given && s.looks(&looks, word, nil):
			said := map[string]bool{"colour": looks.Colour != "", "awg": looks.AWG != 0, "mm2": looks.SquareMM != 0, "metres": looks.Metres != 0}
			if err := s.putFields(looks, said, "wires", name); err != nil {
				return err
			}
			for size, other := range map[string]string{"awg": "mm2", "mm2": "awg"} { // at most one is given
				if said[size] {
					_ = s.Take("wires", name, other) // where it is there
				}
			}
		default:
			return fmt.Errorf("%q is no colour, gauge or length, and neither from=END nor to=END", word)
		}
	}
	s.tell("%s is changed", name)
	return nil
}
