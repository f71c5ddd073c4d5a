// Package report turns what the engine finds into documents.
//
// Start with [New], which takes a circuit. Its methods ask the engine one
// question each and give a document: [Reporter.Loads], [Reporter.Path],
// [Reporter.Breaks], [Reporter.KeepsOn], [Reporter.Check] and
// [Reporter.Overview]; and for the meter in hand [Reporter.Readings],
// [Reporter.Clamps], [Reporter.Points], [Reporter.Live] and
// [Reporter.Dictionary]. A document is plain data with documented fields, which
// [FieldGuide] lists, and is laid out as blocks: headings, paragraphs, terms,
// tables, tests, cautions. [Write] writes the data as JSON, and the blocks as
// text of 80 columns, Markdown or HTML. Nothing is printed that is not in the
// document, and nothing is in the document that the engine did not work out.
//
// The package also prepares a [schematic.Drawing] from the same findings, with
// [Reporter.Drawing].
package report

import (
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Reporter asks the engine about one machine. It must not be used by two
// goroutines at once.
type Reporter struct {
	namer
	tracer *trace.Tracer
	engine *settle.Engine
	last   []run // the newest first
}

// run is a machine settled: what is asked of it again and again, as each document
// begins with it.
type run struct {
	mode   circuit.ModeID
	faults []circuit.Fault
	out    *settle.Outcome
}

// mostRuns is how many are kept: as it is, and sound, in a mode and in the one before.
const mostRuns = 4

// namer puts the things of a machine in words, and finds them by what a person
// types. It settles nothing.
type namer struct{ c *circuit.Circuit }

// New makes a reporter for the circuit.
func New(c *circuit.Circuit) *Reporter {
	t := trace.New(c)
	return &Reporter{namer: namer{c}, tracer: t, engine: t.Engine()}
}

// Question is what is asked about: a load in a mode, with faults present.
type Question struct {
	Mode   circuit.ModeID
	Load   circuit.BranchID
	Faults []circuit.Fault
	// Notes say what was taken where the person left something out.
	Notes []string
}

// Run settles the machine. What it returns is not to be changed: it may be asked for again.
func (r *Reporter) Run(mode circuit.ModeID, faults []circuit.Fault) (*settle.Outcome, error) {
	for _, l := range r.last {
		if l.mode == mode && slices.Equal(l.faults, faults) {
			return l.out, nil
		}
	}
	out, err := r.engine.Run(mode, faults)
	if err == nil {
		r.last = slices.Insert(r.last[:min(len(r.last), mostRuns-1)], 0, run{mode, slices.Clone(faults), out})
	}
	return out, err
}

// sound settles the mode with nothing broken.
func (r *Reporter) sound(mode circuit.ModeID) (*settle.Outcome, error) {
	out, err := r.Run(mode, nil)
	if err != nil {
		return nil, fmt.Errorf("mode %q cannot be worked out: %w", r.c.Mode(mode).Name, err)
	}
	if len(out.Tripped) > 0 {
		return nil, r.unsound(out)
	}
	return out, nil
}

func (r *Reporter) settle(q Question) (*settle.Outcome, error) {
	out, err := r.Run(q.Mode, q.Faults)
	if err != nil {
		return nil, fmt.Errorf("mode %q cannot be worked out with these faults: %w", r.c.Mode(q.Mode).Name, err)
	}
	return out, nil
}
