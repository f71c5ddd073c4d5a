package desk

import (
	"net/url"
	"strings"
	"testing"
)

// requested is where a request on a state leads, and what the page of a visit says there.
func requested(t *testing.T, d *Desk, s State, pairs ...string) (State, string) {
	t.Helper()
	q, err := url.ParseQuery(s.Query())
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	a, err := d.Answer(t.Context(), Request{Path: "/", Query: q})
	if err != nil {
		t.Fatal(err)
	}
	if q, err = url.ParseQuery(a.State); err != nil {
		t.Fatal(err)
	}
	if a, err = d.Answer(t.Context(), Request{Path: "/visit", Query: q}); err != nil {
		t.Fatal(err)
	}
	return State{Notes: q["note"]}, string(a.Body)
}

// What was seen at a place, happened before or was tried is noted at a tap, as is that a
// reading is not sure or jumps.
func TestWhatIsToldAndDoubtedAtATap(t *testing.T) {
	d := New(shipped(t)["range-electronic"])
	_, page := requested(t, d, State{Door: DoorFind})
	for _, words := range []string{"Seen, heard or smelt", "Before it began", "Tried already", `note=told~smell~~~~`, `note=told~storm~~~~`} {
		if !strings.Contains(page, words) && !strings.Contains(page, url.QueryEscape(words)) {
			t.Errorf("a visit does not begin with %q", words)
		}
	}
	for _, g := range talesAt {
		for _, n := range append(talesNamed(g.keys), talesNamed(g.whole)...) {
			if n.Label == "" {
				t.Errorf("%q is nothing that is told", n.Ref)
			}
		}
	}
	s := State{Door: DoorFind, Notes: []string{"load~bake~bake_element~dead"}}
	told, page := requested(t, d, s, "tale", "burnt", "at", "bake_element")
	if got := told.Notes[len(told.Notes)-1]; got != "told~burnt~~bake_element~~" || !strings.Contains(page, "Bake element: burnt") {
		t.Errorf("noted is %q", told.Notes)
	}
	for want, q := range map[string][]string{
		"12, not sure":            {"answer", "12", "doubt", "about"},
		"OL, not sure":            {"answer", "OL", "doubt", "about"},
		"jumps between 3 and 40":  {"answer", "3", "doubt", "jumps", "upto", "40"},
		"jumps between 22 and OL": {"answer", "22", "doubt", "jumps", "upto", "OL"},
		"22":                      {"answer", "22", "doubt", "", "upto", "7"},
	} {
		told, _ := requested(t, d, s, append(q, "test", "read~bake~ohms~bake_1~bake_2~")...)
		if got := told.Notes[len(told.Notes)-1]; got != "read~bake~ohms~bake_1~bake_2~~"+want {
			t.Errorf("%v is noted as %q", q, got)
		}
	}
}
