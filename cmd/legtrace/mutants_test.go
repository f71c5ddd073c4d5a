package main

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// askedOfMutants are the commands that take a netlist, with what makes them write
// a document. FILE stands for the netlist, OUT for a file to write.
var askedOfMutants = []string{
	"check FILE", "check --json FILE", "loads -n FILE --json", "path -n FILE", "path -n FILE --json", "breaks -n FILE --json", "breaks -n FILE --keeps-on --order=1",
	"readings -n FILE --json", "points -n FILE --format html", "points -n FILE --json", "live -n FILE --json", "warm -n FILE --json", "warm -n FILE",
	"dictionary -n FILE --json", "faults -n FILE --json", "draw -n FILE -o -", "draw -n FILE --points --standing --page a4 -o -", "draw -n FILE --text",
	"whole FILE", "compare -n FILE", "tidy --check FILE", "lesson all -n FILE", "lesson 1 -n FILE --json",
	"suspects -n FILE --complaint EVERYTHING --order 1 --json", "suspects -n FILE --complaint HEATS", "plan -n FILE --complaint HEATS --order 1 --format html",
	"plan -n FILE --complaint HEATS --order 1 --json", "drill -n FILE --number 3 --json",
}

// wordsFor stands for words with spaces in askedOfMutants.
var wordsFor = map[string]string{"EVERYTHING": "nothing works at all", "HEATS": "no heat"}

var (
	ofKind   = regexp.MustCompile(`kind = "(\w+)"`)
	ofEnd    = regexp.MustCompile(`(?:from|to|at) += "([^"]+)"`)
	ofNumber = regexp.MustCompile(`= (\d[\d.]*)`)
	ofString = regexp.MustCompile(`"[^"\n]*"`)
	kinds    = regexp.MustCompile(`\w+`).FindAllString("element lamp motor fan solenoid resistor capacitor switch selector thermostat limit fuse breaker relay control sensor transformer connector terminal_block cycling_switch door_switch centrifugal_switch nothing", -1)
	extremes = []string{"0", "-1", "1e308", "1e-300", "nan", "inf", "-inf", "9007199254740993", "0.0000001", "1000000", "true", `"x"`, "[]"}
)

// mutate changes a netlist in one to four places.
func mutate(src string, r *rand.Rand) string {
	for range 1 + r.IntN(4) {
		switch r.IntN(8) {
		case 0, 1: // two ends swapped
			ends := ofEnd.FindAllStringSubmatchIndex(src, -1)
			if len(ends) < 2 {
				continue
			}
			a, b := ends[r.IntN(len(ends))], ends[r.IntN(len(ends))]
			if a[2] > b[2] {
				a, b = b, a
			}
			if a[2] != b[2] {
				src = src[:a[2]] + src[b[2]:b[3]] + src[a[3]:b[2]] + src[a[2]:a[3]] + src[b[3]:]
			}
		case 2: // a line dropped: a wire, a part, a mode's word
			lines := strings.SplitAfter(src, "\n")
			i := r.IntN(len(lines))
			src = strings.Join(slices.Delete(lines, i, i+1), "")
		case 3: // a line twice
			lines := strings.SplitAfter(src, "\n")
			i := r.IntN(len(lines))
			src = strings.Join(slices.Insert(lines, i, lines[i]), "")
		case 4:
			src = replaceOne(src, ofKind, func(string) string { return `kind = "` + kinds[r.IntN(len(kinds))] + `"` }, r)
		case 5, 6:
			src = replaceOne(src, ofNumber, func(string) string { return "= " + extremes[r.IntN(len(extremes))] }, r)
		case 7: // a word for another
			words := ofString.FindAllString(src, -1)
			src = replaceOne(src, ofString, func(s string) string { return words[r.IntN(len(words))] }, r)
		}
	}
	return src
}

func replaceOne(src string, what *regexp.Regexp, with func(string) string, r *rand.Rand) string {
	all := what.FindAllStringIndex(src, -1)
	if len(all) == 0 {
		return src
	}
	at := all[r.IntN(len(all))]
	return src[:at[0]] + with(src[at[0]:at[1]]) + src[at[1]:]
}

// outcome is what a command came to.
type outcome struct {
	code      int
	out, errs string
}

func ask(ctx context.Context, asked, file string) outcome {
	var args []string
	for _, s := range strings.Fields(asked) {
		if words, ok := wordsFor[s]; ok {
			s = words
		}
		args = append(args, strings.ReplaceAll(s, "FILE", file))
	}
	var out, errs bytes.Buffer
	return outcome{run(ctx, args, &out, &errs, false), out.String(), errs.String()}
}

// document tells what is wrong with the form of what a command wrote.
func (a outcome) document(asked string) error {
	switch {
	case a.code == exitBad && a.out == "":
		return nil
	case strings.Contains(asked, "json"):
		if !json.Valid([]byte(a.out)) {
			return errors.New("no JSON")
		}
	case strings.Contains(asked, "html") || strings.Contains(asked, "-o -"):
		d := xml.NewDecoder(strings.NewReader(a.out))
		d.Entity = xml.HTMLEntity
		for {
			if _, err := d.Token(); err == io.EOF {
				return nil
			} else if err != nil {
				return err
			}
		}
	}
	return nil
}

