package visit

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

// Complaint reads one or more sentences, apart by semicolons or commas: "LOAD
// STATE in MODE", "trips in MODE", "chatters in MODE", or a reading, see [Reading].
// Without a mode the one that uses the load most is taken.
func Complaint(c *circuit.Circuit, s string) ([]Note, error) {
	var out []Note
	for _, part := range strings.Split(s, ";") {
		n, err := sentence(c, part)
		if err == nil {
			out = append(out, n)
			continue
		}
		if !strings.Contains(part, ",") {
			return nil, err
		}
		for _, piece := range strings.Split(part, ",") {
			n, err := sentence(c, piece)
			if err != nil {
				return nil, err
			}
			out = append(out, n)
		}
	}
	return Quiet(c, out), nil
}

// ofDegree are tellings of how warm it gets.
var ofDegree = []string{"runs_hot", "runs_cold", "runs_out"}

// Quiet adds that nothing was said of other loads, where some are dead, weak, too
// hot or slow and neither all nor the rest was spoken of.
func Quiet(c *circuit.Circuit, notes []Note) []Note {
	var told []string
	bad := ""
	tell := func(load string) {
		if !slices.Contains(told, load) {
			told = append(told, load)
		}
	}
	for _, n := range notes {
		mode, _, _ := strings.Cut(n.Mode, suspect.Either)
		switch {
		case n.AllDead, n.Trips, n.Chatters, n.SomeOn:
			return notes
		case n.Slow, slices.Contains(ofDegree, n.Told):
			if c.StoresHeat() {
				return notes // of a tank nobody knows which of its elements heats
			}
			if n.Mode == "" {
				mode = heating(c, n.Load)
			}
			id, err := c.FindMode(mode)
			if err != nil {
				return notes
			}
			for _, x := range c.Mode(id).Expect {
				if b := c.Branch(x.Load); x.Share > 0 && c.Part(b.Part).Kind.Heats() {
					tell(b.Ref)
				}
			}
			bad = mode
		case n.Load != "" && n.Told == "":
			for _, load := range strings.Split(n.Load, suspect.Either) {
				tell(load)
			}
			state, _, _ := strings.Cut(n.State, suspect.Either)
			if s, err := circuit.ParseLoadState(state); err == nil && (s == circuit.Dead || s == circuit.Weak || s == circuit.TooMuch) {
				bad = mode
			}
		}
	}
	if bad == "" {
		return notes
	}
	return append(notes, Note{Mode: bad, Quiet: strings.Join(told, " ")})
}

// heating names the first mode in which a load, or any that heats if none is named,
// warms something.
func heating(c *circuit.Circuit, load string) string {
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		if slices.ContainsFunc(m.Expect, func(x circuit.Expectation) bool {
			return x.Share > 0 && (load == "" || c.Branch(x.Load).Ref == load) && c.Warms(x.Load)
		}) {
			return m.Name
		}
	}
	return ""
}

// machineSays are complaints that concern no one load.
var machineSays = map[string]Note{"trips": {Trips: true}, "chatters": {Chatters: true}, "buzzes": {Chatters: true}}

