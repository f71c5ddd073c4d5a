package visit

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Tally is what finished, proved visits came to, in counts: nothing in it tells
// whose visit it was. Two are merged by adding them up.
type Tally struct {
	// Visits is how many were counted; Left how many were not, by why.
	Visits int            `toml:"visits"`
	Left   map[string]int `toml:"left"`
	// Kinds and Ways count what failed: by the part's kind, as [priors] of a
	// netlist names it, and by the way it failed.
	Kinds map[string]Count `toml:"kinds"`
	Ways  map[string]Count `toml:"ways"`
	// Said counts, by what a complaint meant, what failed; Words does so by the
	// words of the table that it was said in.
	Said  map[string]map[string]float64 `toml:"said"`
	Words map[string]map[string]float64 `toml:"words"`
	// Moves has the minutes that each kind of test took, by [Note.move].
	Moves map[string]Moments `toml:"moves"`
}

// Count is how often something failed, beside how often it would have by common
// practice on the machines visited. Both go in fractions where a verdict left
// several causes.
type Count struct {
	Failed   float64 `toml:"failed"`
	Expected float64 `toml:"expected"`
}

// Moments sum figures and their squares.
type Moments struct {
	N       int     `toml:"n"`
	Sum     float64 `toml:"sum"`
	Squares float64 `toml:"squares"`
}

// Mean and Deviation describe the figures; the deviation of fewer than two is 0.
func (m Moments) Mean() float64 { return m.Sum / float64(max(1, m.N)) }
func (m Moments) Deviation() float64 {
	if m.N < 2 {
		return 0
	}
	n := float64(m.N)
	return math.Sqrt(max(0, m.Squares-m.Sum*m.Sum/n) / (n - 1))
}

// NewTally begins one.
func NewTally() *Tally {
	return &Tally{Left: map[string]int{}, Kinds: map[string]Count{}, Ways: map[string]Count{}, Said: map[string]map[string]float64{},
		Words: map[string]map[string]float64{}, Moves: map[string]Moments{}}
}

// Merge adds another tally up.
func (t *Tally) Merge(o *Tally) {
	t.Visits += o.Visits
	for k, n := range o.Left {
		t.Left[k] += n
	}
	for _, m := range []struct{ into, from map[string]Count }{{t.Kinds, o.Kinds}, {t.Ways, o.Ways}} {
		for k, c := range m.from {
			m.into[k] = Count{m.into[k].Failed + c.Failed, m.into[k].Expected + c.Expected}
		}
	}
	for _, m := range []struct{ into, from map[string]map[string]float64 }{{t.Said, o.Said}, {t.Words, o.Words}} {
		for said, failed := range m.from {
			for kind, n := range failed {
				count(m.into, said, kind, n)
			}
		}
	}
	for k, x := range o.Moves {
		m := t.Moves[k]
		t.Moves[k] = Moments{m.N + x.N, m.Sum + x.Sum, m.Squares + x.Squares}
	}
}

func count(in map[string]map[string]float64, said, kind string, n float64) {
	if in[said] == nil {
		in[said] = map[string]float64{}
	}
	in[said][kind] += n
}

// Why a visit is not counted.
const (
	NotFinished = "not finished"
	NotProved   = "not proved"
	NamedTwice  = "named twice"
)

// Add counts a visit to a machine whose repair held. Meant is what its complaint
// was taken for, words the known words it was said in.
func (t *Tally) Add(c *circuit.Circuit, rec *Record, meant, words []string) error {
	failed := map[string]float64{}
	causes := rec.Verdict.Causes
	if len(rec.Repair.Parts) > 0 { // what was named was left alone, and it works: what was repaired counts
		causes = nil
		t.repaired(c, rec.Repair.Parts, failed)
	}
	for _, cause := range causes {
		either := strings.Split(cause, suspect.Either)
		for _, one := range either {
			faults, err := parseCause(c, one)
			if err != nil {
				return err
			}
			t.fails(c, faults, 1/float64(len(either)), failed)
		}
		t.expect(c)
	}
	t.Visits++
	for kind, n := range failed {
		for _, m := range meant {
			count(t.Said, m, kind, n)
		}
		for _, w := range words {
			count(t.Words, w, kind, n)
		}
	}
	for _, list := range [][]Note{rec.Notes, rec.After} {
		for _, n := range list {
			if n.Minutes > 0 && n.Made() {
				move := n.move()
				m := t.Moves[move]
				t.Moves[move] = Moments{m.N + 1, m.Sum + n.Minutes, m.Squares + n.Minutes*n.Minutes}
			}
		}
	}
	return nil
}

// move names the kind of test that a note is the outcome of: a move as [suspect.Ask]
// does, a reading by the meter's function, what was told as such; all else is seen by
// turning the machine on.
func (n *Note) move() string {
	f, err := meter.ParseFunction(n.Function)
	switch {
	case n.Ask != "":
		return n.Ask
	case n.Told != "":
		return "told"
	case n.P == "" && n.Q == "" || err != nil:
		return "trial"
	case n.Lifted != "":
		return f.String() + ", lead lifted"
	}
	return f.String()
}

