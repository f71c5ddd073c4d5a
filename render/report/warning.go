package report

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/audit"
)

// Warning is something to question: it may be so in the machine too.
type Warning struct {
	At      At      `json:"at" help:"where in the netlist"`
	Kind    string  `json:"kind" help:"what sort of thing it is, such as thin wire, grounding or odd figure"`
	Mode    string  `json:"mode,omitempty" help:"the mode it shows in"`
	Message string  `json:"message" help:"what was found"`
	Reason  string  `json:"reason" help:"why it matters, or what the yardstick is"`
	Cause   bool    `json:"cause" help:"it may be the cause of findings: mend it first"`
	Items   []Named `json:"items" help:"the parts and wires concerned"`
}

// Audit looks the sound machine over for what a careful technician would
// question. Locate tells where the value of a path stands. What cannot be
// worked out is left to [Reporter.Check] to tell: the error is the context's.
func (r namer) Audit(ctx context.Context, locate func(path string) At) ([]Warning, error) {
	out := []Warning{}
	findings, err := audit.Run(ctx, r.c)
	if err != nil {
		if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
			return nil, err
		}
		return out, nil
	}
	for _, f := range findings {
		w := Warning{At: locate(f.Path), Kind: string(f.Kind), Message: oneLine(f.Message), Reason: f.Reason, Cause: f.Cause, Items: []Named{}}
		if f.Mode != circuit.None {
			w.Mode = r.c.Mode(f.Mode).Name
		}
		for _, id := range f.Branches {
			w.Items = append(w.Items, r.named(id))
		}
		out = append(out, w)
	}
	slices.SortStableFunc(out, func(a, b Warning) int {
		return cmp.Or(firstTrue(a.Cause, b.Cause), cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Line, b.At.Line), cmp.Compare(a.At.Column, b.At.Column), cmp.Compare(a.Message, b.Message))
	})
	return out, nil
}

// warnings lists the warnings. Where there are findings, what may be their
// cause stands above them, the rest below; else all stand in one list.
func (d *Check) warnings(p *page, causes bool, which string) {
	var shown []Warning
	for _, w := range d.Warnings {
		if len(d.Findings) == 0 || w.Cause == causes {
			shown = append(shown, w)
		}
	}
	if len(shown) == 0 {
		return
	}
	p.heading(count(len(shown), "warning", "warnings") + ", " + which)
	for _, w := range shown {
		p.para(2, w.At.String()+": "+w.Message+" ("+w.Reason+")")
	}
}
