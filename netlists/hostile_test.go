package netlists

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files and generated tables anew")

// Beside each broken file stands what is said of it. Look at every line of a
// difference before writing the goldens anew.
func TestWhatIsSaidOfBrokenFiles(t *testing.T) {
	t.Chdir(filepath.Join("..", "testdata", "hostile"))
	files, err := filepath.Glob("*.toml")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files, error %v", len(files), err)
	}
	for _, file := range files {
		said := "accepted\n"
		r, err := ReadFileFull(file)
		switch {
		case err != nil:
			said = err.Error() + "\n"
		case len(r.Warnings) > 0:
			said += r.Warnings.Error() + "\n"
		}
		golden := strings.TrimSuffix(file, ".toml") + ".txt"
		if *update {
			if err := os.WriteFile(golden, []byte(said), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Error(err)
			continue
		}
		if diff := cmp.Diff(string(want), said); diff != "" {
			t.Errorf("%s: -golden +said:\n%s", file, diff)
		}
	}
}
