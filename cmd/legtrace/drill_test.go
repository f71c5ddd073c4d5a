package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The set and the answers in the help of drill class belong together: run as
// printed, the answer finds what the drill hides.
func TestTheClassInTheHelpFindsItsFault(t *testing.T) {
	files := map[string]string{}
	name := ""
	for _, line := range strings.Split(newDrillClass(&terminal{}, &outputFlags{}).Long, "\n") {
		toml, indented := strings.CutPrefix(line, "  ")
		switch {
		case !indented:
			continue
		case strings.HasPrefix(toml, "title ="):
			name = "set.toml"
		case toml == "[[answer]]":
			name = "answers.toml"
		}
		files[name] += toml + "\n"
	}
	dir := t.TempDir()
	for name, toml := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(toml), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out, said strings.Builder
	code := run(t.Context(), []string{"drill", "class", filepath.Join(dir, "set.toml"), filepath.Join(dir, "answers.toml"), "--format", "csv"}, &out, &said, false)
	if code != 0 || !strings.Contains(out.String(), "A,cold-broiler,found,") {
		t.Errorf("exit %d: %s%s", code, out.String(), said.String())
	}
}
