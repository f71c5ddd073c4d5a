package library

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"legtrace/netlists"
	"legtrace/netlists/describe"
	"legtrace/render/page/desk"
)

// begin is a netlist without parts, or one that says what differs from a machine
// of the catalog.
func begin(name, from string) string {
	if name == "" {
		name = "machine"
	}
	if from == "" {
		return string(describe.Begin(name))
	}
	return fmt.Sprintf("from = %q\nname = %q\n", from, name)
}

// enter takes a line of a netlist that is being written down. It may start from
// the catalog's, and from no file.
func enter(file, text, line string) desk.Sheet {
	if file == "" {
		file = "netlist.toml"
	}
	file = filepath.Base(file)
	s := desk.Sheet{Text: text}
	r, err := alone(file, text)
	if from := netlists.StartsFrom(file, []byte(text)); from != "" && !strings.HasPrefix(from, netlists.CatalogPrefix) {
		s.Problems = Problems(err)
		return s
	}
	if line != "" {
		after, said, wrong := describe.Enter(file, []byte(text), line)
		var unknown *describe.Unknown
		switch {
		case errors.As(wrong, &unknown):
			s.Unknown, s.Near = unknown.Part, unknown.Near
		case wrong != nil:
			s.Wrong = wrong.Error()
		default:
			s.Text, s.Said = string(after), said
			r, err = alone(file, s.Text)
		}
	}
	if err != nil {
		s.Problems = Problems(err)
		s.Spec, _, _ = netlists.Parse(file, []byte(s.Text)) // as far as it goes
		return s
	}
	s.Spec, s.Circuit, s.Open = r.Spec, r.Circuit, len(r.Warnings)
	s.Where = func(path string) (string, int, int) {
		p := r.Positions.Nearest(path)
		return p.File, p.Line, p.Column
	}
	return s
}

func describeHelp() [][2]string {
	var out [][2]string
	for _, h := range describe.Help {
		out = append(out, [2]string{h.Form, h.Means})
	}
	return out
}
