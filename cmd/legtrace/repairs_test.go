package main

import (
	"context"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// repair is one that happened, see testdata/repairs.toml.
type repair struct {
	Name, Machine, Complaint string
	Findings, Cause, First   []string
}

// repaired is how the engine did on a repair.
type repaired struct {
	unsaid []string // what it did not take
	// rank is the cause's place after all was found, 0 where it is not listed;
	// share its probability; first the test proposed on the complaint alone.
	rank    int
	share   float64
	first   string
	wanted  bool // the first test is one of those wanted
	nothing bool // nothing explained what was seen
}

// Floors of what the engine makes of the repairs. They only go up.
const (
	repairsSaid   = 127
	repairsListed = 157
	repairsHalf   = 141
	repairsFirst  = 153
)

// What really failed is named, from what people said and found, and the first
// test is the one that a seasoned technician would make.
func TestRepairs(t *testing.T) {
	if testing.Short() {
		t.Skip("a minute of work")
	}
	var file struct{ Repair []repair }
	if _, err := toml.DecodeFile(filepath.Join("..", "..", "testdata", "repairs.toml"), &file); err != nil {
		t.Fatal(err)
	}
	var said, listed, half, first int
	engines := map[string]*suspect.Engine{} // each forgets the last repair, and not what it worked out of its machine
	for _, r := range file.Repair {
		got, err := r.made(t.Context(), engines)
		if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		var notes []string
		count := func(n *int, ok bool, note string) {
			if ok {
				*n++
			} else {
				notes = append(notes, note)
			}
		}
		count(&said, len(got.unsaid) == 0, fmt.Sprintf("not taken: %q", got.unsaid))
		count(&listed, got.rank > 0 && got.rank <= 3, "cause not among the first three")
		count(&half, got.share >= 0.5, "cause under a half")
		count(&first, got.wanted, "first test: "+got.first)
		if got.nothing {
			notes = append(notes, "nothing fits")
		}
		t.Logf("%-18s %-48s place %d, %3.0f %%  %s", r.Machine, r.Name, got.rank, 100*got.share, strings.Join(notes, "; "))
	}
	for _, floor := range []struct {
		what       string
		got, floor int
	}{
		{"all of it can be said", said, repairsSaid},
		{"the cause among the first three", listed, repairsListed},
		{"the cause at a half or more", half, repairsHalf},
		{"the first test as wanted", first, repairsFirst},
	} {
		t.Logf("%s: %d of %d", floor.what, floor.got, len(file.Repair))
		if floor.got < floor.floor {
			t.Errorf("%s: %d repairs, %d before", floor.what, floor.got, floor.floor)
		}
	}
}

// made goes through a repair: the complaint, the first test, the findings, the
// suspects.
func (r *repair) made(ctx context.Context, engines map[string]*suspect.Engine) (*repaired, error) {
	e := engines[r.Machine]
	if e == nil {
		c, err := netlists.Open(r.Machine)
		if err != nil {
			return nil, err
		}
		if e, err = suspect.New(c, suspect.Options{Order: 2}); err != nil {
			return nil, err
		}
		engines[r.Machine] = e
	}
	c := e.Circuit()
	m := &machine{file: "catalog:" + r.Machine, Result: &netlists.Result{Circuit: c}, Reporter: report.New(c)}
	var out repaired
	said := &evidenceFlags{}
	take := func(s string) bool {
		e := *said
		if strings.Contains(s, " = ") {
			e.readings = append(slices.Clone(e.readings), s)
		} else {
			e.complaints = append(slices.Clone(e.complaints), s)
			_, heard, _, err := complaints.ListenTo(c).Complaint(s)
			if err == nil && len(heard.Unknown) > 0 {
				out.unsaid = append(out.unsaid, fmt.Sprintf("%s: %q", s, heard.Unknown))
			}
		}
		notes, err := e.notes(m)
		if err != nil {
			out.unsaid = append(out.unsaid, s+": "+err.Error())
			return false
		}
		states := map[string]string{}
		for _, n := range notes {
			if n.State == "" {
				continue
			}
			at := n.Load + " in " + n.Mode
			if before := states[at]; before != "" && before != n.State {
				out.unsaid = append(out.unsaid, fmt.Sprintf("%s: %s taken to be %s and %s", s, at, before, n.State))
			}
			states[at] = n.State
		}
		*said = e
		return true
	}
	// What fails as a whole is said again piece by piece.
	if !take(r.Complaint) {
		for _, s := range strings.Split(r.Complaint, "; ") {
			take(s)
		}
	}
	if !said.given() {
		return &out, nil
	}
	e.Forget()
	if err := m.teach(ctx, e, said); err != nil {
		return nil, err
	}
	next, err := e.Next(ctx, suspect.NewProgress(), 1)
	if err == nil && len(next) == 0 { // what tells little is proposed then
		next, err = e.Rest(ctx, suspect.NewProgress(), 1)
	}
	if err != nil {
		return nil, err
	}
	if len(next) > 0 && !e.Uncomplained() { // it asks first
		n, err := m.NextTest(e, &next[0])
		if err != nil {
			return nil, err
		}
		out.first = fmt.Sprintf("%s %s %s in %s: %s", n.Function, n.From, n.To, n.Mode.Name, n.Text)
	}
	out.wanted = slices.ContainsFunc(r.First, func(s string) bool {
		return regexp.MustCompile("(?i)" + s).MatchString(out.first)
	})
	for _, s := range r.Findings {
		take(s)
	}
	e.Forget()
	if err := m.teach(ctx, e, said); err != nil {
		return nil, err
	}
	for i, x := range e.Listed(12) {
		if x.Mistaken && i == 0 {
			out.nothing = true
		}
		if slices.ContainsFunc(x.Causes, func(k suspect.Class) bool { return r.right(c, k) }) {
			if out.rank == 0 {
				out.rank = i + 1
			}
			out.share += x.P
		}
	}
	return &out, nil
}

// right reports whether a class holds the true cause.
func (r *repair) right(c *circuit.Circuit, k suspect.Class) bool {
	for _, m := range k.Members {
		for _, f := range m.Faults {
			part, way, _ := strings.Cut(c.FaultRef(f), ":")
			for _, want := range r.Cause {
				wantPart, wantWay, anyWay := strings.Cut(want, ":")
				if anyWay && !strings.HasPrefix(way, wantWay) {
					continue
				}
				wire := want == "w" && regexp.MustCompile(`^w\d`).MatchString(part)
				if wire || part == wantPart || strings.HasPrefix(part, wantPart+".") {
					return true
				}
			}
		}
	}
	return false
}
