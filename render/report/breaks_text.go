package report

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"legtrace/circuit"
)

func (d *Breaks) blocks(p *page) {
	if len(d.Counts) > 0 {
		d.counted(p)
		return
	}
	p.title(d.Head, fmt.Sprintf("What would take power from the %s in %s", circuit.LowerFirst(d.Load.Label), d.Mode.Label))
	p.para(0, fmt.Sprintf("With nothing broken it gets %s%sW of %s%sW rated. An open that leaves less than %s of that is listed.",
		watts(d.Load.Watts), hard, watts(d.Load.RatedWatts), hard, percent(d.Limit)))
	d.narrowed(p)
	d.sets(p)
	p.cautions()
	p.notes(d.Head)
}

// counted writes how many sets there are.
func (d *Breaks) counted(p *page) {
	p.title(d.Head, fmt.Sprintf("How many sets of opens cut the feed of the %s in %s", circuit.LowerFirst(d.Load.Label), d.Mode.Label))
	p.para(0, "One open out of each chain of parts and wires in series, and no set that holds a smaller one. Counted on the wiring, not asked of the solver.")
	all, rows := new(big.Int), [][]string{}
	for _, c := range d.Counts {
		n, _ := new(big.Int).SetString(c.Sets, 10)
		all.Add(all, n)
		rows = append(rows, []string{fmt.Sprint(c.Order), c.Sets})
	}
	p.table(2, []column{{title: "Opens", width: 6, right: true}, {title: "Sets", right: true}}, append(rows, []string{"all", all.String()}))
	p.notes(d.Head)
}

// narrowed repeats what the answer was narrowed by.
func (d *Breaks) narrowed(p *page) {
	var said []string
	if len(d.Works) > 0 {
		said = append(said, "working: "+circuit.List(names(d.Works)))
	}
	if len(d.Dead) > 0 {
		said = append(said, "not working: "+circuit.List(names(d.Dead)))
	}
	if len(said) > 0 {
		p.para(0, "Only what agrees with the other loads, "+strings.Join(said, "; ")+".")
	}
}

// sets writes the tables of sets, order by order.
func (d *Breaks) sets(p *page) {
	for order := 1; order <= d.Order; order++ {
		dead, weak := d.ofOrder(order, true), d.ofOrder(order, false)
		if len(dead) > 0 {
			p.heading(fmt.Sprintf("%s it dead: %s%sW of %s%sW", openWords(order), most(dead), hard, watts(d.Load.Watts), hard))
			d.setTable(p, dead, false)
		}
		if len(weak) > 0 {
			p.heading(fmt.Sprintf("%s it weak", openWords(order)))
			d.setTable(p, weak, true)
		}
	}
	if !d.More && len(d.Works)+len(d.Dead) == 0 {
		for _, s := range d.nothing() {
			p.gap()
			p.para(0, s)
		}
	}
	if !d.More && len(d.Sets) == 0 && len(d.Works)+len(d.Dead) > 0 {
		p.gap()
		p.para(0, "Nothing up to this order agrees with that.")
	}
	if d.More {
		p.gap()
		p.para(0, asBad("There are more: ")+"the search stopped at its cap (see --max-sets).")
	}
	if !d.Compared && len(d.Sets) > 0 {
		p.gap()
		p.para(0, "What else each leaves dead was not worked out: too many sets for a machine of this size. Name a load with --works or --dead.")
	}
}

// nothing says which orders gave no set.
func (d *Breaks) nothing() []string {
	var none []string
	for order := 1; order <= d.Order; order++ {
		if len(d.ofOrder(order, true))+len(d.ofOrder(order, false)) == 0 {
			none = append(none, orderWord(order))
		}
	}
	switch {
	case len(none) == 0:
		return nil
	case len(d.Sets) == 0:
		return []string{fmt.Sprintf("No open, and no set of up to %d opens, takes power from it.", d.Order)}
	case none[0] == orderWord(1):
		return []string{"No single open takes power from it."}
	}
	return []string{fmt.Sprintf("No %s takes power from it that does not hold one of the above.", strings.Join(none, " and no "))}
}

