package report

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// keyWord says what a key is in the trade, where its name does not.
func keyWord(key string) string {
	first, rest, deeper := strings.Cut(key, ".")
	words := map[string]string{"volts": "rated", "watts": "rated", "amps": "rated", "driven_by": "controlled by", "awg": "size", "mm2": "size",
		"metres": "length", "ohms_at": "ohms at its base temperature", "minutes": "effort", "on": "on at full power", "share": "at a share of its power:",
		"set": "position of", "celsius": "temperature of", "senses": "must see", "codes": "code", "reached": "comes about by", "how": "how", "chart": "contacts in", "contacts": "contact", "name": "name of the machine"}
	word := words[first]
	if word == "" {
		word = spaced(first)
	}
	if deeper {
		return word + " " + rest
	}
	return word
}

func (d *Difference) blocks(p *page) {
	p.heading("What " + oneLine(d.Netlist) + " changes")
	p.para(0, d.Title)
	p.para(0, "Compared with "+oneLine(d.Against)+": "+d.Was)
	if len(d.Changes) == 0 {
		p.gap()
		p.para(0, asGood("Nothing differs."))
		return
	}
	section := ""
	for _, c := range d.Changes {
		if c.What != section {
			section = c.What
			p.heading(map[string]string{"netlist": "Name and notes", "supply": "Supply", "part": "Parts", "wire": "Wires",
				"mode": "Modes", "test point": "Test points", "prior": "How often each kind fails"}[section])
		}
		c.blocks(p)
	}
}

func (c Change) blocks(p *page) {
	called := c.Name
	if c.Label != "" && c.Label != called {
		called += ", " + c.Label
	}
	if c.How != "changed" {
		if c.Says != "" {
			called += ": " + c.Says
		}
		p.term(2, 9, c.How, called)
		return
	}
	s := strings.Join(each(c.Keys, KeyChange.words), "; ")
	if called != "" {
		s = called + ": " + s
	}
	p.term(2, 9, c.How, s)
}

func (k KeyChange) words() string {
	word := keyWord(k.Key)
	switch {
	case k.Was == "":
		return word + " " + k.Is + ", where nothing was said"
	case k.Is == "" && strings.HasPrefix(k.Key, "senses."):
		return "no longer " + word
	case k.Is == "":
		return word + " no longer said, was " + k.Was
	case strings.Contains(k.Was+k.Is, ", ") && isNameList(k.Key):
		return word + ": " + listChange(strings.Split(k.Was, ", "), strings.Split(k.Is, ", "))
	}
	return word + " " + k.Is + ", was " + k.Was
}

// isNameList tells the keys that list parts, poles and the like.
func isNameList(key string) bool {
	return slices.Contains([]string{"on", "off", "drives", "poles", "positions"}, key)
}

// listChange says what a list has gained and lost.
func listChange(was, is []string) string {
	var words []string
	for _, change := range []struct {
		word      string
		of, notIn []string
	}{{"with", is, was}, {"without", was, is}} {
		var items []string
		for _, x := range change.of {
			if !slices.Contains(change.notIn, x) {
				items = append(items, x)
			}
		}
		if len(items) > 0 {
			words = append(words, change.word+" "+circuit.List(items))
		}
	}
	if len(words) == 0 {
		return "in another order"
	}
	return strings.Join(words, ", ")
}
