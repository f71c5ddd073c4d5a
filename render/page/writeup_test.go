package page_test

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
	"legtrace/render/page"
	"legtrace/render/page/desk"
	"legtrace/render/report"
)

// visitFile writes a visit as a file to be put beside the netlist, as the
// command does.
func visitFile(netlist string, c *circuit.Circuit, r visit.Record) ([]byte, error) {
	print, err := visits.Fingerprint(c.Spec())
	if err != nil {
		return nil, err
	}
	return visits.Written(filepath.Base(netlist), print, c, r)
}

// visitAddress is a visit on the page by its notes.
func visitAddress(done string, after []string, notes ...string) string {
	q := url.Values{"note": notes, "complaint": {"broil is <cold>"}, "date": {"2026-05-01"}, "after": after}
	if done != "" {
		q.Set("done", done)
	}
	return q.Encode()
}

// visitOn is what the page shows of a visit.
func visitOn(t *testing.T, at, address string) string {
	t.Helper()
	return get(t, at+"/visit?"+address) + get(t, at+"/told?"+address)
}

// fileOn reads the visit's file off the page and opens it beside its machine, as
// the commands that take one do.
func fileOn(t *testing.T, shown, netlist string) *visit.Job {
	t.Helper()
	_, rest, _ := strings.Cut(shown, `id="file-text"`)
	_, rest, _ = strings.Cut(rest, ">")
	text, _, ok := strings.Cut(rest, "</textarea>")
	if !ok {
		t.Fatalf("no file on the page:\n%.600s", shown)
	}
	path := filepath.Join(filepath.Dir(netlist), "visit.toml")
	if err := os.WriteFile(path, []byte(unescape(text)), 0o666); err != nil {
		t.Fatal(err)
	}
	f, m, err := visits.Open(path)
	if err != nil {
		t.Fatalf("%v\n%s", err, unescape(text))
	}
	job, err := visits.Start(t.Context(), f, m.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	return job
}

// The page's report, and the file that it offers, say what the engine says of
// the same visit by way of the file.
func TestVisitOnThePageIsTheVisitInItsFile(t *testing.T) {
	netlist := demo(t)
	at := serve(t, fileSource(netlist), page.Options{Library: desk.Library{VisitFile: visitFile}})
	for _, c := range []struct {
		name, done string
		notes      []string
	}{
		{"an open element, mended", "element <replaced>", []string{"load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~ohms~broil_1~broil_2~broil_1~OL"}},
		{"a weak supply, several causes", "reported to the utility", []string{"load~broil~broil_element~weak", "load~bake~bake_element~weak", "read~broil~volts~tb_l1~tb_l2~~205"}},
		{"a sensor, and a test left out", "sensor replaced", []string{"load~bake~bake_element~dead", "load~broil~broil_element~dead", "skip~read~bake~volts~broil_1~broil_2~", "read~bake~ohms~sensor_s1~sensor_s2~~OL"}},
		{"one note only", "element replaced", []string{"load~broil~broil_element~dead"}},
		{"likely, not sure", "relay replaced", []string{"load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~volts~broil_1~broil_2~~0"}},
		{"two ways of one part", "relay replaced", []string{"load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~ohms~broil_1~broil_2~broil_1~16.9"}},
		{"nearly sure", "element replaced", []string{"load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~ohms~broil_1~broil_2~~OL"}},
		{"nothing done yet", "", []string{"load~broil~broil_element~dead", "trips~bake"}},
	} {
		if testing.Short() && c.name != "an open element, mended" {
			continue // each weighs a visit twice
		}
		t.Run(c.name, func(t *testing.T) {
			shown := visitOn(t, at, visitAddress(c.done, nil, c.notes...))
			job := fileOn(t, shown, netlist)
			if len(job.Notes) != len(c.notes) || job.Date != "2026-05-01" || job.Complaint != "broil is <cold>" {
				t.Errorf("the file has %+v", job.Record)
			}
			if (job.Verdict != nil) != (c.done != "") {
				t.Fatalf("verdict %v", job.Verdict)
			}
			if c.done != "" {
				sameVerdict(t, job, c.done)
			}
			d := reportOf(t, job)
			text := plainText(between(t, shown, `<article id="report"`, "</article>"))
			for _, n := range d.Notes {
				if want := strings.Join(strings.Fields(n.Text+" "+n.Good+" "+n.Result()), " "); !strings.Contains(text, want) {
					t.Errorf("the report lacks %q:\n%s", want, text)
				}
			}
			if d.Verdict != nil && !strings.Contains(text, d.Verdict.Text) || d.Verdict == nil && !strings.Contains(text, "None yet.") {
				t.Errorf("the report has another verdict than %+v:\n%s", d.Verdict, text)
			}
			for _, caution := range report.Cautions() {
				if !strings.Contains(text, caution) {
					t.Errorf("the report lacks the caution %q", caution)
				}
			}
		})
	}
}

func unescape(s string) string { return html.UnescapeString(s) }

func percentOf(p float64) string { return fmt.Sprintf("%.0f %%", 100*p) }

// sameVerdict compares the file's verdict with what a visit on the terminal
// would conclude from the same notes.
func sameVerdict(t *testing.T, job *visit.Job, done string) {
	t.Helper()
	got := *job.Verdict
	if job.Repair == nil || job.Repair.Done != done {
		t.Errorf("the repair is %v", job.Repair)
	}
	if err := job.Conclude(job.Engine.Finding(), done); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(*job.Verdict, got); diff != "" {
		t.Errorf("the terminal's verdict and the page's differ:\n%s", diff)
	}
}

// reportOf writes a visit's file down as the command does.
func reportOf(t *testing.T, job *visit.Job) *report.Visit {
	t.Helper()
	d, err := report.New(job.Circuit).Visit(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// answersTo answers the checks of a proof as a sound machine would, or with
// everything dead.
func answersTo(c *circuit.Circuit, proof *visit.Proof, sound bool) [][]string {
	var out [][]string
	for _, k := range proof.Checks {
		mode := c.Mode(k.Mode).Name
		if !k.Trial {
			n := suspect.NoteOf(c, k.Test, fmt.Sprintf("%.0f", k.Reading.Value))
			if !sound {
				n.Answer = "OL"
				if n.Function == "volts" || n.Function == "lowz" {
					n.Answer = "0"
				}
			}
			out = append(out, []string{strings.Join([]string{"read", n.Mode, n.Function, n.P, n.Q, n.Lifted, n.Answer}, "~")})
			continue
		}
		var look []string
		for _, load := range k.Look {
			state := "dead"
			if sound {
				state = "normal"
			}
			look = append(look, "load~"+mode+"~"+c.Branch(load).Ref+"~"+state)
		}
		out = append(out, look)
	}
	return out
}

// The checks after a repair are the engine's, and judged as it does.
func TestProofOfARepair(t *testing.T) {
	if testing.Short() {
		t.Skip("weighs a visit twenty times")
	}
	netlist := demo(t)
	at := serve(t, fileSource(netlist), page.Options{Library: desk.Library{VisitFile: visitFile}})
	for _, notes := range [][]string{
		{"load~broil~broil_element~dead", "load~bake~bake_element~normal", "read~broil~ohms~broil_1~broil_2~broil_1~OL"},
		{"load~broil~broil_element~weak", "load~bake~bake_element~weak", "read~off~volts~tb_l1~tb_l2~~192"},
	} {
		shown := visitOn(t, at, visitAddress("mended", nil, notes...))
		job := fileOn(t, shown, netlist)
		proof, err := job.Proof(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Count(shown, `class="check"`); got != len(proof.Checks) {
			t.Errorf("%d checks on the page, the engine has %d", got, len(proof.Checks))
		}
		good, bad := answersTo(job.Circuit, proof, true), answersTo(job.Circuit, proof, false)
		last := len(proof.Checks) - 1
		if len(good[0]) > 1 {
			proved(t, at, netlist, notes, good[0][:1], fmt.Sprintf("Not proved yet: 0 of %d checks done.", last+1), 1) // one load of several
		}
		if last > 0 {
			proved(t, at, netlist, notes, good[last], fmt.Sprintf("Not proved yet: 1 of %d checks done.", last+1), last+1)
		}
		proved(t, at, netlist, notes, bad[last], "The repair is not proved", last+1)
		all := slices.Concat(good...)
		stray := []string{"load~off~oven_lamp~dead", "read~off~volts~tb_l1~tb_l2~~0"} // of no check
		proved(t, at, netlist, notes, append(stray, all...), "Proved: all is as it should be.", 0)
		if n := strings.Count(visitOn(t, at, visitAddress("mended", append(stray, all...), notes...)), "is the answer to none of the checks"); n != len(stray) {
			t.Errorf("%d of %d answers are told to be of no check", n, len(stray))
		}
	}
}

// proved wants the page to say so much of answers to checks, its file to hold
// them under the step of their check, and the engine to agree.
func proved(t *testing.T, at, netlist string, notes, after []string, want string, step int) {
	t.Helper()
	shown := visitOn(t, at, visitAddress("mended", after, notes...))
	if said := plainText(between(t, shown, `id="proof-said">`, "</p>")); !strings.HasPrefix(said, want) {
		t.Errorf("after %v the proof says %q, want %q", after, said, want)
	}
	job := fileOn(t, shown, netlist)
	if step > 0 && len(job.After) != len(after) {
		t.Errorf("the file has %d notes after the repair, want %d", len(job.After), len(after))
	}
	for _, n := range job.After {
		if step > 0 && n.Step != step {
			t.Errorf("%+v is of check %d", n, step)
		}
	}
	if d := reportOf(t, job); strings.HasPrefix(want, "Proved") != d.Proved && !strings.Contains(want, "to go") {
		t.Errorf("after %v the engine says proved: %v, the page %q", after, d.Proved, want)
	}
}

// What was answered at once shares a step, so that the terminal takes it back at
// once.
func TestStepsOfAVisitsFile(t *testing.T) {
	netlist := demo(t)
	at := serve(t, fileSource(netlist), page.Options{Library: desk.Library{VisitFile: visitFile}})
	job := fileOn(t, visitOn(t, at, visitAddress("", nil, "load~broil~broil_element~dead", "load~bake~bake_element~normal", "load~bake~cooling_fan~normal",
		"read~broil~ohms~broil_1~broil_2~broil_1~OL", "skip~trial~broil", "load~broil~oven_lamp~dead")), netlist)
	var steps []int
	for _, n := range job.Notes {
		steps = append(steps, n.Step)
	}
	if diff := cmp.Diff([]int{1, 2, 2, 3, 4, 5}, steps); diff != "" {
		t.Error(diff)
	}
}

func TestVisitThatNoFileTakes(t *testing.T) {
	netlist := demo(t)
	at := serve(t, fileSource(netlist), page.Options{Library: desk.Library{VisitFile: visitFile}})
	shown := visitOn(t, at, visitAddress("", nil, "read~broil~volts~broil_1~broil_2~~4000"))
	if !strings.Contains(plainText(shown), "no two places of a machine on 240 V stand 4000 V apart") || strings.Contains(shown, "answer = ") {
		t.Errorf("4000 V are taken:\n%.900s", shown)
	}
	none := serve(t, fileSource(netlist), page.Options{})
	if shown := visitOn(t, none, visitAddress("", nil, "load~broil~broil_element~dead")); strings.Contains(shown, "as a file") {
		t.Error("a file is offered that nobody writes")
	}
}

func TestDeedsAfterARepair(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	for _, c := range []struct{ name, query, want string }{
		{"a reading", "check=read~broil~volts~broil_1~broil_2~&answer=239", "after=read~broil~volts~broil_1~broil_2~~239"},
		{"a look at loads", "checked=broil&is=broil_element:normal&is=cooling_fan:normal&is=", "after=load~broil~broil_element~normal&after=load~broil~cooling_fan~normal"},
		{"the breaker trips", "checked=broil&is=:trips", "after=trips~broil"},
		{"a reading taken anew", "after=read~broil~volts~broil_1~broil_2~~23&after=trips~bake&check=read~broil~volts~broil_1~broil_2~&answer=239", "after=trips~bake&after=read~broil~volts~broil_1~broil_2~~239"},
		{"a look taken anew", "after=trips~broil&after=load~broil~cooling_fan~dead&after=load~bake~bake_element~dead&checked=broil&is=cooling_fan:normal", "after=load~bake~bake_element~dead&after=load~broil~cooling_fan~normal"},
		{"a check left out", "pass=trial~broil", "after=skip~trial~broil"},
		{"a check again", "after=trips~broil&after=load~bake~bake_element~dead&again=trips~broil", "after=load~bake~bake_element~dead"},
		{"another visit", "note=trips~broil&done=x&date=2026-05-01&after=trips~bake&close=1", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, header := ask(t, http.MethodGet, at+"/?"+c.query, nil)
			got, _ := url.ParseQuery(strings.TrimPrefix(header.Get("Location"), "/?"))
			want, _ := url.ParseQuery(c.want)
			if !cmp.Equal(got, want) {
				t.Errorf("leads to %v, want %v", got, want)
			}
		})
	}
}

// The diagram carries the suspects of the visit, and is another one as soon as
// they are others.
func TestSuspectsOnTheDiagram(t *testing.T) {
	netlist := demo(t)
	at := serve(t, fileSource(netlist), page.Options{Library: desk.Library{VisitFile: visitFile}})
	if html := get(t, at+"/drawing?mode=broil"); strings.Contains(html, "hatch-") {
		t.Error("suspects without a visit")
	}
	c, err := netlists.ReadFile(netlist)
	if err != nil {
		t.Fatal(err)
	}
	for _, notes := range [][]string{{"load~broil~broil_element~dead"}, {"load~broil~broil_element~dead", "load~bake~bake_element~normal"}} {
		shown := get(t, at+"/drawing?mode=broil&"+url.Values{"note": notes}.Encode())
		job := fileOn(t, visitOn(t, at, visitAddress("", nil, notes...)), netlist)
		compared := 0
		for _, chance := range job.Engine.PartChance() {
			id, err := c.FindPart(chance.Name)
			if err != nil || len(c.Part(id).Branches) != 1 {
				continue // of several branches each has its own share
			}
			if chance.P < 0.011 {
				break
			}
			compared++
			want := "Suspect: " + c.Label(c.Part(id).Branches[0]) + ", " + percentOf(chance.P)
			if !strings.Contains(shown, want) {
				t.Errorf("after %v the diagram lacks %q", notes, want)
			}
		}
		if compared == 0 {
			t.Fatalf("after %v nothing was compared", notes)
		}
	}
}
