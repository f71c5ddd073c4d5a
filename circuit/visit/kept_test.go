package visit_test

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
)

// draw draws what is noted of a machine.
type draw struct {
	*rapid.T
	c *circuit.Circuit
}

func of[T any](d draw, what string, from ...T) T { return rapid.SampledFrom(from).Draw(d.T, what) }

// sometimes is one or, as often, what it is where nothing was said.
func sometimes[T any](d draw, what string, from ...T) (out T) {
	if rapid.Bool().Draw(d.T, "is "+what+" said") {
		out = of(d, what, from...)
	}
	return out
}

func (d draw) mode() string {
	return d.c.Mode(circuit.ModeID(rapid.IntRange(0, len(d.c.Modes())-1).Draw(d.T, "mode"))).Name
}

func (d draw) load() string { return d.c.Branch(of(d, "load", d.c.Loads()...)).Ref }
func (d draw) part() string { return of(d, "part", d.c.Parts()...).Name }

func (d draw) point() string { return of(d, "point", d.c.Points()...).Name }

func (d draw) state() string {
	return of(d, "state", circuit.Dead, circuit.Weak, circuit.Normal, circuit.TooMuch, circuit.StaysOn).String()
}

// listed are the names of a table, as the error of a name that it lacks tells them.
func listed(err error) []string {
	_, names, _ := strings.Cut(err.Error(), "one of ")
	return strings.Split(names, ", ")
}

// notes draw some of each kind: every tale, every move and every function of the
// meter is among them.
var notes = map[string]func(draw) []visit.Note{
	"asked": func(d draw) (out []visit.Note) {
		_, _, err := suspect.NewAsk(d.c, "", "", "", "")
		for _, move := range listed(err) {
			keys, words := suspect.Test{Ask: suspect.Ask(move)}.Answers()
			out = append(out, visit.Note{Ask: move, Mode: d.mode(), Part: d.part(), Answer: of(d, "answer", append(keys, words...)...)})
		}
		return out
	},
	"told": func(d draw) (out []visit.Note) {
		for _, tale := range suspect.Tales() {
			n := visit.Note{Told: tale.What, Load: sometimes(d, "load", d.load()), Part: sometimes(d, "part", d.part()), At: sometimes(d, "end", "joint")}
			if !slices.Contains([]string{"sensor", "too_hot", "latch", "key", "board", "some_code"}, tale.What) {
				n.Answer = sometimes(d, "off by", "28 K", "0.5 K")
			} else if shown := d.codes(); len(shown) > 0 {
				n.Answer = sometimes(d, "code", shown...)
			}
			out = append(out, n)
		}
		return out
	},
	"trips":    func(d draw) []visit.Note { return []visit.Note{{Mode: sometimes(d, "mode", d.mode()), Trips: true}} },
	"all-dead": func(d draw) []visit.Note { return []visit.Note{{Mode: d.mode(), AllDead: true}} },
	"quiet":    func(d draw) []visit.Note { return []visit.Note{{Mode: d.mode(), Quiet: d.load() + " " + d.load()}} },
	"some-on":  func(d draw) []visit.Note { return []visit.Note{{Mode: sometimes(d, "mode", d.mode()), SomeOn: true}} },
	"slow":     func(d draw) []visit.Note { return []visit.Note{{Mode: d.mode(), Slow: true}} },
	"chatters": func(d draw) []visit.Note { return []visit.Note{{Mode: d.mode(), Chatters: true}} },
	"read": func(d draw) (out []visit.Note) {
		_, err := meter.ParseFunction("")
		for _, name := range listed(err) {
			f, err := meter.ParseFunction(name)
			if err != nil {
				d.Fatal(err)
			}
			p, q := d.point(), d.point()
			for p == q {
				q = d.point()
			}
			if f == meter.Amps {
				w := of(d, "wire", d.c.Wires()...)
				p, q = d.c.PlaceName(w.From), d.c.PlaceName(w.To)
			}
			n := visit.Note{Mode: d.mode(), Function: name, P: p, Q: q}
			shown := []string{"0", "11.6", "about 12", "12, not sure", "jumps between 3 and 40"}
			if f.Live() {
				shown = append(shown, "unsteady")
			} else {
				shown, n.Lifted = append(shown, "OL", "1.08k"), sometimes(d, "lifted", p, d.point())
			}
			n.Answer = of(d, "shown", shown...)
			out = append(out, n)
		}
		return out
	},
	"load": func(d draw) []visit.Note {
		one, other := visit.Note{Mode: d.mode(), Load: d.load(), State: d.state()}, visit.Note{Mode: d.mode(), Load: d.load(), State: d.state()}
		return []visit.Note{one, visit.AnyOf([]visit.Note{one, other})}
	},
	"untried": func(d draw) []visit.Note {
		return []visit.Note{{Mode: d.mode(), Load: d.load(), State: d.state(), At: "untried"}}
	},
	"trial": func(d draw) []visit.Note { return []visit.Note{{Mode: d.mode(), Skipped: true}} },
}

