package complaints_test

import (
	"hash/fnv"
	"maps"
	"os"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/netlists/complaints"
)

// Properties of sentences that are read right: what is said in other words of the same
// row, of another like part, or with a harmless word of time or place beside it, tells
// the same. Of each the share that is not read so only falls.

// fair is a sentence of the fixtures that is read right, and what was heard.
type fair struct {
	c     *circuit.Circuit
	in    *complaints.Listener
	lang  string
	said  string
	heard complaints.Heard
	means string
}

// rightOnes reads the fixtures, of so many sentences one, and keeps what is read right.
func rightOnes(t *testing.T, oneIn uint32) (out []fair) {
	circuits, listeners := map[string]*circuit.Circuit{}, map[string]*complaints.Listener{}
	files := map[string]string{"testdata/en.txt": "English", "testdata/es.txt": "Spanish"}
	for _, lot := range lots {
		files[lot.path] = lot.lang
	}
	for _, path := range slices.Sorted(maps.Keys(files)) {
		for _, line := range fixture(t, path) {
			if !taken(line[1], oneIn) {
				continue
			}
			name, lang := line[0], files[path]
			if circuits[name] == nil {
				circuits[name] = open(t, name)
			}
			if listeners[lang+name] == nil {
				listeners[lang+name] = languages[lang]().Listener(circuits[name])
			}
			f := fair{c: circuits[name], in: listeners[lang+name], lang: lang, said: line[1]}
			f.heard = f.in.Read(f.said)
			if how, _, _ := judge(line[2], f.c, f.heard); how == right {
				out = append(out, f)
			}
		}
	}
	return out
}

// fairOnes are those in English that tell something and ask nothing.
func fairOnes(t *testing.T) (out []fair) {
	for _, f := range rightOnes(t, 1) {
		if f.lang != "English" || len(f.heard.Questions) > 0 || len(f.heard.Statements) == 0 {
			continue
		}
		h := f.heard
		h.Unknown = nil
		f.means = meaning(f.c, h)
		out = append(out, f)
	}
	return out
}

func TestSaidOtherwise(t *testing.T) {
	all := fairOnes(t)
	for name, test := range map[string]func(*testing.T, []fair){
		"Adverbials": adverbialsChangeNothing, "Subjects": claimsFollowTheirSubject, "Rows": phrasesOfARowTellTheSame,
	} {
		t.Run(name, func(t *testing.T) { test(t, all) })
	}
}

// count counts how changed sentences are read, in all and by what was changed.
type count struct {
	t    *testing.T
	all  map[string]int
	by   map[string]map[string]int
	seen int
}

func newCount(t *testing.T) *count {
	return &count{t: t, all: map[string]int{}, by: map[string]map[string]int{}}
}

// hear judges a changed sentence by what the first one means, and what the change may add.
func (y *count) hear(f *fair, means, changed, by string, may ...string) {
	h := f.in.Read(changed)
	for _, i := range items(meaning(f.c, h)) {
		if slices.Contains(may, i.what) {
			means = beside(means, i)
		}
	}
	how, diff, _ := judge(means, f.c, h)
	y.seen++
	y.all[how]++
	if y.by[by] == nil {
		y.by[by] = map[string]int{}
	}
	if y.by[by][how]++; how != right {
		y.t.Logf("%s: {%s} %s: %s\n\twas %s\n\t%s\n\tread %s", how, by, f.c.Name(), changed, f.said, diff, meaning(f.c, h))
	}
}

// beside adds what a change may tell to what a sentence means, in place of what it says
// of the same, if it says how often: "glows", "glows most of the time".
func beside(means string, i item) string {
	var kept []string
	for _, m := range strings.Split(means, "; ") {
		of := items(m)[0]
		if i.what != "intermittent" || of.part != i.part && of.what != "all_dead" {
			kept = append(kept, m)
		}
	}
	return strings.Join(append(kept, i.what+" "+i.part), "; ")
}

