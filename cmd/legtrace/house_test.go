package main

import (
	"os/exec"
	"strings"
	"testing"
)

// mayImport tells, for every package of ours by its path below the module, the
// packages of ours it may import: imports run one way. A path ending in /...
// stands for a package and all below it. The first line that fits counts. The
// commands know no electricity: of the engine they may see only what has an
// option or an answer of theirs in it.
var mayImport = []struct {
	pkg string
	may []string
}{
	{"circuit", nil},
	{"circuit/phasor", []string{"circuit"}},
	{"circuit/settle", []string{"circuit", "circuit/phasor"}},
	{"circuit/trace", []string{"circuit", "circuit/phasor", "circuit/settle"}},
	{"circuit/...", []string{"circuit/..."}},
	{"netlists", []string{"circuit/...", "netlists/complaints"}},
	{"netlists/wholefile", nil},
	{"netlists/...", []string{"netlists/...", "circuit/..."}},
	{"render/...", []string{"render/...", "circuit/..."}},
	{"cmd/legtrace-chart", []string{"cmd/legtrace-chart/alone", "netlists/wholefile"}},
	{"cmd/legtrace-chart/alone", nil},
	{"cmd/legtrace-release", []string{"render/page/offline"}},
	{"cmd/legtrace-wasm", []string{"cmd/library", "render/page/desk", "render/page/offline/parcel"}},
	{"cmd/library", []string{"netlists/...", "render/page/desk", "circuit", "circuit/visit"}},
	{"cmd/...", []string{"cmd/library", "render/...", "netlists/...", "circuit", "circuit/drill", "circuit/meter", "circuit/suspect", "circuit/trace", "circuit/visit"}},
}

func TestImportsRunOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}{{range .Imports}} {{.}}{{end}}`, "legtrace/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) < len(mayImport)-1 {
		t.Fatalf("only %d packages found:\n%s", len(lines), out)
	}
	for _, line := range lines {
		words := strings.Fields(line)
		pkg := strings.TrimPrefix(words[0], "legtrace/")
		for _, path := range words[1:] {
			if imported, ours := strings.CutPrefix(path, "legtrace/"); ours && !mayImportFrom(pkg, imported) {
				t.Errorf("%s may not import %s", pkg, imported)
			}
		}
	}
}

// TestNothingHeavyIsLinked keeps out of the program what starts an engine of
// its own whenever a program that links it starts.
func TestNothingHeavyIsLinked(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "legtrace/cmd/legtrace").Output()
	if err != nil {
		t.Fatal(err)
	}
	deps := strings.Fields(string(out))
	if len(deps) < 100 {
		t.Fatalf("only %d packages found", len(deps))
	}
	for _, dep := range deps {
		if strings.HasPrefix(dep, "github.com/goccy/go-graphviz") || strings.HasPrefix(dep, "github.com/tetratelabs/wazero") {
			t.Errorf("legtrace links %s", dep)
		}
	}
}

func mayImportFrom(pkg, imported string) bool {
	for _, rule := range mayImport {
		if !covers(rule.pkg, pkg) {
			continue
		}
		for _, may := range rule.may {
			if covers(may, imported) {
				return true
			}
		}
		return false
	}
	return false
}

func covers(pattern, pkg string) bool {
	prefix, all := strings.CutSuffix(pattern, "/...")
	return pkg == prefix || all && strings.HasPrefix(pkg, prefix+"/")
}
