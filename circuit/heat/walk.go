package heat

import (
	"maps"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// walk is one question on its way.
type walk struct {
	m   *Model
	q   Question
	run *Run

	seconds float64
	temps   []float64 // by body
	acted   []bool    // by worked part
	idle    map[circuit.PartID]bool
	dropped bool // a control that cannot heat
	holds   []*hold
	state   *state

	minute    int
	fromHere  float64 // seconds at which the last part begins
	sums      []float64
	lastWatts map[circuit.BranchID]float64
}

// hold is a temperature that a control keeps by the ohms it sees.
type hold struct {
	control int
	sense   circuit.Sense
	body    circuit.BodyID
	celsius float64
	// lets and calls are the ohms at which heat is let off and called for.
	lets, calls float64
	off         bool
}

// cycleSeconds is how long a cycling switch takes from one on to the next
// (common practice, no source).
const cycleSeconds = 30

func (w *walk) begin() error {
	for i := range w.temps {
		w.temps[i] = w.q.Room
		if t, ok := w.q.Start[circuit.BodyID(i)]; ok {
			w.temps[i] = t
		}
		w.run.Bodies[i] = Course{Target: nowhere, Reached: nowhere, Peak: w.temps[i], Low: math.Inf(1), High: math.Inf(-1)}
	}
	w.idle, w.lastWatts = map[circuit.PartID]bool{}, map[circuit.BranchID]float64{}
	w.sums, w.minute = make([]float64, len(w.temps)), -1
	w.fromHere = 60 * w.q.Minutes * (1 - lastPart)
	if err := w.findHolds(); err != nil {
		return err
	}
	for _, p := range w.m.worked {
		if p.LetsOff() {
			acts, _ := w.set(p)
			w.aim(p.Body, acts)
			if err := w.aimAround(p.Body, acts); err != nil {
				return err
			}
		}
	}
	for _, h := range w.holds {
		w.aim(h.body, h.celsius)
	}
	return w.settle()
}

// limits returns where a part acts and resets, as its dial is set and it is calibrated.
func (w *walk) limits(p *circuit.Part) (acts, resets float64) {
	acts, resets = w.set(p)
	for _, f := range w.q.Faults {
		if f.Kind == circuit.Drifted && len(p.Branches) > 0 && f.Branch == p.Branches[0] {
			off := (acts - circuit.RoomCelsius) * (f.Factor - 1)
			acts, resets = acts+off, resets+off
		}
	}
	return acts, resets
}

// set returns where a part acts and resets in a sound machine, as its dial is set.
func (w *walk) set(p *circuit.Part) (acts, resets float64) {
	if w.q.Dial != 0 && p.LetsOff() {
		return w.q.Dial, w.q.Dial - (p.Acts - p.Resets)
	}
	return p.Acts, p.Resets
}

func (w *walk) aim(body circuit.BodyID, celsius float64) {
	if at := &w.run.Bodies[body].Target; math.IsNaN(*at) || celsius < *at {
		*at = celsius
	}
}

// aimAround aims what a thermostat feels through its cap at what that acts at, less what
// the cap is warmed by on purpose: a body that nothing made to heat warms.
func (w *walk) aimAround(body circuit.BodyID, celsius float64) error {
	c := w.m.c
	b := &c.Bodies()[body]
	if b.Around == circuit.None || len(b.Heats) == 0 {
		return nil
	}
	for load := range b.Heats {
		if c.Part(c.Branch(load).Part).Kind.Heats() {
			return nil
		}
	}
	sound, err := w.m.settled(w.q.Mode, &Question{}, w.acted, nil, false)
	if err != nil {
		return err
	}
	clear(w.m.states)
	for load, share := range b.Heats {
		celsius -= sound.watts[load] * share / b.Loss
	}
	w.aim(b.Around, celsius)
	return nil
}

// findHolds works out the ohms at which each control lets off heat, as a sound
// machine shows them.
func (w *walk) findHolds() error {
	c := w.m.c
	mode := c.Mode(w.q.Mode)
	if len(mode.Drives) == 0 || len(mode.Celsius) == 0 {
		return nil
	}
	sound, err := w.m.settled(w.q.Mode, &Question{}, w.acted, nil, false)
	if err != nil {
		return err
	}
	clear(w.m.states)
	for i := range c.Controls() {
		ctl := &c.Controls()[i]
		half := ctl.Differential / 2
		if half == 0 {
			half = circuit.DefaultDifferential / 2
		}
		for _, sense := range ctl.Senses {
			if sense.Modes != nil && !sense.Modes[w.q.Mode] {
				continue
			}
			for _, sensor := range slices.Sorted(maps.Keys(mode.Celsius)) {
				celsius := mode.Celsius[sensor]
				body := c.Part(c.Branch(sensor).Part).Body
				if body == circuit.None {
					continue
				}
				if w.q.Dial != 0 {
					celsius = w.q.Dial
				}
				h := &hold{control: i, sense: sense, body: body, celsius: celsius}
				var ok, also bool
				h.lets, ok = w.ohms(sound.in, sense, map[circuit.BranchID]float64{sensor: celsius + half})
				h.calls, also = w.ohms(sound.in, sense, map[circuit.BranchID]float64{sensor: celsius - half})
				// A sense that the sensor's warmth does not change looks at
				// something else.
				if ok && also && math.Abs(h.lets-h.calls) > 1e-6*math.Abs(h.lets) {
					w.holds = append(w.holds, h)
				}
			}
		}
	}
	return nil
}

// ohms is what a control sees between two pins, sensors by their bodies'
// temperatures but for those given.
func (w *walk) ohms(in phasor.Input, sense circuit.Sense, celsius map[circuit.BranchID]float64) (float64, bool) {
	in.Celsius = celsius
	return w.m.solver.Resistance(in, sense.Pin1, sense.Pin2)
}

// step moves every body on by so many seconds, then whatever heat works.
func (w *walk) step(seconds float64) error {
	w.note()
	c := w.m.c
	was := slices.Clone(w.temps)
	power, loss := make([]float64, len(was)), make([]float64, len(was))
	for i := range was {
		b := &c.Bodies()[i]
		around := w.q.Room
		if b.Around != circuit.None {
			around = was[b.Around]
			power[b.Around] += b.Loss * (was[i] - around)
		}
		power[i] += b.Loss * around
		loss[i] += b.Loss
		for _, load := range w.m.heaters[i] {
			power[i] += b.Heats[load] * w.state.warms[load]
		}
		if b.Fan == circuit.None || !w.state.turns[b.Fan] {
			continue
		}
		air := b.FanLoss
		if share, ok := w.q.Air[b.Fan]; ok {
			air *= share
		}
		intake := w.q.Room
		if b.BlowsInto != circuit.None && b.BlowsInto == b.Around {
			intake = around // the air goes round between the two
		}
		power[i] += air * intake
		loss[i] += air
		if b.BlowsInto != circuit.None {
			power[b.BlowsInto] += air * (was[i] - intake)
		}
	}
	for i := range was {
		capacity := c.Bodies()[i].Capacity
		if loss[i] == 0 {
			w.temps[i] += power[i] * seconds / capacity
			continue
		}
		rest := power[i] / loss[i]
		w.temps[i] = rest + (was[i]-rest)*math.Exp(-loss[i]*seconds/capacity)
	}
	w.mix()
	w.seconds += seconds
	w.count(seconds)
	return w.move()
}

// mix lets warm water rise: a body warmer than the one above it shares its heat
// with that.
func (w *walk) mix() {
	bodies := w.m.c.Bodies()
	for i := range bodies {
		above := bodies[i].RisesInto
		if above == circuit.None || w.temps[i] <= w.temps[above] {
			continue
		}
		a, b := bodies[i].Capacity, bodies[above].Capacity
		t := (a*w.temps[i] + b*w.temps[above]) / (a + b)
		w.temps[i], w.temps[above] = t, t
	}
}

// move lets thermostats, limits, fuses, controls and cycling switches act on
// the temperatures.
func (w *walk) move() error {
	moved := false
	for i, p := range w.m.worked {
		t := w.temps[p.Body]
		acts, resets := w.limits(p)
		switch {
		case !w.acted[i] && t > acts:
			w.acted[i], moved = true, true
		case w.acted[i] && p.Returns && t < resets:
			w.acted[i], moved = false, true
		default:
			continue
		}
		w.event(p.ID, w.acted[i], t)
	}
	for part, share := range w.m.c.Mode(w.q.Mode).Duty {
		into := math.Mod(w.seconds, cycleSeconds) / cycleSeconds
		if idle := into >= share; idle != w.idle[part] {
			w.idle[part], moved = idle, true
		}
	}
	if w.control() || moved {
		return w.settle()
	}
	return nil
}

// control lets controls off and on by what they see.
func (w *walk) control() (moved bool) {
	if len(w.holds) == 0 {
		return false
	}
	celsius := w.sensors()
	blind := false
	for _, h := range w.holds {
		if !w.state.powered[h.control] {
			continue
		}
		ohms, connected := w.ohms(w.state.in, h.sense, celsius)
		if !connected || ohms < h.sense.MinOhms || ohms > h.sense.MaxOhms {
			blind = true
			continue
		}
		hot, cold := ohms >= h.lets, ohms <= h.calls
		if h.lets < h.calls { // an ntc's ohms fall
			hot, cold = ohms <= h.lets, ohms >= h.calls
		}
		if h.off && cold || !h.off && hot {
			h.off, moved = !h.off, true
			w.event(w.m.c.Controls()[h.control].Part, h.off, w.temps[h.body])
		}
	}
	if blind != w.dropped {
		w.dropped, moved = blind, true
	}
	return moved
}

// sensors gives the temperature of each sensor on a body, as far as its law goes.
func (w *walk) sensors() map[circuit.BranchID]float64 {
	c, celsius := w.m.c, map[circuit.BranchID]float64{}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Sensor != nil && c.Part(b.Part).Body != circuit.None {
			low, high := b.Sensor.Limits()
			celsius[b.ID] = min(max(w.temps[c.Part(b.Part).Body], low), high)
		}
	}
	return celsius
}

