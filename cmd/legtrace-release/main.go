// Legtrace-release makes a release of the commit at hand, in a folder: for every
// system an archive of the programs with help, manual pages, completions, licences
// and a list of what is linked; a Debian package; checksums. From one commit and
// one Go it makes the same bytes each time.
//
// Run it at the top of a checkout: go run ./cmd/legtrace-release FOLDER.
package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"legtrace/render/page/offline"
)

// programs are what a release holds.
var programs = []string{"legtrace", "legtrace-chart"}

// system is what a release is built for.
type system struct{ os, arch string }

func systems() []system {
	var list []system
	for _, name := range []string{"darwin", "linux", "windows"} {
		for _, arch := range []string{"amd64", "arm64"} {
			list = append(list, system{name, arch})
		}
	}
	return list
}

// release is one that is being made.
type release struct {
	out, work     string
	version, hash string
	date          time.Time // of the commit
	shared        map[string][]byte
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: go run ./cmd/legtrace-release FOLDER")
		os.Exit(2)
	}
	if err := produce(ctx, os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "legtrace-release: "+err.Error())
		os.Exit(1)
	}
}

// produce makes a release in a folder.
func produce(ctx context.Context, out string) error {
	work, err := os.MkdirTemp("", "release")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	r := &release{out: out, work: work}
	if err := r.identify(ctx); err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o777); err != nil {
		return err
	}
	fmt.Printf("legtrace %s, commit %s\n", r.version, r.hash)
	engine, err := offline.Build(ctx)
	if err != nil {
		return err
	}
	if err := engine.Write("render/page/offline/built"); err != nil {
		return err
	}
	if r.shared, err = r.pages(ctx); err != nil {
		return err
	}
	var sums strings.Builder
	for _, s := range systems() {
		files, err := r.build(ctx, s)
		if err != nil {
			return err
		}
		names, err := r.pack(s, files)
		if err != nil {
			return err
		}
		for _, name := range names {
			data, err := os.ReadFile(filepath.Join(out, name))
			if err != nil {
				return err
			}
			fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(data), name)
			fmt.Printf("%8.1f MB  %s\n", float64(len(data))/1e6, name)
		}
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(sums.String()), 0o666)
}

// identify names the release after its commit, which must be all there is.
func (r *release) identify(ctx context.Context) error {
	if changed, err := command(ctx, nil, "git", "status", "--porcelain"); err != nil {
		return err
	} else if changed != "" {
		return fmt.Errorf("a release is made of a commit; these differ from it:\n%s", changed)
	}
	at, err := command(ctx, nil, "git", "log", "-1", "--format=%H %ct")
	if err != nil {
		return err
	}
	hash, when, _ := strings.Cut(at, " ")
	seconds, err := strconv.ParseInt(when, 10, 64)
	if err != nil {
		return err
	}
	r.hash, r.date = hash, time.Unix(seconds, 0).UTC()
	r.version = "0." + r.date.Format("20060102.150405")
	return nil
}

// build builds the programs for a system, and puts what else belongs in its
// archive beside them: files by name.
func (r *release) build(ctx context.Context, s system) (map[string][]byte, error) {
	env := []string{"GOOS=" + s.os, "GOARCH=" + s.arch, "CGO_ENABLED=0"}
	files := map[string][]byte{}
	for name, data := range r.shared {
		files[name] = data
	}
	stamp := fmt.Sprintf("-X 'main.builtAs=%s, commit %.12s of %s'", r.version, r.hash, r.date.Format(time.DateOnly))
	if s.os == "darwin" { // where a program opens in a terminal
		files["start.command"] = []byte("#!/bin/sh\nexec \"$(dirname \"$0\")/legtrace\" page --browser\n")
	}
	var packages, binaries []string
	for _, name := range programs {
		file := filepath.Join(r.work, s.os+"-"+s.arch, name)
		target := name
		if s.os == "windows" {
			target += ".exe"
		}
		if _, err := command(ctx, env, "go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid= "+stamp, "-o", file, "./cmd/"+name); err != nil {
			return nil, err
		}
		data, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		files[target] = data
		packages, binaries = append(packages, "./cmd/"+name), append(binaries, file)
	}
	modules, err := offline.Linked(ctx, ".", env, packages...)
	if err != nil {
		return nil, err
	}
	for _, m := range modules {
		texts, err := m.Licences()
		if err != nil {
			return nil, err
		}
		for name, text := range texts {
			files["licences/"+m.Path+"/"+name] = text
		}
	}
	files["licences/github.com/goccy/go-graphviz/GRAPHVIZ"] = []byte(graphviz)
	goRoot, err := command(ctx, nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	if files["licences/go/LICENSE"], err = os.ReadFile(filepath.Join(goRoot, "LICENSE")); err != nil {
		return nil, err
	}
	files["sbom.cdx.json"], err = r.bill(binaries, programs)
	return files, err
}

// graphviz is said because the library that carries it has its own licence only.
const graphviz = `legtrace-chart holds Graphviz, as its library carries it, under the Eclipse Public
License. Its text and its source come with Graphviz itself.
`

// command runs one and returns what it says.
func command(ctx context.Context, env []string, name string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, name, args...)
	// A checkout may belong to someone else than who makes the release.
	cmd.Env = append(append(os.Environ(), "GOFLAGS=", "GIT_CONFIG_COUNT=1", "GIT_CONFIG_KEY_0=safe.directory", "GIT_CONFIG_VALUE_0=*"), env...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w", name, strings.Join(args, " "), err)
	}
	return strings.TrimSpace(string(out)), nil
}
