package browsertest

import (
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/circuit/visit/visittest"
	"legtrace/render/report"
)

// Ask asks a page, served or saved, for a piece of itself, and returns it with
// the state that its address leads to.
type Ask func(path, query string) (html, state string)

var (
	proposed = regexp.MustCompile(`<article class="test" data-test="([^"]*)" data-trial="([^"]*)"`)
	standing = regexp.MustCompile(`(?s)id="suspects-h"[^>]*>(.*?)</h3>`)
	proven   = regexp.MustCompile(`(?s)id="proof-said">(.*?)</p>`)
	looked   = regexp.MustCompile(`data-of="([^"]*)"`)
)

// Walk goes through a journey on a page by what its forms and links send, and
// wants it to propose, conclude and judge what the engine does, in its words.
func Walk(t *testing.T, ask Ask, c *circuit.Circuit, way visittest.Journey) {
	t.Helper()
	want := visittest.Play(t, c, way)
	state := ""
	send := func(pairs ...string) string {
		q, err := url.ParseQuery(strings.TrimPrefix(state, "?"))
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(pairs); i += 2 {
			q.Add(pairs[i], pairs[i+1])
		}
		shown, next := ask("/visit", "?"+q.Encode())
		state = next
		return shown
	}
	shown := send("tell", way.Complaint)
	search := func(all []visittest.Asked, end visit.Step) {
		t.Helper()
		for _, asked := range all {
			if stands := text(standing, shown); stands != "Suspects" {
				t.Fatalf("%s: it says %q before %s", way.Name, stands, asked.Test)
			}
			m := proposed.FindStringSubmatch(shown)
			if m == nil || html.UnescapeString(m[1]) != asked.Test {
				t.Fatalf("%s: proposes %v, want %s", way.Name, m, asked.Test)
			}
			place, blocked := strings.CutPrefix(asked.Answer, "can't reach ")
			switch {
			case asked.Answer == "skip":
				shown = send("skip", asked.Test)
			case blocked:
				shown = send("reach", asked.Test, "at", place)
			case m[2] == "true":
				shown = send(looks("trial", asked, shown[strings.Index(shown, m[0]):])...)
			default:
				shown = send("test", asked.Test, "answer", asked.Answer)
			}
		}
		if got, want := text(standing, shown), report.SearchWords(c, end); got != want {
			t.Errorf("%s: it ends in %q, want %q", way.Name, got, want)
		}
	}
	search(want.Asked, want.End)
	shown = send("done", visittest.Done)
	for i, asked := range want.Checks {
		if want.Proof.Checks[i].Trial {
			shown = send(looks("checked", asked, shown[strings.Index(shown, `data-test="`+html.EscapeString(asked.Test)):])...)
		} else {
			shown = send("check", asked.Test, "answer", asked.Answer)
		}
	}
	if got, want := text(proven, shown), report.ProofWords(want.Proof); got != want {
		t.Errorf("%s: the proof comes to %q, want %q", way.Name, got, want)
	}
	if want.Proof.Bad {
		shown = send("on", "1")
		search(want.Again, want.Last)
	}
}

// looks is what the form of a trial sends for letters.
func looks(as string, asked visittest.Asked, form string) []string {
	mode := strings.TrimPrefix(asked.Test, "trial~")
	out := []string{as, mode}
	switch asked.Answer {
	case "trips", "chatters":
		if as == "trial" {
			return []string{"said", asked.Answer, "in", mode}
		}
		return append(out, "is", ":"+asked.Answer)
	}
	names := looked.FindAllStringSubmatch(form, len(asked.Answer))
	for i, letter := range asked.Answer {
		if i < len(names) {
			out = append(out, "is", html.UnescapeString(names[i][1])+":"+visit.StateOf(letter))
		}
	}
	return out
}

func text(at *regexp.Regexp, shown string) string {
	m := at.FindStringSubmatch(shown)
	if m == nil {
		return ""
	}
	return html.UnescapeString(strings.TrimSpace(m[1]))
}
