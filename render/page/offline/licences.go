package offline

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// Module is what others have written and a program links.
type Module struct {
	Path, Version string
	Dir           string
}

// Linked lists the modules of others that programs of ours link, by path. The
// environment says for which system.
func Linked(ctx context.Context, source string, env []string, programs ...string) ([]Module, error) {
	list, err := goTool(ctx, source, env, append([]string{"list", "-deps", "-json=Module"}, programs...)...)
	if err != nil {
		return nil, err
	}
	found := map[string]Module{}
	for d := json.NewDecoder(bytes.NewReader(list)); ; {
		var p struct {
			Module *struct {
				Module
				Main bool
			}
		}
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		if p.Module != nil && !p.Module.Main {
			found[p.Module.Path] = p.Module.Module
		}
	}
	var out []Module
	for _, m := range found {
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b Module) int { return strings.Compare(a.Path, b.Path) })
	return out, nil
}

// licenceName fits the files that a licence, or what must be said besides, stands
// in.
var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|third_party_licenses|unlicense)`)

// Licences are the texts of a module's licence, by file name.
func (m Module) Licences() (map[string][]byte, error) {
	out := map[string][]byte{}
	err := filepath.WalkDir(m.Dir, func(path string, d os.DirEntry, err error) error {
		name, _ := filepath.Rel(m.Dir, path)
		switch {
		case err != nil:
			return err
		case name == ".":
		case d.IsDir() && !licenceName.MatchString(d.Name()):
			return filepath.SkipDir
		case !d.IsDir() && (licenceName.MatchString(d.Name()) || filepath.Dir(name) != "."):
			if out[filepath.ToSlash(name)], err = os.ReadFile(path); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil && len(out) == 0 {
		err = fmt.Errorf("%s %s has no licence that could be found", m.Path, m.Version)
	}
	return out, err
}

// licences are those of all that the engine links, Go's first.
func licences(ctx context.Context, source, goRoot string) ([]byte, error) {
	text, err := os.ReadFile(filepath.Join(goRoot, "LICENSE"))
	if err != nil {
		return nil, err
	}
	modules, err := Linked(ctx, source, wasm, pkg)
	if err != nil {
		return nil, err
	}
	b := bytes.NewBufferString("The engine in this page, and the script that starts it, are made with these.\n\nGo\n\n")
	b.Write(text)
	for _, m := range modules {
		files, err := m.Licences()
		if err != nil {
			return nil, err
		}
		for _, name := range slices.Sorted(maps.Keys(files)) {
			fmt.Fprintf(b, "\n%s, %s\n\n%s", m.Path, name, files[name])
		}
	}
	if bytes.Contains(b.Bytes(), []byte("*/")) {
		return nil, errors.New("a licence would end the comment that it stands in")
	}
	return once(b.Bytes()), nil
}

// once has a paragraph that stands in several licences in the first of them alone: it
// gets a number there, by which the others have it.
func once(licences []byte) []byte {
	paragraphs := blankLines.Split(string(licences), -1)
	words := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	stands, number := map[string]int{}, map[string]int{}
	for _, p := range paragraphs {
		stands[words(p)]++
	}
	for i, p := range paragraphs {
		key := words(p)
		switch n := number[key]; {
		case n > 0:
			paragraphs[i] = fmt.Sprintf("(%d)", n)
		case stands[key] > 1 && len(key) > 100:
			number[key] = len(number) + 1
			paragraphs[i] = fmt.Sprintf("(%d) %s", number[key], p)
		}
	}
	return []byte("A number alone stands for the paragraph that it was given to, word for word.\n\n" + strings.Join(paragraphs, "\n\n"))
}

var blankLines = regexp.MustCompile(`\n[ \t]*\n\s*`)
