package report

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/heat"
)

// Warm tells how warm a machine gets in a mode.
type Warm struct {
	Head
	Room    float64      `json:"room" help:"degrees Celsius around, and of everything to begin with unless starts says otherwise"`
	Minutes float64      `json:"minutes" help:"how long it was followed"`
	Starts  []BodyFigure `json:"starts" help:"bodies that begin at another temperature, in degrees Celsius"`
	Air     []FanFigure  `json:"air" help:"fans whose air is choked"`
	Bodies  []Body       `json:"bodies" help:"everything that gets warm"`
	Loads   []WarmLoad   `json:"warm_loads" help:"loads that heat something"`
	Moves   []HeatMove   `json:"moves" help:"when contacts that heat works, and controls, first move"`
}

// BodyFigure is a figure given for a body.
type BodyFigure struct {
	Body   string  `json:"body" help:"the body's name"`
	Label  string  `json:"label" help:"in words"`
	Figure float64 `json:"figure" help:"what was given"`
}

// FanFigure is a fan whose air is choked.
type FanFigure struct {
	Fan   string  `json:"fan" help:"as --air takes it"`
	Label string  `json:"label" help:"in words"`
	Share float64 `json:"share" help:"of its air that passes"`
}

// Body is something that gets warm. Temperatures are in degrees Celsius.
type Body struct {
	Name         string    `json:"name" help:"as --start takes it"`
	Label        string    `json:"label" help:"in words"`
	Aim          *float64  `json:"aim" help:"where heat is first let off; null where nothing lets it off"`
	Reached      *float64  `json:"reached" help:"minutes until it is there; null where it never is"`
	Mean         float64   `json:"mean" help:"over the last quarter of the time"`
	Low          float64   `json:"low" help:"lowest over the last quarter"`
	High         float64   `json:"high" help:"highest over the last quarter"`
	Peak         float64   `json:"peak" help:"highest of all"`
	SoundReached *float64  `json:"sound_reached" help:"minutes until it is there with nothing broken"`
	SoundMean    float64   `json:"sound_mean" help:"the mean with nothing broken"`
	ByMinute     []float64 `json:"by_minute" help:"from the start, minute by minute"`
}

// WarmLoad is a load that heats something.
type WarmLoad struct {
	Ref   string  `json:"ref" help:"as --load takes it"`
	Label string  `json:"label" help:"in words"`
	Share float64 `json:"mean_share" help:"mean watts over the last quarter, as a share of rated watts"`
	Sound float64 `json:"sound_mean_share" help:"the same with nothing broken"`
}

// HeatMove is a part that heat works, or a control, moving.
type HeatMove struct {
	Minutes float64 `json:"minutes" help:"from the start"`
	Part    string  `json:"part" help:"its name"`
	Label   string  `json:"label" help:"in words"`
	Says    string  `json:"says" help:"what it does: opens, closes, lets off heat and the like"`
	Celsius float64 `json:"celsius" help:"of its body"`
	Times   int     `json:"times" help:"how often in all"`
	Sound   bool    `json:"sound" help:"it does so with nothing broken too"`
}

// WarmOptions is what is told of the warmth around.
type WarmOptions struct {
	Room, Minutes float64
	// Dial is the temperature asked for; 0 leaves the netlist's.
	Dial float64
	// Start is by body, Air by fan.
	Start, Air map[string]float64
}

