package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/netlists/visits"
)

// askedForJSON is how each command is asked for its document. DIR is a folder of
// the test's own.
var askedForJSON = map[string]string{
	"legtrace": "-o DIR/d.svg", "new": "DIR/new.toml --usual", "check": "", "loads": "", "path": "", "breaks": "", "readings": "tb_l1 tb_l2", "points": "", "live": "", "warm": "",
	"dictionary": "", "faults": "", "suspects": "--dead heater --order 1", "plan": "--dead heater --order 1", "report": "DIR/visit.toml",
	"draw": "-o DIR/d.svg", "catalog": "", "whole": "", "compare": "-n DIR/like.toml", "tidy": "DIR/tiny.toml", "schema": "", "ringout": "DIR/rung.toml", "drill": "--number 1",
	"class": "DIR/set.toml DIR/answers.toml", "lesson": "1", "key": "DIR/set.toml",
}

// refusesJSON are the commands that have no document and say so.
var refusesJSON = map[string]string{"visit": "DIR/visit.toml", "describe": "DIR/new.toml", "page": "", "man": "DIR/man", "bash": "", "zsh": "", "fish": "", "powershell": ""}

// Every command takes --json: with it there is a JSON document on standard output
// and nothing else, or the reason why the command has none.
func TestEveryCommandTakesJSON(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of work")
	}
	dir := t.TempDir()
	for name, text := range map[string]string{
		"tiny.toml": tiny, "like.toml": "from = \"tiny.toml\"\nname = \"like\"\n",
		"rung.toml":    "[[check]]\nbeep = [[\"block.L1\", \"selector.L1\"]]\n",
		"set.toml":     "[[drill]]\nname = \"one\"\nmachine = \"catalog:dryer\"\nnumber = 1\n",
		"answers.toml": "[[answer]]\nlearner = \"A\"\ndrill = \"one\"\nmoves = [\"off\"]\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	m, err := netlists.ReadFileFull("catalog:dryer")
	if err != nil {
		t.Fatal(err)
	}
	f, err := visits.New(filepath.Join(dir, "visit.toml"), "catalog:dryer", m)
	if err == nil {
		err = f.Save()
	}
	if err != nil {
		t.Fatal(err)
	}
	asked := func(name, how string) (int, string, string) {
		path := map[string]string{"legtrace": "", "class": "drill class", "key": "drill key", "bash": "completion bash", "zsh": "completion zsh", "fish": "completion fish", "powershell": "completion powershell"}
		args := []string{name}
		if words, ok := path[name]; ok {
			args = strings.Fields(words)
		}
		args = append(args, strings.Fields(strings.ReplaceAll(how, "DIR", dir))...)
		if !strings.Contains(how, "-n ") {
			args = append(args, "-n", "catalog:dryer")
		}
		var out, errs bytes.Buffer
		code := run(context.Background(), append(args, "--json"), &out, &errs, false)
		return code, out.String(), errs.String()
	}
	var each func(*cobra.Command)
	each = func(cmd *cobra.Command) {
		for _, sub := range cmd.Commands() {
			each(sub)
		}
		name := cmd.Name()
		if !cmd.Runnable() || !cmd.IsAvailableCommand() && cmd.Hidden || name == "help" || name == "tally" { // whose script asks it, of proved visits
			return
		}
		if how, ok := refusesJSON[name]; ok {
			if code, out, errs := asked(name, how); code != exitBad || out != "" || !strings.Contains(errs, "JSON") && !strings.Contains(errs, "--json") {
				t.Errorf("%s: exit code %d, %q, said %q", name, code, out, errs)
			}
			return
		}
		how, ok := askedForJSON[name]
		if !ok {
			t.Errorf("%s: does it take --json?", name)
			return
		}
		if code, out, errs := asked(name, how); code == exitBad || !json.Valid([]byte(out)) {
			t.Errorf("%s: exit code %d, said %q, wrote %.200s", name, code, errs, out)
		}
	}
	each(newRoot(&terminal{}))
}
