package offline

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

// Engine is what a saved page needs to answer.
type Engine struct {
	// Packed is the engine for WebAssembly, packed by gzip.
	Packed []byte
	// Script starts it: part of the Go that built it. Licences has what the
	// authors of all that is linked ask to be said.
	Script, Licences []byte
}

// pkg is the program that is built.
const pkg = "./cmd/legtrace-wasm"

// ErrNoEngine is returned where there is none and none can be built.
var ErrNoEngine = errors.New("this program was built without the engine of saved pages: take a release,\nor build it from a checkout after: go generate ./render/page/offline")

// parts are an engine's files.
func (e *Engine) parts() map[string]*[]byte {
	return map[string]*[]byte{"engine.wasm.gz": &e.Packed, "wasm_exec.js": &e.Script, "licences.txt": &e.Licences}
}

// Embedded is the engine that was built into this program, or [ErrNoEngine].
func Embedded() (*Engine, error) {
	e := &Engine{}
	for name, data := range e.parts() {
		var err error
		if *data, err = fs.ReadFile(files, "built/"+name); err != nil {
			return nil, ErrNoEngine
		}
	}
	return e, nil
}

// Build builds the engine from this program's own source, in half a minute the
// first time; the go command keeps what it compiled in the user's cache.
// Equal sources and an equal Go give equal bytes, wherever they are built. The
// error is [ErrNoEngine] where Go or the source is not at hand.
func Build(ctx context.Context) (*Engine, error) {
	source, err := sourceFolder(ctx)
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "engine")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	goRoot, err := goTool(ctx, source, wasm, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	root := strings.TrimSpace(string(goRoot))
	lean, counted, err := leaner(ctx, source, root, dir)
	if err != nil {
		return nil, err
	}
	binary := filepath.Join(dir, "engine.wasm")
	build := slices.Concat([]string{"build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", binary, lean}, inlined, []string{pkg})
	if _, err := goTool(ctx, source, wasm, build...); err != nil {
		return nil, err
	}
	raw, err := os.ReadFile(binary)
	if err != nil {
		return nil, err
	}
	if raw, err = joined(raw, counted); err != nil {
		return nil, err
	}
	e := &Engine{}
	if e.Packed, err = zip(raw); err != nil {
		return nil, err
	}
	if e.Script, err = os.ReadFile(filepath.Join(root, "lib", "wasm", "wasm_exec.js")); err != nil {
		return nil, err
	}
	if e.Licences, err = licences(ctx, source, root); err != nil {
		return nil, err
	}
	return e, nil
}

// Write puts the engine in a folder, for the next build of the program.
func (e *Engine) Write(dir string) error {
	for name, data := range e.parts() {
		if err := os.WriteFile(filepath.Join(dir, name), *data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// sourceFolder is the module that this program was built from, or the one that
// it is started in.
func sourceFolder(ctx context.Context) (string, error) {
	var folders []string
	if _, file, _, ok := runtime.Caller(0); ok && filepath.IsAbs(file) { // not built with -trimpath
		folders = append(folders, filepath.Join(filepath.Dir(file), "../../.."))
	}
	mod, err := goTool(ctx, "", nil, "env", "GOMOD")
	if err != nil {
		return "", err
	}
	for _, folder := range append(folders, filepath.Dir(strings.TrimSpace(string(mod)))) {
		if _, err := os.Stat(filepath.Join(folder, pkg)); err == nil {
			return folder, nil
		}
	}
	return "", ErrNoEngine
}

// inlined has calls inlined where circuits are solved and in what is under all, and
// nowhere else: a tenth fewer bytes to send. In processor time that costs less than
// one run differs from the next. The last flag that fits counts.
var inlined = []string{"-gcflags=all=-l", "-gcflags=runtime=", "-gcflags=internal/...=", "-gcflags=math/...=",
	"-gcflags=slices=", "-gcflags=maps=", "-gcflags=cmp=", "-gcflags=legtrace/circuit/phasor=", "-gcflags=legtrace/circuit/settle="}

// wasm is the system that the engine is built for.
var wasm = []string{"GOOS=js", "GOARCH=wasm"}

// goTool runs the go command, with nothing of this computer's settings that would
// show in what it makes.
func goTool(ctx context.Context, dir string, env []string, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = dir
	cmd.Env = append(append(os.Environ(), "CGO_ENABLED=0", "GOFLAGS=", "GOWASM=", "GOEXPERIMENT=", "GOTOOLCHAIN=local", "GOWORK=off"), env...)
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = time.Second / 2
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, exec.ErrNotFound):
		return nil, ErrNoEngine
	case err != nil:
		return nil, fmt.Errorf("the engine of the saved page cannot be built: go %s: %w: %s", args[0], err, complaint.Bytes())
	}
	return out, nil
}

// zip packs data.
func zip(data []byte) ([]byte, error) {
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	_, err = z.Write(data)
	err = errors.Join(err, z.Close())
	return packed.Bytes(), err
}
