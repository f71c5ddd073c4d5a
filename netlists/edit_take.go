package netlists

import "slices"

func below(path, top []string) bool {
	return len(path) >= len(top) && slices.Equal(path[:len(top)], top)
}

// take takes out all that stands at a path or below it.
func (e *Edit) take(path []string) {
	e.takeAll(func(s site) bool { return below(s.path, path) })
}

// takeAll takes out the sites that are gone, with what is in them.
func (e *Edit) takeAll(gone func(site) bool) {
	var changes []change
	items := map[*form][]int{}
	for _, s := range e.sites {
		switch {
		case !gone(s):
		case s.in != nil:
			items[s.in] = append(items[s.in], s.item)
		case s.value == nil:
			changes = append(changes, e.cutSection(s.line))
		default:
			changes = append(changes, e.cutLine(e.lines[s.line].at, e.lines[s.line].end))
		}
	}
	for f, list := range items {
		changes = append(changes, e.cutItems(f, list)...)
	}
	e.set(splice(e.text, changes))
}

func (e *Edit) cutLine(at, end int) change {
	if end > 0 && e.text[end-1] != '\n' && at > 0 { // the last line of a text that does not end one
		at--
		if at > 0 && e.text[at-1] == '\r' {
			at--
		}
	}
	return change{span: span{at, end}}
}

// cutSection takes a table with its header out, and the blank line above it.
// Comments above and below it stay.
func (e *Edit) cutSection(header int) change {
	at := e.lines[header].at
	if e.lines[header].blank && header > 0 {
		at = e.lines[header-1].end
	}
	return e.cutLine(at, e.sectionEnd(header))
}

// cutItems takes items out of brackets, each run of them with a comma.
func (e *Edit) cutItems(f *form, gone []int) []change {
	var out []change
	items := f.items()
	for i := 0; i < len(items); i++ {
		if !slices.Contains(gone, i) {
			continue
		}
		if line, alone := e.alone(items[i]); alone {
			out = append(out, change{span: line})
			if i > 0 && i == len(items)-1 && e.comma(items[i].value.end) == 0 {
				end := items[i-1].value.end
				out = append(out, change{span: span{end, max(end, e.comma(end))}})
			}
			continue
		}
		from := i
		for i+1 < len(items) && slices.Contains(gone, i+1) {
			i++
		}
		switch {
		case i+1 < len(items):
			out = append(out, change{span: span{items[from].start(), items[i+1].start()}})
		case from > 0:
			out = append(out, change{span: span{items[from-1].value.end, items[i].value.end}})
		case len(f.comments()) == 0:
			out = append(out, change{span: span{f.at + 1, f.end - 1}})
		default:
			out = append(out, change{span: span{items[from].start(), items[i].value.end}})
		}
	}
	return out
}