func sentence(c *circuit.Circuit, s string) (Note, error) {
	if strings.Contains(s, "=") {
		return Reading(c, s, "")
	}
	words := strings.Fields(s)
	mode := ""
	for i := len(words) - 2; i > 0; i-- {
		if strings.EqualFold(words[i], "in") {
			words, mode = words[:i], strings.Join(words[i+1:], " ")
			break
		}
	}
	if len(words) == 0 {
		return Note{}, errors.New(`nothing said: a complaint is "LOAD STATE in MODE", as in "broil_element dead in broil"`)
	}
	last := strings.ToLower(words[len(words)-1])
	n, ok := machineSays[last]
	if load, err := loadNamed(c, strings.Join(words[:len(words)-1], " ")); ok && err == nil {
		// Of a load that can be so it is said of the load: a motor hums.
		id, noLoad := c.FindLoad(load)
		state, noState := circuit.ParseLoadState(last)
		ok = noLoad != nil || noState != nil || !c.CanBe(id, state)
	}
	if ok {
		if mode == "" {
			return Note{}, fmt.Errorf("%q: say in which mode, as in %q", s, last+" in "+c.Mode(0).Name)
		}
		var err error
		n.Mode, err = modeNamed(c, mode)
		return n, err
	}
	if n := len(words); n > 2 { // "too much"
		two := strings.ToLower(words[n-2] + " " + last)
		if _, err := circuit.ParseLoadState(two); err == nil {
			words, last = append(slices.Clone(words[:n-2]), two), two
		}
	}
	words = slices.DeleteFunc(slices.Clone(words[:len(words)-1]), func(w string) bool {
		return slices.Contains([]string{"is", "are", "stays", "runs", "always"}, strings.ToLower(w))
	})
	if len(words) == 0 {
		return Note{}, fmt.Errorf(`%q: a complaint is "LOAD STATE in MODE", as in "broil_element dead in broil"`, strings.TrimSpace(s))
	}
	// A piece of a name may be another thing's: an "upper oven" that is too hot is not its lamp.
	load, err := loadBy(called, c, strings.Join(words, " "))
	if err != nil {
		return Note{}, err
	}
	return Symptom(c, load, last, mode)
}

// Symptom notes how a load behaves, each by a name as people write it. An empty
// mode is chosen.
func Symptom(c *circuit.Circuit, load, state, mode string) (Note, error) {
	n := Note{}
	is, err := circuit.ParseLoadState(state)
	if err != nil {
		return n, err
	}
	n.State = is.String()
	if n.Load, err = loadNamed(c, load); err != nil {
		return n, err
	}
	if mode == "" {
		if is == circuit.Hums { // it should start then: the engine knows in which mode
			return Note{Told: is.String(), Load: n.Load}, nil
		}
		id, err := c.FindLoad(n.Load)
		if err != nil {
			return n, err
		}
		mode := modeOf(c, id, is != circuit.StaysOn)
		if mode == circuit.None {
			return n, fmt.Errorf("no mode turns %s on: say in the netlist which one is to", c.Label(id))
		}
		n.Mode = c.Mode(mode).Name
		return n, nil
	}
	n.Mode, err = modeNamed(c, mode)
	return n, err
}

// AnyOf notes that one of several loads behaves so, each in its own state where they are
// not all in one.
func AnyOf(notes []Note) Note {
	out := notes[0]
	alike := !slices.ContainsFunc(notes, func(n Note) bool { return n.State != out.State })
	states := func(n Note) string { // one for each of its loads
		if strings.Contains(n.State, suspect.Either) {
			return n.State
		}
		return n.State + strings.Repeat(suspect.Either+n.State, strings.Count(n.Load, suspect.Either))
	}
	if !alike {
		out.State = states(out)
	}
	for _, n := range notes[1:] {
		out.Load += suspect.Either + n.Load
		out.Mode += suspect.Either + n.Mode
		if !alike {
			out.State += suspect.Either + states(n)
		}
	}
	return out
}

// modeOf is the mode that expects most of a load, or the first that expects it
// off. Where none says anything of it, the sound machine does; none where every
// mode leaves it off, for one that is to be on.
func modeOf(c *circuit.Circuit, load circuit.BranchID, on bool) circuit.ModeID {
	at, best := circuit.ModeID(circuit.None), -1.0
	for _, m := range c.Modes() {
		for _, e := range m.Expect {
			if e.Load == load && (e.Share > 0) == on && e.Share > best {
				best, at = e.Share, m.ID
			}
		}
	}
	if at != circuit.None {
		return at
	}
	engine := settle.New(c)
	for _, m := range c.Modes() {
		if slices.ContainsFunc(m.Expect, func(e circuit.Expectation) bool { return e.Load == load }) {
			continue // it is to be the other way there
		}
		out, err := engine.Run(m.ID, nil)
		if err != nil {
			continue
		}
		share := out.LeastShare(load)
		if !on {
			share = -out.MostShare(load)
		}
		if at == circuit.None || share > best {
			best, at = share, m.ID
		}
	}
	const least = 0.01 // of its power
	if on && best < least {
		return circuit.None
	}
	return max(at, 0)
}

