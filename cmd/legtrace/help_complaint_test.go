package main

import (
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
)

// Every example of the page on complaints is understood as it is printed, on one machine
// at least, and fits something there by itself; every example of a reading is taken.
func TestEveryExampleOfTheHelpOnComplaints(t *testing.T) {
	page, err := os.ReadFile("help/complaint.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(page), "## Of one load")
	said, read, _ := strings.Cut(text, "## Readings that are not sure")
	examples := regexp.MustCompile("`([^`]+)`")
	engines := map[string]*suspect.Engine{}
	why := func(name, said string) string {
		e := engines[name]
		if e == nil {
			c, err := netlists.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			if e, err = suspect.New(c, suspect.Options{Order: 1}); err != nil {
				t.Fatal(err)
			}
			engines[name] = e
		}
		e.Forget()
		notes, heard, _, err := complaints.ListenTo(e.Circuit()).Complaint(said)
		if err != nil || len(heard.Unknown) > 0 {
			return strings.Join(append(heard.Unknown, errorText(err)), " ")
		}
		for _, n := range notes {
			ev, err := n.Evidence(e.Circuit())
			if err != nil {
				return err.Error()
			}
			if err := e.Add(t.Context(), ev); errors.Is(err, suspect.ErrNothingFits) {
				return "fits nothing"
			} else if err != nil {
				t.Fatal(err)
			}
		}
		return ""
	}
	for _, x := range examples.FindAllStringSubmatch(said, -1) {
		example, tried := strings.Join(strings.Fields(x[1]), " "), []string{}
		for _, name := range []string{"range-electronic", "dryer", "water-heater", "range-mechanical", "oven-gas"} {
			no := why(name, example)
			if no == "" {
				tried = nil
				break
			}
			tried = append(tried, name+": "+no)
		}
		if len(tried) > 0 {
			t.Errorf("%q: %s", example, strings.Join(tried, "; "))
		}
	}
	c := engines["range-electronic"].Circuit()
	for _, answer := range []string{"about 12", "12, not sure", "OL, not sure", "jumps between 3 and 40", "jumps between 22 and OL"} {
		if !strings.Contains(read, "`"+answer+"`") {
			t.Errorf("the page does not tell of %q", answer)
		}
		if n, err := visit.Reading(c, "ohms bake_element = "+answer, ""); err != nil {
			t.Errorf("%q: %v", answer, err)
		} else if _, err := n.Evidence(c); err != nil {
			t.Errorf("%q: %v", answer, err)
		}
	}
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
