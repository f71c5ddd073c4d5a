package complaints

import (
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// What is read of our tables is what a reader of all TOML makes of them, in the order in
// which they stand; no key stands twice.
func TestTablesAreTOML(t *testing.T) {
	for _, table := range []string{english, spanish} {
		var got, want file
		order, err := decode(table, &got)
		if err != nil {
			t.Fatal(err)
		}
		meta, err := toml.Decode(table, &want)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(file{}), cmpopts.EquateEmpty()); diff != "" {
			t.Error(diff)
		}
		keys := map[string][]string{}
		for _, k := range meta.Keys() {
			if len(k) == 2 {
				keys[k[0]] = append(keys[k[0]], k[1])
			}
		}
		for _, section := range []string{"grammar", "states", "history", "verbs"} {
			if diff := cmp.Diff(keys[section], order[section]); diff != "" || len(order[section]) == 0 {
				t.Errorf("[%s] stands otherwise: %s", section, diff)
			}
		}
	}
}

func TestSlipsInATableAreTold(t *testing.T) {
	for table, want := range map[string]string{
		`top = "a`:                      "words are wanted",
		`top = 7`:                       "words are wanted",
		`tip = "a"`:                     "unknown key tip",
		`top "a"`:                       "'=' is wanted",
		`[states]` + "\na = [\"b\"":     "words are wanted",
		`[states`:                       "'.' is wanted",
		`[[nouns]]` + "\njoint = maybe": "true or false",
		`[numbers]` + "\nwords = {a=b}": "invalid syntax",
		`]`:                             "a word is wanted",
		`[[nouns]`:                      "']' is wanted",
	} {
		if _, err := load(table, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, not %s", table, err, want)
		}
	}
}

// What is short for other words is short for them however often it is written in full: no
// row comes upon itself in what it writes.
func TestContractionsComeToAnEnd(t *testing.T) {
	for _, l := range []*Language{English(), Spanish()} {
		for _, rows := range l.short {
			for _, row := range rows {
				var said []raw
				for _, w := range row.said {
					switch first, _, _ := strings.Cut(w, "|"); {
					case w == ",":
						said = append(said, raw{mark: ','})
					case w == aPart:
						said = append(said, raw{word: "breaker"})
					default:
						said = append(said, raw{word: first})
					}
				}
				twice := l.expand(l.expand(said))
				if thrice := l.expand(slices.Clone(twice)); len(thrice) > len(twice) {
					t.Errorf("%s: %v grows: %v, then %v", l.Name, row.said, asSaid(twice), asSaid(thrice))
				}
			}
		}
	}
}

func asSaid(words []raw) string {
	said, _ := written(words)
	return said
}
