package report

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// Suspects ranks what may be wrong, given what was seen.
type Suspects struct {
	Document string        `json:"document" help:"which document this is"`
	Machine  Machine       `json:"machine" help:"the machine asked about"`
	First    []string      `json:"first" help:"what comes before any test: people may be in danger"`
	Known    []Known       `json:"known" help:"what was seen, in order"`
	Suspects []Explanation `json:"suspects" help:"explanations, the most probable first"`
	Others   float64       `json:"others" help:"probability of all explanations not listed"`
	LeftOut  float64       `json:"left_out" help:"at most this share of the probability lies with what was not considered: three faults and more, or let go as hopeless"`
	Misfit   *Misfit       `json:"misfit" help:"what fits nothing together with the rest; null where all fits"`
	Alike    []Undivided   `json:"alike" help:"suspects that no listed test point distinguishes"`
	Next     []NextTest    `json:"next" help:"the tests most worth their time, best first"`
	Little   bool          `json:"little" help:"the tests proposed tell little for their time"`
	// Stand says that what is found is sure or likely enough to stop testing, if so.
	Stand string `json:"stand" help:"what is found, where testing may stop; else empty"`
	// Asks says why more has to be said before there is a test to make, if so.
	Asks  string   `json:"-"`
	Sure  bool     `json:"sure" help:"the first suspect is probable enough to be named"`
	Notes []string `json:"notes" help:"what was taken where the question left it open"`
	Told
}

// Told is what was made of what was said in words.
type Told struct {
	Said    []string `json:"said" help:"what was understood of the complaint, statement by statement"`
	Open    []Open   `json:"open" help:"what of the complaint could mean several things"`
	Unknown []string `json:"not_understood" help:"words of the complaint that nothing was made of"`
}

// Open is something said that could mean several things.
type Open struct {
	Words   string   `json:"words" help:"what was said"`
	Choices []string `json:"choices" help:"what it may mean; none where it has to be said what it stands for"`
}

// Tell puts down what was made of what was said, and how what was left open was taken.
func (d *Suspects) Tell(told Told) {
	d.Said, d.Open, d.Unknown = append(d.Said, told.Said...), append(d.Open, told.Open...), append(d.Unknown, told.Unknown...)
	for _, o := range told.Open {
		if len(o.Choices) > 1 && !slices.Contains(told.Unknown, o.Words) {
			d.Notes = append(d.Notes, fmt.Sprintf("%q is taken for one of these: %s", o.Words, strings.Join(o.Choices, ", ")))
		}
	}
}

// Known is one thing seen.
type Known struct {
	Number int    `json:"number" help:"counts from 1"`
	Text   string `json:"text" help:"in words"`
	Bad    bool   `json:"bad" help:"a sound machine would not do this"`
}

// Explanation is one suspect: one cause, or several together.
type Explanation struct {
	P      float64 `json:"p" help:"probability, among what was considered"`
	Causes []Cause `json:"causes" help:"all of these together; none means that nothing is wrong, or nothing that explains what was seen"`
	// Mistaken is of a suspect that explains nothing.
	Mistaken bool `json:"mistaken" help:"nothing explains what was seen: something was told or read wrong"`
}

// Cause is one thing gone wrong, or any one of several that no listed test
// point tells apart.
type Cause struct {
	Text   string   `json:"text" help:"what, and how it failed"`
	Place  string   `json:"place" help:"where on the machine"`
	Faults []string `json:"faults" help:"each member as --fault takes it"`
	Size   string   `json:"size" help:"how large it is, nine chances in ten; empty where that has no size or little is known of it"`
}

// Undivided is a group of suspects that read alike on every listed test.
type Undivided struct {
	P     float64  `json:"p" help:"probability of the group"`
	Texts []string `json:"members" help:"what they are"`
	Split string   `json:"split" help:"the terminal where one more probe would split the group; empty where none does"`
	Place string   `json:"split_place" help:"where that is"`
}

// SuspectsOptions narrow the answer.
type SuspectsOptions struct {
	// Most is how many suspects are listed, Tests how many tests.
	Most, Tests int
	// Engine sets up further engines, to see what a misfit would take.
	Engine suspect.Options
}

// negligible is the probability below which a suspect is not listed.
const negligible = 0.005

