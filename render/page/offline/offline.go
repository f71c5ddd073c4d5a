// Package offline writes the page as one file that needs no legtrace and no
// network: the page as the machine stands when it is saved, and the engine
// itself, as WebAssembly, which answers from then on as the server does.
//
// [Save] writes it. The engine is cmd/legtrace-wasm, [Embedded] in a release and
// otherwise made by [Build]. What the machine needs besides travels as package
// parcel has it. The scripts are those of package desk, but for the one that
// knows where answers come from: assets/offline.js instead of served.js.
package offline

import (
	"bytes"
	"context"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/url"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/render/page/desk"
	"legtrace/render/page/offline/parcel"
)

//go:generate go run ./make

//go:embed built assets
var files embed.FS

// file reads what is embedded. It panics where there is none of that name.
func file(name string) []byte {
	b, err := fs.ReadFile(files, name)
	if err != nil {
		panic(err) // it is embedded
	}
	return b
}

// Page is what is saved.
type Page struct {
	// Machine is shown where none is chosen, and File what the person calls its
	// file; nil shows what the library has.
	Machine *circuit.Circuit
	File    string
	Library desk.Library
	// Alone saves the one machine and no other.
	Alone bool
}

// Save writes a page.
func Save(ctx context.Context, e *Engine, p Page) ([]byte, error) {
	if p.Alone {
		p.Library = p.Library.Alone()
	}
	shop := desk.NewShop(p.Machine, p.Library)
	page, err := shop.Answer(ctx, desk.Request{Path: "/", File: p.File, All: true})
	if err != nil {
		return nil, err
	}
	var base *circuit.Circuit
	if p.Machine != nil && p.Library.Base != nil {
		base = p.Library.Base("", "")
	}
	machine, err := pack(parcel.New(p.Machine, base, p.File, p.Alone))
	if err != nil {
		return nil, err
	}
	known, err := known(ctx, shop, p)
	if err != nil {
		return nil, err
	}
	answers, err := packed(known)
	if err != nil {
		return nil, err
	}
	in := inliner{text: page.Body, load: func(path string) ([]byte, error) {
		if asset, ok := assetAt(path); ok {
			return asset, nil
		}
		a, err := shop.Answer(ctx, desk.Request{Path: path, File: p.File})
		return a.Body, err
	}}
	if err := in.styles(); err != nil {
		return nil, err
	}
	in.data("known", packedKind, base64.StdEncoding.EncodeToString(answers))
	if err := in.scripts(); err != nil {
		return nil, err
	}
	in.data("engine-script", "text/plain", string(e.start()))
	in.data("machine", packedKind, machine)
	in.data("engine", packedKind, text(e.Packed))
	in.allow(e.start())
	return in.page()
}

// atFirst are the states that nobody has set anything in. The page has them worked out,
// and of every machine what a visit may begin with: who opens it says what the machine
// does while the engine starts.
var atFirst = []string{"?", "?door=explore", "?door=learn"}

const toFind = "?door=find"

// aVisit names a visit and its day in an address. The page has its own in their place.
const aVisit = "&visit=VISIT-NAMED&date=2000-01-01"

// known are a page's answers by path and state, without the engine: to states atFirst
// and, by the address that has aVisit, to Find with a machine.
func known(ctx context.Context, shop *desk.Shop, p Page) (map[string]string, error) {
	find := toFind
	if p.Machine != nil {
		find += aVisit
	}
	queries := append(slices.Clone(atFirst), find)
	if p.Library.List != nil {
		for _, e := range p.Library.List() {
			queries = append(queries, "?machine="+url.QueryEscape(e.Name)+"&"+toFind[1:]+aVisit)
		}
	}
	out := map[string]string{}
	for _, query := range queries {
		paths := []string{"/bench"}
		if strings.HasSuffix(query, aVisit) {
			paths = append(paths, "/visit")
		}
		for _, path := range paths {
			a, err := shop.Answer(ctx, desk.Request{Path: path, Query: desk.Query(query), File: p.File})
			if err != nil {
				return nil, err
			}
			if "?"+a.State == query {
				out[path+query] = string(a.Body)
			}
		}
	}
	return out, nil
}

// packedKind is the type of what is packed by gzip and written as [text]: to a
// browser no script.
const packedKind = "application/octet-stream"

// start is the script that starts the engine, wherever it runs; the licences are put
// before it.
func (e *Engine) start() []byte {
	return slices.Concat([]byte("/*\n"), e.Licences, []byte("*/\n"), lean(e.Script), lean(file("assets/engine.js")))
}

// lean leaves out of a script what nobody reads in a saved page: lines of comment, which
// may name a host, and what lines begin with.
func lean(script []byte) []byte {
	var b bytes.Buffer
	for line := range bytes.Lines(script) {
		if line = bytes.TrimLeft(line, " \t"); !bytes.HasPrefix(line, []byte("//")) {
			b.Write(line)
		}
	}
	return b.Bytes()
}

// pack writes data as text that a page can hold.
func pack(data any) (string, error) {
	b, err := packed(data)
	return text(b), err
}

func packed(data any) ([]byte, error) {
	plain, err := json.Marshal(data)
	if err != nil {
		return nil, err
	}
	return zip(plain)
}

// text writes data as text of a page, after its length: seven bits a character, the
// first bit first. That is 1.146 bytes for one, where base64 has 1.33. What a browser
// would read otherwise, or end the text at ("</", "<!"), has a character from 128 on in
// its place, of two bytes, which carries as many bits more as there is room for.
func text(data []byte) string {
	var out strings.Builder
	fmt.Fprintf(&out, "%d:", len(data))
	held, bits, at, left := 0, 0, 0, 8*len(data)
	take := func(n int) int {
		left -= n
		for ; bits < n; bits += 8 {
			held <<= 8
			if at < len(data) {
				held |= int(data[at])
			}
			at++
		}
		bits -= n
		v := held >> bits
		held &= 1<<bits - 1
		return v
	}
	for before := 0; left > 0; {
		c := take(7)
		switch {
		case c == 0:
			c = 128 + take(6)
		case c == '\r':
			c = 192 + take(5)
		case before == '<' && c == '/':
			c = 224 + take(4)
		case before == '<' && c == '!':
			c = 240 + take(4)
		}
		out.WriteRune(rune(c))
		before = c
	}
	return out.String()
}
