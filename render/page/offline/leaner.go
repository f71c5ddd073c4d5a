package offline

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"go/scanner"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// The engine is built from Go's text and ours as it is [flat], and from other text in
// three packages of Go, which makes a third of it unneeded. Where Go no longer has those
// lines, they stay as they are, and TestWholeToolInOneFile tells that it grew.

// A template finds the methods it calls by their names, and the linker cannot know
// which: it keeps every exported method of everything. What the engine's templates
// call stands in their text. So text/template has a look-up with those names and no
// other, which the linker can follow.
const (
	byName  = "ptr.MethodByName(fieldName)"
	byNames = "methodNamed(ptr, fieldName)"
)

// calledName is what may be a method in the text of a template, and methodName what
// is one of something in Go's text.
var (
	calledName = regexp.MustCompile(`\.([A-Z]\w*)`)
	methodName = regexp.MustCompile(`(?m)^func \([^)]*\) ([A-Z]\w*)\(`)
)

// Package slices has its sort compiled anew for every type that is sorted, fifteen
// functions each. The engine's is compiled once, from what package sort has for
// functions: the same algorithm, so that equals come out in the same order.
var onceSorted = strings.NewReplacer(
	"pdqsortCmpFunc(x, 0, n, bits.Len(uint(n)), cmp)", "pdqsort_func(swapped(x, cmp), 0, n, bits.Len(uint(n)))",
	"stableCmpFunc(x, len(x), cmp)", "stable_func(swapped(x, cmp), len(x))")

const swapped = `
type lessSwap struct {
	Less func(i, j int) bool
	Swap func(i, j int)
}

func swapped[S ~[]E, E any](x S, cmp func(a, b E) int) lessSwap {
	return lessSwap{func(i, j int) bool { return cmp(x[i], x[j]) < 0 }, func(i, j int) { x[i], x[j] = x[j], x[i] }}
}
`

// Package regexp has all of Unicode's tables, for classes as \p{Han}. No pattern of the
// engine has one: it would not start.
const (
	classes   = "if p.flags&UnicodeGroups == 0 ||"
	noClasses = "if true ||"
)

// Each time it starts Go looks whether the table of its functions is in order, which
// the linker made so. It is long, and what goes through it is hot: a browser compiles it
// once more to no purpose.
const (
	looked    = "for i := 0; i < nftab; i++ {"
	notLooked = "for i := nftab; i < nftab; i++ {"
)

// How often a program was run in ways of older Go is counted for who reads Go's metrics.
// The engine has no such reader, and a fiftieth of Go's own code is there for them.
const metric = `registerMetric("/godebug/non-default-behavior/"+s.Name()+":events", s.nonDefault.Load)`

// Where in its table a function is, Go looks up in another. On WebAssembly its number is
// known, which is where it is, or less far on where some are left out.
const (
	byPlace = "idx := ffb.idx + uint32(ffb.subbuckets[i])"
	byCount = "_, _ = ffb, i; idx := min(pcOff, uint32(len(datap.ftab)-2)); for datap.ftab[idx].entryoff > pcOff { idx-- }"
)

