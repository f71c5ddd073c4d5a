package offline_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/render/page/offline"
	"legtrace/render/page/offline/building"
)

const renew = "run: go generate ./render/page/offline"

func record(t *testing.T) (building.Record, []byte) {
	t.Helper()
	engine, err := os.ReadFile(building.EngineFile)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(building.RecordFile)
	if err != nil {
		t.Fatal(err)
	}
	var r building.Record
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r, engine
}

func TestEngineIsOfTheseSources(t *testing.T) {
	r, engine := record(t)
	if got := building.Hash(engine); got != r.Engine {
		t.Errorf("%s is %s, its record says %s: %s", building.EngineFile, got, r.Engine, renew)
	}
	sources, err := building.Sources(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if sources != r.Sources {
		t.Errorf("the engine was built from other sources: %s", renew)
	}
}

func TestEngineBuiltAnewIsTheSame(t *testing.T) {
	r, engine := record(t)
	if testing.Short() {
		t.Skip("builds the engine")
	}
	if r.Go != runtime.Version() {
		t.Skipf("the engine was built by %s, this is %s", r.Go, runtime.Version())
	}
	anew, err := building.Engine(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(anew, engine) {
		t.Errorf("built anew the engine has %d bytes and hash %s, embedded are %d and %s: %s", len(anew), building.Hash(anew), len(engine), building.Hash(engine), renew)
	}
	dir := t.TempDir()
	if err := building.Write(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{building.ScriptFile, building.LicenceFile, building.RecordFile} {
		want, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(string(got), "\n")); diff != "" {
			t.Errorf("%s: %s\n%.2000s", name, renew, diff)
		}
	}
}

// A saved page is the same file whenever it is saved, and leaves nothing to be
// fetched.
func TestSavedPageIsWhole(t *testing.T) {
	c := machine(t, demo)
	html, err := offline.Save(t.Context(), c, "range.toml")
	if err != nil {
		t.Fatal(err)
	}
	again, err := offline.Save(t.Context(), c, "range.toml")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(html, again) {
		t.Error("saved twice, the page differs")
	}
	for _, never := range []string{` src="`, `href="/`, "https:", "@import", "url(", "unsafe-inline", "'unsafe-eval"} {
		if at := strings.Index(string(html), never); at >= 0 {
			t.Errorf("the page has %q: ...%.200s", never, html[max(0, at-80):])
		}
	}
}
