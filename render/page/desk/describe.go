package desk

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/ringout"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// Paths of what is written down and of what is rung out: both are handed over
// whole with every request, and nothing is kept.
const (
	describePath = "/describe"
	ringPath     = "/ringout"
)

// Sheet is a netlist that is being written down, as a library reads it.
type Sheet struct {
	Text string
	Spec circuit.Spec
	// Circuit is nil where there are errors, which Problems then are.
	Circuit  *circuit.Circuit
	Problems []Problem
	// Open counts what has no wire yet, Where tells where in the text the value of
	// a path stands.
	Open  int
	Where func(path string) (file string, line, column int)
	// Said is what was understood of a line. Unknown is a part that it names for
	// the first time, Near one that may be meant; Wrong says what is wrong with it.
	Said                 []string
	Unknown, Near, Wrong string
}

// described is what is told of a line.
type described struct {
	Text    string   `json:"text"`
	Title   string   `json:"title"`
	Said    []string `json:"said"`
	Unknown string   `json:"unknown,omitempty"`
	Near    string   `json:"near,omitempty"`
	Wrong   string   `json:"wrong,omitempty"`
	// Found is what there is to look into, Open counts what has no wire yet.
	Found []found `json:"found"`
	Open  int     `json:"open"`
	// Ends are the terminals, those without a wire first, by name and by label; Next is
	// the label of where one would go on from. Without a sound machine they are as before.
	Ends [][2]string `json:"ends"`
	Next string      `json:"next"`
	// Sound is set where the machine can be worked with.
	Sound bool   `json:"sound"`
	HTML  string `json:"html"`
}

type found struct {
	Where string `json:"where"`
	Text  string `json:"text"`
}

// describeHelp is nil where no machine can be written down.
func (l *Library) describeHelp() [][2]string {
	if l.Enter == nil {
		return nil
	}
	return l.DescribeHelp
}

// describe takes a line of a machine that is being written down.
func (s *Shop) describe(ctx context.Context, r Request) (Answer, error) {
	if s.lib.Enter == nil {
		return Answer{}, errors.New("no machine can be written down on this page")
	}
	text := string(r.Body)
	if text == "" {
		text = s.lib.Begin(clip(r.Query.Get("name"), circuit.MaxName), clip(r.Query.Get("from"), 0))
	}
	sheet := s.lib.Enter(clip(r.Query.Get("file"), 0), text, clip(r.Query.Get("line"), maxLine))
	if r.Query.Has("draw") {
		svg, err := s.sketch(ctx, sheet.Circuit, s.lib.base("sheet.toml", sheet.Text))
		return Answer{Kind: htmlKind, Body: svg}, err
	}
	out := described{Text: sheet.Text, Title: cmp.Or(sheet.Spec.Title, sheet.Spec.Name), Said: sheet.Said, Unknown: sheet.Unknown, Near: sheet.Near, Wrong: sheet.Wrong,
		Open: sheet.Open, Sound: sheet.Circuit != nil}
	for _, p := range sheet.Problems {
		out.Found = append(out.Found, found(p))
	}
	if sheet.Circuit != nil {
		if err := out.check(ctx, &sheet); err != nil {
			return Answer{}, err
		}
		out.ends(&sheet)
	}
	var page bytes.Buffer
	if err := s.lobby.templates.ExecuteTemplate(&page, "sheet", newSheetView(&sheet)); err != nil {
		return Answer{}, err
	}
	out.HTML = page.String()
	body, err := json.Marshal(out)
	return Answer{Kind: jsonKind, Body: body}, err
}

// maxLine is the longest line taken, in bytes.
const maxLine = 2000

const jsonKind = "application/json"

// check adds what check finds, as far as it does not come of what is missing.
func (d *described) check(ctx context.Context, s *Sheet) error {
	r := report.New(s.Circuit)
	at := func(path string) report.At {
		file, line, column := s.Where(path)
		return report.At{File: file, Line: line, Column: column}
	}
	c, err := r.Check(nil, at)
	if err != nil {
		d.Found = append(d.Found, found{"", err.Error()}) // every mode shorts the supply
		return nil
	}
	if c.Warnings, err = r.Audit(ctx, at); err != nil {
		return err
	}
	for _, f := range c.Growing(0) {
		text := f.Message
		if f.Hint != "" {
			text += " (" + f.Hint + ")"
		}
		d.Found = append(d.Found, found{fmt.Sprintf("%s:%d:%d", f.At.File, f.At.Line, f.At.Column), text})
	}
	return nil
}

