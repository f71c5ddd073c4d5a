package report

import (
	"context"
	"errors"
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/trace"
)

// KeepsOn tells what would leave a load energised in a mode in which it should
// be off.
type KeepsOn struct {
	Head
	Load  Load    `json:"load" help:"the load with nothing broken"`
	Order int     `json:"order" help:"the most faults taken together"`
	Limit float64 `json:"limit" help:"share of rated power from which the load counts as energised"`
	Sets  []OnSet `json:"sets" help:"minimal sets of faults, by order, then by watts"`
	More  bool    `json:"more" help:"the search stopped at its cap; there are more sets"`
}

// OnSet is a minimal set of faults that leaves a load energised.
type OnSet struct {
	Number    int     `json:"number" help:"counts the sets"`
	Order     int     `json:"order" help:"number of faults in the set"`
	Faults    []Fault `json:"faults" help:"present together"`
	Watts     float64 `json:"watts" help:"what the load takes"`
	Share     float64 `json:"share" help:"that as a share of its rating"`
	Chatters  bool    `json:"chatters" help:"the machine does not settle; watts is the most"`
	Confirmed bool    `json:"confirmed" help:"the solver agreed, also that no smaller set does it"`
}

// KeepsOn finds what would keep the load on.
func (r *Reporter) KeepsOn(ctx context.Context, q Question, opt BreaksOptions) (*KeepsOn, error) {
	sound, err := r.sound(q.Mode)
	if err != nil {
		return nil, err
	}
	d := &KeepsOn{Head: r.head("keeps-on", q), Load: r.load(q.Load, sound, sound), Order: opt.Order, Limit: opt.Share, Sets: []OnSet{}}
	r.settled(&d.Head, sound)
	if d.Order == 0 {
		d.Order = trace.DefaultOrder
	}
	if d.Limit == 0 {
		d.Limit = trace.DefaultOnShare
	}
	found, err := r.tracer.KeepOn(ctx, q.Mode, q.Load, trace.Options{Order: opt.Order, Share: opt.Share, MaxSets: opt.MaxSets})
	if errors.Is(err, trace.ErrTooMany) {
		d.More, err = true, nil
	}
	if err != nil {
		return nil, err
	}
	for i, s := range found {
		d.Sets = append(d.Sets, OnSet{Number: i + 1, Order: s.Order(), Faults: r.faults(s.Faults), Watts: round(s.Watts),
			Share: round(s.Share), Chatters: s.Chatters, Confirmed: s.Confirmed})
	}
	return d, nil
}

func (d *KeepsOn) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("What would keep the %s on in %s", circuit.LowerFirst(d.Load.Label), d.Mode.Label))
	p.para(0, fmt.Sprintf("It should be off. From %s of its %s%sW it counts as energised.", percent(d.Limit), watts(d.Load.RatedWatts), hard))
	if len(d.Sets) == 0 {
		p.gap()
		p.para(0, fmt.Sprintf("No set of up to %s keeps it on.", count(d.Order, "weld, short or ground", "welds, shorts and grounds")))
	}
	for order := 1; order <= d.Order; order++ {
		var rows [][]string
		for _, s := range d.Sets {
			if s.Order != order {
				continue
			}
			for i, f := range s.Faults {
				row := []string{"and", f.Text, "", ""}
				if i == 0 {
					row = []string{fmt.Sprint(s.Number), f.Text, watts(s.Watts), percent(s.Share)}
				}
				if i == 0 && s.Chatters {
					row[1], row[2], row[3] = row[1]+" (it chatters: the most)", "to "+row[2], "to "+row[3]
				}
				rows = append(rows, row)
			}
		}
		if len(rows) == 0 {
			continue
		}
		words := "Any one of these keeps it on"
		switch order {
		case 1:
		case 2:
			words = "Each of these pairs, together, keeps it on"
		default:
			words = fmt.Sprintf("Each of these sets of %d, together, keeps it on", order)
		}
		p.heading(words)
		p.table(0, []column{{width: 4, fixed: true, right: true}, {title: "Fault", width: 50, fixed: true}, {title: "Watts", width: 7, right: true}, {title: "Share", width: 7, right: true}}, rows)
	}
	if d.More {
		p.gap()
		p.para(0, asBad("There are more: ")+"the search stopped at its cap (see --max-sets).")
	}
	p.cautions()
	p.notes(d.Head)
}
