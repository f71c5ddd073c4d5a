package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"legtrace/circuit"
)

// Purpose says what a question is for, and so what is taken where it names no
// load or mode.
type Purpose uint8

const (
	// Feeding asks about a load that works: by default the largest.
	Feeding Purpose = iota
	// Keeping asks about a load that is off: by default the largest, in the
	// first mode in which it should be.
	Keeping
)

// Ask makes a question out of names. An empty mode or load is chosen, and the
// question's notes say what was taken.
func (r *Reporter) Ask(mode, load string, faults []string, purpose Purpose) (Question, error) {
	q := Question{Mode: circuit.None, Load: circuit.None}
	var took []string
	var err error
	if mode != "" {
		if q.Mode, err = r.findMode(mode); err != nil {
			return q, err
		}
	}
	if load != "" {
		if q.Load, err = r.findLoad(load); err != nil {
			return q, err
		}
	}
	if q.Faults, err = r.parseFaults(faults); err != nil {
		return q, err
	}
	if q.Load == circuit.None {
		why, err := r.chooseLoad(&q, purpose)
		if err != nil {
			return q, err
		}
		took = append(took, fmt.Sprintf("--load %s (%s)", r.c.Branch(q.Load).Ref, why))
	}
	if q.Mode == circuit.None {
		r.chooseMode(&q, purpose)
		took = append(took, "--mode "+r.c.Mode(q.Mode).Name)
	}
	if len(took) > 0 {
		q.Notes = []string{tookNote(circuit.List(took))}
	}
	return q, nil
}

// AskMode is Ask for what concerns no one load.
func (r *Reporter) AskMode(mode string, faults []string) (Question, error) {
	q := Question{Mode: circuit.None, Load: circuit.None}
	var err error
	if q.Faults, err = r.parseFaults(faults); err != nil {
		return q, err
	}
	if mode != "" {
		q.Mode, err = r.findMode(mode)
		return q, err
	}
	if _, err := r.chooseLoad(&q, Feeding); err != nil {
		q.Mode = 0 // no mode says anything of any load
	} else {
		r.chooseMode(&q, Feeding)
	}
	q.Load, q.Notes = circuit.None, []string{tookNote("--mode " + r.c.Mode(q.Mode).Name)}
	return q, nil
}

// AskSymptom reads "load" or "load=mode".
func (r namer) AskSymptom(s string) (Symptom, error) {
	load, mode, given := strings.Cut(s, "=")
	out := Symptom{Mode: circuit.None}
	var err error
	if out.Load, err = r.findLoad(load); err != nil {
		return out, err
	}
	if given {
		out.Mode, err = r.findMode(mode)
	}
	return out, err
}

// Name is something a person may type, with what it stands for.
type Name struct{ Ref, Label string }

// ModeNames lists the modes.
func (r namer) ModeNames() []Name {
	return each(r.c.Modes(), func(m circuit.Mode) Name { return Name{m.Name, oneLine(m.Label)} })
}

// LoadNames lists the loads, each by its shortest name.
func (r namer) LoadNames() []Name {
	return each(r.c.Loads(), func(id circuit.BranchID) Name { return Name{r.c.Branch(id).Ref, r.label(id)} })
}

// FaultNames lists what may stand before the colon of a fault: parts, their
// branches, wires.
func (r namer) FaultNames() []Name {
	var out []Name
	seen := map[string]bool{}
	add := func(ref, label string) {
		if !seen[ref] {
			seen[ref] = true
			out = append(out, Name{ref, label})
		}
	}
	for i := range r.c.Branches() {
		b := r.c.Branch(circuit.BranchID(i))
		if b.Wire != circuit.None {
			add(b.Ref, oneLine(r.c.DescribeWire(b.Wire)))
			continue
		}
		p := r.c.Part(b.Part)
		add(p.Name, oneLine(p.Label))
		add(b.Ref, r.label(b.ID))
	}
	return out
}

// FaultKinds lists the ways in which the part or wire can fail.
func (r namer) FaultKinds(ref string) []string {
	var out []string
	for _, k := range []circuit.FaultKind{circuit.Open, circuit.Short, circuit.HighResistance, circuit.Welded, circuit.Drifted, circuit.Grounded} {
		figure := map[circuit.FaultKind]string{circuit.HighResistance: "=1", circuit.Drifted: "=1"}[k]
		if _, err := r.c.ParseFault(ref + ":" + k.String() + figure); err == nil {
			out = append(out, k.String())
		}
	}
	return out
}

