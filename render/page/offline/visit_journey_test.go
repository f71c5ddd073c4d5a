package offline_test

import (
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/visit/visittest"
	"legtrace/render/page/browsertest"
)

// The saved page proposes, concludes and judges as the engine does, in the words
// of the command line and of the served page. There the engine is a hundred times
// slower than on the command line, which goes through all of them.
func TestVisitsOnASavedPage(t *testing.T) {
	for _, way := range visittest.Journeys() {
		if !way.Light && !circuittest.Nightly {
			continue
		}
		t.Run(way.Name, func(t *testing.T) {
			b := open(t, saved(t, way.Machine), "")
			browsertest.Walk(t, b.answer, machine(t, way.Machine), way)
		})
	}
}
