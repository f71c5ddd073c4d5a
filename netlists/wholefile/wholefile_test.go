package wholefile_test

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"legtrace/netlists/wholefile"
)

func TestAFileIsReplacedAsAWhole(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.toml")
	for _, text := range []string{"first", "a second, longer", ""} {
		if err := wholefile.Write(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(name); err != nil || string(got) != text {
			t.Errorf("%q %v, want %q", got, err, text)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) != 1 {
		t.Errorf("left beside it: %q", left)
	}
	if err := wholefile.Write(filepath.Join(dir, "none", "a"), nil, 0o666); err == nil {
		t.Error("a folder that is not there takes a file")
	}
}

func TestPermissionsStay(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("its files have no such permissions")
	}
	name := filepath.Join(t.TempDir(), "a.toml")
	if err := os.WriteFile(name, nil, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := wholefile.Write(name, []byte("x"), 0o666); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(name); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("%v %v", info.Mode(), err)
	}
}

func TestALinkStaysOne(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "shared", "deep"), 0o777); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "mine.toml")
	for name, to := range map[string]string{link: filepath.Join("shared", "next.toml"), filepath.Join(dir, "shared", "next.toml"): filepath.Join("deep", "real.toml"), filepath.Join(dir, "round"): "round"} {
		if err := os.Symlink(to, name); err != nil {
			t.Skip(err) // Windows lets few make one
		}
	}
	for _, text := range [][]byte{[]byte("first"), []byte("second")} { // where nothing is yet, and again
		if err := wholefile.Write(link, text, 0o666); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(filepath.Join(dir, "shared", "deep", "real.toml")); err != nil || !bytes.Equal(got, text) {
			t.Errorf("%q %v", got, err)
		}
		if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
			t.Errorf("the link is %v %v", info.Mode(), err)
		}
	}
	if err := wholefile.Write(filepath.Join(dir, "round"), nil, 0o666); err == nil {
		t.Error("a link to itself is written to")
	}
}