// Warm follows the machine through time.
func (r *Reporter) Warm(q Question, opt WarmOptions) (*Warm, error) {
	if _, err := r.sound(q.Mode); err != nil {
		return nil, err
	}
	m, err := heat.New(r.c)
	if err != nil {
		return nil, err
	}
	ask := heat.Question{Mode: q.Mode, Faults: q.Faults, Room: opt.Room, Minutes: opt.Minutes, Dial: opt.Dial,
		Start: map[circuit.BodyID]float64{}, Air: map[circuit.BranchID]float64{}}
	d := &Warm{Head: r.head("warm", q), Room: opt.Room, Minutes: opt.Minutes, Starts: []BodyFigure{}, Air: []FanFigure{}, Bodies: []Body{}, Loads: []WarmLoad{}, Moves: []HeatMove{}}
	for _, name := range slices.Sorted(maps.Keys(opt.Start)) {
		id, err := r.c.FindBody(name)
		if err != nil {
			return nil, err
		}
		ask.Start[id] = opt.Start[name]
		d.Starts = append(d.Starts, BodyFigure{name, r.c.Bodies()[id].Label, opt.Start[name]})
	}
	for _, name := range slices.Sorted(maps.Keys(opt.Air)) {
		id, err := m.FindAir(name, opt.Air[name])
		if err != nil {
			return nil, err
		}
		ask.Air[id] = opt.Air[name]
		d.Air = append(d.Air, FanFigure{name, r.label(id), opt.Air[name]})
	}
	both, err := m.Compare(ask)
	if err != nil {
		return nil, err
	}
	d.Tripped = r.items(both.Now.Tripped)
	r.warmBodies(d, both)
	r.warmLoads(d, both)
	r.heatMoves(d, both)
	return d, nil
}

func (r namer) warmBodies(d *Warm, both *heat.Compare) {
	for i := range r.c.Bodies() {
		b := &r.c.Bodies()[i]
		now, sound := both.Now.Bodies[i], both.Sound.Bodies[i]
		body := Body{Name: b.Name, Label: oneLine(b.Label), Aim: determined(now.Target), Reached: determined(now.Reached), Mean: round(now.Mean),
			Low: round(now.Low), High: round(now.High), Peak: round(now.Peak), SoundReached: determined(sound.Reached), SoundMean: round(sound.Mean), ByMinute: each(now.Celsius, round)}
		d.Bodies = append(d.Bodies, body)
	}
}

func (r namer) warmLoads(d *Warm, both *heat.Compare) {
	for _, load := range r.c.Loads() {
		heats := slices.ContainsFunc(r.c.Bodies(), func(b circuit.Body) bool { return b.Heats[load] > 0 })
		now, sound := both.Now.On[load], both.Sound.On[load]
		if heats && max(now, sound) > 0.001 {
			d.Loads = append(d.Loads, WarmLoad{r.c.Branch(load).Ref, r.label(load), round(now), round(sound)})
		}
	}
}

// heatMoves lists the first of each kind of move.
func (r namer) heatMoves(d *Warm, both *heat.Compare) {
	type move struct {
		part circuit.PartID
		acts bool
	}
	at := map[move]int{}
	for _, e := range both.Now.Events {
		k := move{e.Part, e.Acts}
		if i, ok := at[k]; ok {
			d.Moves[i].Times++
			continue
		}
		at[k] = len(d.Moves)
		p := r.c.Part(e.Part)
		d.Moves = append(d.Moves, HeatMove{Minutes: round(e.Minutes), Part: p.Name, Label: oneLine(p.Label), Says: moveWords(p, e.Acts),
			Celsius: round(e.Celsius), Times: 1, Sound: slices.ContainsFunc(both.Sound.Events, func(s heat.Event) bool { return s.Part == e.Part && s.Acts == e.Acts })})
	}
}

// moveWords says what a part does when it moves.
func moveWords(p *circuit.Part, acts bool) string {
	switch {
	case p.Kind == circuit.KindControl && acts, len(p.Positions) > 2 && acts:
		return "lets off heat"
	case p.Kind == circuit.KindControl, len(p.Positions) > 2:
		return "calls for heat again"
	case p.Kind == circuit.KindThermalFuse:
		return "blows"
	}
	position := p.Positions[p.Rest]
	if acts {
		position = p.Positions[1-p.Rest]
	}
	switch position {
	case "open":
		return "opens"
	case "closed":
		return "closes"
	case "actuated":
		return "changes over"
	}
	return "goes back to " + position
}