// try puts a netlist to some commands: none panics, each writes the same twice, in
// good form, and where check cannot read the file none can.
func try(t *testing.T, file string, commands []string) {
	t.Helper()
	unreadable := ask(t.Context(), "check FILE", file).code == exitBad
	onlyReads := regexp.MustCompile("^(tidy|whole|compare) ") // a machine that shorts its supply whatever it is set to as well
	for _, asked := range commands {
		a := ask(t.Context(), asked, file)
		fail := func(why string) {
			src, _ := os.ReadFile(file)
			t.Errorf("%s: %s\nexit code %d, said %.300s\n%s", asked, why, a.code, a.errs, src)
		}
		switch b := ask(t.Context(), asked, file); {
		case strings.Contains(a.errs, "a mistake in legtrace"):
			fail("a panic")
		case a != b:
			fail("not the same again")
		case a.code != exitFine && a.code != exitFindings && a.code != exitBad:
			fail("an exit code of no meaning")
		case unreadable && a.code != exitBad && !onlyReads.MatchString(asked):
			fail("check cannot read the file, and this can")
		case !unreadable && a.code == exitBad && strings.HasPrefix(asked, "loads") && !strings.Contains(strings.Join(strings.Fields(a.errs), " "), "the supply: with nothing"):
			fail("check can read the file, and this cannot")
		case a.code == exitBad && a.errs == "":
			fail("not a word of why")
		default:
			if err := a.document(asked); err != nil {
				fail(err.Error())
			}
		}
	}
}

// No mutant of a machine makes a command panic, hang, contradict itself or write
// what cannot be read: 5,000 of them in the nightly run, each with four commands
// drawn from all.
func TestMutants(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of work")
	}
	mutants := 16
	if circuittest.Nightly {
		mutants = 5000
	}
	sources := []string{tiny}
	for _, entry := range netlists.Catalog() {
		src, err := netlists.Source(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		if circuittest.Nightly || len(src) < 5000 {
			sources = append(sources, string(src))
		}
	}
	file := filepath.Join(t.TempDir(), "mutant.toml")
	for i := range mutants {
		r := rand.New(rand.NewPCG(uint64(i), 12))
		if err := os.WriteFile(file, []byte(mutate(sources[r.IntN(len(sources))], r)), 0o666); err != nil {
			t.Fatal(err)
		}
		var commands []string
		for _, k := range r.Perm(len(askedOfMutants))[:4] {
			commands = append(commands, askedOfMutants[k])
		}
		if try(t, file, commands); t.Failed() {
			t.Fatalf("mutant %d", i)
		}
	}
}

// A netlist that starts from another that starts from another, and so on for
// longer than is read, or round in a circle, is refused by every command alike.
func TestNetlistsThatStartFromEachOther(t *testing.T) {
	dir := t.TempDir()
	write := func(i int, from string) string {
		name := filepath.Join(dir, fmt.Sprintf("m%d.toml", i))
		if err := os.WriteFile(name, []byte("from = \""+from+"\"\nname = \"m\"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
		return name
	}
	const deep = 40
	for i := range deep {
		write(i, fmt.Sprintf("m%d.toml", i+1))
	}
	write(deep, "catalog:dryer")
	round := write(deep+1, fmt.Sprintf("m%d.toml", deep+2))
	write(deep+2, fmt.Sprintf("m%d.toml", deep+1))
	for _, file := range []string{filepath.Join(dir, "m0.toml"), round, write(deep+3, fmt.Sprintf("m%d.toml", deep+3)), write(deep+4, os.DevNull)} {
		if a := ask(t.Context(), "check FILE", file); a.code != exitBad {
			t.Errorf("check of %s: exit code %d: %s", file, a.code, a.out)
		}
		try(t, file, askedOfMutants)
	}
}

// What customers say is taken without a panic whatever the machine: of some
// machines, each takes a few; all go to all of them in the nightly run.
func TestComplaintsOnEveryMachine(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of work")
	}
	var sentences []string
	files, err := filepath.Glob(filepath.Join("..", "..", "netlists", "complaints", "testdata", "*.txt"))
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			if field := strings.Split(line, " | "); len(field) == 3 {
				sentences = append(sentences, field[1])
			}
		}
	}
	machines := netlists.Catalog()
	for i, entry := range machines {
		if !circuittest.Sampled(i, 4) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		m := &machine{file: "catalog:" + entry.Name, Result: &netlists.Result{Circuit: c}, Reporter: report.New(c)}
		engine, err := suspect.New(c, suspect.Options{Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		taken := 0
		for k, s := range sentences {
			if !circuittest.Nightly && k%(6*len(machines)) != i {
				continue
			}
			if takes(t, m, engine, s) {
				taken++
			}
		}
		t.Logf("%s: %d sentences taken", entry.Name, taken)
	}
}

// takes puts a sentence to an engine of its machine, and asks what is next.
func takes(t *testing.T, m *machine, engine *suspect.Engine, sentence string) bool {
	t.Helper()
	defer func() {
		if p := recover(); p != nil {
			t.Errorf("%s, %q: %v", m.file, sentence, p)
		}
	}()
	notes, _, _, err := complaints.ListenTo(m.Circuit).Complaint(sentence)
	if err != nil {
		return false
	}
	engine.Forget()
	for _, n := range notes {
		ev, err := n.Evidence(m.Circuit)
		if err != nil {
			continue
		}
		if err := engine.Add(t.Context(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			t.Errorf("%s, %q: %v", m.file, sentence, err)
		}
	}
	engine.Suspects(3)
	if circuittest.Nightly { // a second and more
		if _, err := m.Suspects(t.Context(), engine, suspect.NewProgress(), report.SuspectsOptions{Most: 3, Tests: 2}); err != nil {
			t.Errorf("%s, %q: %v", m.file, sentence, err)
		}
	}
	return true
}
