package report

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Difference tells what one netlist has otherwise than another.
type Difference struct {
	Document string   `json:"document" help:"which document this is"`
	Netlist  string   `json:"netlist" help:"the netlist looked at, as given"`
	Title    string   `json:"title" help:"what a person calls its machine"`
	Against  string   `json:"against" help:"the netlist it is compared with; what it starts from unless another was named"`
	Was      string   `json:"against_title" help:"what a person calls that machine"`
	Changes  []Change `json:"changes" help:"what differs, in the netlist's order; empty when nothing does"`
}

// Change is one thing that is not as it was.
type Change struct {
	What  string      `json:"what" help:"netlist, supply, part, wire, mode, test point, panel, place, body or prior"`
	Name  string      `json:"name,omitempty" help:"its name; a wire without one goes by its ends"`
	Label string      `json:"label,omitempty" help:"what a person calls it"`
	How   string      `json:"how" help:"added, dropped or changed"`
	Says  string      `json:"says,omitempty" help:"of what was added or dropped: what it is"`
	Keys  []KeyChange `json:"keys,omitempty" help:"of what was changed: each key that differs"`
}

// KeyChange is one key that differs.
type KeyChange struct {
	Key string `json:"key" help:"as in the netlist, deeper keys behind a dot"`
	Is  string `json:"is,omitempty" help:"what it says now; left out where it says nothing"`
	Was string `json:"was,omitempty" help:"what it said"`
}

// Compare tells what a netlist has otherwise than another. The names are how
// the person calls them.
func Compare(name string, is circuit.Spec, against string, was circuit.Spec) *Difference {
	d := &Difference{Document: "compare", Netlist: name, Title: oneLine(is.Title), Against: against, Was: oneLine(was.Title), Changes: []Change{}}
	head := func(s circuit.Spec) map[string]string {
		return map[string]string{"name": s.Name, "title": oneLine(s.Title), "notes": oneLine(s.Notes)}
	}
	d.changed("netlist", "", "", keyChanges(head(was), head(is)))
	d.changed("supply", "", "", keyChanges(keysOf(was.Supply), keysOf(is.Supply)))
	differ(d, "part", was.Parts, is.Parts, func(p circuit.PartSpec) string { return p.Name })
	differ(d, "wire", was.Wires, is.Wires, wireName)
	differ(d, "mode", was.Modes, is.Modes, func(m circuit.ModeSpec) string { return m.Name })
	differ(d, "test point", was.Points, is.Points, func(p circuit.PointSpec) string { return p.Name })
	differ(d, "panel", was.Panels, is.Panels, func(p circuit.PanelSpec) string { return p.Name })
	differ(d, "place", was.Places, is.Places, func(p circuit.PlaceSpec) string { return p.Name })
	differ(d, "body", was.Bodies, is.Bodies, func(b circuit.BodySpec) string { return b.Name })
	d.changed("prior", "", "", keyChanges(flat(reflect.ValueOf(was.Priors)), flat(reflect.ValueOf(is.Priors))))
	d.changed("size", "", "", keyChanges(flat(reflect.ValueOf(was.Sizes)), flat(reflect.ValueOf(is.Sizes))))
	d.changed("mistake", "", "", keyChanges(flat(reflect.ValueOf(was.Mistakes)), flat(reflect.ValueOf(is.Mistakes))))
	return d
}

// wireName returns a wire's name, or its ends.
func wireName(w circuit.WireSpec) string {
	if w.Name != "" {
		return w.Name
	}
	ends := []string{w.From, w.To}
	slices.Sort(ends)
	return strings.Join(ends, " to ")
}

func (d *Difference) changed(what, name, label string, keys []KeyChange) {
	if len(keys) > 0 {
		d.Changes = append(d.Changes, Change{What: what, Name: name, Label: label, How: "changed", Keys: keys})
	}
}

// differ compares two lists of things with names: what is there now in its
// order, then what is gone.
func differ[T any](d *Difference, what string, was, is []T, name func(T) string) {
	old := map[string]T{}
	for _, x := range was {
		old[name(x)] = x
	}
	there := map[string]bool{}
	for _, x := range is {
		n := name(x)
		there[n] = true
		if before, ok := old[n]; ok {
			d.changed(what, n, labelOf(x), keyChanges(keysOf(before), keysOf(x)))
			continue
		}
		d.Changes = append(d.Changes, Change{What: what, Name: n, Label: labelOf(x), How: "added", Says: says(x)})
	}
	for _, x := range was {
		if !there[name(x)] {
			d.Changes = append(d.Changes, Change{What: what, Name: name(x), Label: labelOf(x), How: "dropped", Says: says(x)})
		}
	}
}