func (d *Warm) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("How warm it gets in %s", d.Mode.Label))
	for _, a := range d.Air {
		p.term(0, 8, "Choked:", fmt.Sprintf("%s, %s of the air passes", a.Label, percent(a.Share)))
	}
	p.para(0, fmt.Sprintf("Followed for %.0f minutes from %s.", d.Minutes, degrees(d.Room)))
	for _, s := range d.Starts {
		p.para(0, fmt.Sprintf("%s begins at %s.", s.Label, degrees(s.Figure)))
	}
	p.gap()
	p.table(2, []column{{title: "Body"}, {title: "Aims at", width: 15, right: true}, {title: "There after", width: 11, right: true},
		{title: "Settles at", width: 15, right: true}, {title: "Swings", width: 10, right: true}}, d.bodyRows())
	broken := len(d.Faults)+len(d.Air) > 0
	if broken {
		p.besideSound(d)
	}
	if len(d.Loads) > 0 {
		p.gap()
		p.heading("Heat, as a share of full power over the last quarter")
		for _, l := range d.Loads {
			s := percent(l.Share)
			if broken && math.Abs(l.Share-l.Sound) > 0.01 {
				s += ", sound " + percent(l.Sound)
			}
			p.term(2, 24, l.Label, s)
		}
	}
	if len(d.Moves) > 0 {
		p.gap()
		p.heading("What heat works, when it first moves")
		for _, m := range d.Moves {
			s := fmt.Sprintf("%s %s, at %s", m.Label, m.Says, degrees(m.Celsius))
			if m.Times > 1 {
				s += fmt.Sprintf("; %d times in all", m.Times)
			}
			if broken && !m.Sound {
				s += asBad(" (not in a sound machine)")
			}
			p.term(2, 12, minutesWord(m.Minutes), s)
		}
	}
	p.gap()
	p.para(0, "A lumped model: one temperature for each body. Times of a real machine may be half or twice these; what is slower, hotter or cooler than sound, and by how much, is better than that.")
	p.notes(d.Head)
}

func (d *Warm) bodyRows() [][]string {
	var rows [][]string
	for _, b := range d.Bodies {
		if b.Aim == nil && b.Peak < d.Room+1 && len(d.Bodies) > 1 {
			continue // nothing heats it
		}
		aim, there, swing := "", "", ""
		if b.Aim != nil {
			aim, there = degrees(*b.Aim), "never"
		}
		if b.Reached != nil {
			there = minutesWord(*b.Reached)
		}
		if b.High-b.Low > 1 {
			swing = fmt.Sprintf("%.0f to %.0f", b.Low, b.High)
		}
		rows = append(rows, []string{b.Label, aim, there, degrees(b.Mean), swing})
	}
	return rows
}

// besideSound says what differs from the sound machine.
func (p *page) besideSound(d *Warm) {
	var said []string
	for _, b := range d.Bodies {
		off := b.Mean - b.SoundMean
		switch {
		case b.SoundReached != nil && b.Reached == nil:
			said = append(said, fmt.Sprintf("%s never gets there; sound, it takes %s.", b.Label, minutesWord(*b.SoundReached)))
		case b.SoundReached != nil && *b.SoundReached > 0 && *b.Reached / *b.SoundReached > 1.1:
			said = append(said, fmt.Sprintf("%s takes %.1f times as long as sound: %s, not %s.", b.Label, *b.Reached / *b.SoundReached, minutesWord(*b.Reached), minutesWord(*b.SoundReached)))
		}
		if math.Abs(off) >= 2 {
			how := "warmer"
			if off < 0 {
				how = "cooler"
			}
			said = append(said, fmt.Sprintf("%s settles %.0f C (%.0f F) %s than sound.", b.Label, math.Abs(off), math.Abs(off)*1.8, how))
		}
	}
	p.gap()
	if len(said) == 0 {
		p.para(0, "No warmth differs from a sound machine's.")
	}
	p.item(2, said...)
}

func degrees(celsius float64) string {
	return fmt.Sprintf("%.0f C (%.0f F)", celsius, celsius*1.8+32)
}

func minutesWord(m float64) string {
	if m < 10 {
		return fmt.Sprintf("%.1f min", m)
	}
	return fmt.Sprintf("%.0f min", m)
}
