package suspect

import (
	"math"
	"math/bits"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// errs is how often somebody errs, see [circuit.Mistakes].
type errs struct {
	slip, misjudge, alarm, looked, customer, unsaid, uncoded, untripped, unheard, unnoticed, untried float64
}

func errsOf(c *circuit.Circuit) *errs {
	return &errs{slip: c.Mistake("slip"), misjudge: c.Mistake("misjudge"), alarm: c.Mistake("alarm"), looked: c.Mistake("looked"), customer: c.Mistake("customer"),
		unsaid: c.Mistake("unsaid"), uncoded: c.Mistake("code_unsaid"), untripped: c.Mistake("trips_unsaid"), unheard: c.Mistake("hum_unheard"), unnoticed: c.Mistake("over_unnoticed"), untried: c.Mistake("untried")}
}

// predicted is what a hypothesis makes of an evidence's question.
type predicted struct {
	reading meter.Reading
	// share is what the load gets, of its rating, should what it gets in a
	// sound machine.
	share, should float64
	// hums tells a motor that draws and does not turn; free that it would turn if
	// pushed.
	hums, free bool
	// acts says that it pulls in or does not: a valve or a solenoid.
	acts    bool
	trips   bool
	another bool // it trips by what the mode does not feed
	arcs    bool // it may trip: what is fed touches metal somewhere along it
	warmth  warmth
	warms   bool    // warmth is known
	dark    bool    // nothing heats, and a control is dead
	stands  bool    // a drive motor does not turn
	told    float64 // the chance of being told so
	until   bool    // it is on until a control shows a code
	coded   bool    // a control shows a code, and none was told of
	chatter bool
	of      []predicted // the meanings of a symptom that has several
	before  []predicted // of one of slowness, those of the modes said to be slow before
	// state is equal where the same coils are pulled in and the same trips.
	state uint64
}

// logLikelihood is the log of how probable the answer is under predictions: of
// one set of faults, or of those at the corners of a cell of sizes.
func (by *errs) logLikelihood(ev Evidence, ps ...predicted) float64 {
	if ev.Reading != nil {
		if low, high, ok := ends(ps); ok {
			return math.Log(by.cellLikelihood(ev.Reading, low, high))
		}
	}
	sum := 0.0
	for _, p := range ps {
		switch {
		case ev.Told != nil:
			sum += p.told
		case ev.Reading != nil:
			sum += by.readingLikelihood(ev.Reading, p.reading)
		default:
			sum += by.symptomLikelihood(ev.Symptom, p)
		}
	}
	return math.Log(sum / float64(len(ps)))
}

// mostLog bounds [errs.logLikelihood]: only a figure that was read, or something
// told, has a density, which may be above 1.
func (ev Evidence) mostLog() float64 {
	switch o := ev.Reading; {
	case ev.Told != nil:
		return max(0, math.Log(ev.Told.most()))
	case o == nil || o.OL || o.Unsteady:
		return 0
	case o.Jumps:
		return math.Log(anything(o.Probes.Function))
	}
	return math.Log(1/(math.Sqrt(2*math.Pi)*sharpest) + anything(ev.Reading.Probes.Function))
}

func (by *errs) symptomLikelihood(s *Symptom, p predicted) float64 {
	if s.Untried {
		tried := *s
		tried.Untried = false
		return by.untried + (1-by.untried)*by.symptomLikelihood(&tried, p)
	}
	switch {
	case s.Trips && p.arcs:
		return by.told(true) * tripsByArc
	case s.Trips && !p.trips:
		return by.alarm * tripsAlarm
	case s.Trips && p.another:
		return by.told(true) * tripsAnother
	case s.Trips:
		return by.told(true)
	case s.Chatters:
		return by.told(p.chatter)
	case len(p.of) > 0:
		chances := make([]float64, len(p.of))
		for i, m := range s.meanings() {
			chances[i] = by.symptomLikelihood(&m, p.of[i])
		}
		return s.any(chances)
	case s.Whole == AllDead:
		return by.told(p.share < circuit.OnShare)
	case s.Whole == Quiet:
		said := 1.0
		if p.share < circuit.WeakShare {
			said *= by.unsaid
		}
		if p.dark {
			said *= darkUnsaid
		}
		if p.coded {
			said *= by.uncoded
		}
		if p.trips {
			said *= by.untripped
		}
		return said
	case s.Whole == SomeOn:
		return by.told(p.share >= circuit.OnShare)
	case s.Whole == Slow:
		return by.slowAgain(p)
	case s.heats() && p.warms:
		return by.toldWarmth(s, p)
	}
	if s.Whole == Pushed {
		return by.told(p.hums && p.free)
	}
	chances := by.called(p.share, p.should)
	if p.hums {
		// It does nothing, says who does not listen.
		chances = stateChances{}
		chances.set(circuit.Hums, 1-by.unheard)
		chances.set(circuit.Dead, by.unheard)
		chances.set(circuit.Normal, 0)
		chances.set(circuit.Off, 0)
	}
	if s.lit {
		red := chances.of[circuit.Weak] * (1 - below(p.share, dullShare*p.should, weakSharp))
		chances.set(circuit.Normal, chances.of[circuit.Normal]+litForWeak*red)
	}
	if p.until {
		chances.set(circuit.Normal, max(chances.of[circuit.Normal], untilCoded))
	}
	if p.acts {
		chances.set(circuit.Dead, chances.of[circuit.Dead]+chances.of[circuit.Weak])
		chances.set(circuit.Weak, 0)
	}
	wrong := by.misjudge
	if !s.State.Sound() {
		// One thing wrong may be taken for another, and seldom nothing for it.
		wrong = by.alarm + by.misjudge*(1-chances.of[circuit.Normal]-chances.of[circuit.Off])
	}
	return wrong + (1-float64(bits.OnesCount16(chances.may))*by.misjudge)*chances.of[s.State]
}

// slow is the chance that heat is said to take too long.
func (by *errs) slow(p predicted) float64 {
	if p.warms {
		return by.toldWarmth(&Symptom{Whole: Slow}, p)
	}
	// Half as long again is noticed (common practice, no source): at two thirds of
	// the power.
	slow := below(p.share, 0.67, weakSharp)
	if p.share < circuit.OnShare {
		slow = p.slowForCold()
	}
	return by.alarm + (1-by.misjudge-by.alarm)*slow
}

// slowForCold is the chance that what does not heat at all is said to be slow: it would
// be called cold, and dead where a display is dark or nothing turns (common practice, no
// source).
func (p *predicted) slowForCold() float64 {
	if p.dark || p.stands {
		return slowForDark
	}
	return slowForCold
}

// How much less likely what heats part of the time, for want of air, is called dead than
// what never does; and the chance that it is called weak (common practice, no source).
const deadForPart, weakForPart = 0.05, 0.4

// partly makes of the log likelihood of what is said of heat that never comes that of heat
// which comes part of the time.
func (by *errs) partly(s *Symptom, never float64) float64 {
	switch {
	case s.Whole == Slow:
		return math.Log(1 - by.misjudge)
	case s.State == circuit.Dead:
		return never + math.Log(deadForPart)
	case s.State == circuit.Weak:
		return math.Log(weakForPart)
	}
	return never
}

// slowAgain is the chance of it where as much was said of other modes before: one
// person has one patience, so that what is no less slow is called so too, unless
// what was said then was nothing.
func (by *errs) slowAgain(p predicted) float64 {
	own, least := by.slow(p), 1.0
	if len(p.before) == 0 {
		return own
	}
	for _, before := range p.before {
		least = min(least, by.slow(before))
	}
	meant := max(0, 1-by.alarm/least)
	return meant*min(1, own/least) + (1-meant)*own
}

// told is the chance of being told of something out of the ordinary.
func (by *errs) told(is bool) float64 {
	if is {
		return 1 - by.misjudge
	}
	return by.alarm
}

// litForWeak is the chance that what gives too little is said to work by who says besides
// that there is too little heat: nobody sees from a red glow how much is missing. Below
// dullShare of its power it is not red (common practice, no source).
const litForWeak, dullShare = 0.85, 0.5

// darkUnsaid is how much less often than others a display is not told of that is dark: who
// stands before it sees that (common practice, no source).
const darkUnsaid = 0.3

// untilCoded is how often what a code ends is said to work all the same: it did, until the
// control looked at what it senses (common practice, no source).
const untilCoded = 0.1

// tripsAlarm is how much less often than others it is told of for nothing that a breaker
// trips: nobody takes one that holds for it (common practice, no source).
const tripsAlarm = 0.3

// How sharply a person tells the states of a load apart, in shares of what it
// should get, around the bounds of [circuit.Judge] (common practice, no source).
const (
	weakSharp, onSharp = 0.06, 0.005
	slowForCold        = 0.2
	slowForDark        = 0.01
)

// What gets less than tepid of its rating, as an element in series with another across
// one leg, neither glows nor cooks, and is warm to the hand alone. So often it is called
// dead by whoever looks; whoever touches it still calls it weak (common practice, no
// source).
const (
	tepid, tepidSharp = 0.09, 0.014
	deadForTepid      = 0.7
)

// stateChances are those of states that a load is said to be in; may has a bit for
// each that comes into question.
type stateChances struct {
	of  [16]float64
	may uint16
}

func (c *stateChances) set(s circuit.LoadState, p float64) { c.of[s], c.may = p, c.may|1<<s }

// below is the chance that somebody takes a share for less than a bound: told apart as a
// normal error of its sharpness does, so that what is far from the bound is not taken for
// it, but by those who misjudge.
func below(x, at, sharp float64) float64 { return math.Erfc((x-at)/(sharp*math.Sqrt2)) / 2 }

// called gives the chance of each state that a load is said to be in.
func (by *errs) called(share, should float64) (c stateChances) {
	if should < circuit.OnShare {
		off := below(share, circuit.OnShare, onSharp)
		c.set(circuit.Off, off)
		c.set(circuit.StaysOn, 1-off)
		return c
	}
	x := share / should
	dead := below(x, circuit.OnShare, onSharp)
	weak := max(0, below(x, circuit.WeakShare, weakSharp)-dead)
	dead = max(dead, weak*deadForTepid*below(share, tepid, tepidSharp))
	over := (1 - by.unnoticed) * (1 - below(x, circuit.OverShare, weakSharp))
	c.set(circuit.Dead, dead)
	c.set(circuit.Weak, weak)
	c.set(circuit.TooMuch, over)
	c.set(circuit.Normal, max(0, 1-dead-weak-over))
	return c
}

// Knees of the scales on which readings are compared: below it a difference
// counts by its size, above by its ratio.
const (
	kneeVolts = 10
	kneeOhms  = 1
	kneeAmps  = 0.5
)

func knee(f meter.Function) float64 {
	switch {
	case f == meter.Amps:
		return kneeAmps
	case f.Live():
		return kneeVolts
	}
	return kneeOhms
}

func scaled(f meter.Function, v float64) float64 { return math.Log1p(max(0, v) / knee(f)) }

// readingLikelihood is a mixture: with the chance of a slip anything on the
// scale, else what the prediction gives: flat over its interval and falling
// off beside it.
func (by *errs) readingLikelihood(o *Observation, r meter.Reading) float64 {
	f := o.Probes.Function
	if o.Jumps {
		return by.jumped(o, r, r)
	}
	if o.OL {
		slip := by.slip
		if o.Unsure {
			slip = max(slip, unsureOL)
		}
		switch {
		case r.OL:
			return 1 - slip
		case r.MaybeOL:
			return max(0.3, slip)
		}
		return slip
	}
	if o.Unsteady {
		if r.Unsteady {
			return 1 - by.slip
		}
		return by.slip
	}
	if r.OL {
		// Fingers on the probes, or a stray way around, read megohms.
		if o.Value > 1e6 {
			return 0.3
		}
		return by.slipped(o, madeOfOpen)
	}
	fits := o.fits(intervalOf(f, r), scaled(f, r.Value), o.Give, !r.Unsteady && !r.Jumps)
	if r.Unsteady {
		fits *= 0.7 // it would more often be called unsteady
	}
	return (1-by.slip)*fits + by.slipped(o, 1)
}

// madeOfOpen is how much rarer a slip makes a figure where nothing conducts than it
// makes another figure of one: whatever it is, something conducts (common practice, no
// source).
const madeOfOpen = 0.1

// mostlyNought is the share of slips that read near nothing where readings slip often: a
// probe that touches no metal has no volts, both on one piece of it no ohms. Who seldom
// slips has put them down again before he says so (common practice, no source).
const mostlyNought = 0.8

// slipped is the chance density of a figure that is a slip: nothing, or by some share
// whatever the scale shows.
func (by *errs) slipped(o *Observation, share float64) float64 {
	f, none := o.Probes.Function, interval{}
	any := by.slip * share * anything(f)
	if by.slip < slipsOften {
		return any
	}
	if !f.Live() {
		none.high = scaled(f, nought)
	}
	return by.slip*mostlyNought*fit(scaled(f, o.Value), none, 0) + (1-mostlyNought)*any
}

// anything is the chance density of whatever the scale shows.
func anything(f meter.Function) float64 {
	if f.Live() {
		return 1 / scaled(f, 600)
	}
	return 1 / scaled(f, 1e7)
}

// interval is a reading on the scale that readings are compared on.
type interval struct{ low, high float64 }

func intervalOf(f meter.Function, r meter.Reading) interval {
	i := interval{scaled(f, r.Low), scaled(f, r.High)}
	if r.MaybeOL {
		i.high = max(i.high, scaled(f, 1e7))
	}
	return i
}

// seldomFar is how often the supply is further from nominal than half of what is
// allowed (common practice, no source).
const seldomFar = 0.03

// fits is the chance density of a figure about a value: of steady volts mostly
// within half of the interval.
func (o *Observation) fits(i interval, value, give float64, steady bool) float64 {
	f := o.Probes.Function
	x := scaled(f, o.Value)
	all := fit(x, i, give)
	if !steady || !f.Live() || f == meter.Amps {
		return all
	}
	return seldomFar*all + (1-seldomFar)*fit(x, interval{(i.low + value) / 2, (i.high + value) / 2}, give)
}

// sharpest is the least width of what a figure falls off by beside a prediction.
const sharpest = 0.01

// fit is the chance density of a figure: flat over the interval and falling off
// beside it, the more gently where the interval itself is that uncertain.
func fit(x float64, i interval, give float64) float64 {
	edge := max(sharpest+0.05*(i.high-i.low), give)
	height := 1 / (i.high - i.low + math.Sqrt(2*math.Pi)*edge)
	away := max(0, i.low-x, x-i.high) / edge
	return height * math.Exp(-away*away/2)
}

// cellSteps is how finely the way between the ends of a cell is gone.
const cellSteps = 16

// cellLikelihood is [readingLikelihood] averaged over a cell of sizes, whose
// reading goes evenly from one end to the other.
func (by *errs) cellLikelihood(o *Observation, from, to meter.Reading) float64 {
	if o.OL || o.Unsteady || o.Jumps || from.OL || from.Value == to.Value {
		return by.readingLikelihood(o, from)
	}
	f := o.Probes.Function
	a, b := intervalOf(f, from), intervalOf(f, to)
	v, sum := [2]float64{scaled(f, from.Value), scaled(f, to.Value)}, 0.0
	give := 0.6 * max(math.Abs(b.low-a.low), math.Abs(b.high-a.high)) / cellSteps
	give = max(give, o.Give)
	for k := range cellSteps {
		w := (float64(k) + 0.5) / cellSteps
		sum += o.fits(interval{a.low + w*(b.low-a.low), a.high + w*(b.high-a.high)}, v[0]+w*(v[1]-v[0]), give, !from.Jumps && !to.Jumps)
	}
	return (1-by.slip)*sum/cellSteps + by.slipped(o, 1)
}