func (d *Breaks) ofOrder(order int, dead bool) []Set {
	var out []Set
	for _, s := range d.Sets {
		if s.Order == order && s.Dead == dead {
			out = append(out, s)
		}
	}
	return out
}

func (d *Breaks) setTable(p *page, sets []Set, left bool) {
	columns := []column{{width: 4, fixed: true, right: true}, {title: "Role", width: 17, fixed: true}, {title: "Any one of these"}}
	if left {
		columns = append(columns, column{title: "Left", width: 8, fixed: true, right: true})
	}
	if d.Compared {
		columns = append(columns, column{title: "Also dead", width: 20, fixed: true})
	}
	var rows [][]string
	for _, s := range sets {
		for i, m := range s.Members {
			number := ""
			if i == 0 {
				number = fmt.Sprint(s.Number)
			} else {
				number = "and"
			}
			row := []string{number, m.role(), partsAndWires(m.AnyOf)}
			if left {
				row = append(row, s.left(i))
			}
			if d.Compared {
				also := ""
				if i == 0 {
					also = s.also()
				}
				row = append(row, also)
			}
			rows = append(rows, row)
		}
	}
	p.table(0, columns, rows)
	asked := len(slices.DeleteFunc(slices.Clone(sets), func(s Set) bool { return !s.Confirmed }))
	if asked < len(sets) {
		p.para(2, fmt.Sprintf("The solver was asked of %d of these %d and agreed; the others follow from the wiring.", asked, len(sets)))
	}
}

// left tells what the load still gets, once per set.
func (s *Set) left(member int) string {
	if member > 0 {
		return ""
	}
	if s.Chatters {
		return chatters
	}
	return watts(s.Watts) + hard + "W " + percent(s.Share)
}

// role says what the chain does for the load.
func (m *Member) role() string {
	holds := ""
	if m.Holds != nil {
		holds = circuit.LowerFirst(m.Holds.Label)
	}
	switch m.Via {
	case "load":
		return "the load, in series"
	case "feed":
		return "feed from " + conductorWord(m.From)
	case "beside":
		return "also from " + conductorWord(m.From)
	case "coil":
		return "coil for " + holds
	case "drive":
		return "pulls in " + holds
	case "power":
		return "supply of the control"
	case "sense":
		return "control must see " + spaced(m.Sense)
	}
	return "elsewhere"
}

// fewSpared is up to how many loads are named as the exception rather than
// the others as the rule.
const fewSpared = 2

// also lists what else the set stops. A load that it stops in some of its
// modes only is followed by their number.
func (s *Set) also() string {
	if len(s.Stops) == 0 {
		return "nothing else"
	}
	var all, some []string
	for _, e := range s.Stops {
		if e.Every {
			all = append(all, e.Label)
		} else {
			some = append(some, fmt.Sprintf("%s (in %d of %s)", e.Label, len(e.Modes), count(e.Of, "mode", "modes")))
		}
	}
	if len(s.Spares) <= fewSpared && len(all) > 2*fewSpared {
		out := "all else"
		if len(s.Spares) > 0 {
			out += " but " + circuit.List(names(s.Spares))
		}
		return strings.Join(append([]string{out}, some...), "; ")
	}
	return strings.Join(append(all, some...), ", ")
}

// most is the most that any of the sets leaves the load.
func most(sets []Set) string {
	var w float64
	for _, s := range sets {
		w = max(w, s.Watts)
	}
	return watts(w)
}

func openWords(order int) string {
	switch order {
	case 1:
		return "Any one of these, open, leaves"
	case 2:
		return "Each of these pairs, open together, leaves"
	}
	return fmt.Sprintf("Each of these sets of %d, open together, leaves", order)
}

func orderWord(order int) string {
	switch order {
	case 1:
		return "single open"
	case 2:
		return "pair of opens"
	}
	return fmt.Sprintf("set of %d opens", order)
}
