package visits_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
)

// failures are what failed in a shop's visits to a water heater, by what was complained of.
var failures = []struct{ cause, load, mode, said string }{
	{"lower_element:open", "lower_element", "top_hot", "the lower element is dead once the top is hot"},
	{"lower_thermostat:open", "lower_element", "top_hot", "lower element does not heat, the top does"},
	{"upper_element:open", "upper_element", "cold_tank", "no heat, upper element dead"},
	{"upper_thermostat.no:open", "upper_element", "cold_tank", "the upper element stays cold"},
}

// shop writes files of visits, each its own, to one small machine, and returns the
// complaints of the first of each failure. Of ten visits one is not finished and one not
// proved.
type shop struct {
	c      *circuit.Circuit
	print  string
	proofs []*visit.Job // by failure, proved
	// words says that every customer has words of its own.
	words bool
}

const tank = "catalog:water-heater"

func opens(t testing.TB) *shop {
	t.Helper()
	r, err := netlists.ReadFileFull(tank)
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{c: r.Circuit}
	if s.print, err = visits.Fingerprint(r.Spec); err != nil {
		t.Fatal(err)
	}
	for _, f := range failures {
		s.proofs = append(s.proofs, s.visit(t, f.cause, visit.Note{Step: 1, Mode: f.mode, Load: f.load, State: "dead"}))
	}
	return s
}

// visit goes to the machine, and proves the repair as the engine asks.
func (s *shop) visit(t testing.TB, cause string, seen visit.Note) *visit.Job {
	t.Helper()
	j, err := visit.Start(t.Context(), s.c, visit.Record{Notes: []visit.Note{seen},
		Verdict: &visit.Verdict{Causes: []string{cause}}, Repair: &visit.Repair{Done: "replaced"}})
	if err != nil {
		t.Fatal(err)
	}
	p, err := j.Proof(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range p.Checks {
		notes, err := visit.Trial(j.Engine, k.Mode, k.Look, "ok")
		if !k.Trial {
			n := visit.About(s.c, k.Test)
			n.Answer = k.Reading.String()
			notes = []visit.Note{n}
		}
		if err != nil {
			t.Fatal(err)
		}
		if err := j.AddAfter(notes...); err != nil {
			t.Fatal(err)
		}
	}
	if err := p.Judge(); err != nil || !p.Proved() {
		t.Fatalf("%s is not proved: %v, %d checks left", cause, err, p.Left)
	}
	return j
}

// write writes so many, and returns how many of them are proved.
func (s *shop) write(t testing.TB, folder string, n int) (proved int) {
	t.Helper()
	r := rand.New(rand.NewPCG(15, 2))
	for i := range n {
		f := r.IntN(len(failures))
		j, said := s.proofs[f], failures[f].said
		if s.words {
			said = fmt.Sprintf("%s, since the %d. of last month, ticket %d", said, 1+i%28, i)
		}
		rec := j.Record
		rec.Date, rec.Complaint = fmt.Sprintf("2026-%02d-%02d", 1+i%12, 1+i%28), said
		rec.Notes = append([]visit.Note{}, rec.Notes...)
		rec.Notes = append(rec.Notes, visit.Note{Step: 2, Mode: "off", Function: "ohms", P: "upper_1", Q: "upper_2", Answer: fmt.Sprintf("%.1f", 12.3+0.4*r.Float64()), Minutes: float64(2 + r.IntN(9))})
		switch i % 10 {
		case 3:
			rec.Verdict, rec.Repair, rec.After = nil, nil, nil
		case 7:
			rec.After = rec.After[:len(rec.After)-1]
		default:
			proved++
		}
		v := visits.Visit{Format: visits.Format, Machine: visits.Machine{Netlist: tank, Name: s.c.Name(), Fingerprint: s.print}}
		v.SetRecord(rec)
		text, err := visits.Encode(v)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("visit-%05d.toml", i)), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return proved
}

// A shop's ten thousand visits to one model start its engine once, and work out a proof
// for each cause that it met: what more visits take is to read them.
func TestTenThousandVisitsAreJudgedByWhatIsKept(t *testing.T) {
	s, n := opens(t), 10000
	if testing.Short() {
		n = 1000
	}
	folder := t.TempDir()
	proved := s.write(t, folder, n)
	k := visits.NewCounter()
	if err := k.Count(t.Context(), folder); err != nil {
		t.Fatal(err)
	}
	for _, err := range k.Unread {
		t.Error(err)
	}
	if k.Visits != proved || k.Left[visit.NotFinished] != n/10 || k.Left[visit.NotProved] != n/10 {
		t.Errorf("%d counted of %d, left out %v", k.Visits, proved, k.Left)
	}
	if engines, proofs := k.Worked(); engines != 1 || proofs != len(failures) {
		t.Errorf("%d engines started and %d proofs worked out, for one machine and %d causes", engines, proofs, len(failures))
	}
	again := visits.NewCounter()
	if err := again.Count(t.Context(), folder, filepath.Join(folder, "visit-00000.toml")); err != nil {
		t.Fatal(err)
	}
	if again.Visits != k.Visits || again.Left[visit.NamedTwice] != 1 || fmt.Sprint(again.Kinds) != fmt.Sprint(k.Kinds) {
		t.Errorf("counted again %d, twice %d: %v and %v", again.Visits, again.Left[visit.NamedTwice], again.Kinds, k.Kinds)
	}
}

// slowly is how a visit is judged by itself: an engine started, all that was seen weighed,
// the proof worked out.
func (s *shop) slowly(t testing.TB, path string) bool {
	f, m, err := visits.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	rec := f.Record()
	if rec.Verdict == nil || len(rec.After) == 0 {
		return false
	}
	j, err := visit.Start(context.Background(), m.Circuit, rec)
	if err != nil {
		t.Fatal(err)
	}
	p, err := j.Proof(context.Background())
	return err == nil && p.Proved()
}

// BenchmarkTally counts more and more visits, in words of their own, beside what judging
// a hundred of them one by one takes.
func BenchmarkTally(b *testing.B) {
	s := opens(b)
	s.words = true
	folders, proved := map[int]string{}, map[int]int{}
	for _, n := range []int{100, 1000, 10000} {
		folders[n] = b.TempDir()
		proved[n] = s.write(b, folders[n], n)
	}
	each := func(b *testing.B, n int) {
		b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N*n), "ms/visit")
	}
	for _, n := range []int{100, 1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				k := visits.NewCounter()
				if err := k.Count(b.Context(), folders[n]); err != nil || k.Visits != proved[n] {
					b.Fatal(err, k.Visits, proved[n])
				}
			}
			each(b, n)
		})
	}
	b.Run("100, one by one", func(b *testing.B) {
		for b.Loop() {
			held := 0
			for i := range 100 {
				if s.slowly(b, filepath.Join(folders[100], fmt.Sprintf("visit-%05d.toml", i))) {
					held++
				}
			}
			if held != proved[100] {
				b.Fatal(held, proved[100])
			}
		}
		each(b, 100)
	})
}