// bound prints the counts and holds that no more of a thousand are missed, and no more
// in silence, than before.
func (y *count) bound(missed, wrong float64) {
	y.t.Helper()
	worst := make([]string, 0, len(y.by))
	for by := range y.by {
		worst = append(worst, by)
	}
	miss := func(by string) int { return y.by[by][silent]*1000 + y.by[by][asked] + y.by[by][untold] }
	sort.Slice(worst, func(i, j int) bool {
		if miss(worst[i]) != miss(worst[j]) {
			return miss(worst[i]) > miss(worst[j])
		}
		return worst[i] < worst[j]
	})
	for _, by := range worst[:min(60, len(worst))] {
		if y.by[by][right] != y.by[by][right]+y.by[by][silent]+y.by[by][asked]+y.by[by][untold] {
			y.t.Logf("by %q: %v", by, y.by[by])
		}
	}
	y.t.Logf("of %d: %v", y.seen, y.all)
	share := func(n int) float64 { return 1000 * float64(n) / float64(y.seen) }
	if m, w := share(y.seen-y.all[right]), share(y.all[silent]); m > missed || w > wrong {
		y.t.Errorf("of a thousand %.1f are missed, %.1f in silence; before %.1f and %.1f", m, w, missed, wrong)
	}
}

// taken says whether a sentence is among those tried, one in so many: always the same
// ones, whatever else is in the fixtures; in a night's run all of them.
func taken(said string, oneIn uint32) bool {
	h := fnv.New32a()
	h.Write([]byte(said))
	return circuittest.Nightly || h.Sum32()%oneIn == 0
}

// adverbials say when, where, how or by whom; none of them changes what a machine does,
// but for what stands behind the bar, which each may add. What somebody thinks is asked,
// and is not among them.
var adverbials = []string{
	"since yesterday", "on small and large", "on high", "in the morning", "with a pan on it", "no matter what", "for the last week or so",
	"most of the time|intermittent", "says the wife", "all by itself", "at any setting", "when i turn it on", "for some reason", "out of nowhere",
	"now", "since monday", "for a month", "these days", "as far as i can tell", "at the moment", "every single time",
	"all of a sudden", "believe it or not", "this morning", "last night", "lately", "on any setting", "no matter what i do", "for a while now",
	"to be honest", "according to my husband", "the tenant says", "at all times", "since christmas", "since last week",
	"for no reason", "with nothing on it", "in the evening", "day and night", "right now", "so far", "whatever i set",
	"when i use it", "on every setting", "from one day to the next", "this week", "today", "the last few days", "in my kitchen", "for sure",
	"if that helps", "like i said", "from what i can see", "on low and high", "regardless of the setting", "even on high",
}

// beforeVerb are those that may stand before a verb.
var beforeVerb = []string{"still", "now", "suddenly", "since yesterday", "for some reason", "all of a sudden", "most of the time|intermittent", "just", "lately",
	"apparently", "as of today", "no matter what", "in the morning", "simply", "out of nowhere", "actually"}

var finite = regexp.MustCompile(`^[^,.;:!?]*?[a-z] (is|isn't|isnt|are|aren't|does|doesn't|doesnt|does not|do not|don't|dont|won't|wont|will not|can't|cant|heats|glows|works|trips|stays|keeps|quit|quits|stopped|runs|turns|spins|hums|gets)\b`)

// A harmless word of time, place or speaker at the front, at the end or before the verb
// changes nothing of what is told.
func adverbialsChangeNothing(t *testing.T, all []fair) {
	y := newCount(t)
	for _, f := range all {
		plain := strings.TrimRight(f.said, " .!?")
		add := func(a, changed, at string) {
			if taken(a+changed, 67) {
				a, may, _ := strings.Cut(a, "|")
				y.hear(&f, f.means, strings.ReplaceAll(changed, "~", a), at+" "+a, "since", "sudden", may)
			}
		}
		for _, a := range adverbials {
			add(a, "~ "+f.said, "front")
			add(a, plain+" ~", "end")
		}
		if at := finite.FindStringSubmatchIndex(strings.ToLower(f.said)); at != nil {
			for _, a := range beforeVerb {
				add(a, f.said[:at[2]]+"~ "+f.said[at[2]:], "verb")
			}
		}
	}
	y.bound(23, 9)
}

