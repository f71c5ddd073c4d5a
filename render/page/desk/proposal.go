package desk

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// end is where a probe goes: what that is called, the wires there, and where it is
// on the machine.
type end struct{ Name, Wires, Place string }

// end tells of a terminal.
func (b *bench) end(t circuit.TerminalID) end {
	return end{circuit.UpperFirst(b.c.PlaceLabel(t)), b.Leads(t), b.c.PlaceOf(t)}
}

// proposal is a test worth making.
type proposal struct {
	report.NextTest
	// Test is the line of a note on it, without the answer; Red and Black are
	// where its probes go, or the ends of the wire that the Clamp goes around.
	Test, Red, Black, Clamp string
	// At are the parts to be looked at, listened to or moved, where it has no probes.
	At []string
	// Reach are the places it is made at by name, to say that one is out of reach.
	Reach []string
	// Ends say which places those are: red, then black; of a wire, where the clamp
	// goes, then the other.
	Ends []end
	// Goes are the readings that go with it.
	Goes []going
	// OK is what a sound machine reads, as it is typed.
	OK string
	// Sights are the views of the machine that show where it is done.
	Sights []sight
}

// going is a reading that goes with another: its line without the answer, and where
// the probes are.
type going struct {
	Test string
	Ends [2]end
	Good string
}

// sight is a view of the machine with places of a test in it: of the probe
// named, R or B, or of both.
type sight struct {
	View  string
	Boxes []sightBox
}

type sightBox struct {
	circuit.Box
	Of string
}

// Middle and Centre are where the box's own middle is, across and down.
func (b sightBox) Middle() float64 { return b.X + b.W/2 }
func (b sightBox) Centre() float64 { return b.Y + b.H/2 }

// sights finds places in the machine's views: red's, then black's.
func (b *bench) sights(places ...string) []sight {
	var out []sight
	for i, name := range places {
		of := ""
		if len(places) == 2 && places[0] != places[1] {
			of = "RB"[i : i+1]
		}
		all := b.c.Places()
		at := slices.IndexFunc(all, func(p circuit.Place) bool { return p.Name == name && p.Box != nil })
		if at < 0 || i > 0 && of == "" {
			continue
		}
		box := sightBox{*all[at].Box, of}
		k := slices.IndexFunc(out, func(s sight) bool { return s.View == box.View })
		if k < 0 {
			k, out = len(out), append(out, sight{View: box.View})
		}
		out[k].Boxes = append(out[k].Boxes, box)
	}
	return out
}

// ByHand reports whether hands go in: the supply is off for it, or leads are lifted.
func (p proposal) ByHand() bool { return p.Lift != "" || p.Dead() }

// Knobs say how it is set, but for what the card says first: that the supply is off.
func (p proposal) Knobs() string {
	if !p.Dead() {
		return p.Set
	}
	_, rest, _ := strings.Cut(p.Set, "; ")
	return rest
}

// BothAt is the place of both ends of a test, or empty where they are apart.
func (p proposal) BothAt() string {
	if len(p.Ends) == 2 && p.Ends[0].Place == p.Ends[1].Place {
		return p.Ends[0].Place
	}
	return ""
}

func (b *bench) propose(e *suspect.Engine, t report.NextTest, test suspect.Test, along ...suspect.Test) (proposal, error) {
	p := proposal{NextTest: t, Test: visit.About(b.c, test).Without()}
	switch {
	case test.Trial:
		for _, l := range t.Loads {
			if id, err := b.c.FindLoad(l.Ref); err == nil && b.c.Branch(id).Part != circuit.None {
				p.At = append(p.At, "part:"+b.c.Part(b.c.Branch(id).Part).Name)
			}
		}
		return p, nil
	case test.Ask != "":
		p.At = []string{"part:" + b.c.Part(test.Part).Name}
		p.Sights = b.sights(b.c.Part(test.Part).Place)
		return p, nil
	}
	p.Red, p.Black = b.ref(test.Probes.P), b.ref(test.Probes.Q)
	p.Reach = []string{b.c.PlaceName(test.Probes.P), b.c.PlaceName(test.Probes.Q)}
	p.Ends = []end{b.end(test.Probes.P), b.end(test.Probes.Q)}
	places := []string{p.Ends[0].Place, p.Ends[1].Place}
	if test.Probes.Function == meter.Amps {
		wire, err := b.c.WireBetween(test.Probes.P, test.Probes.Q)
		if err != nil {
			return p, err
		}
		p.Clamp, p.Reach, places = b.c.Wire(b.c.Branch(wire).Wire).Name, p.Reach[:1], places[:1]
	}
	for i, u := range along {
		p.Goes = append(p.Goes, going{visit.About(b.c, u).Without(), [2]end{b.end(u.Probes.P), b.end(u.Probes.Q)}, t.Along[i].Good})
	}
	p.Sights = b.sights(places...)
	sound, err := e.Bench().Take(test.Probes, test.Mode, test.Lift, nil)
	p.OK = answerOf(sound)
	return p, err
}

func (b *bench) ref(t circuit.TerminalID) string { return b.c.Terminal(t).Ref }