// Suspects sums up an engine's state.
func (r *Reporter) Suspects(ctx context.Context, e *suspect.Engine, progress *suspect.Progress, opt SuspectsOptions) (*Suspects, error) {
	if opt.Most == 0 {
		opt.Most = 12
	}
	if opt.Tests == 0 {
		opt.Tests = 3
	}
	d := &Suspects{Document: "suspects", Machine: r.machine(), First: append([]string{}, e.First()...), Known: r.known(e), LeftOut: round(e.LeftOut()),
		Alike: []Undivided{}, Next: []NextTest{}, Notes: []string{}, Told: Told{Said: []string{}, Open: []Open{}, Unknown: []string{}}}
	var err error
	if d.Suspects, d.Others, err = r.listed(e, e.Listed(opt.Most), namer.sized); err != nil {
		return nil, err
	}
	d.Sure = len(d.Suspects) > 0 && d.Suspects[0].P > suspect.Sure
	if d.Misfit, err = r.misfit(ctx, e, opt.Engine); err != nil {
		return nil, err
	}
	if err := r.undivided(ctx, e, progress, d); err != nil {
		return nil, err
	}
	switch {
	case e.Held():
		d.Asks = Asks(visit.Held)
		return d, nil
	case e.Uncomplained():
		d.Asks = Asks(visit.Unsaid)
		return d, nil
	}
	next, err := e.Next(ctx, progress, opt.Tests)
	if err == nil && len(next) == 0 {
		next, err = e.Rest(ctx, progress, opt.Tests)
		d.Little = len(next) > 0
	}
	if err != nil {
		return nil, err
	}
	found := e.Finding()
	if stand := visit.Standing(found, next, d.Little); stand == visit.Sure || stand == visit.Likely {
		d.Stand = SearchWords(r.c, visit.Step{Search: stand, Finding: found})
	}
	for i := range next {
		t, err := r.NextTest(e, &next[i])
		if err != nil {
			return nil, err
		}
		d.Next = append(d.Next, t)
	}
	return d, nil
}

func (r *Reporter) known(e *suspect.Engine) []Known {
	out := []Known{}
	for i, ev := range e.Evidence() {
		out = append(out, Known{Number: i + 1, Text: r.Seen(ev), Bad: e.Speaks(i)})
	}
	return out
}

// Seen says in words what was seen.
func (r *Reporter) Seen(ev suspect.Evidence) string {
	if o := ev.Reading; o != nil {
		in := ""
		if o.Probes.Function == meter.Amps {
			in = "in the wire "
		}
		return fmt.Sprintf("%s %s%s, %s", observed(o), in, r.between(o.Probes.P, o.Probes.Q), r.conditions(o.Probes.Function.Live(), o.Mode, o.Lift))
	}
	if ev.Told != nil {
		return ev.Told.Words(r.c)
	}
	return r.symptom(ev.Symptom)
}

// Gist says in a line what was seen: loads of one state are told together, without
// their modes, and what was not said is left out.
func (r *Reporter) Gist(seen []suspect.Evidence) string {
	type told struct {
		words, state string
		loads        []string
	}
	var all []told
	for _, ev := range seen {
		s := ev.Symptom
		if s != nil && s.Whole == suspect.Quiet {
			continue
		}
		one := told{words: r.Seen(ev)}
		if s != nil && s.Whole == 0 && !s.Trips && !s.Chatters && s.Mode != circuit.None {
			one.state, one.loads = r.meant(s), []string{r.label(s.Load)}
		}
		i := slices.IndexFunc(all, func(t told) bool { return t.state != "" && t.state == one.state })
		if i < 0 {
			all = append(all, one)
		} else if t := &all[i]; !slices.Contains(t.loads, one.loads[0]) {
			t.loads = append(t.loads, one.loads[0])
			t.words = strings.Join(t.loads, ", ") + ": " + t.state
		}
	}
	return strings.Join(each(all, func(t told) string { return t.words }), "; ")
}

// heats tells what heats that should not, and where.
func (r *Reporter) heats(s *suspect.Symptom, where string) string {
	if s.Among == "" {
		return "Something heats" + where + " where nothing should"
	}
	if load, err := r.c.FindLoad(s.Among); err == nil {
		return r.label(load) + " heats" + where + " where it should not"
	}
	return "One of these heats" + where + " where none should: " + strings.Join(each(strings.Fields(s.Among), func(name string) string {
		load, err := r.c.FindLoad(name)
		if err != nil {
			return name
		}
		return r.label(load)
	}), ", ")
}