// codes are those that the machine declares by what its controls see.
func (d draw) codes() (out []string) {
	for _, ctl := range d.c.Controls() {
		for _, k := range ctl.Codes {
			if k.Sense != circuit.None {
				out = append(out, k.Text)
			}
		}
	}
	return out
}

// every draws notes of every kind, of which some tests were not made.
func (d draw) every() (out []visit.Note) {
	for _, kind := range visit.Kinds() {
		if notes[kind] == nil {
			d.Fatalf("none of the kind %q is drawn", kind)
		}
		for _, n := range notes[kind](d) {
			if !strings.HasPrefix(n.Line(), kind) && !n.Skipped {
				d.Fatalf("%q is none of the kind %q", n.Line(), kind)
			}
			n.Step, n.Minutes = rapid.IntRange(0, 99).Draw(d.T, "step"), of(d, "minutes", 0, 0.5, 12)
			if _, err := n.Test(d.c); err == nil {
				switch of(d, "made", "made", "made", "skipped", "no probe gets there") {
				case "skipped":
					n.Skipped, n.Answer = true, ""
				case "no probe gets there":
					n.Unreachable, n.Answer = d.point(), ""
				}
			}
			out = append(out, n)
		}
	}
	return out
}

// What was noted on a visit, of whatever kind, is found in its file by whoever takes
// it up after everything else is gone: the same record, the same evidence. An
// address keeps all of a note but when it was made.
func TestEveryKindIsKept(t *testing.T) {
	type one struct {
		name string
		*netlists.Result
	}
	var machines []one
	for _, name := range []string{"catalog:dryer", "catalog:range-electronic"} {
		m, err := netlists.ReadFileFull(name)
		if err != nil {
			t.Fatal(err)
		}
		machines = append(machines, one{name, m})
	}
	dir, said := t.TempDir(), map[string]bool{}
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(machines).Draw(t, "machine")
		d := draw{t, m.Circuit}
		fault := of(d, "element", "heater:open", "w12:high=4", "supply:drifted=0.9")
		if m.name != "catalog:dryer" {
			fault = "broil_element:open"
		}
		all := d.every()
		cut := rapid.IntRange(1, len(all)-1).Draw(t, "noted before the repair")
		rec := visit.Record{Date: sometimes(d, "date", "2026-05-01"), Complaint: sometimes(d, "complaint", "\"dead\",\nit's cold = 0°"), Ambient: of(d, "ambient", 0, -5, 31.5),
			Meter: sometimes(d, "meter", &visit.Meter{Name: "mine", InputOhms: 1e6, LowZOhms: 3e3, ContinuityOhms: 30, MaxOhms: 4e7, LeadOhms: 0.2, Counts: 6000, VoltsPercent: 1, OhmsPercent: 1.5, AmpsPercent: 3}),
			Notes: all[:cut], After: all[cut:], Outside: sometimes(d, "outside", []visit.Seen{"light=no", "fan="}),
			Verdict: sometimes(d, "verdict", &visit.Verdict{Causes: []string{fault + " | w11:open", fault + " + w11:open"}, Words: "worn", Chance: 0.9}),
			Repair:  sometimes(d, "repair", &visit.Repair{Done: "replaced", Parts: []string{m.Circuit.Parts()[0].Name}}), Mended: sometimes(d, "mended", []visit.Mended{{Step: 3, Causes: []string{fault}, Words: "worn", Done: "replaced", Parts: []string{m.Circuit.Parts()[0].Name}}})}
		fields(said, reflect.ValueOf(rec))
		path := filepath.Join(dir, "visit.toml")
		defer os.Remove(path)
		f, err := visits.New(path, m.name, m.Result)
		if err != nil {
			t.Fatal(err)
		}
		f.SetRecord(rec)
		if of(d, "family", false, true) {
			f.OfFamily("range")
		}
		if err := f.Save(); err != nil {
			t.Fatal(err)
		}
		read, again, err := visits.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(f.Visit, read.Visit); diff != "" {
			t.Errorf("-written +read:\n%s", diff)
		}
		back := append(read.Notes, read.After...)
		for i, n := range all {
			if !n.Made() {
				continue
			}
			ev, err := n.Evidence(m.Circuit)
			same, bad := back[i].Evidence(again.Circuit)
			if err != nil || bad != nil || !reflect.DeepEqual(ev, same) {
				t.Errorf("%s: %+v, %v, read back %+v, %v", n.Line(), ev, err, same, bad)
			}
			line, err := visit.ParseLine(n.Line())
			if line.Step, line.Minutes = n.Step, n.Minutes; err != nil || line != n {
				t.Errorf("an address keeps %+v of %+v, %v", line, n, err)
			}
		}
	})
	for name, ever := range said {
		if !ever {
			t.Errorf("no %s was ever drawn", name)
		}
	}
}