// leaner writes into a folder what the engine is built from instead, and returns the
// flag that says so, and whether functions are found by their count.
func leaner(ctx context.Context, source, goRoot, dir string) (flag string, counted bool, err error) {
	list, err := goTool(ctx, source, wasm, "list", "-deps", "-f", `{{if or .Standard .Module.Main}}{{$d := .Dir}}{{range .GoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{range .EmbedFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{end}}`, pkg)
	if err != nil {
		return "", false, err
	}
	texts := map[string]string{} // of Go, by the file
	var names []string           // what templates may call
	methods := map[string]bool{} // by their names
	replace := map[string]string{}
	for _, file := range strings.Split(strings.TrimSpace(string(list)), "\n") {
		ext := filepath.Ext(file)
		if filepath.Base(filepath.Dir(file)) == "assets" && ext != ".html" { // the saved page has them itself
			replace[file] = os.DevNull
		}
		if ext != ".go" && ext != ".html" && ext != ".tmpl" {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return "", false, err
		}
		if ext == ".go" {
			texts[filepath.Clean(file)] = string(text)
			for _, m := range methodName.FindAllStringSubmatch(string(text), -1) {
				methods[m[1]] = true
			}
			continue
		}
		for _, m := range calledName.FindAllStringSubmatch(string(text), -1) {
			names = append(names, m[1])
		}
	}
	names = slices.DeleteFunc(names, func(name string) bool { return !methods[name] }) // fields
	ofGo := func(path string) string { return filepath.Join(goRoot, "src", filepath.FromSlash(path)) }
	pattern := ofGo("regexp/syntax/parse.go")
	texts[pattern] = strings.Replace(texts[pattern], classes, noClasses, 1)
	debug, functions := ofGo("internal/godebug/godebug.go"), ofGo("runtime/symtab.go")
	texts[debug] = strings.Replace(texts[debug], metric, "", 1)
	counted = strings.Count(texts[functions], byPlace) == 1
	texts[functions] = strings.NewReplacer(looked, notLooked, byPlace, byCount).Replace(texts[functions])
	exec, sort, once := ofGo("text/template/exec.go"), ofGo("slices/sort.go"), ofGo("sort/zsortfunc.go")
	if strings.Count(texts[exec], byName) == 1 {
		texts[exec] = strings.Replace(texts[exec], byName, byNames, 1) + lookUp(names)
	}
	if with := onceSorted.Replace(texts[sort]); with != texts[sort] {
		texts[sort] = with + swapped
		texts[ofGo("slices/zsortonce.go")] = strings.Replace(texts[once], "package sort\n", "package slices\n", 1)
	}
	for file, text := range texts {
		text, err := flat(file, []byte(text))
		if err != nil {
			return "", false, err
		}
		with := filepath.Join(dir, strconv.Itoa(len(replace))+".go")
		if err := os.WriteFile(with, text, 0o644); err != nil {
			return "", false, err
		}
		replace[file] = with
	}
	said, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", false, err
	}
	overlay := filepath.Join(dir, "overlay.json")
	return "-overlay=" + overlay, counted, os.WriteFile(overlay, said, 0o644)
}

// lookUp is the text of the look-up by names. The linker follows those in a call that
// is never made; the look-up itself it does not see. As a case for each name it was the
// function that a browser took longest to compile.
func lookUp(names []string) string {
	slices.Sort(names)
	var b strings.Builder
	b.WriteString("\nvar methodByName = reflect.Value.MethodByName\n\nfunc methodNamed(v reflect.Value, name string) reflect.Value {\n\tif name == \"\" {\n\t\tcalled(v)\n\t}\n\treturn methodByName(v, name)\n}\n\nfunc called(v reflect.Value) {\n")
	for _, name := range slices.Compact(names) {
		fmt.Fprintf(&b, "\tv.MethodByName(%q)\n", name)
	}
	b.WriteString("}\n")
	return b.String()
}

// flat is a file of Go on one line, but for what it tells the compiler. From which line
// an instruction came the engine tells nobody, and tables of that are a thirtieth of it.
func flat(file string, text []byte) ([]byte, error) {
	var s scanner.Scanner
	var errs scanner.ErrorList
	s.Init(token.NewFileSet().AddFile(file, -1, len(text)), text, errs.Add, scanner.ScanComments)
	var out []byte
	for {
		_, tok, lit := s.Scan()
		switch {
		case tok == token.EOF:
			return out, errs.Err()
		case tok == token.SEMICOLON:
			out = append(out, ';')
		case tok != token.COMMENT:
			if tok == token.STRING && strings.Contains(lit, "\n") {
				lit = strconv.Quote(strings.Trim(lit, "`"))
			}
			out = append(append(out, cmp.Or(lit, tok.String())...), ' ')
		case strings.HasPrefix(lit, "//go:"):
			out = append(append(append(out, '\n'), lit...), "\n\n"...)
		}
	}
}
