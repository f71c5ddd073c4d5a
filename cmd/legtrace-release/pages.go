package main

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"os"
	"path/filepath"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

// pages are the files that every archive has: what is to be read first, help,
// manual pages, completions.
func (r *release) pages(ctx context.Context) (map[string][]byte, error) {
	program := filepath.Join(r.work, "legtrace")
	if _, err := command(ctx, nil, "go", "build", "-o", program, "./cmd/legtrace"); err != nil {
		return nil, err
	}
	files := map[string][]byte{"START.txt": []byte(start)}
	for name, from := range map[string]string{"README.md": "README.md", "LICENSE": "LICENSE"} {
		var err error
		if files[name], err = os.ReadFile(from); err != nil {
			return nil, err
		}
	}
	for shell, name := range map[string]string{"bash": "legtrace.bash", "zsh": "_legtrace", "fish": "legtrace.fish", "powershell": "legtrace.ps1"} {
		text, err := command(ctx, nil, program, "completion", shell)
		if err != nil {
			return nil, err
		}
		files["completions/"+name] = []byte(text + "\n")
	}
	man := filepath.Join(r.work, "man")
	if _, err := command(ctx, []string{fmt.Sprint("SOURCE_DATE_EPOCH=", r.date.Unix())}, program, "man", man); err != nil {
		return nil, err
	}
	if err := take(files, "man/", man, "*.1"); err != nil {
		return nil, err
	}
	return files, help(files)
}

// take adds the files of a folder.
func take(files map[string][]byte, prefix, folder, pattern string) error {
	names, err := filepath.Glob(filepath.Join(folder, pattern))
	if err != nil {
		return err
	}
	if len(names) == 0 {
		return fmt.Errorf("nothing fits %s in %s", pattern, folder)
	}
	for _, name := range names {
		if files[prefix+filepath.Base(name)], err = os.ReadFile(name); err != nil {
			return err
		}
	}
	return nil
}

// sheet is a help page as HTML.
var sheet = template.Must(template.New("sheet").Parse(`<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.Title}}</title>
<style>
body { max-width: 50rem; margin: 1rem auto; padding: 0 1rem; font-family: sans-serif; line-height: 1.4; }
pre { overflow-x: auto; background: #f3f3f3; padding: .5rem; line-height: 1.2; }
table { border-collapse: collapse; } td, th { border: 1px solid #999; padding: .2rem .4rem; text-align: left; vertical-align: top; }
</style>
<p><a href="index.html">Contents</a></p>
{{.Body}}
</html>
`))

// help adds the help pages as HTML, and their contents.
func help(files map[string][]byte) error {
	pages := map[string][]byte{}
	if err := take(pages, "", "cmd/legtrace/help", "*.md"); err != nil {
		return err
	}
	for name, from := range map[string]string{"format.md": "netlists/FORMAT.md", "visit-file.md": "netlists/visits/FORMAT.md"} {
		text, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		pages[name] = text
	}
	contents := "# legtrace: help\n\n"
	for _, name := range sorted(pages) {
		first, _, _ := strings.Cut(string(pages[name]), "\n")
		contents += fmt.Sprintf("- [%s](%s.html)\n", strings.TrimPrefix(first, "# "), strings.TrimSuffix(name, ".md"))
	}
	pages["index.md"] = []byte(contents)
	markdown := goldmark.New(goldmark.WithExtensions(extension.Table))
	for name, text := range pages {
		var body, page bytes.Buffer
		if err := markdown.Convert(text, &body); err != nil {
			return err
		}
		first, _, _ := strings.Cut(string(text), "\n")
		if err := sheet.Execute(&page, struct {
			Title string
			Body  template.HTML // made of our own pages
		}{strings.TrimPrefix(first, "# "), template.HTML(body.String())}); err != nil {
			return err
		}
		files["help/"+strings.TrimSuffix(name, ".md")+".html"] = page.Bytes()
	}
	return nil
}

// start is read by whoever has unpacked an archive.
const start = `Open legtrace (on Windows legtrace.exe, on a Mac start.command) with a double
click: a page opens in the browser. Or in a terminal, in this folder: ./legtrace

Disconnect, lock out and prove dead before you touch anything. Local codes and
the maker's instructions come first.

help/index.html    how it is used, for a browser; the same as: legtrace help
legtrace-chart     draws flowcharts and maps; leave it beside legtrace
man/               manual pages; to have them found, copy them to
                   /usr/local/share/man/man1
completions/       bash: copy legtrace.bash to
                   ~/.local/share/bash-completion/completions/legtrace
                   zsh: copy _legtrace to a folder of your $fpath
                   fish: copy legtrace.fish to ~/.config/fish/completions
                   PowerShell: add ". PATH\legtrace.ps1" to your $PROFILE
licences/          of all that is linked; sbom.cdx.json lists it (CycloneDX 1.6)
SHA256SUMS, beside the archives, is checked with: sha256sum --check SHA256SUMS
`