// What a process was told of each kind, and said that it kept, is there after it was
// killed at once.
func TestEveryKindOutlivesAKill(t *testing.T) {
	const machine, told = "catalog:dryer", "LEGTRACE_TEST_TELL"
	m, err := netlists.ReadFileFull(machine)
	if err != nil {
		t.Fatal(err)
	}
	all := rapid.Custom(func(t *rapid.T) []visit.Note { return draw{t, m.Circuit}.every() }).Example(1)
	if path := os.Getenv(told); path != "" {
		f, err := visits.New(path, machine, m)
		for n := 0; err == nil && n <= len(all); n++ {
			f.SetRecord(visit.Record{Notes: all[:n]})
			err = f.Save()
		}
		fmt.Println("kept", err)
		select {} // to be killed
	}
	path := filepath.Join(t.TempDir(), "visit.toml")
	teller := exec.Command(os.Args[0], "-test.run", "^"+t.Name()+"$")
	teller.Env = append(os.Environ(), told+"="+path)
	out, err := teller.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := teller.Start(); err != nil {
		t.Fatal(err)
	}
	said, err := bufio.NewReader(out).ReadString('\n')
	killed := errors.Join(err, teller.Process.Kill())
	_ = teller.Wait() // of one that was killed
	if killed != nil || said != "kept <nil>\n" {
		t.Fatalf("it said %q: %v", said, killed)
	}
	f, _, err := visits.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(all, f.Notes); diff != "" {
		t.Errorf("-told +kept:\n%s", diff)
	}
}

// fields tells of each field of a value, and of what it holds, whether it was ever
// more than empty.
func fields(said map[string]bool, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			fields(said, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			fields(said, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().String() + "." + v.Type().Field(i).Name
			said[name] = said[name] || !v.Field(i).IsZero()
			fields(said, v.Field(i))
		}
	}
}
