package rank

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestBookAnswersAgain(t *testing.T) {
	edges := []Edge{{From: 0, To: 1}, {From: 1, To: 2, Weight: 3}}
	var book Book
	want, err := Layers(book.With(context.Background()), 3, edges)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(&book)
	if err != nil {
		t.Fatal(err)
	}
	// Its answers, and not those of Graphviz, are what is then given.
	text = []byte(strings.ReplaceAll(string(text), `"Column":2`, `"Column":7`))
	var sent Book
	if err := json.Unmarshal(text, &sent); err != nil {
		t.Fatal(err)
	}
	want[2].Column = 7
	for range 2 {
		got, err := Layers(sent.With(context.Background()), 3, edges)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("the book answers otherwise:\n%s", diff)
		}
		got[0].Column = 9 // which is the caller's to change
	}
	if _, err := Layers(sent.With(context.Background()), 3, edges[:1]); err != nil || sent.Len() != 2 {
		t.Errorf("another question: %v, the book has %d", err, sent.Len())
	}
}

func TestBookOfAnotherGraph(t *testing.T) {
	edges := []Edge{{From: 0, To: 1}}
	book := Book{kept: map[string][]Place{question(2, edges): {{Column: 5}}}}
	got, err := Layers(book.With(context.Background()), 2, edges)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || got[0].Column != 0 {
		t.Errorf("an answer for one node of two gives %v", got)
	}
}
