package complaints_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"legtrace/netlists/complaints"
)

// What anyone says of anything: each state of each subject is understood, of nothing
// else, with no word left over.
func TestEveryStateOfEverySubject(t *testing.T) {
	states := []struct{ said, what string }{
		{"too hot", "off_by|hot"}, {"is too hot", "off_by|hot"}, {"gets too hot", "off_by|hot"}, {"runs hot", "off_by|hot"},
		{"overheats", "off_by|hot"}, {"burns everything", "off_by|hot"},
		{"not hot enough", "off_by|weak"}, {"doesn't get hot enough", "off_by|weak"}, {"lukewarm", "off_by|weak"},
		{"barely warm", "off_by|weak"}, {"only gets warm", "off_by|weak"}, {"weak", "off_by|weak"},
		{"won't get hot", "dead"}, {"won't heat", "dead"}, {"not heating", "dead"}, {"no heat", "dead"}, {"dead", "dead|all_dead"},
		{"won't turn on", "dead|all_dead"}, {"stopped working", "dead|all_dead"}, {"is out", "dead|all_dead"},
		{"not working", "dead|all_dead"}, {"doesn't work", "dead|all_dead"},
		{"slow to heat", "slow"}, {"slow", "slow"}, {"takes forever to preheat", "slow"}, {"takes an hour", "slow"},
		{"won't shut off", "on|some_on"}, {"stays on", "on|some_on"}, {"keeps heating", "on|some_on"},
		{"heats off and on", "intermittent"}, {"heats sometimes", "intermittent"}, {"works off and on", "intermittent"},
		{"works sometimes", "intermittent"}, {"cuts out", "intermittent|quits|runs_out"}, {"quits after 20 minutes", "quits|runs_out"},
		{"trips the breaker", "trips"}, {"sparks", "sparks"}, {"smells burnt", "smell"},
		{"works fine", "normal"}, {"is fine", "normal"},
	}
	for _, of := range []struct{ machine, subject, load string }{
		{"range-electronic", "oven", "(bake|broil)_element"}, {"range-electronic", "the oven", "(bake|broil)_element"},
		{"range-electronic", "bake", "bake_element"}, {"range-electronic", "the broiler", "broil_element"},
		{"range-electronic", "left front burner", "lf_element"}, {"range-mechanical", "oven", "(bake|broil)_element"},
		{"oven-double", "upper oven", "upper_.*"}, {"oven-double", "the lower oven", "lower_.*"},
		{"range-slide-in", "warming drawer", "drawer_element"}, {"range-smooth-top", "right rear burner", "rr_element"},
		{"oven-230", "oven", "[a-z_]*element"},
		{"dryer", "dryer", "heater|motor.main"}, {"dryer-electronic", "the dryer", "heater|motor.*"},
	} {
		c := open(t, of.machine)
		in := complaints.English().Listener(c)
		load := regexp.MustCompile("^(" + of.load + ")$")
		for _, state := range states {
			said := of.subject + " " + state.said
			what := regexp.MustCompile("^(" + state.what + ")$")
			h := in.Read(said)
			if len(h.Statements) == 0 || len(h.Questions) > 0 || len(h.Unknown) > 0 {
				t.Errorf("%s: %q: %d understood, %d asked, left %q", of.machine, said, len(h.Statements), len(h.Questions), h.Unknown)
			}
			for _, s := range h.Statements {
				if s.Load >= 0 && !load.MatchString(c.Branch(s.Load).Ref) || !what.MatchString(s.What) {
					t.Errorf("%s: %q is heard as %s of %v", of.machine, said, s.What, s.Load)
				}
			}
		}
	}
}

// Every wording of a class is heard as the class is, of whatever it can be said of.
func TestEveryWordingOfAClass(t *testing.T) {
	var file struct{ Class []struct{ Say, Of []string } }
	if _, err := toml.DecodeFile("testdata/grids.toml", &file); err != nil {
		t.Fatal(err)
	}
	either, inMode := regexp.MustCompile(`\(([^()]*)\)`), regexp.MustCompile("@[a-z_]+")
	var wordings func(say string) []string
	wordings = func(say string) (out []string) {
		at := either.FindStringSubmatchIndex(say)
		if at == nil {
			return []string{strings.Join(strings.Fields(say), " ")}
		}
		for _, one := range strings.Split(say[at[2]:at[3]], "|") {
			out = append(out, wordings(say[:at[0]]+one+say[at[1]:])...)
		}
		return out
	}
	n := 0
	for _, class := range file.Class {
		for _, of := range class.Of {
			f := strings.Split(of, "|")
			for i := range f {
				f[i] = strings.TrimSpace(f[i])
			}
			c := open(t, f[0])
			in := complaints.English().Listener(c)
			for _, say := range class.Say {
				for _, said := range wordings(strings.ReplaceAll(say, "%", f[1])) {
					n++
					h := in.Read(said)
					got := meaning(c, h)
					if notes, err := complaints.Notes(c, h.Statements); err == nil && strings.Contains(got, "off_by") {
						for _, note := range notes {
							got = strings.ReplaceAll(got, "off_by", note.Told)
						}
					}
					if !strings.Contains(f[2], "@") {
						got = inMode.ReplaceAllString(got, "") // either way
					}
					if got != f[2] {
						t.Errorf("%s: %q is heard as %q, not %q", f[0], said, got, f[2])
					}
				}
			}
		}
	}
	t.Logf("%d sentences", n)
}
