package netlists

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/drill"
)

// DrillSet is a teacher's set of drills.
type DrillSet struct {
	Title string
	Tasks []drill.Task
}

// drillSetFile is a set on disk: a title, and under [[drill]] what to drill.
type drillSetFile struct {
	Title  string      `toml:"title"`
	Drills []drillSpec `toml:"drill"`
}

type drillSpec struct {
	Name    string  `toml:"name"`
	Machine string  `toml:"machine"`
	Level   int     `toml:"level"`
	Faults  int     `toml:"faults"`
	Number  int     `toml:"number"`
	Budget  float64 `toml:"budget"`
	// Kind is of [drill.Kinds], Load a load to complain of, Hide what is hidden
	// in place of what would be drawn, as faults are written.
	Kind     string   `toml:"kind"`
	Load     string   `toml:"load"`
	Hide     []string `toml:"hide"`
	Foretell bool     `toml:"foretell"`
}

// answersFile holds a class's answers.
type answersFile struct {
	Answers []answerSpec `toml:"answer"`
}

type answerSpec struct {
	Learner string   `toml:"learner"`
	Drill   string   `toml:"drill"`
	Moves   []string `toml:"moves"`
}

// maxAnswers bounds what is run: each answer is played.
const maxAnswers = 10000

// ReadDrills reads a set of drills with its machines. A machine that is a file
// is looked for beside the set. The error is of type [Errors].
func ReadDrills(path string) (*DrillSet, error) {
	var file drillSetFile
	root, found := decodeAs(path, &file, "a set of drills")
	if found.failed() {
		return nil, found.sorted()
	}
	set := &DrillSet{Title: sanitise(strings.Join(strings.Fields(file.Title), " "))}
	if len(file.Drills) == 0 {
		found.fail(Position{File: path}, "add a [[drill]] with its machine", "the set holds no drills")
	}
	machines := map[string]*circuit.Circuit{}
	for i, d := range file.Drills {
		if d.Name == "" {
			d.Name = fmt.Sprint(i + 1)
		}
		set.add(d, path, root.get("drill").items[i].position(), machines, found)
	}
	if found.failed() {
		return nil, found.sorted()
	}
	return set, nil
}

// add adds a drill, or says what is wrong with it. Machines are those read before, by
// name.
func (set *DrillSet) add(d drillSpec, path string, at Position, machines map[string]*circuit.Circuit, found *collector) {
	switch {
	case sanitise(d.Name) != d.Name:
		found.fail(at, "", "a name holds what cannot be printed: %s", d.Name)
		return
	case slices.ContainsFunc(set.Tasks, func(t drill.Task) bool { return t.Name == d.Name }):
		found.fail(at, "names must differ", "the drill %q is there twice", d.Name)
		return
	case d.Number < 0:
		found.fail(at, "a number from 0", "number %d", d.Number)
		return
	case d.Machine == "":
		found.fail(at, `as in machine = "catalog:range-electronic"`, "the drill %q names no machine", d.Name)
		return
	}
	name := Beside(path, d.Machine)
	c := machines[name]
	if c == nil {
		var err error
		if c, err = ReadFile(name); err != nil {
			found.add(err)
			return
		}
		machines[name] = c
	}
	task := drill.Task{Name: d.Name, Circuit: c,
		Options: drill.Options{Level: drill.Level(d.Level), Faults: d.Faults, Number: uint64(d.Number), Budget: d.Budget, Kind: d.Kind, Load: d.Load, Foretell: d.Foretell}}
	for _, ref := range d.Hide {
		f, err := c.ParseFault(ref)
		if err != nil {
			found.fail(at, "", "the drill %q hides what cannot be: %v", d.Name, err)
		}
		task.Faults = append(task.Faults, f...)
	}
	if d.Load != "" {
		if _, err := c.FindLoad(d.Load); err != nil {
			found.fail(at, "", "the drill %q: %v", d.Name, err)
		}
	}
	set.Tasks = append(set.Tasks, task)
}

