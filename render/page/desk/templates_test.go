package desk

import (
	"io/fs"
	"regexp"
	"testing"
)

var within = regexp.MustCompile(`{{template "([^"]*)"`)

// A template is read when it is first written: each can be, and those within it.
func TestEveryTemplateCanBeRead(t *testing.T) {
	files, _ := fs.Glob(assets, "assets/*.html")
	p := templates()
	if len(p.texts) <= len(files) {
		t.Fatalf("%d templates in %d files", len(p.texts), len(files))
	}
	for name, text := range p.texts {
		for _, m := range within.FindAllStringSubmatch(text, -1) {
			if p.texts[m[1]] == "" {
				t.Errorf("there is no template %s for %s", m[1], name)
			}
		}
		if p.at(name) == nil {
			t.Errorf("there is no template %s in its own text", name)
		}
	}
}