// name is something that a person may write, by its name in the netlist or by
// its label.
type name struct{ ref, label string }

func loadNames(c *circuit.Circuit) []name {
	var out []name
	for _, id := range c.Loads() {
		out = append(out, name{c.Branch(id).Ref, c.Label(id)})
	}
	return out
}

func modeNames(c *circuit.Circuit) []name {
	var out []name
	for _, m := range c.Modes() {
		out = append(out, name{m.Name, m.Label})
	}
	return out
}

// loadNamed finds a load by its name or label, or by a part of either that
// only one has.
func loadNamed(c *circuit.Circuit, s string) (string, error) { return loadBy(match, c, s) }

func loadBy(find func(string, []name) (string, bool), c *circuit.Circuit, s string) (string, error) {
	if ref, ok := find(s, loadNames(c)); ok {
		return ref, nil
	}
	if _, err := c.FindLoad(s); err != nil {
		return "", fmt.Errorf("%w (its loads: %s)", err, refs(loadNames(c)))
	}
	return s, nil
}

func modeNamed(c *circuit.Circuit, s string) (string, error) {
	if ref, ok := match(s, modeNames(c)); ok {
		return ref, nil
	}
	if _, err := c.FindMode(s); err != nil {
		return "", fmt.Errorf("%w (its modes: %s)", err, refs(modeNames(c)))
	}
	return s, nil
}

// called finds what has a name or label.
func called(s string, names []name) (string, bool) {
	want := simple(s)
	for _, n := range names {
		if simple(n.ref) == want || simple(n.label) == want {
			return n.ref, true
		}
	}
	return "", false
}

// match finds it also by a piece that only one has.
func match(s string, names []name) (string, bool) {
	if ref, ok := called(s, names); ok {
		return ref, true
	}
	found, want := "", simple(s)
	for _, n := range names {
		if strings.Contains(simple(n.ref), want) || strings.Contains(simple(n.label), want) {
			if found != "" {
				return "", false
			}
			found = n.ref
		}
	}
	return found, found != "" && want != ""
}

// simple makes names that differ in case or dashes alike.
func simple(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("_", " ", "-", " ").Replace(strings.ToLower(s))), " ")
}

func refs(names []name) string {
	const most = 12
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(names)-i))
			break
		}
		out = append(out, n.ref)
	}
	return strings.Join(out, ", ")
}

// Reading reads "FUNCTION FROM TO [in MODE] [lifted AT] = SHOWN", or with one name for
// both ends of a part. Without a mode it is the one given, else off for what is read
// dead, or the machine's first.
func Reading(c *circuit.Circuit, s, mode string) (Note, error) {
	left, shown, ok := strings.Cut(s, "=")
	words := slices.DeleteFunc(strings.Fields(left), func(w string) bool { return w == "to" || w == "from" || w == "across" })
	if !ok || len(words) < 2 {
		return Note{}, fmt.Errorf(`reading %q: write it as "volts tb_l1 tb_l2 in broil = 238", or "ohms bake_element = 22" across a part`, s)
	}
	n := Note{Function: strings.ToLower(words[0]), P: words[1], Mode: mode, Answer: strings.TrimSpace(shown)}
	rest := words[2:]
	if len(rest) > 0 && rest[0] != "in" && rest[0] != "lifted" {
		n.Q, rest = rest[0], rest[1:]
	}
	if f, err := meter.ParseFunction(n.Function); err == nil {
		at, err := suspect.NewProbes(c, f, n.P, n.Q)
		if err != nil {
			return n, fmt.Errorf("reading %q: %w", s, err)
		}
		n.P, n.Q = c.PlaceName(at.P), c.PlaceName(at.Q)
	}
	for ; len(rest) > 0; rest = rest[2:] {
		if len(rest) < 2 {
			return n, fmt.Errorf("reading %q: %q at its end means nothing: it takes in MODE and lifted AT", s, rest[0])
		}
		switch rest[0] {
		case "in":
			name, err := modeNamed(c, rest[1])
			if err != nil {
				return n, fmt.Errorf("reading %q: %w", s, err)
			}
			n.Mode = name
		case "lifted":
			n.Lifted = rest[1]
		default:
			return n, fmt.Errorf("reading %q: %q means nothing: it takes in MODE and lifted AT", s, rest[0])
		}
	}
	if n.Mode == "" {
		n.Mode = c.Mode(c.OffMode()).Name
		if f, err := meter.ParseFunction(n.Function); err == nil && f.Live() && len(c.Modes()) > 1 {
			return n, fmt.Errorf("reading %q: say in which mode, as in %q", s, left+"in "+c.Mode(circuit.ModeID(1)).Name+" ="+shown)
		}
	}
	if err := n.Check(c); err != nil {
		return n, fmt.Errorf("reading %q: %w", s, err)
	}
	return n, nil
}

