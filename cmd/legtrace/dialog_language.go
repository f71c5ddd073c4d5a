package main

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"

	"legtrace/render/report"
)

//go:embed dialog_es.toml
var spanishPhrases string

// spanish are the phrases of a visit in Spanish, by the English ones.
var spanish = sync.OnceValue(func() map[string]string {
	var f struct {
		Phrases map[string]string `toml:"phrases"`
	}
	if _, err := toml.Decode(spanishPhrases, &f); err != nil {
		panic(fmt.Errorf("dialog_es.toml: %w", err))
	}
	return f.Phrases
})

// speak sets the language of a visit by its code, or by the one that the system
// speaks where none is given.
func (d *dialog) speak(language string) error {
	given := language != ""
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if language == "" {
			language = os.Getenv(name)
		}
	}
	switch code, _, _ := strings.Cut(strings.ToLower(language), "_"); {
	case code == "es":
		d.phrases = spanish()
	case given && code != "en":
		return fmt.Errorf("--language %q: en or es", language)
	}
	d.inEnglish = given && d.phrases == nil
	return nil
}

// ask takes an answer; a command in Spanish is as good as the English one.
func (d *dialog) ask(ctx context.Context, prompt string) (string, error) {
	line, err := d.talk.ask(ctx, prompt)
	return line, err
}

// word is an answer as a command is compared.
func (d *dialog) word(line string) string { return strings.ToLower(strings.TrimSpace(line)) }

// phrase says an English phrase in the language of the visit; what it has no words for
// stays English.
func (d *dialog) phrase(phrase string, args ...any) string {
	if said := d.phrases[phrase]; said != "" {
		phrase = said
	}
	if len(args) == 0 {
		return strings.ReplaceAll(phrase, "%%", "%")
	}
	return fmt.Sprintf(phrase, args...)
}

// testText is what to do, in the language of the visit.
func (d *dialog) testText(n *report.NextTest) string {
	switch {
	case d.phrases == nil || n.Function == "" && !n.Trial:
		return n.Text
	case n.Trial:
		mode, err := d.job.Circuit.FindMode(n.Mode.Name)
		if err != nil {
			return n.Text
		}
		phrase, args := d.job.Circuit.Mode(mode).Brings()
		return d.phrase(phrase, args...) + d.phrase(", and look at what each does")
	case n.Across != "" && n.Live:
		return d.phrase("%s across the %s, live in %s", d.phrase(n.Function), n.Across, n.Mode.Label)
	case n.Across != "":
		return d.phrase("%s across the %s, supply removed", d.phrase(n.Function), n.Across)
	case n.Live:
		return d.phrase("%s from %s to %s, live in %s", d.phrase(n.Function), n.Places[0].Label, n.Places[1].Label, n.Mode.Label)
	}
	return d.phrase("%s from %s to %s, supply removed", d.phrase(n.Function), n.Places[0].Label, n.Places[1].Label)
}
