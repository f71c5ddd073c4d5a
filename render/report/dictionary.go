package report

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Dictionary holds what every single fault makes of every reading at the
// listed test points.
type Dictionary struct {
	Document string  `json:"document" help:"which document this is"`
	Machine  Machine `json:"machine" help:"the machine asked about"`
	Meter    Meter   `json:"meter" help:"the instrument"`
	Modes    []Mode  `json:"modes" help:"modes that were worked out"`
	Faults   []Fault `json:"faults" help:"every single fault tried"`
	Unseen   []Fault `json:"unseen" help:"faults that no reading of any of these modes gives away"`
	Probes   int     `json:"probes" help:"how many pairs of test points, each with its function"`
	// Entries go by mode, then fault, then probes.
	Entries []DictionaryEntry `json:"entries" help:"one for each mode, fault and pair of test points"`
}

// DictionaryEntry is one reading of the dictionary.
type DictionaryEntry struct {
	Mode     string `json:"mode" help:"as --mode takes it"`
	Fault    string `json:"fault" help:"as --fault takes it"`
	Text     string `json:"fault_text" help:"the fault in words"`
	From     string `json:"from" help:"test point of the red probe"`
	To       string `json:"to" help:"test point of the black probe"`
	Function string `json:"function" help:"volts, or ohms with the supply removed"`
	Good     Figure `json:"good" help:"a sound machine"`
	Reading  Figure `json:"reading" help:"with the fault"`
	Unit     string `json:"unit" help:"V or ohms"`
	Differs  bool   `json:"differs" help:"it cannot be taken for a sound machine's"`
}

// Figure is a reading in short.
type Figure struct {
	Range string   `json:"range" help:"in words"`
	Low   *float64 `json:"low" help:"lower end; null when open"`
	High  *float64 `json:"high" help:"upper end; null when open, or without end"`
}

// benchIn makes a bench for modes that can be worked out; none means all.
func (r *Reporter) benchIn(modes []circuit.ModeID, opt MeterOptions) (*meter.Bench, []circuit.ModeID, error) {
	if len(modes) == 0 {
		modes = r.AllModes()
	}
	for _, m := range modes {
		if _, err := r.sound(m); err != nil {
			return nil, nil, err
		}
	}
	b, err := r.newBench(opt)
	return b, modes, err
}

// Dictionary works out the fault dictionary in the modes given; none means
// all. With telling, readings that a fault does not change are left out.
func (r *Reporter) Dictionary(ctx context.Context, modes []circuit.ModeID, telling bool, opt MeterOptions) (*Dictionary, error) {
	b, modes, err := r.benchIn(modes, opt)
	if err != nil {
		return nil, err
	}
	dict, err := b.Dictionary(ctx, modes, nil)
	if err != nil {
		return nil, err
	}
	d := &Dictionary{Document: "dictionary", Machine: r.machine(), Meter: instrument(b.Instrument), Modes: []Mode{},
		Faults: r.faults(dict.Faults), Unseen: []Fault{}, Probes: len(dict.Probes), Entries: []DictionaryEntry{}}
	for _, m := range modes {
		d.Modes = append(d.Modes, r.mode(m))
	}
	for _, f := range dict.Unseen() {
		d.Unseen = append(d.Unseen, d.Faults[f])
	}
	row := map[circuit.ModeID]int{}
	for i, m := range dict.Modes {
		row[m] = i
	}
	places := make([][2]string, len(dict.Probes))
	for i, p := range dict.Probes {
		places[i] = [2]string{r.c.PlaceName(p.P), r.c.PlaceName(p.Q)}
	}
	if !telling {
		d.Entries = make([]DictionaryEntry, 0, len(dict.Entries))
	}
	known := figures{}
	for i := range dict.Entries {
		e := &dict.Entries[i]
		if telling && !e.Differs {
			continue
		}
		p, fault := dict.Probes[e.Probes], &d.Faults[e.Fault]
		d.Entries = append(d.Entries, DictionaryEntry{Mode: r.c.Mode(e.Mode).Name, Fault: fault.Ref, Text: fault.Text,
			From: places[e.Probes][0], To: places[e.Probes][1], Function: p.Function.String(), Unit: p.Function.Unit(),
			Good: known.of(&dict.Good[row[e.Mode]][e.Probes]), Reading: known.of(&e.Reading), Differs: e.Differs})
	}
	return d, nil
}

// figures keeps figures by reading: most readings of a dictionary are a sound
// machine's.
type figures map[figureOf]Figure

type figureOf struct {
	function                     meter.Function
	value, low, high             float64
	ol, maybeOL, unsteady, jumps bool
	refused                      string
}

func (f figures) of(r *meter.Reading) Figure {
	key := figureOf{r.Function, r.Value, r.Low, r.High, r.OL, r.MaybeOL, r.Unsteady, r.Jumps, r.Refused}
	have, ok := f[key]
	if !ok {
		have = figure(*r)
		f[key] = have
	}
	return have
}

func figure(r meter.Reading) Figure {
	f := Figure{Range: r.Range()}
	if r.OL {
		return f
	}
	f.Low = new(round(r.Low))
	if !r.MaybeOL {
		f.High = new(round(r.High))
	}
	return f
}