// ReadDead reports whether a function, by its name, is read with the supply removed.
func ReadDead(function string) bool {
	f, err := meter.ParseFunction(function)
	return err == nil && !f.Live()
}

// Answers reads the answer to a test that is no trial. Apart by commas those to the
// readings that go with it may follow.
func Answers(c *circuit.Circuit, p *suspect.Proposal, line string) ([]Note, error) {
	said := []string{line}
	if len(p.Along) > 0 {
		said = strings.FieldsFunc(line, func(r rune) bool { return r == ',' || r == ';' })
	}
	if n := 1 + len(p.Along); len(said) > n || len(said) == 0 {
		return nil, fmt.Errorf("%q: there is an answer to each of %d readings, apart by commas", line, n)
	}
	var out []Note
	for i, t := range append([]suspect.Test{p.Test}, p.Along...)[:len(said)] {
		n := About(c, t)
		n.Answer = strings.TrimSpace(said[i])
		if err := n.Check(c); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

// Letters say how a load behaves in a trial.
func Letters() string {
	out := ""
	for _, s := range circuit.TrialStates() {
		out += fmt.Sprintf("%c %s, ", s.Letter(), s.Asked())
	}
	return out + "? can't tell"
}

func stateOfLetter(letter rune) (circuit.LoadState, bool) {
	for _, s := range circuit.TrialStates() {
		if s.Letter() == letter {
			return s, true
		}
	}
	return 0, false
}

// StateOf is what a letter of a trial's answer says; empty for none.
func StateOf(letter rune) string {
	if s, ok := stateOfLetter(letter); ok {
		return s.String()
	}
	return ""
}

// Trial reads a trial's answer: "ok", "trips", "chatters", or a letter for each
// load, in order, of which the last may be left out. An empty answer gives no
// notes.
func Trial(e *suspect.Engine, mode circuit.ModeID, loads []circuit.BranchID, line string) ([]Note, error) {
	c := e.Circuit()
	name := c.Mode(mode).Name
	text := strings.ToLower(strings.Join(strings.Fields(strings.NewReplacer(",", " ", ";", " ").Replace(line)), ""))
	if n, ok := machineSays[text]; ok {
		n.Mode = name
		return []Note{n}, nil
	}
	letters := []rune(text)
	if text == "ok" {
		letters = []rune(strings.Repeat("n", len(loads)))
	}
	no := fmt.Errorf("%q: one letter for each of %s: %s; or ok, trips, skip", line, Labels(c, loads), Letters())
	if len(letters) > len(loads) {
		return nil, no
	}
	sound, err := e.Trial(mode, loads, nil)
	if err != nil {
		return nil, err
	}
	var out []Note
	for i, r := range letters {
		note := Note{Mode: name, Load: c.Branch(loads[i]).Ref, Skipped: r == '?'}
		state, known := stateOfLetter(r)
		switch {
		case known:
			note.State = state.Meant(sound.States[i].On()).String()
		case !note.Skipped:
			return nil, no
		}
		out = append(out, note)
	}
	return out, nil
}

// Labels lists loads in words.
func Labels(c *circuit.Circuit, loads []circuit.BranchID) string {
	var out []string
	for _, id := range loads {
		out = append(out, c.Label(id))
	}
	return strings.Join(out, ", ")
}
