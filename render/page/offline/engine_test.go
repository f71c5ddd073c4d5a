package offline_test

import (
	"bytes"
	"context"
	"errors"
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/render/page/offline"
)

// A saved page is the same file whenever it is saved, in the nightly run with its
// engine built anew, and leaves nothing to be fetched.
func TestSavedPageIsWhole(t *testing.T) {
	html, again := page(t, demo), built(t)
	if circuittest.Nightly {
		var err error
		if again, err = offline.Build(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(html, anew(t, again, demo)) {
		t.Error("saved twice, the page differs")
	}
	// What is packed may spell anything: a browser reads it as no style or script.
	read := regexp.MustCompile(`(?s)<script type="[^"]*" id="(engine|machine|known)">.*?</script>`).ReplaceAll(html, nil)
	if len(read) == len(html) {
		t.Fatal("the page has no packed engine")
	}
	for _, never := range []string{` src="`, `href="/`, "https:", "@import", "url(", "unsafe-inline", "'unsafe-eval"} {
		if at := strings.Index(string(read), never); at >= 0 {
			t.Errorf("the page has %q: ...%.200s", never, read[max(0, at-80):])
		}
	}
}

// Where Go is not at hand, what to do is said; who waits no longer is not kept.
func TestEngineThatCannotBeBuilt(t *testing.T) {
	given, stop := context.WithCancel(t.Context())
	stop()
	if _, err := offline.Build(given); !errors.Is(err, context.Canceled) {
		t.Errorf("given up, it is built: %v", err)
	}
	t.Setenv("PATH", t.TempDir())
	_, err := offline.Build(t.Context())
	if !errors.Is(err, offline.ErrNoEngine) || !strings.Contains(err.Error(), "go generate ./render/page/offline") {
		t.Errorf("without Go: %v", err)
	}
}