// ends lists the terminals.
func (d *described) ends(s *Sheet) {
	var taken [][2]string
	last := ""
	if n := len(s.Spec.Wires); n > 0 {
		last, _, _ = strings.Cut(s.Spec.Wires[n-1].To, ".")
	}
	for i := range s.Circuit.Terminals() {
		t := &s.Circuit.Terminals()[i]
		end := [2]string{t.Ref, called(s.Circuit, t.Ref)}
		if len(t.Wires) > 0 {
			taken = append(taken, end)
			continue
		}
		d.Ends = append(d.Ends, end)
		if part := s.Circuit.Part(t.Part).Name; part == last && d.Next == "" && part != circuit.SupplyName {
			d.Next = end[1]
		}
	}
	d.Ends = append(d.Ends, taken...)
}

// called is the label of a terminal, a part or a load by its name: the name itself where
// the machine cannot be read as yet.
func called(c *circuit.Circuit, ref string) string {
	if c == nil {
		return ref
	}
	if t, err := c.FindTerminal(ref); err == nil {
		return circuit.UpperFirst(c.PlaceLabel(t))
	}
	if p, err := c.FindPart(ref); err == nil {
		return c.Part(p).Label
	}
	if load, err := c.FindLoad(ref); err == nil {
		return c.Label(load)
	}
	return ref
}

// sketch draws the machine as far as it is written down.
func (s *Shop) sketch(ctx context.Context, c, base *circuit.Circuit) (svg []byte, err error) {
	if c == nil || len(c.Loads()) == 0 {
		return nil, nil
	}
	d := s.desk(c, base, "")
	err = d.machine.use(ctx, func(b *bench) error {
		svg, err = b.draw(ctx, b.resolve(State{}, ""))
		return err
	})
	if err != nil && ctx.Err() == nil {
		return nil, nil // what cannot be drawn yet is not
	}
	return svg, err
}

// sheetView is what is written down, as a table.
type sheetView struct {
	circuit.Spec
	// Parts of the circuit by what a mode can do to them.
	Relays, Switches, Sensors []*circuit.Part
	Loads                     []report.Name
	c                         *circuit.Circuit
}

// Called is the label of a name, Labels those of several.
func (v *sheetView) Called(ref string) string { return called(v.c, ref) }

// Pins are the terminals of a part by name, as far as the machine can be read.
func (v *sheetView) Pins(part string) (out []string) {
	if v.c == nil {
		return nil
	}
	if id, err := v.c.FindPart(part); err == nil {
		for _, t := range v.c.Part(id).Terminals {
			out = append(out, v.c.Terminal(t).Ref)
		}
	}
	return out
}

func (v *sheetView) Labels(refs []string) string {
	var out []string
	for _, ref := range refs {
		out = append(out, v.Called(ref))
	}
	return strings.Join(out, ", ")
}

func newSheetView(s *Sheet) *sheetView {
	v := &sheetView{Spec: s.Spec, c: s.Circuit}
	for i := range v.Wires {
		if v.Wires[i].Name == "" {
			v.Wires[i].Name = fmt.Sprintf("w%d", i+1)
		}
	}
	if s.Circuit == nil {
		return v
	}
	driven := map[string]bool{}
	for _, p := range s.Spec.Parts {
		driven[p.Name] = p.DrivenBy != ""
	}
	for i := range s.Circuit.Parts() {
		switch p := &s.Circuit.Parts()[i]; {
		case p.Kind == circuit.KindRelay && driven[p.Name]:
			v.Relays = append(v.Relays, p)
		case p.Kind == circuit.KindSensor:
			v.Sensors = append(v.Sensors, p)
		case len(p.Positions) > 1 && !p.Kind.Guards() && p.Kind != circuit.KindFuse && p.Kind != circuit.KindThermalFuse && p.Kind != circuit.KindLimit:
			v.Switches = append(v.Switches, p)
		}
	}
	for _, id := range s.Circuit.Loads() {
		if b := s.Circuit.Branch(id); !strings.Contains(b.Ref, ".") {
			v.Loads = append(v.Loads, report.Name{Ref: b.Ref, Label: s.Circuit.Label(id)})
		}
	}
	return v
}

