// Package building builds the engine of the saved page for WebAssembly, and
// tells from which sources: [Write] renews what package offline embeds, and its
// tests ask [Sources] and [Engine] whether that is fresh.
package building

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/google/renameio/v2"
)

// Package is the program that is built.
const Package = "legtrace/render/page/offline/engine"

// Names of what [Write] writes.
const (
	EngineFile  = "engine.wasm.gz"
	RecordFile  = "engine.json"
	ScriptFile  = "wasm_exec.js"
	LicenceFile = "wasm_exec.LICENSE"
)

// Record tells what an engine was built from.
type Record struct {
	// Go is the version of the compiler.
	Go string `json:"go"`
	// Sources is a hash over the sources of our own packages and the versions
	// of all others, Engine one over the engine as it is embedded.
	Sources string `json:"sources"`
	Engine  string `json:"engine"`
}

// Write builds the engine and writes it to a folder, with the script of the
// same Go that starts it and a record of what it was built from.
func Write(ctx context.Context, dir string) error {
	engine, err := Engine(ctx)
	if err != nil {
		return err
	}
	r := Record{Go: runtime.Version(), Engine: Hash(engine)}
	if r.Sources, err = Sources(ctx); err != nil {
		return err
	}
	record, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	files := map[string][]byte{EngineFile: engine, RecordFile: append(record, '\n')}
	root, err := goTool(ctx, "env", "GOROOT")
	if err != nil {
		return err
	}
	for name, from := range map[string]string{ScriptFile: "lib/wasm/wasm_exec.js", LicenceFile: "LICENSE"} {
		if files[name], err = os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), filepath.FromSlash(from))); err != nil {
			return err
		}
	}
	for name, data := range files {
		if err := renameio.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// Engine builds the engine, packed. Equal sources and an equal Go give equal
// bytes, wherever they are built.
func Engine(ctx context.Context) ([]byte, error) {
	dir, err := os.MkdirTemp("", "engine")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "engine.wasm")
	if _, err := goTool(ctx, "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", out, Package); err != nil {
		return nil, err
	}
	raw, err := os.ReadFile(out)
	if err != nil {
		return nil, err
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	_, err = z.Write(raw)
	if err := errors.Join(err, z.Close()); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}

// listed is what go list tells of a package.
type listed struct {
	ImportPath, Dir     string
	Standard            bool
	GoFiles, EmbedFiles []string
	Module              *struct {
		Path, Version, Sum string
		Main               bool
		Replace            *struct{ Path, Version string }
	}
}

// Sources hashes what the engine is built from: every file of our own packages,
// and the name and checksum of every other module that it needs.
func Sources(ctx context.Context) (string, error) {
	list, err := goTool(ctx, "list", "-deps", "-json=ImportPath,Dir,Standard,GoFiles,EmbedFiles,Module", Package)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	modules := map[string]bool{}
	for d := json.NewDecoder(bytes.NewReader(list)); ; {
		var p listed
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			return "", err
		}
		switch {
		case p.Standard || p.Module == nil:
		case !p.Module.Main && p.Module.Replace == nil:
			modules[fmt.Sprintln("module", p.Module.Path, p.Module.Version, p.Module.Sum)] = true
		default:
			if err := p.hash(h); err != nil {
				return "", err
			}
		}
	}
	names := make([]string, 0, len(modules))
	for m := range modules {
		names = append(names, m)
	}
	slices.Sort(names)
	fmt.Fprint(h, names)
	return hex.EncodeToString(h.Sum(nil)), nil
}

// hash adds the files of a package.
func (p *listed) hash(h io.Writer) error {
	for _, name := range slices.Concat(p.GoFiles, p.EmbedFiles) {
		data, err := os.ReadFile(filepath.Join(p.Dir, name))
		if err != nil {
			return err
		}
		fmt.Fprintln(h, p.ImportPath, filepath.ToSlash(name), Hash(data))
	}
	return nil
}

// Hash names a file's content.
func Hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// goTool runs the go command for WebAssembly, with nothing of this computer's
// settings that would show in what it makes.
func goTool(ctx context.Context, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0", "GOFLAGS=", "GOWASM=", "GOEXPERIMENT=", "GOTOOLCHAIN=local")
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go %s: %w: %s", args[0], err, complaint.Bytes())
	}
	return out, nil
}
