package page_test

import (
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/visit/visittest"
	"legtrace/netlists"
	"legtrace/render/page"
	"legtrace/render/page/browsertest"
)

// The served page proposes, concludes and judges as the engine does, in the
// words of the command line, which goes through all journeys: here those with
// something out of the way.
func TestVisitsOnThePage(t *testing.T) {
	for _, way := range visittest.Journeys() {
		rare := way.Blocked || way.Skip > 0 || way.Rest != ""
		if !circuittest.Nightly && !rare || testing.Short() && !way.Blocked {
			continue
		}
		t.Run(way.Name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "machine.toml")
			if err := os.WriteFile(file, []byte("from = \"catalog:"+way.Machine+"\"\nname = \"machine\"\n"), 0o666); err != nil {
				t.Fatal(err)
			}
			c, err := netlists.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			at := serve(t, fileSource(file), page.Options{})
			browsertest.Walk(t, func(path, query string) (string, string) {
				_, body, header := ask(t, http.MethodGet, at+path+query, nil)
				return body, header.Get("Legtrace-State")
			}, c, way)
		})
	}
}
