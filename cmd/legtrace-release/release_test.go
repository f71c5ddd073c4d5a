package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func example(t *testing.T) (*release, map[string][]byte) {
	t.Helper()
	r := &release{out: t.TempDir(), version: "0.20260501.101112", date: time.Date(2026, 5, 1, 10, 11, 12, 0, time.UTC)}
	return r, map[string][]byte{"legtrace": []byte("program"), "legtrace-chart": []byte("another"), "LICENSE": []byte("MIT"), "man/legtrace.1": []byte(".TH"),
		"completions/legtrace.bash": []byte("complete"), "help/index.html": []byte("<h1>"), "licences/a/legtrace/LICENSE": []byte("BSD"), "START.txt": []byte("open")}
}

// An archive has every file, is the same each time, and lets only programs run.
func TestArchives(t *testing.T) {
	for _, s := range systems() {
		r, files := example(t)
		names, err := r.pack(s, files)
		if err != nil {
			t.Fatal(err)
		}
		before := map[string][]byte{}
		if err := take(before, "", r.out, "*"); err != nil {
			t.Fatal(err)
		}
		if _, err := r.pack(s, files); err != nil {
			t.Fatal(err)
		}
		after := map[string][]byte{}
		if err := take(after, "", r.out, "*"); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(before, after); diff != "" {
			t.Errorf("%v: packed twice:\n%.500s", s, diff)
		}
		top := strings.TrimSuffix(strings.TrimSuffix(names[0], ".tar.gz"), ".zip")
		got := map[string][]byte{}
		if s.os == "windows" {
			z, err := zip.NewReader(bytes.NewReader(after[names[0]]), int64(len(after[names[0]])))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range z.File {
				in, err := f.Open()
				if err != nil {
					t.Fatal(err)
				}
				got[strings.TrimPrefix(f.Name, top+"/")], _ = io.ReadAll(in)
			}
		} else {
			z, err := gzip.NewReader(bytes.NewReader(after[names[0]]))
			if err != nil {
				t.Fatal(err)
			}
			for in := tar.NewReader(z); ; {
				h, err := in.Next()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				if h.Typeflag == tar.TypeDir {
					continue
				}
				name := strings.TrimPrefix(h.Name, top+"/")
				got[name], _ = io.ReadAll(in)
				if runs := h.Mode&0o111 != 0; runs != (name == "legtrace" || name == "legtrace-chart") || !h.ModTime.Equal(r.date) {
					t.Errorf("%v: %s has mode %o, of %v", s, name, h.Mode, h.ModTime)
				}
			}
		}
		if diff := cmp.Diff(files, got); diff != "" {
			t.Errorf("%v: %s", s, diff)
		}
	}
}

// The package is one that Debian's own tool reads.
func TestDebianPackage(t *testing.T) {
	if _, err := exec.LookPath("dpkg-deb"); err != nil {
		t.Skip("dpkg-deb reads the package, and is not here")
	}
	r, files := example(t)
	names, err := r.pack(system{"linux", "arm64"}, files)
	if err != nil {
		t.Fatal(err)
	}
	deb := filepath.Join(r.out, names[1])
	fields, err := exec.Command("dpkg-deb", "--field", deb, "Package", "Version", "Architecture").CombinedOutput()
	if want := "Package: legtrace\nVersion: 0.20260501.101112\nArchitecture: arm64\n"; err != nil || string(fields) != want {
		t.Errorf("%v %s", err, fields)
	}
	root := t.TempDir()
	if out, err := exec.Command("dpkg-deb", "--extract", deb, root).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	for name, want := range map[string]string{"usr/bin/legtrace": "program", "usr/share/doc/legtrace/copyright": "MIT", "usr/share/bash-completion/completions/legtrace": "complete"} {
		if got, err := os.ReadFile(filepath.Join(root, name)); err != nil || string(got) != want {
			t.Errorf("%s: %q %v", name, got, err)
		}
	}
	if _, err := os.Stat(filepath.Join(root, "usr/share/man/man1/legtrace.1.gz")); err != nil {
		t.Error(err)
	}
}

// The list of what is linked has the modules that the go command recorded: here
// in this test's own program.
func TestBill(t *testing.T) {
	r, _ := example(t)
	text, err := r.bill([]string{os.Args[0]}, []string{"legtrace"})
	if err != nil {
		t.Fatal(err)
	}
	var bill struct {
		SpecVersion  string
		Components   []struct{ Name, Version, PURL string }
		Dependencies []struct{ DependsOn []string }
	}
	if err := json.Unmarshal(text, &bill); err != nil {
		t.Fatal(err)
	}
	if bill.SpecVersion != "1.6" || len(bill.Dependencies) != 1 || len(bill.Dependencies[0].DependsOn) != len(bill.Components) {
		t.Errorf("%s", text)
	}
	for _, c := range bill.Components {
		if c.Version == "" || c.Name != "std" && c.PURL != "pkg:golang/"+c.Name+"@"+c.Version {
			t.Errorf("%+v", c)
		}
	}
	if !strings.Contains(string(text), "pkg:golang/github.com/yuin/goldmark@") {
		t.Errorf("a library of this program is missing:\n%s", text)
	}
}
