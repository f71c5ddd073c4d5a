package main

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/BurntSushi/toml"

	"legtrace/render/report"
)

//go:embed dialog_es.toml
var spanishPhrases string

// languageTable is what a visit says and takes in another language, by the English.
type languageTable struct {
	// Phrases are the visit's own, Said the engine's with %s for its pieces, Words what
	// stands alone there.
	Phrases, Said, Words map[string]string
	// Commands are what may be answered, by what is said for it; Reach those before a place.
	Commands, Reach map[string]string
}

var spanishTable = sync.OnceValue(func() languageTable {
	var f languageTable
	if _, err := toml.Decode(spanishPhrases, &f); err != nil {
		panic(fmt.Errorf("dialog_es.toml: %w", err))
	}
	return f
})

// spanish are the phrases of a visit in Spanish, by the English ones.
func spanish() map[string]string { return spanishTable().Phrases }

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
	if said := d.phrases[prompt]; said != "" {
		prompt = strings.ToLower(said)
	}
	line, err := d.talk.ask(ctx, prompt)
	return inEnglish(line), err
}

// inEnglish is a line whose command is English: the whole of it, or as far as a colon.
func inEnglish(line string) string {
	head, rest, colon := strings.Cut(line, ":")
	if colon {
		head += ":"
	}
	if command := spanishTable().Commands[strings.ToLower(strings.TrimSpace(head))]; command != "" {
		return command + rest
	}
	return line
}

// reachInEnglish is the same of a place that no probe gets to, which a complaint may begin as.
func reachInEnglish(line string) string {
	for said, command := range spanishTable().Reach {
		if rest, ok := strings.CutPrefix(strings.ToLower(line), said); ok && (rest == "" || rest[0] == ' ') {
			return command + line[len(said):]
		}
	}
	return line
}

// answerTo is the answer that a line names in the language of the visit, by its words or
// some of them that stand by themselves; else the line.
func (d *dialog) answerTo(n *report.NextTest, line string) string {
	for _, a := range n.Answers {
		said := d.says(a.Label)
		for _, piece := range append(regexp.MustCompile(`, | o `).Split(said, -1), said) {
			if d.phrases != nil && strings.EqualFold(piece, strings.TrimSpace(line)) {
				return a.Ref
			}
		}
	}
	return line
}

// says is what the engine says in the language of the visit.
func (d *dialog) says(text string) string {
	if d.phrases == nil {
		return text
	}
	if d.spoken != d.m.Circuit {
		d.spoken, d.translator = d.m.Circuit, newTranslator(d.m.Circuit)
	}
	return d.translator.says(text)
}

func (d *dialog) say(indent int, s string)        { d.talk.say(indent, d.says(s)) }
func (d *dialog) term(indent int, term, s string) { d.talk.term(indent, term, d.says(s)) }
func (d *dialog) field(name, s string)            { d.talk.field(name, d.says(s)) }

// word is an answer as a command is compared.
func (d *dialog) word(line string) string { return strings.ToLower(strings.TrimSpace(line)) }

// phrase says an English phrase in the language of the visit; what it has no words for
// stays English.
func (d *dialog) phrase(phrase string, args ...any) string {
	if said := d.phrases[phrase]; said != "" {
		phrase = said
	}
	if d.phrases != nil {
		for i, a := range args {
			if text, ok := a.(string); ok {
				args[i] = d.says(text)
			}
		}
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
		return d.phrase(phrase, slices.Clone(args)...) + d.phrase(", and look at what each does")
	case n.Across != "" && n.Live:
		return d.phrase("%s across the %s, live in %s", d.phrase(n.Function), n.Across, n.Mode.Label)
	case n.Across != "":
		return d.phrase("%s across the %s, supply removed", d.phrase(n.Function), n.Across)
	case n.Live:
		return d.phrase("%s from %s to %s, live in %s", d.phrase(n.Function), n.Places[0].Label, n.Places[1].Label, n.Mode.Label)
	}
	return d.phrase("%s from %s to %s, supply removed", d.phrase(n.Function), n.Places[0].Label, n.Places[1].Label)
}
