package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"legtrace/netlists"
	"legtrace/render/report"
)

// machine is a netlist that was read.
type machine struct {
	file string
	*netlists.Result
	*report.Reporter
}

// open reads the netlist that the flags name.
func (n *netlistFlags) open() (*machine, error) {
	if n.netlist == "" {
		return nil, errors.New("--netlist is empty: give a file, or catalog:NAME")
	}
	if n.family() {
		return nil, n.errFamily()
	}
	r, err := netlists.ReadFileFull(n.netlist)
	if err != nil {
		if hint := catalogHint(n.netlist); hint != "" {
			return nil, errors.New(hint)
		}
		return nil, err
	}
	return machineOf(n.netlist, r), nil
}

func machineOf(file string, r *netlists.Result) *machine {
	return &machine{file: file, Result: r, Reporter: report.New(r.Circuit)}
}

// catalogHint helps a person who left out the prefix.
func catalogHint(name string) string {
	if _, err := os.Stat(name); err == nil || strings.HasPrefix(name, netlists.CatalogPrefix) {
		return ""
	}
	for _, e := range netlists.Catalog() {
		if e.Name == name {
			return fmt.Sprintf("there is no file %q; for the one that comes with legtrace, write %s%s", name, netlists.CatalogPrefix, name)
		}
	}
	return ""
}

// openFor is open for a command other than check: what reading warned of is
// said on standard error. A machine that shorts its supply in every mode is
// refused: nothing can be asked of it.
func (n *netlistFlags) openFor(t *terminal) (*machine, error) {
	m, err := n.open()
	if err == nil {
		if short := m.Usable(); short != nil {
			return nil, m.place(short)
		}
	}
	if err == nil && len(m.Warnings) > 0 {
		what := "warnings"
		if len(m.Warnings) == 1 {
			what = "warning"
		}
		t.warn(fmt.Sprintf("%d %s in %s: legtrace check lists them", len(m.Warnings), what, n.netlist))
	}
	return m, err
}

// place puts positions in front of errors that concern a piece of the netlist.
func (m *machine) place(err error) error {
	if m.Positions == nil { // one of a family, of which the circuit alone was read
		return err
	}
	list := []error{err}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		list = joined.Unwrap()
	}
	var placed netlists.Errors
	for _, one := range list {
		var short *report.UnsoundError
		if !errors.As(one, &short) {
			return err
		}
		placed = append(placed, netlists.Error{Position: m.Positions.Nearest(short.Path), Message: short.Error(), Hint: short.Hint()})
	}
	return placed
}

// locate tells where the value of a path stands.
func (m *machine) locate(path string) report.At {
	if m.Positions == nil {
		return report.At{File: m.file}
	}
	p := m.Positions.Nearest(path)
	return report.At{File: p.File, Line: p.Line, Column: p.Column}
}

// symptoms reads the flags that tell of other loads.
func (m *machine) symptoms(list []string) ([]report.Symptom, error) {
	var out []report.Symptom
	for _, s := range list {
		symptom, err := m.AskSymptom(s)
		if err != nil {
			return nil, err
		}
		out = append(out, symptom)
	}
	return out, nil
}
