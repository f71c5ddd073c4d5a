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
