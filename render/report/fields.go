package report

import (
	"io"
	"reflect"
	"strings"
)

// FieldGuide writes what every field of every document means, for a terminal.
func FieldGuide(w io.Writer, colour bool) error {
	var p page
	p.para(0, "Every command takes --json and then writes one document. Lists are never null, figures are in volts, amps, watts and ohms, shares run from 0 to 1 and beyond.")
	seen := map[reflect.Type]bool{}
	queue := []reflect.Type{}
	for _, d := range []any{Overview{}, Loads{}, Path{}, Breaks{}, KeepsOn{}, Check{}, Suspects{}, Wirings{}, Plan{}, Visit{}, Tally{}, Drawn{}, Catalog{}, Netlist{}, Difference{}, Tidied{}, Started{}, RingOut{}, Readings{}, Points{}, Live{}, Faults{}, Warm{}, Dictionary{}, Pairs{}, DrillSummary{}, DrillKey{}, Class{}, Lessons{}} {
		queue = append(queue, reflect.TypeOf(d))
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if seen[t] {
			continue
		}
		seen[t] = true
		p.heading(t.Name())
		queue = append(queue, fields(&p, t)...)
	}
	return p.text(w, colour)
}

// fields writes a struct's fields and returns the structs they hold.
func fields(p *page, t reflect.Type) []reflect.Type {
	var more []reflect.Type
	for i := 0; i < t.NumField(); i++ {
		f := t.Field(i)
		if f.Anonymous {
			more = append(more, fields(p, f.Type)...)
			continue
		}
		if !f.IsExported() {
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" {
			continue // no document has it
		}
		word, inner := typeWord(f.Type)
		if inner != nil {
			more = append(more, inner)
		}
		p.term(2, 18, name, word+": "+f.Tag.Get("help"))
	}
	return more
}

// typeWord names a field's type, and gives the struct in it if there is one.
func typeWord(t reflect.Type) (string, reflect.Type) {
	switch t.Kind() {
	case reflect.Pointer:
		word, inner := typeWord(t.Elem())
		return word, inner
	case reflect.Slice:
		word, inner := typeWord(t.Elem())
		return "list of " + word, inner
	case reflect.Struct:
		return t.Name(), t
	case reflect.String:
		return "text", nil
	case reflect.Bool:
		return "true or false", nil
	case reflect.Int:
		return "whole number", nil
	}
	return "number", nil
}