// likes are places alike, by the words for them and what they are called in netlists.
var likes = [][2][]string{
	{{"left front", "front left", "lf", "lf_"}, {"right rear", "rear right", "rr", "rr_"}},
	{{"left front", "front left", "lf", "lf_"}, {"right front", "front right", "rf", "rf_"}},
	{{"left rear", "rear left", "lr", "lr_"}, {"right rear", "rear right", "rr", "rr_"}},
	{{"back left", "left back"}, {"back right", "right back"}},
	{{"bake element", "bake_"}, {"broil element", "broil_"}},
	{{"bake element", "bake_"}, {"broiler", "broil_"}},
	{{"upper element", "upper_element"}, {"lower element", "lower_element"}},
	{{"upper oven", "upper_"}, {"lower oven", "lower_"}},
}

var corner = regexp.MustCompile(`^[lr][fr]_(inner|middle|outer)$`)

// swapped writes each word of one list as the one at its place in the other, and the
// other way round.
func swapped(s string, a, b []string) string {
	var pairs []string
	for i := range a {
		if strings.HasSuffix(a[i], "_") || !strings.Contains(s, " ") {
			continue
		}
		pairs = append(pairs, regexp.QuoteMeta(a[i]), regexp.QuoteMeta(b[i]))
	}
	if len(pairs) == 0 {
		return s
	}
	return regexp.MustCompile(`(?i)\b(`+strings.Join(pairs, "|")+`)\b`).ReplaceAllStringFunc(s, func(w string) string {
		if i := slices.Index(a, strings.ToLower(w)); i >= 0 {
			return b[i]
		}
		return a[slices.Index(b, strings.ToLower(w))]
	})
}

// What is said of one of two like parts is, said of the other, told of that.
func claimsFollowTheirSubject(t *testing.T, all []fair) {
	y := newCount(t)
	for _, f := range all {
		for _, like := range likes {
			a, b := like[0], like[1]
			changed := swapped(f.said, a, b)
			if strings.EqualFold(changed, f.said) {
				continue
			}
			refs := strings.NewReplacer(a[len(a)-1], b[len(b)-1], b[len(b)-1], a[len(a)-1])
			if !strings.Contains(a[len(a)-1], "_") {
				refs = strings.NewReplacer("lr_", "rr_", "rr_", "lr_")
			}
			want := refs.Replace(f.means)
			if strings.HasPrefix(a[0], "upper el") && strings.Contains(f.means, "reads") {
				continue // each is used in another mode
			}
			if strings.HasPrefix(a[0], "bake") && (strings.Contains(f.means, "@") || regexp.MustCompile(`(?i)\b(oven|top|bottom|upper|lower|bakes?|broils?|baking|broiling)\b`).MatchString(strings.NewReplacer("bake element", "", "broil element", "").Replace(f.said))) ||
				strings.HasPrefix(a[0], "upper el") && regexp.MustCompile(`(?i)\b(upper|lower|top|bottom)\b`).MatchString(strings.NewReplacer("upper element", "", "lower element", "").Replace(f.said)) {
				continue
			}
			has := func(name string) bool {
				return slices.ContainsFunc(f.c.Parts(), func(p circuit.Part) bool { return p.Name == name })
			}
			known := true
			for _, i := range items(want) {
				known = known && (i.part == "" || has(i.part))
			}
			for _, p := range f.c.Parts() { // each has what the other has: as many coils
				known = known && (!corner.MatchString(p.Name) || has(refs.Replace(p.Name)))
			}
			if known {
				y.hear(&f, want, changed, a[0]+" / "+b[0])
			}
		}
	}
	y.bound(62, 22)
}

// row is what may be said for a phrase: those of its row with the same inflection.
type row struct{ name, phrase string }

var (
	function = regexp.MustCompile(`^(no|not|never|wont|doesnt|dont|isnt|cant|didnt|wouldnt|is|are|was|it|has|had|have|will|to|a|the|in|on|only|too|way|half|all|i|we|at|for|up|out|off)$`)
	ending   = regexp.MustCompile(`(ing|ed|s)$`)
	ofHeat   = regexp.MustCompile(`heat|hot|warm|dry|cold|toast|bak|boil|fire`)
)

