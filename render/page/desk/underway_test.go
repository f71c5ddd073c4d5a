package desk

import (
	"net/url"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/circuittest"
)

// A visit led answer by answer shows what one shows that is opened at its end, as
// from a link: what is kept from answer to answer changes nothing. Taken back,
// repaired, not cured and gone on with.
func TestAVisitUnderWayIsTheVisitOfItsLink(t *testing.T) {
	c := shipped(t)["range-electronic"]
	led := New(c)
	if _, err := led.Answer(t.Context(), Request{Path: "/ready", Query: url.Values{"door": {DoorFind}}}); err != nil || !led.shelf.ready(led.machine.stand) {
		t.Fatalf("nothing was made ready: %v", err)
	}
	broil, bake := "load~broil~broil_element~weak", "load~bake~bake_element~normal"
	ohms := "read~broil~ohms~broil_1~broil_2~~"
	for i, s := range []State{
		{Notes: []string{broil}},
		{Notes: []string{broil, bake}},
		{Notes: []string{broil, bake, ohms + "16.4"}},
		{Notes: []string{broil, bake, ohms + "23.1"}}, // read anew
		{Notes: []string{broil, bake, ohms + "23.1"}, Done: "element replaced", After: []string{bake}},
		{Notes: []string{broil, bake, ohms + "23.1", mendedWord + "element replaced"}},
		{Notes: []string{broil, bake, ohms + "23.1", mendedWord + "element replaced", broil}, Complaint: "weak"},
		{Notes: []string{broil, bake}}, // all of it taken back
		{Notes: []string{broil, "load~never~was~dead", bake, "skip~" + ohms}, Date: "2026-05-01"},
	} {
		if testing.Short() && i%3 != 1 {
			continue // each weighs the visit anew, from its link
		}
		s.Door = DoorFind
		q, err := url.ParseQuery(s.Query())
		if err != nil {
			t.Fatal(err)
		}
		r := Request{Path: "/visit", Query: q, File: "machine.toml"}
		got, err := led.Answer(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if !circuittest.Sampled(i, 2) {
			continue // led through, and looked at in the nightly run
		}
		want, err := New(c).Answer(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want.Body), string(got.Body)); diff != "" {
			t.Errorf("%q, Done %q is another where it was led to (-opened +led):\n%s", s.Notes, s.Done, diff)
		}
	}
}

// Each has an engine: what is let go is let go before another engine fills.
func TestAVisitBegunHasRoom(t *testing.T) {
	s := &shelf{}
	one, other := &stand{}, &stand{}
	for range mostUnderWay + 1 {
		s.put(&underWay{of: one, lines: []string{"a"}})
	}
	if n := len(s.has); n != mostUnderWay {
		t.Errorf("%d visits are kept, want %d", n, mostUnderWay)
	}
	if s.take(one, []string{"a", "b"}) == nil || len(s.has) != mostUnderWay-1 {
		t.Errorf("a visit that goes on is not handed out alone: %d are left", len(s.has))
	}
	s.put(&underWay{of: one, lines: []string{"a"}})
	if s.take(other, nil) != nil || len(s.has) != mostUnderWay-1 {
		t.Errorf("beside a visit begun %d are kept, want %d", len(s.has), mostUnderWay-1)
	}
}