// kindChoice is a kind to choose for a new part.
type kindChoice struct {
	Name, Trade string
	Glyph       template.HTML
	// Needs are the fields it has to have, Form is what else to say of it, where it is
	// of Poles those.
	Needs []string
	Form  string
	Poles bool
}

// forms tell how what has no field of its own is said of a kind.
var forms = map[circuit.Kind]string{
	circuit.KindRelay: "no, nc or changeover; then the control on whose board it is, or its coil: 240 V 4 W", circuit.KindSelector: "off bake(L1-1 L2-C) broil(L1-2 L2-C)",
	circuit.KindBreaker: "L1 L2 40 A", circuit.KindTerminalBlock: "its poles, L1 L2 N", circuit.KindConnector: "A B C, its pins", circuit.KindRCD: "L1 N 30 mA",
	circuit.KindSensor: "pt3750 1000 ohm, or ntc 10000 ohm beta=3950", circuit.KindCentrifugalSwitch: "the motor, and nc or no",
	circuit.KindSwitch: "closed, where it is so at rest", circuit.KindDoorSwitch: "open or closed, with the door shut",
}

// kindChoices lists the kinds, those that fail most often first.
func kindChoices() []kindChoice {
	kinds := circuit.Kinds()
	slices.SortStableFunc(kinds, func(a, b circuit.Kind) int { return cmp.Compare(b.Info().Prior, a.Info().Prior) })
	var out []kindChoice
	for _, k := range kinds {
		c := kindChoice{Name: k.String(), Glyph: glyph(k.String()), Form: forms[k], Poles: slices.Contains(k.Info().Required, "poles")}
		c.Trade, _, _ = strings.Cut(k.Info().Trade, ";")
		c.Trade, _, _ = strings.Cut(c.Trade, ":")
		for _, key := range k.Info().Required {
			if unitOf[key] != "" {
				c.Needs = append(c.Needs, key)
			}
		}
		out = append(out, c)
	}
	return out
}

// glyph is the symbol of a kind by its name.
func glyph(kind string) template.HTML {
	k, err := circuit.ParseKind(kind)
	if err != nil {
		return ""
	}
	return template.HTML(schematic.Glyph(k, schematic.IEEE))
}

// unitOf is the unit that a field of a new part is given in.
var unitOf = map[string]string{"volts": "V", "watts": "W", "secondary_volts": "V", "ohms": "ohm", "microfarads": "uF"}

// ring is a harness that is being rung out: what was heard so far.
type ring struct {
	Pins      []string `json:"pins"`
	Positions []string `json:"positions"`
	Heard     []struct {
		In    string `json:"in"`
		A     string `json:"a"`
		B     string `json:"b"`
		Beeps bool   `json:"beeps"`
	} `json:"heard"`
}

// ringOut says what was found, and the pair to touch next.
func (s *Shop) ringOut(r Request) (Answer, error) {
	var given ring
	if err := json.Unmarshal(r.Body, &given); err != nil {
		return Answer{}, fmt.Errorf("what was rung out cannot be read: %w", err)
	}
	if len(given.Positions) == 0 {
		given.Positions = []string{"rest"}
	}
	heard, err := ringout.New(given.Pins, given.Positions)
	if err != nil {
		return Answer{}, Refusal{err}
	}
	for _, h := range given.Heard {
		at := ringout.Finding{Position: slices.Index(given.Positions, h.In), A: slices.Index(given.Pins, h.A), B: slices.Index(given.Pins, h.B), Beeps: h.Beeps}
		if err := heard.Add(at); err != nil {
			return Answer{}, Refusal{err}
		}
	}
	body, err := json.Marshal(report.NewRingOut(heard))
	return Answer{Kind: jsonKind, Body: body}, err
}