func labelOf(x any) string {
	f := reflect.ValueOf(x).FieldByName("Label")
	if !f.IsValid() {
		return ""
	}
	return oneLine(f.String())
}

// says tells what something is that was added or dropped.
func says(x any) string {
	switch x := x.(type) {
	case circuit.PartSpec:
		s := spaced(x.Kind)
		for _, key := range []string{"volts", "watts", "amps", "ohms", "driven_by"} {
			if v := keysOf(x)[key]; v != "" {
				s += ", " + strings.TrimPrefix(keyWord(key)+" ", "rated ") + v
			}
		}
		return s
	case circuit.WireSpec:
		s := x.From + " to " + x.To
		if look := wireLook(Item{Colour: x.Colour, Size: keysOf(x)["awg"] + keysOf(x)["mm2"]}); look != "" {
			s += ", " + plain(look)
		}
		return s
	case circuit.PointSpec:
		return "at " + x.At
	case circuit.ModeSpec:
		if len(x.On) > 0 {
			return "on: " + circuit.List(x.On)
		}
	}
	return ""
}

// keysOf returns what is given of a struct, by key.
func keysOf(x any) map[string]string {
	keys := flat(reflect.ValueOf(x))
	delete(keys, "name")
	return keys
}

// flat returns what is given of a struct or map as words, deeper keys behind a
// dot.
func flat(v reflect.Value) map[string]string {
	out := map[string]string{}
	under := func(key string, v reflect.Value) {
		switch {
		case v.Kind() == reflect.Pointer && v.IsNil():
		case v.Kind() == reflect.Map:
			for deeper, s := range flat(v) {
				out[key+"."+deeper] = s
			}
		case v.Type() == reflect.TypeFor[[]circuit.CodeSpec]():
			for i := range v.Len() {
				code := v.Index(i).Interface().(circuit.CodeSpec)
				out[key+"."+code.Code] = code.Means
			}
		case v.Type() == reflect.TypeFor[[]circuit.SenseSpec]():
			for i := range v.Len() {
				out[key+"."+v.Index(i).FieldByName("Name").String()] = senseWords(v.Index(i).Interface().(circuit.SenseSpec))
			}
		default:
			out[key] = valueWords(key, v)
		}
	}
	if v.Kind() == reflect.Map {
		for _, k := range v.MapKeys() {
			under(k.String(), v.MapIndex(k))
		}
		return out
	}
	for i := range v.NumField() {
		if f := v.Field(i); !f.IsZero() {
			under(v.Type().Field(i).Tag.Get("toml"), f)
		}
	}
	return out
}

func senseWords(s circuit.SenseSpec) string {
	words := fmt.Sprintf("%g to %g ohms between %s", s.MinOhms, s.MaxOhms, strings.Join(s.Pins, " and "))
	if len(s.Modes) > 0 {
		words += " in " + circuit.List(s.Modes)
	}
	return words
}

// unitOf gives the unit of a key's figure.
var unitOf = map[string]string{"volts": "V", "secondary_volts": "V", "min_volts": "V", "watts": "W", "ohms": "ohms", "ohms_at": "ohms",
	"start_ohms": "ohms", "cold_ohms": "ohms", "source_ohms": "ohms", "feeder_ohms": "ohms", "amps": "A", "microfarads": "uF", "beta": "K",
	"hertz": "Hz", "awg": "AWG", "mm2": "mm2", "metres": "m", "minutes": "minutes", "close": "minutes",
	"acts_celsius": "C", "resets_celsius": "C", "differential_kelvin": "K", "capacity": "J/K", "loss": "W/K", "fan_loss": "W/K", "residual_amps": "A"}

func valueWords(key string, v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer:
		return valueWords(key, v.Elem())
	case reflect.Slice:
		var words []string
		for i := range v.Len() {
			item := valueWords("", v.Index(i))
			if v.Index(i).Kind() == reflect.Slice {
				item = strings.ReplaceAll(item, ", ", "-")
			}
			words = append(words, item)
		}
		return strings.Join(words, ", ")
	}
	s := oneLine(fmt.Sprint(v.Interface()))
	if unit := unitOf[key]; unit != "" {
		s += " " + unit
	}
	return s
}

func keyChanges(was, is map[string]string) []KeyChange {
	var out []KeyChange
	all := maps.Clone(was)
	maps.Copy(all, is)
	for _, key := range slices.Sorted(maps.Keys(all)) {
		if was[key] != is[key] {
			out = append(out, KeyChange{Key: key, Is: is[key], Was: was[key]})
		}
	}
	return out
}