// symptom says in words how the machine behaved.
func (r *Reporter) symptom(s *suspect.Symptom) string {
	if s.Whole == suspect.AnyOf && slices.ContainsFunc(s.Of, func(of suspect.Symptom) bool { return of.Load == circuit.None }) {
		return strings.Join(each(s.Of, func(of suspect.Symptom) string { return r.symptom(&of) }), ", or: ")
	}
	if s.Whole == suspect.AnyOf && slices.ContainsFunc(s.Of, func(of suspect.Symptom) bool { return of.State != s.Of[0].State }) {
		return "One of these: " + strings.Join(slices.Compact(each(s.Of, func(of suspect.Symptom) string { return r.label(of.Load) + " " + of.State.String() })), ", ")
	}
	if s.Whole == suspect.AnyOf && !slices.ContainsFunc(s.Of, func(of suspect.Symptom) bool { return of.Load != s.Of[0].Load }) {
		modes := each(s.Of, func(of suspect.Symptom) string { return oneLine(r.c.Mode(of.Mode).Label) })
		return fmt.Sprintf("%s %s in one of these: %s", r.label(s.Of[0].Load), s.Of[0].State, strings.Join(modes, "; "))
	}
	if s.Whole == suspect.AnyOf {
		return fmt.Sprintf("One of these %s: %s", s.Of[0].State, strings.Join(slices.Compact(each(s.Of, func(of suspect.Symptom) string { return r.label(of.Load) })), ", "))
	}
	switch {
	case s.Mode == circuit.None && s.Trips:
		return "The breaker trips or a fuse blows"
	case s.Mode == circuit.None:
		return r.heats(s, "")
	}
	mode := oneLine(r.c.Mode(s.Mode).Label)
	switch {
	case s.Trips:
		return "In " + mode + " the breaker trips or a fuse blows"
	case s.Chatters:
		return "In " + mode + " a relay chatters"
	case s.Whole == suspect.AllDead:
		return "Nothing comes on, whatever is selected"
	case s.Whole == suspect.Quiet:
		return "Nothing is said of the other loads"
	case s.Whole == suspect.SomeOn:
		return r.heats(s, " in "+mode+",")
	case s.Whole == suspect.Pushed:
		return r.label(s.Load) + " turns if pushed"
	case s.Whole == suspect.AsSet:
		return "By a thermometer as hot as set in " + mode
	case s.Whole == suspect.RunsHot && s.Either():
		return "Off its temperature in " + mode
	case s.Whole == suspect.RunsHot:
		return "Runs too hot in " + mode
	case s.Whole == suspect.RunsCold:
		return "Does not get as hot as set in " + mode
	case s.Whole == suspect.RunsOut:
		return "Its heat runs out too soon in " + mode
	case s.Whole == suspect.Slow:
		return "Slow to heat in " + mode
	}
	out := fmt.Sprintf("%s %s in %s", r.label(s.Load), r.meant(s), mode)
	if s.Untried {
		out += " (said of the oven: perhaps not tried)"
	}
	return out
}

// meant is the state of a load that was meant by what was said of it.
func (r *Reporter) meant(s *suspect.Symptom) string {
	state := s.State
	if sound, err := r.soundState(s.Mode, s.Load); err == nil {
		state = state.Meant(sound.On())
	}
	return state.String()
}

// observed tells a reading as it was said.
func observed(o *suspect.Observation) string {
	figure := func(v float64) string {
		if o.Probes.Function == meter.Ohms {
			return ohms(v)
		}
		return fmt.Sprintf("%.4g%s%s", v, hard, o.Probes.Function.Unit())
	}
	switch b := o.Between; {
	case b != nil && b.OL:
		return "jumps between " + figure(b.Low) + " and OL,"
	case b != nil && o.Jumps:
		return "jumps between " + figure(b.Low) + " and " + figure(b.High) + ","
	case b != nil:
		return figure(b.Low) + " to " + figure(b.High)
	case o.OL && o.Unsure:
		return "OL, not sure,"
	case o.OL:
		return "OL"
	case o.Unsteady:
		return "floating"
	case o.Unsure:
		return "about " + figure(o.Value)
	}
	return figure(o.Value)
}

func (r namer) conditions(live bool, mode circuit.ModeID, lift []circuit.WireID) string {
	s := "supply removed"
	if live {
		s = "live in " + oneLine(r.c.Mode(mode).Label)
	}
	for i, w := range lift {
		if i == 0 {
			s += ", lifted "
		} else {
			s += " and "
		}
		s += r.c.Wire(w).Name
	}
	return s
}

func (r namer) between(p, q circuit.TerminalID) string {
	return oneLine(r.c.Between(p, q))
}

// listed are explanations worth listing, and the probability of all others.
func (r namer) listed(e *suspect.Engine, list []suspect.Suspect, told explainer) ([]Explanation, float64, error) {
	out, others := []Explanation{}, 1.0
	for i, s := range list {
		if i > 0 && s.P < negligible {
			break
		}
		x, err := told(r, e, s)
		if err != nil {
			return nil, 0, err
		}
		out, others = append(out, x), others-s.P
	}
	return out, max(0, round(others)), nil
}

