package report

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Pairs holds what two faults at once do to the loads that neither does alone.
type Pairs struct {
	Document string      `json:"document" help:"which document this is"`
	Machine  Machine     `json:"machine" help:"the machine asked about"`
	Faults   []Fault     `json:"faults" help:"every single fault tried, each with each other"`
	Modes    []PairMode  `json:"modes" help:"modes that were worked out"`
	Entries  []PairEntry `json:"entries" help:"one for each mode, two faults and load that they leave as neither does alone"`

	likeliest []PairEntry
}

// PairMode counts the pairs of a mode.
type PairMode struct {
	Mode
	Pairs    int `json:"pairs" help:"how many pairs of faults"`
	AsOne    int `json:"as_one" help:"of them, how many do what one of the two does alone"`
	Together int `json:"together" help:"of them, how many leave a load as neither does alone"`
}

// PairEntry is a load under two faults.
type PairEntry struct {
	Mode        string  `json:"mode" help:"as --mode takes it"`
	First       string  `json:"first" help:"the first fault, as --fault takes it"`
	Second      string  `json:"second" help:"the second fault, as --fault takes it"`
	Load        string  `json:"load" help:"as --load takes it"`
	FirstAlone  string  `json:"first_alone" help:"the load with the first fault alone: normal, weak, dead, too much, stays on, off"`
	SecondAlone string  `json:"second_alone" help:"the load with the second fault alone"`
	Both        string  `json:"both" help:"the load with both faults"`
	Share       float64 `json:"share" help:"with both, of rated power"`
}

// likeliestPairs is how many pairs the text names.
const likeliestPairs = 12

// Pairs works out every pair of faults in the modes given; none means all.
func (r *Reporter) Pairs(ctx context.Context, modes []circuit.ModeID, opt MeterOptions) (*Pairs, error) {
	b, modes, err := r.benchIn(modes, opt)
	if err != nil {
		return nil, err
	}
	pairs, err := b.Pairs(ctx, modes)
	if err != nil {
		return nil, err
	}
	d := &Pairs{Document: "pairs", Machine: r.machine(), Faults: r.faults(pairs.Faults), Modes: []PairMode{}, Entries: []PairEntry{}}
	type ranked struct {
		chance float64
		at     int
	}
	var rank []ranked
	for i := range pairs.Modes {
		m := &pairs.Modes[i]
		mode := PairMode{Mode: r.mode(m.Mode), Pairs: m.Pairs, AsOne: m.AsOne}
		first, second := -1, -1
		for _, t := range m.Together {
			if t.First != first || t.Second != second {
				first, second = t.First, t.Second
				mode.Together++
			}
			rank = append(rank, ranked{r.chance(pairs, t), len(d.Entries)})
			d.Entries = append(d.Entries, PairEntry{Mode: mode.Name, First: d.Faults[t.First].Ref, Second: d.Faults[t.Second].Ref,
				Load: r.c.Branch(t.Load).Ref, FirstAlone: t.Alone[0].String(), SecondAlone: t.Alone[1].String(), Both: t.Both.String(), Share: round(t.Share)})
		}
		d.Modes = append(d.Modes, mode)
	}
	slices.SortStableFunc(rank, func(a, b ranked) int { return cmp.Compare(b.chance, a.chance) })
	named := map[[4]string]bool{}
	for _, k := range rank {
		// A pair that does the same in several modes is named once.
		e := d.Entries[k.at]
		key := [4]string{e.First, e.Second, e.Load, e.Both}
		if !named[key] && len(d.likeliest) < likeliestPairs {
			named[key] = true
			d.likeliest = append(d.likeliest, e)
		}
	}
	return d, nil
}

// chance is how likely two faults are beside other pairs, by what parts of
// their kind fail by.
func (r namer) chance(p *meter.PairDictionary, t meter.Together) float64 {
	return r.c.BranchPrior(p.Faults[t.First].Branch) * r.c.BranchPrior(p.Faults[t.Second].Branch)
}

// pairColumns head the CSV form, a line for each entry.
var pairColumns = []string{"mode", "first", "second", "load", "first_alone", "second_alone", "both", "share"}

func (d *Pairs) csv(w io.Writer) error {
	return writeCSV(w, pairColumns, func(yield func([]string) bool) {
		for _, e := range d.Entries {
			if !yield([]string{e.Mode, cell(e.First), cell(e.Second), cell(e.Load), e.FirstAlone, e.SecondAlone, e.Both, number(&e.Share)}) {
				return
			}
		}
	})
}

func (d *Pairs) blocks(p *page) {
	p.heading("Two faults at once")
	p.para(0, d.Machine.Title)
	p.para(0, fmt.Sprintf("Every two of %s, in %s. Most pairs do what one of the two does alone. Together: they leave a load as neither does alone. --format csv or json writes them all.",
		count(len(d.Faults), "single fault", "single faults"), count(len(d.Modes), "mode", "modes")))
	p.gap()
	p.table(2, []column{{title: "Mode", width: 18}, {title: "Setting"}, {title: "Pairs", width: 8, right: true}, {title: "As one", width: 8, right: true}, {title: "Together", width: 9, right: true}}, each(d.Modes, func(m PairMode) []string {
		return []string{m.Name, m.Label, fmt.Sprint(m.Pairs), fmt.Sprintf("%.1f %%", 100*float64(m.AsOne)/float64(max(1, m.Pairs))), fmt.Sprint(m.Together)}
	}))
	if len(d.likeliest) == 0 {
		return
	}
	p.heading("The likeliest that count only together")
	for _, e := range d.likeliest {
		p.item(2, fmt.Sprintf("%s and %s, in %s: %s %s; alone %s and %s.", e.First, e.Second, e.Mode, e.Load, e.Both, e.FirstAlone, e.SecondAlone))
	}
}