// ReadDrillAnswers reads a class's answers: TOML with an [[answer]] for each
// learner and drill, or, by the name's ending, CSV with the columns learner,
// drill and moves, the moves apart by semicolons. The error is of type
// [Errors].
func ReadDrillAnswers(path string) ([]drill.Answer, error) {
	if strings.EqualFold(filepath.Ext(path), ".csv") {
		return answersOfCSV(path)
	}
	var file answersFile
	root, found := decodeAs(path, &file, "a file of answers")
	if found.failed() {
		return nil, found.sorted()
	}
	var out []drill.Answer
	for i, a := range file.Answers {
		found.answer(root.get("answer").items[i].position(), &out, drill.Answer{Learner: a.Learner, Drill: a.Drill, Moves: a.Moves})
	}
	if len(out) == 0 && !found.failed() {
		found.fail(Position{File: path}, "add an [[answer]] with learner, drill and moves", "the file holds no answers")
	}
	if found.failed() {
		return nil, found.sorted()
	}
	return out, nil
}

// answer takes one, or says what is wrong with it.
func (c *collector) answer(at Position, out *[]drill.Answer, a drill.Answer) {
	switch {
	case a.Learner == "" || a.Drill == "":
		c.fail(at, "", "an answer names its learner and its drill")
	case sanitise(a.Learner) != a.Learner:
		c.fail(at, "", "a name holds what cannot be printed: %s", a.Learner)
	case slices.ContainsFunc(*out, func(b drill.Answer) bool { return b.Learner == a.Learner && b.Drill == a.Drill }):
		c.fail(at, "", "%s answers the drill %q twice", a.Learner, a.Drill)
	case len(*out) >= maxAnswers:
		if len(c.errs) == 0 {
			c.fail(at, "", "more than %d answers are not read", maxAnswers)
		}
	default:
		*out = append(*out, a)
	}
}

func answersOfCSV(path string) ([]drill.Answer, error) {
	var found collector
	src, err := Text(path)
	if err != nil {
		return nil, err
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(src, []byte("\ufeff"))))
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	var out []drill.Answer
	var column map[string]int
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			found.fail(Position{File: path}, "", "%v", err)
			break
		}
		line, _ := in.FieldPos(0)
		at := Position{File: path, Line: line, Column: 1}
		if column == nil {
			if column = answerColumns(row); len(column) < 3 {
				found.fail(at, "", "the first line names the columns learner, drill and moves, found %q", strings.Join(row, ","))
				break
			}
			continue
		}
		cell := func(name string) string {
			if i := column[name]; i < len(row) {
				return strings.TrimSpace(row[i])
			}
			return ""
		}
		var moves []string
		for _, m := range strings.Split(cell("moves"), ";") {
			if m = strings.TrimSpace(m); m != "" {
				moves = append(moves, m)
			}
		}
		found.answer(at, &out, drill.Answer{Learner: cell("learner"), Drill: cell("drill"), Moves: moves})
	}
	if column == nil && !found.failed() {
		found.fail(Position{File: path}, "", "the file holds no answers")
	}
	if found.failed() {
		return nil, found.sorted()
	}
	return out, nil
}

func answerColumns(row []string) map[string]int {
	out := map[string]int{}
	for i, name := range row {
		name = strings.ToLower(strings.TrimSpace(name))
		if _, twice := out[name]; !twice && slices.Contains([]string{"learner", "drill", "moves"}, name) {
			out[name] = i
		}
	}
	return out
}

// decodeAs reads a TOML file into a struct by its tags.
func decodeAs(path string, file any, what string) (*node, *collector) {
	found := &collector{}
	text, err := Text(path)
	if err != nil {
		found.add(err)
		return nil, found
	}
	d := decodeInto(path, text, what, file, found)
	if d == nil {
		return nil, found
	}
	return d.positions.root, found
}
