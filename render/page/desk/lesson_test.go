package desk

import (
	"bytes"
	"net/url"
	"testing"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/lessons"
)

// shipped are the machines that come with legtrace.
func shipped(t *testing.T) map[string]*circuit.Circuit {
	t.Helper()
	out := map[string]*circuit.Circuit{}
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		out[entry.Name] = c
	}
	return out
}

func asked(t *testing.T, d *Desk, path string, s State) []byte {
	t.Helper()
	q, err := url.ParseQuery(s.Query())
	if err != nil {
		t.Fatal(err)
	}
	a, err := d.Answer(t.Context(), Request{Path: path, Query: q})
	if err != nil {
		t.Fatal(err)
	}
	return a.Body
}

// A lesson opens by its name, and whatever it shows the page shows: nothing is
// left out of what its links ask for, and the lesson stays open.
func TestThePageShowsWhatALessonSays(t *testing.T) {
	d := New(shipped(t)["range-electronic"])
	for _, h := range lessons.List() {
		if testing.Short() && h.Number > 4 {
			continue
		}
		at := State{}.Learn(h.Name)
		if page := asked(t, d, "/learn", at); !bytes.Contains(page, []byte(h.Title)) || !bytes.Contains(page, []byte(`<img src="data:image/svg`)) || bytes.Contains(page, []byte("Wires: ")) {
			t.Errorf("lesson %s is not on the page, or lists what is drawn", h.Name)
		}
		l, err := d.lessonAt(t.Context(), h.Number)
		if err != nil {
			t.Fatal(err)
		}
		holds := func(what string, show lessons.Show) {
			s := at.Shown(show)
			page := asked(t, d, "/bench", s)
			if bytes.Contains(page, []byte("Left out of what was asked for")) || s.Lesson != h.Name || bytes.Contains(page, []byte(">A small circuit<")) != show.Small {
				t.Errorf("lesson %s, %q: %+v is not shown", h.Name, what, show)
			}
			if home := s.At(DoorExplore); show.Small && (home.Mode != "" || home.Small) || len(home.Lit) > 0 {
				t.Errorf("lesson %s, %q: behind another door there is left of it %+v", h.Name, what, home)
			}
		}
		for _, part := range l.Parts {
			for _, step := range part.Steps {
				for _, said := range step.Told.Say {
					holds(said.Text, said.Show)
				}
				for _, row := range step.Rows {
					holds(row.Cells[0], row.Show)
				}
			}
		}
		for _, e := range l.Exercises {
			holds(e.Ask, e.Show)
		}
	}
}

// A variant stands in the order of the machine that it is a variant of, whether the
// page was opened with it or it was chosen there.
func TestAVariantIsDrawnLikeItsBase(t *testing.T) {
	all := shipped(t)
	c, base := all["range-slide-in-3wire"], all["range-slide-in"]
	lib := Library{
		Open: func(string) (*circuit.Circuit, []Problem) { return c, nil },
		Base: func(string, string) *circuit.Circuit { return base },
	}
	alone := asked(t, New(c), "/drawing", State{})
	for _, name := range []string{"", "catalog:range-slide-in-3wire"} {
		d, err := NewShop(c, lib).at(name)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Equal(asked(t, d, "/drawing", State{}), alone) {
			t.Errorf("%q is drawn as if it were of no other machine", name)
		}
	}
}
