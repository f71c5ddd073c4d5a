package visit_test

import (
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// Whatever the engine's note can say, a visit's note keeps and gives back.
func TestAVisitsNoteKeepsAllThatTheEnginesSays(t *testing.T) {
	var n suspect.Note
	v := reflect.ValueOf(&n).Elem()
	for i := range v.NumField() {
		switch f := v.Field(i); f.Kind() {
		case reflect.String:
			f.SetString(v.Type().Field(i).Name)
		case reflect.Bool:
			f.SetBool(true)
		default:
			t.Fatalf("%s is neither text nor a yes", v.Type().Field(i).Name)
		}
	}
	if diff := cmp.Diff(n, visit.NoteOf(n).Seen()); diff != "" {
		t.Error(diff)
	}
}

// Who says how warm an oven gets has used the burners and does not complain of them; of
// a tank nobody knows which element heats (common practice, no source).
func TestWhoTellsOfDegreesIsSilentOfTheRest(t *testing.T) {
	for _, c := range []struct {
		machine string
		note    visit.Note
		want    string
	}{
		{"range-mechanical", visit.Note{Told: "runs_cold"}, "bake_element broil_element"},
		{"oven-double", visit.Note{Told: "runs_hot", Load: "lower_bake"}, "lower_bake"},
		{"water-heater", visit.Note{Told: "runs_out"}, ""},
		{"water-heater", visit.Note{Slow: true, Mode: "cold_tank"}, ""},
	} {
		notes := visit.Quiet(machine(t, c.machine), []visit.Note{c.note})
		if got := notes[len(notes)-1].Quiet; got != c.want {
			t.Errorf("%s, %+v: of all but %q nothing is said, want %q", c.machine, c.note, got, c.want)
		}
	}
}