// inflection tells one form of a phrase from another, and whether it speaks of heat, as
// far as it can be seen.
func inflection(phrase string) string {
	first, rest, _ := strings.Cut(phrase, " ")
	form := "one"
	switch end := ending.FindString(first); {
	case function.MatchString(first):
		form = first
	case end != "" && len(first) > 4:
		form = end
	case rest != "":
		form = "several"
	}
	if ofHeat.MatchString(phrase) {
		form += " of heat"
	}
	return form
}

// table reads the rows of phrases of the table of English that tell something.
func table(t *testing.T) (rows map[string][]string, all map[string][]string) {
	var f map[string]any
	data, err := os.ReadFile("en.toml")
	if err != nil {
		t.Fatal(err)
	}
	if err := toml.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	rows, all = map[string][]string{}, map[string][]string{}
	put := func(name string, say any) {
		list, _ := say.([]any)
		for _, p := range list {
			if p, _ := p.(string); p != "" {
				all[p] = append(all[p], name)
				if !strings.ContainsAny(p, "|-'") && !strings.HasPrefix(name, "grammar.") && !strings.HasPrefix(name, "where.") {
					rows[name] = append(rows[name], p)
				}
			}
		}
	}
	for _, section := range []string{"grammar", "states", "whole", "seen", "history", "conditions", "where", "circumstances", "standing", "when", "units", "codes"} {
		m, _ := f[section].(map[string]any)
		for key, say := range m {
			put(section+"."+key, say)
		}
	}
	verbs, _ := f["verbs"].(map[string]any)
	for key, v := range verbs {
		m, _ := v.(map[string]any)
		put("verbs."+key, m["say"])
	}
	nouns, _ := f["nouns"].([]map[string]any)
	for _, v := range nouns {
		say, _ := v["say"].([]any)
		if len(say) > 0 {
			put("nouns."+say[0].(string), say)
		}
	}
	return rows, all
}

var wordsOf = regexp.MustCompile(`[a-z0-9]+(?:['’][a-z]+)?`)

// longestPhrases finds the phrases of the table in a sentence, each as long as can be,
// with where they stand.
func longestPhrases(said string, all map[string][]string) (out []row, at [][2]int) {
	said = strings.ToLower(said)
	found := wordsOf.FindAllStringIndex(said, -1)
	for i := 0; i < len(found); {
		n := min(6, len(found)-i)
		for ; n > 0; n-- {
			p := strings.NewReplacer("'", "", "’", "").Replace(said[found[i][0]:found[i+n-1][1]])
			if names := all[p]; len(names) > 0 {
				if len(names) == 1 {
					out, at = append(out, row{names[0], p}), append(at, [2]int{found[i][0], found[i+n-1][1]})
				}
				break
			}
		}
		i += max(n, 1)
	}
	return out, at
}

// elsewise are places where a word does not stand for its row: what is denied twice, a
// knob's low, what was exchanged with its like, and the "open" of a meter, a contact or a door.
var elsewise = regexp.MustCompile(`(?i)\b(?:don'?t|doesn'?t|won'?t|never) \*states|\b(?:reads?|checks?|tests?) \*states\.dead|\b(?:relay|limiter) \*standing|\b(?:on|down,) \*states\.weak|\bdoor (?:\w+ )?\*states|\*states\.\w+ the door|\*history\.replaced.* with `)

// A phrase of a row said by another of the same row tells the same, but for "open", which
// a meter shows: it was found so.
func phrasesOfARowTellTheSame(t *testing.T, all []fair) {
	rows, phrases := table(t)
	y := newCount(t)
	for _, f := range all {
		found, at := longestPhrases(f.said, phrases)
		for i, r := range found {
			if elsewise.MatchString(f.said[:at[i][0]] + "*" + r.name + f.said[at[i][1]:]) {
				continue
			}
			for _, other := range rows[r.name] {
				if other == r.phrase || other == "open" || r.phrase == "open" || len(phrases[other]) > 1 || inflection(other) != inflection(r.phrase) {
					continue
				}
				if changed := f.said[:at[i][0]] + other + f.said[at[i][1]:]; taken(changed, 29) {
					y.hear(&f, f.means, changed, r.name)
				}
			}
		}
	}
	y.bound(58, 26)
}