// explainer puts a suspect in words.
type explainer func(namer, *suspect.Engine, suspect.Suspect) (Explanation, error)

// sized is an explanation with how large its faults are.
func (r namer) sized(e *suspect.Engine, s suspect.Suspect) (Explanation, error) {
	x := r.explanation(s)
	sizes, err := e.Sizes(s)
	if err != nil {
		return x, err
	}
	for i := range x.Causes {
		if x.Causes[i].Size = sizes[i].Words(); x.Causes[i].Size != "" {
			x.Causes[i].Text += ", " + x.Causes[i].Size
		}
	}
	return x, nil
}

func (r namer) explanation(s suspect.Suspect) Explanation {
	x := Explanation{P: round(s.P), Causes: []Cause{}, Mistaken: s.Mistaken}
	for _, k := range s.Causes {
		x.Causes = append(x.Causes, r.cause(k))
	}
	if s.Alike > 0 {
		x.Causes[0].Text, x.Causes[0].Place = plain(s.Words()), ""
	}
	return x
}

// Words say what an explanation is.
func (x Explanation) Words() string {
	if len(x.Causes) == 0 {
		return suspect.Suspect{Mistaken: x.Mistaken}.Words()
	}
	s := x.Causes[0].Text
	for _, c := range x.Causes[1:] {
		s += ", and " + c.Text
	}
	return s
}

func (x Explanation) place() string {
	if len(x.Causes) == 0 {
		return ""
	}
	s := x.Causes[0].Place
	for _, c := range x.Causes[1:] {
		if c.Place != s {
			s += "; " + c.Place
		}
	}
	return s
}

// cause puts a class in words. Its members all failed the same way.
func (r namer) cause(k suspect.Class) Cause {
	out := Cause{Faults: []string{}}
	var items []Item
	var labels []string
	for _, m := range k.Members {
		labels = append(labels, oneLine(m.Label))
		for i, f := range m.Faults {
			out.Faults = append(out.Faults, r.c.FaultRef(f))
			if i == 0 && !slices.ContainsFunc(k.Members[:len(labels)-1], func(o suspect.Cause) bool { return o.Faults[0].Branch == f.Branch }) {
				items = append(items, r.item(f.Branch))
			}
		}
	}
	out.Faults = slices.Compact(out.Faults)
	first := k.Members[0]
	out.Text = oneLine(first.Label)
	out.Place = items[0].at()
	if slices.ContainsFunc(items, func(o Item) bool { return o.at() != out.Place }) {
		out.Place = "" // one of several places would send to the wrong one
	}
	switch {
	case len(k.Members) > 1 && len(items) == 1:
		out.Text = strings.Join(labels, ", or ")
	case len(k.Members) > 1:
		f := first.Faults[0]
		kind := f.Kind.String()
		if f.Kind == circuit.HighResistance {
			kind = "high resistance"
		}
		out.Text = plain(fmt.Sprintf("any one of %s %s", partsAndWires(items), kind))
		if p := parts(items); len(p) == 0 {
			out.Text = plain(partsAndWires(items)) + ", one of them " + kind
		}
	}
	return out
}

func (r namer) undivided(ctx context.Context, e *suspect.Engine, progress *suspect.Progress, d *Suspects) error {
	groups, err := e.Alike(ctx, progress)
	if err != nil {
		return err
	}
	const shown = 0.02
	for _, g := range groups {
		if g.P < shown {
			continue
		}
		a := Undivided{P: round(g.P), Texts: []string{}}
		const named = 12
		for _, c := range g.Causes[:min(named, len(g.Causes))] {
			a.Texts = append(a.Texts, oneLine(c.Label))
		}
		if more := len(g.Causes) - named; more > 0 {
			a.Texts = append(a.Texts, fmt.Sprintf("and %d more", more))
		}
		if g.Split != circuit.None {
			a.Split, a.Place = r.c.PlaceName(g.Split), oneLine(r.c.PlaceOf(g.Split))
		}
		// How far a part has failed may tell groups apart that name the same parts.
		if i := slices.IndexFunc(d.Alike, func(o Undivided) bool { return o.Split == a.Split && slices.Equal(o.Texts, a.Texts) }); i >= 0 {
			d.Alike[i].P = round(d.Alike[i].P + g.P)
			continue
		}
		d.Alike = append(d.Alike, a)
	}
	return nil
}
