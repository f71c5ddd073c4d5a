package offline

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// A template finds the methods it calls by their names, and the linker cannot know
// which: it keeps every exported method of everything, a quarter of the engine. What
// the engine's templates call stands in their text. So text/template is compiled for
// the engine with a look-up that has those names and no other, which the linker can
// follow. Nothing else of Go is touched; where Go no longer has the line, the engine
// is built as it stands, and TestWholeToolInOneFile tells that it grew.
const (
	byName  = "ptr.MethodByName(fieldName)"
	byNames = "methodNamed(ptr, fieldName)"
)

// calledName is what may be a method in the text of a template.
var calledName = regexp.MustCompile(`\.([A-Z]\w*)`)

// narrowed writes into a folder the flag that has the engine built so; none where
// this Go has no such line.
func narrowed(ctx context.Context, source, goRoot, dir string) ([]string, error) {
	exec := filepath.Join(goRoot, "src", "text", "template", "exec.go")
	code, err := os.ReadFile(exec)
	if err != nil || bytes.Count(code, []byte(byName)) != 1 {
		return nil, nil
	}
	list, err := goTool(ctx, source, wasm, "list", "-deps", "-f", `{{$d := .Dir}}{{range .EmbedFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}`, pkg)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, file := range strings.Fields(string(list)) {
		if ext := filepath.Ext(file); ext != ".html" && ext != ".tmpl" {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		for _, m := range calledName.FindAllSubmatch(text, -1) {
			names = append(names, string(m[1]))
		}
	}
	slices.Sort(names)
	var b bytes.Buffer
	b.Write(bytes.Replace(code, []byte(byName), []byte(byNames), 1))
	b.WriteString("\nfunc methodNamed(v reflect.Value, name string) reflect.Value {\n\tswitch name {\n")
	for _, name := range slices.Compact(names) {
		fmt.Fprintf(&b, "\tcase %q:\n\t\treturn v.MethodByName(%q)\n", name, name)
	}
	b.WriteString("\t}\n\treturn reflect.Value{}\n}\n")
	with, overlay := filepath.Join(dir, "exec.go"), filepath.Join(dir, "overlay.json")
	said, err := json.Marshal(map[string]any{"Replace": map[string]string{exec: with}})
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(with, b.Bytes(), 0o644); err != nil {
		return nil, err
	}
	return []string{"-overlay=" + overlay}, os.WriteFile(overlay, said, 0o644)
}