func (w *walk) event(part circuit.PartID, acts bool, celsius float64) {
	w.run.Events = append(w.run.Events, Event{Minutes: w.seconds / 60, Part: part, Acts: acts, Celsius: celsius})
}

// settle finds the network for where everything stands.
func (w *walk) settle() error {
	mode, drop := w.q.Mode, w.dropped
	for i, p := range w.m.worked {
		if w.acted[i] && len(p.Positions) > 2 && w.m.ends(p, mode) {
			mode = w.m.c.Mode(mode).Cycles
		}
	}
	for _, h := range w.holds {
		if !h.off {
			continue
		}
		if next := w.m.c.Mode(w.q.Mode).Cycles; next != circuit.None {
			mode = next
		} else {
			drop = true
		}
	}
	s, err := w.m.settled(mode, &w.q, w.acted, w.idle, drop)
	if err != nil {
		return err
	}
	w.state = s
	if len(s.tripped) > len(w.run.Tripped) {
		w.run.Tripped = s.tripped
	}
	return nil
}

// note keeps each body's temperature once a minute.
func (w *walk) note() {
	if minute := int(w.seconds / 60); minute > w.minute {
		w.minute = minute
		for i := range w.temps {
			w.run.Bodies[i].Celsius = append(w.run.Bodies[i].Celsius, w.temps[i])
		}
	}
}

