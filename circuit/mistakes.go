package circuit

import (
	"fmt"
	"slices"
)

// Mistake is how often somebody errs, or keeps something to himself.
type Mistake struct {
	Name, Who, Why string
	// Chance is how often, Most the most that a netlist may say.
	Chance, Most float64
}

// mistakes holds the defaults, all common practice without a published source: the
// meter errs least, then the eye, then memory.
var mistakes = []Mistake{
	{"slip", "meter", "a reading taken at the wrong terminal, or misread; from 0.03 each may be asked for twice more", 0.01, 0.2},
	{"misjudge", "eye", "how a load works is taken for another way it works", 0.01, 0.2},
	{"alarm", "eye", "something wrong is told of where nothing is, of all that could have been told", 0.0003, 0.05},
	{"looked", "eye", "marks seen at a part say nothing of it: old heat, old dirt", 0.03, 0.5},
	{"customer", "customer", "takes one place or one cause for another: what is told without a part says nothing", 0.1, 0.9},
	{"unsaid", "customer", "complains of one load and does not say that another is dead or weak as well", 0.1, 0.9},
	{"code_unsaid", "customer", "complains and does not tell of the code that the machine shows", 0.3, 0.9},
	{"trips_unsaid", "customer", "complains of something and does not tell that the breaker trips with it", 0.15, 0.9},
	{"untried", "customer", "says that the oven is dead and has tried one of the ways in which it heats", 0.8, 0.95},
	{"hum_unheard", "customer", "a motor that hums is said to do nothing", 0.4, 0.9},
	{"over_unnoticed", "customer", "too much heat or light is taken for enough", 0.5, 0.9},
}

// Mistakes lists how often somebody errs, by default.
func Mistakes() []Mistake { return slices.Clone(mistakes) }

// Mistake is the chance of that name on this machine.
func (c *Circuit) Mistake(name string) float64 {
	return c.mistakes[slices.IndexFunc(c.mistakes, func(r Mistake) bool { return r.Name == name })].Chance
}

func (b *builder) mistakes(given map[string]float64) {
	b.c.mistakes = slices.Clone(mistakes)
	at := map[string]int{}
	for i, r := range mistakes {
		at[r.Name] = i
	}
	for _, name := range sortedKeys(given) {
		i, err := lookUp(at, "mistake", name)
		if err != nil {
			b.failErr("mistakes."+name, err)
			continue
		}
		if v := given[name]; !(v >= 1e-6 && v <= mistakes[i].Most) {
			b.fail("mistakes."+name, fmt.Sprintf("1e-6 to %g", mistakes[i].Most), "chance %g", v)
			continue
		}
		b.c.mistakes[i].Chance = given[name]
	}
}