// chooseLoad takes the largest load that the mode, or any mode, expects on, or
// for Keeping off.
func (r *Reporter) chooseLoad(q *Question, purpose Purpose) (why string, err error) {
	best := -1.0
	for _, m := range r.c.Modes() {
		if q.Mode != circuit.None && q.Mode != m.ID {
			continue
		}
		for _, e := range m.Expect {
			if w := r.c.Branch(e.Load).Watts; (e.Share > 0) == (purpose == Feeding) && w > best {
				best, q.Load = w, e.Load
			}
		}
	}
	if q.Load == circuit.None && q.Mode != circuit.None && purpose == Feeding {
		return r.largestOn(q)
	}
	if q.Load == circuit.None {
		return "", fmt.Errorf("say which load: --load (it has %s)", few(refs(r.LoadNames())))
	}
	return "the largest", nil
}

// largestOn takes the largest load that the engine finds on, for a mode that
// says nothing of its loads.
func (r *Reporter) largestOn(q *Question) (why string, err error) {
	out, err := r.sound(q.Mode)
	if err != nil {
		return "", err
	}
	best := 0.0
	for _, id := range r.c.Loads() {
		if w := r.c.Branch(id).Watts; out.LeastShare(id) >= circuit.OnShare && w > best {
			best, q.Load = w, id
		}
	}
	if q.Load == circuit.None {
		return "", fmt.Errorf("no load works in mode %q: say which one with --load (it has %s)", r.c.Mode(q.Mode).Name, few(refs(r.LoadNames())))
	}
	return "the largest at work", nil
}

// chooseMode takes the mode that expects most of the load, or for Keeping the
// first that expects it off. Where none says anything of it, the engine does.
func (r *Reporter) chooseMode(q *Question, purpose Purpose) {
	q.Mode = circuit.None
	best := -1.0
	for _, m := range r.c.Modes() {
		for _, e := range m.Expect {
			if e.Load == q.Load && (e.Share > 0) == (purpose == Feeding) && e.Share > best {
				best, q.Mode = e.Share, m.ID
			}
		}
	}
	if q.Mode != circuit.None {
		return
	}
	for _, m := range r.c.Modes() {
		out, err := r.sound(m.ID)
		if err != nil {
			continue
		}
		share := out.LeastShare(q.Load)
		if purpose == Keeping {
			share = -out.MostShare(q.Load)
		}
		if q.Mode == circuit.None || share > best {
			best, q.Mode = share, m.ID
		}
	}
	if q.Mode == circuit.None {
		q.Mode = 0
	}
}

func (r namer) parseFaults(refs []string) ([]circuit.Fault, error) {
	var out []circuit.Fault
	for _, ref := range refs {
		f, err := r.c.ParseFault(ref)
		if err == nil && f[0].Kind == circuit.Moved {
			err = circuit.ErrMoved
		}
		if err != nil {
			return nil, err
		}
		out = append(out, f...)
	}
	return out, nil
}

// tookNote says what was taken, and how to see what else there is.
func tookNote(took string) string {
	return "Default: " + took + ". The command check lists all modes, loads all loads."
}

func (r namer) findMode(name string) (circuit.ModeID, error) {
	return findSpoken("mode", name, r.c.FindMode, r.ModeNames)
}

func (r namer) findLoad(name string) (circuit.BranchID, error) {
	return findSpoken("load", name, r.c.FindLoad, r.LoadNames)
}

// findSpoken finds a thing by its name or, failing that, by a word or two of it.
func findSpoken[ID any](what, name string, find func(string) (ID, error), all func() []Name) (ID, error) {
	id, err := find(name)
	if err == nil {
		return id, nil
	}
	switch meant := spoken(name, all()); {
	case len(meant) == 1:
		return find(meant[0].Ref)
	case len(meant) > 1:
		return id, fmt.Errorf("%s %q may be any of %s", what, name, few(refs(meant)))
	}
	return id, fmt.Errorf("%w (its %ss: %s)", err, what, few(refs(all())))
}

// spoken returns the names that a person may mean by a word or two: the one so
// labelled, or else all that have those words in their name or label.
func spoken(said string, names []Name) []Name {
	words := wordsOf(said)
	if len(words) == 0 {
		return nil
	}
	var out []Name
	for _, n := range names {
		if strings.EqualFold(said, n.Label) || strings.EqualFold(said, n.Ref) {
			return []Name{n}
		}
		in := wordsOf(n.Ref + " " + n.Label)
		if !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(in, w) }) {
			out = append(out, n)
		}
	}
	return out
}

func wordsOf(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

func refs(names []Name) []string { return each(names, func(n Name) string { return n.Ref }) }

// mostNamed is how many names a sentence lists.
const mostNamed = 12

func few(names []string) string {
	switch {
	case len(names) == 0:
		return "none"
	case len(names) > mostNamed:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:mostNamed], ", "), len(names)-mostNamed)
	}
	return strings.Join(names, ", ")
}