// expect counts one failure by common practice.
func (t *Tally) expect(c *circuit.Circuit) {
	for kind, share := range shares(c) {
		k := t.Kinds[kind]
		k.Expected += share
		t.Kinds[kind] = k
	}
}

// repaired counts one failure in any of the parts whose repair held; how it failed
// nobody knows.
func (t *Tally) repaired(c *circuit.Circuit, parts []string, failed map[string]float64) {
	for _, name := range parts {
		if id, err := c.FindPart(name); err == nil {
			kind, share := c.Part(id).Kind.String(), 1/float64(len(parts))
			k := t.Kinds[kind]
			k.Failed += share
			t.Kinds[kind] = k
			failed[kind] += share
		}
	}
	t.expect(c)
}

// fails counts one cause, by kind and, where it is a single fault, by way.
func (t *Tally) fails(c *circuit.Circuit, faults []circuit.Fault, share float64, failed map[string]float64) {
	kind := kindOf(c, faults[0].Branch)
	k := t.Kinds[kind]
	k.Failed += share
	t.Kinds[kind] = k
	failed[kind] += share
	if len(faults) > 1 {
		return
	}
	total, is := 0.0, map[string]float64{}
	for _, way := range singleWays {
		f := faults[0]
		if f.Kind = way; c.CanFail(f) {
			is[way.String()] = c.Way(way.String())
			total += is[way.String()]
		}
	}
	name := faults[0].Kind.String()
	if is[name] == 0 {
		return
	}
	for way, w := range is {
		x := t.Ways[way]
		x.Expected += share * w / total
		if way == name {
			x.Failed += share
		}
		t.Ways[way] = x
	}
}

// singleWays are the ways to fail of one branch that a verdict names.
var singleWays = []circuit.FaultKind{circuit.Open, circuit.HighResistance, circuit.Welded, circuit.Short, circuit.Grounded, circuit.Seized, circuit.Driven}

// kindOf names what a branch belongs to as [priors] does.
func kindOf(c *circuit.Circuit, id circuit.BranchID) string {
	b := c.Branch(id)
	if b.Wire != circuit.None {
		return "wire"
	}
	return c.Part(b.Part).Kind.String()
}

// shares gives each kind's share in the failures of a machine by common practice.
func shares(c *circuit.Circuit) map[string]float64 {
	out, total := map[string]float64{}, 0.0
	add := func(name string, prior float64) {
		if prior > 0 {
			out[name] += prior
			total += prior
		}
	}
	for i := range c.Parts() {
		k := c.Parts()[i].Kind
		add(k.String(), k.Info().Prior)
	}
	for range c.Wires() {
		add("wire", circuit.KindNone.Info().Prior)
	}
	for k := range out {
		out[k] /= total
	}
	return out
}

// Prior is one figure of a netlist's [priors], learnt from a tally.
type Prior struct {
	Name string
	// Common is the figure by common practice; Learnt is it with what was
	// counted, nine chances in ten from Low to High.
	Common, Learnt, Low, High float64
	Count
}

// asMuch is how many failures of a kind, if they had been seen, would weigh as
// much as common practice does: few visits change little (ours, no source).
const asMuch = 10

// Shrunk is a rate of failure after some failures in an exposure: its mean, and
// where it lies nine chances in ten. Before that it was spread as a gamma
// distribution of a shape and a rate, and after it is again, of shape + failed and
// rate + exposure, since failures come as a Poisson count (D. Clayton and J. Kaldor,
// "Empirical Bayes estimates of age-standardized relative risks for use in
// disease mapping", Biometrics 43, 1987: the gamma model; citation from memory).
func Shrunk(shape, rate, failed, exposure float64) (mean, low, high float64) {
	after := distuv.Gamma{Alpha: shape + failed, Beta: rate + exposure}
	return after.Mean(), after.Quantile(0.05), after.Quantile(0.95)
}

// Priors are the figures that a tally changes, by name.
func (t *Tally) Priors() []Prior {
	common := map[string]float64{"wire": circuit.KindNone.Info().Prior, circuit.SupplyName: circuit.KindSupply.Info().Prior}
	for _, k := range circuit.Kinds() {
		common[k.String()] = k.Info().Prior
	}
	for _, w := range circuit.Ways() {
		common[w.Name] = w.Share
	}
	var out []Prior
	for _, counts := range []map[string]Count{t.Kinds, t.Ways} {
		for name, c := range counts {
			mean, low, high := Shrunk(asMuch, asMuch, c.Failed, c.Expected)
			base := common[name]
			out = append(out, Prior{Name: name, Common: base, Learnt: base * mean, Low: base * low, High: base * high, Count: c})
		}
	}
	slices.SortFunc(out, func(a, b Prior) int {
		return cmp.Or(cmp.Compare(b.Failed, a.Failed), cmp.Compare(b.Expected, a.Expected), cmp.Compare(a.Name, b.Name))
	})
	return out
}
