// Package offline writes the page as one file that needs no legtrace and no
// network: the page as the machine stands when it is saved, and the engine
// itself, as WebAssembly, which answers from then on as the server does.
//
// [Save] is all there is. The engine is package engine, made with
//
//	go generate ./render/page/offline
//
// and embedded here; engine.json records from which sources and by which Go,
// and a test compares. What the machine needs besides travels as package parcel
// has it. The scripts are those of package desk, but for the one that knows where
// answers come from: assets/offline.js instead of served.js.
package offline

import (
	"bytes"
	"compress/gzip"
	"context"
	"embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"

	"legtrace/circuit"
	"legtrace/render/page/desk"
	"legtrace/render/page/offline/parcel"
)

//go:generate go run ./make

//go:embed engine.wasm.gz engine.json wasm_exec.js wasm_exec.LICENSE assets
var files embed.FS

// file reads what is embedded. It panics where there is none of that name.
func file(name string) []byte {
	b, err := fs.ReadFile(files, name)
	if err != nil {
		panic(err) // it is embedded
	}
	return b
}

// Save writes the page of a machine; name is what the person calls its file.
func Save(ctx context.Context, c *circuit.Circuit, name string) ([]byte, error) {
	d := desk.New(c)
	noting, p := parcel.New(ctx, c, name)
	page, err := d.Answer(noting, desk.Request{Path: "/", File: name})
	if err != nil {
		return nil, err
	}
	machine, err := pack(p)
	if err != nil {
		return nil, err
	}
	in := inliner{text: page.Body, load: func(path string) ([]byte, error) {
		if asset, ok := assetAt(path); ok {
			return asset, nil
		}
		a, err := d.Answer(noting, desk.Request{Path: path, File: name})
		return a.Body, err
	}}
	if err := in.styles(); err != nil {
		return nil, err
	}
	if err := in.scripts(); err != nil {
		return nil, err
	}
	in.data("engine-script", "text/plain", string(engineScript()))
	in.data("machine", packedKind, machine)
	in.data("engine", packedKind, base64.StdEncoding.EncodeToString(file("engine.wasm.gz")))
	in.allow(engineScript())
	return in.page()
}

// packedKind is the type of what is packed by gzip and written as base64: to a
// browser no script.
const packedKind = "application/octet-stream"

// engineScript starts the engine, wherever it runs. Lines of comment are left
// out, so that a saved page names no host; the licence is put before it.
func engineScript() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "/*\n%s*/\n", file("wasm_exec.LICENSE"))
	for _, name := range []string{"wasm_exec.js", "assets/engine.js"} {
		for line := range bytes.Lines(file(name)) {
			if !bytes.HasPrefix(bytes.TrimSpace(line), []byte("//")) {
				b.Write(line)
			}
		}
	}
	return b.Bytes()
}

// pack writes data as text that a page can hold.
func pack(data any) (string, error) {
	var w bytes.Buffer
	z, err := gzip.NewWriterLevel(&w, gzip.BestCompression)
	if err != nil {
		return "", err
	}
	if err := errors.Join(json.NewEncoder(z).Encode(data), z.Close()); err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(w.Bytes()), nil
}