// dictionaryColumns head the CSV form, a line for each entry. An empty low and
// high mean open; an empty high alone, without end.
var dictionaryColumns = []string{"mode", "fault", "fault_text", "from", "to", "function", "good", "good_low", "good_high", "reading", "reading_low", "reading_high", "unit", "differs"}

func (d *Dictionary) csv(w io.Writer) error {
	return writeCSV(w, dictionaryColumns, func(yield func([]string) bool) {
		for i := range d.Entries {
			e := &d.Entries[i]
			if !yield([]string{e.Mode, cell(e.Fault), cell(e.Text), cell(e.From), cell(e.To), e.Function, e.Good.Range, number(e.Good.Low), number(e.Good.High),
				e.Reading.Range, number(e.Reading.Low), number(e.Reading.High), e.Unit, fmt.Sprint(e.Differs)}) {
				return
			}
		}
	})
}

// json writes the entries one a line, without the detour by reflection: there
// are some hundred thousand.
func (d *Dictionary) json(w io.Writer) error {
	head := *d
	head.Entries = []DictionaryEntry{}
	if g, ok := w.(interface{ Grow(n int) }); ok {
		g.Grow(len(d.Entries) * 330) // about what an entry takes
	}
	var b bytes.Buffer
	if err := encodeJSON(&b, &head); err != nil {
		return err
	}
	const tail = "[]\n}\n" // entries come last
	if _, err := w.Write(bytes.TrimSuffix(b.Bytes(), []byte(tail))); err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	words := map[string][]byte{}
	line := []byte("[")
	for i := range d.Entries {
		if i > 0 {
			line = append(line, ',')
		}
		line = d.Entries[i].appendJSON(append(line, "\n    "...), words)
		if _, err := out.Write(line); err != nil {
			return err
		}
		line = line[:0]
	}
	if len(d.Entries) > 0 {
		line = append(line, "\n  "...)
	}
	if _, err := out.Write(append(line, "]\n}\n"...)); err != nil {
		return err
	}
	return out.Flush()
}

// appendJSON appends the entry as encoding/json would, on one line. Words holds
// strings already quoted.
func (e *DictionaryEntry) appendJSON(b []byte, words map[string][]byte) []byte {
	word := func(s string) {
		quoted, ok := words[s]
		if !ok {
			var q bytes.Buffer
			_ = encodeJSON(&q, s) // a string always can be
			quoted = bytes.TrimSpace(q.Bytes())
			words[s] = quoted
		}
		b = append(b, quoted...)
	}
	number := func(v *float64) {
		if v == nil {
			b = append(b, "null"...)
			return
		}
		b = strconv.AppendFloat(b, *v, 'f', -1, 64)
	}
	figure := func(f *Figure) {
		b = append(b, `{"range": `...)
		word(f.Range)
		b = append(b, `, "low": `...)
		number(f.Low)
		b = append(b, `, "high": `...)
		number(f.High)
		b = append(b, '}')
	}
	text := func(key, value string) {
		b = append(b, key...)
		word(value)
	}
	text(`{"mode": `, e.Mode)
	text(`, "fault": `, e.Fault)
	text(`, "fault_text": `, e.Text)
	text(`, "from": `, e.From)
	text(`, "to": `, e.To)
	text(`, "function": `, e.Function)
	b = append(b, `, "good": `...)
	figure(&e.Good)
	b = append(b, `, "reading": `...)
	figure(&e.Reading)
	text(`, "unit": `, e.Unit)
	b = append(b, `, "differs": `...)
	return append(strconv.AppendBool(b, e.Differs), '}')
}

func (d *Dictionary) blocks(p *page) {
	p.heading("Fault dictionary")
	p.para(0, d.Machine.Title)
	p.para(0, fmt.Sprintf("%s in %s at %s. --format csv or json writes every reading.",
		count(len(d.Faults), "single fault", "single faults"), count(len(d.Modes), "mode", "modes"), count(d.Probes, "pair of test points", "pairs of test points")))
	telling := map[string]map[string]int{}
	for _, e := range d.Entries {
		if e.Differs {
			if telling[e.Mode] == nil {
				telling[e.Mode] = map[string]int{}
			}
			telling[e.Mode][e.Fault]++
		}
	}
	var rows [][]string
	for _, m := range d.Modes {
		readings := 0
		for _, n := range telling[m.Name] {
			readings += n
		}
		rows = append(rows, []string{m.Name, m.Label, fmt.Sprint(len(telling[m.Name])), fmt.Sprint(readings)})
	}
	p.gap()
	p.table(2, []column{{title: "Mode", width: 18}, {title: "Setting"}, {title: "Faults seen", width: 11, right: true}, {title: "Readings that differ", width: 20, right: true}}, rows)
	if len(d.Unseen) == 0 {
		return
	}
	p.heading("No reading at these points gives away")
	var kinds []string
	refs := map[string][]string{}
	for _, f := range d.Unseen {
		ref, kind, _ := strings.Cut(f.Ref, ":")
		if refs[kind] == nil {
			kinds = append(kinds, kind)
		}
		refs[kind] = append(refs[kind], ref)
	}
	for _, kind := range kinds {
		p.term(2, 10, kind, strings.Join(refs[kind], ", "))
	}
}