// count adds a step to what is told of the run.
func (w *walk) count(seconds float64) {
	last := w.seconds > w.fromHere
	for load, watts := range w.state.watts {
		w.run.Joules[load] += watts * seconds
		if last {
			w.lastWatts[load] += watts * seconds
		}
	}
	for i, t := range w.temps {
		course := &w.run.Bodies[i]
		course.Peak = max(course.Peak, t)
		if math.IsNaN(course.Reached) && t >= course.Target {
			course.Reached = w.seconds / 60
		}
		if last {
			w.sums[i] += t * seconds
			course.Low, course.High = min(course.Low, t), max(course.High, t)
		}
	}
}

// steadyKelvin is how far the means of the two halves of the last part may lie
// apart in a machine said to be steady.
const steadyKelvin = 2.0

func (w *walk) end() {
	span := 60 * w.q.Minutes * lastPart
	w.run.Steady = true
	for i := range w.temps {
		course := &w.run.Bodies[i]
		course.End, course.Mean = w.temps[i], w.sums[i]/span
		course.Celsius = append(course.Celsius, w.temps[i])
		n := len(course.Celsius)
		part := course.Celsius[n-1-int(lastPart*float64(n-1)):]
		if math.Abs(mean(part[:len(part)/2+1])-mean(part[len(part)/2:])) > steadyKelvin {
			w.run.Steady = false
		}
	}
	for _, load := range w.m.c.Loads() {
		w.run.On[load] = w.lastWatts[load] / (w.m.c.Branch(load).Watts * span)
	}
}

func mean(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}
