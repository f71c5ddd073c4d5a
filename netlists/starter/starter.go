// Package starter begins a netlist from a few answers in trade words: what
// heats, what feeds it, how it is controlled, which legs are switched.
//
// Start with [Next], which asks; [Vet] refuses answers that do not go together;
// [Write] gives the netlist, commented and in the house look. What it writes is
// a machine of nobody's that does what its modes say: something to change until
// it is the machine at hand.
package starter

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
)

// Answers holds the answers given, by [Question.Key].
type Answers map[string]string

// Question is one thing to be asked.
type Question struct {
	// Key names it; the flag of the command goes by the same name.
	Key string
	// Ask is the question in words.
	Ask string
	// Options are the answers there are with those given before; the first is
	// the usual one.
	Options []Option
}

// Option is an answer to choose.
type Option struct{ Value, Means string }

// The values of the answers.
const (
	Range, Oven, Cooktop, Dryer, WaterHeater, Heater = "range", "oven", "cooktop", "dryer", "water-heater", "heater"
	Electronic, Mechanical                           = "electronic", "mechanical"
	Both, OnlyL1, OnlyL2                             = "both", "L1", "L2"
	NoLamp, ByDoor, BySwitch                         = "none", "door", "switch"
)

// topic is a question before it is known whether and how to ask it.
type topic struct {
	key, ask string
	options  func(Answers) []Option // none where there is nothing to ask
}

func topics() []topic {
	return []topic{
		{"heats", "What heats?", func(Answers) []Option {
			return []Option{
				{Range, "a range: oven with bake and broil, surface units"},
				{Oven, "an oven with bake and broil"},
				{Cooktop, "a cooktop: surface units alone"},
				{Dryer, "a clothes dryer"},
				{WaterHeater, "a storage water heater with two elements"},
				{Heater, "one heating element, as in a baseboard heater"},
			}
		}},
		{"supply", "What feeds it?", func(Answers) []Option {
			var out []Option
			for _, s := range supplies() {
				out = append(out, Option{s.key, s.means})
			}
			return out
		}},
		{"control", "What switches the heat?", func(a Answers) []Option {
			what := map[string]string{Range: "a selector and a thermostat", Oven: "a selector and a thermostat", Cooktop: "infinite switches",
				Dryer: "a timer and a thermostat", WaterHeater: "thermostats", Heater: "a thermostat"}
			return []Option{{Electronic, "an electronic control with relays"}, {Mechanical, what[a["heats"]]}}
		}},
		{"switched", "Which legs are switched?", func(a Answers) []Option {
			if supplyOf(a).single {
				return []Option{{Both, "line and neutral"}, {OnlyL1, "line only"}}
			}
			return []Option{{Both, "both legs"}, {OnlyL1, "L1 only: L2 stays on the heaters"}, {OnlyL2, "L2 only: L1 stays on the heaters"}}
		}},
		{"surface", "How many surface units?", func(a Answers) []Option {
			if a["heats"] != Range && a["heats"] != Cooktop {
				return nil
			}
			return []Option{{"4", "four"}, {"1", "one"}, {"2", "two"}, {"3", "three"}, {"5", "five"}, {"6", "six"}}
		}},
		{"lamp", "What lights the lamp inside?", func(a Answers) []Option {
			if a["heats"] != Range && a["heats"] != Oven && a["heats"] != Dryer {
				return nil
			}
			return []Option{{ByDoor, "the door, when opened"}, {BySwitch, "a switch of its own"}, {NoLamp, "there is none"}}
		}},
	}
}

// Keys lists the keys of all questions, in the order asked.
func Keys() []string {
	var out []string
	for _, t := range topics() {
		out = append(out, t.key)
	}
	return out
}

// Values lists every answer that a question ever takes, usual ones first.
func Values(key string) []string {
	var out []string
	for _, t := range topics() {
		if t.key != key {
			continue
		}
		for _, heats := range []string{Range, Dryer, WaterHeater} {
			for _, o := range t.options(Answers{"heats": heats}) {
				if !slices.Contains(out, o.Value) {
					out = append(out, o.Value)
				}
			}
		}
	}
	return out
}

// Next returns the first question that has no answer yet; not ok where none is
// left.
func Next(a Answers) (q Question, ok bool) {
	for _, t := range topics() {
		if _, given := a[t.key]; given {
			continue
		}
		if options := t.options(a); len(options) > 0 {
			return Question{Key: t.key, Ask: t.ask, Options: options}, true
		}
	}
	return Question{}, false
}

// Means says an answer in words.
func Means(a Answers, key string) string {
	for _, t := range topics() {
		if t.key != key {
			continue
		}
		for _, o := range t.options(a) {
			if o.Value == a[key] {
				return o.Means
			}
		}
	}
	return ""
}

// Vet refuses an answer that is none of the options. Questions not answered are
// passed over.
func Vet(a Answers) error {
	for _, t := range topics() {
		value, given := a[t.key]
		if !given {
			continue
		}
		options := t.options(a)
		if len(options) == 0 {
			return fmt.Errorf("%s %q: not asked of a %s", t.key, value, strings.ReplaceAll(a["heats"], "-", " "))
		}
		var values []string
		for _, o := range options {
			values = append(values, o.Value)
		}
		if slices.Contains(values, value) {
			continue
		}
		if near := circuit.Nearest(value, values); near != "" {
			return fmt.Errorf("%s %q: did you mean %q?", t.key, value, near)
		}
		return fmt.Errorf("%s %q: it is %s", t.key, value, strings.Join(values, ", "))
	}
	return nil
}

// Write returns the netlist that the answers make. The name is the machine's,
// and may be empty; questions without an answer are taken as usual.
func Write(name string, given Answers) ([]byte, error) {
	a := Answers{}
	for key, value := range given {
		a[key] = value
	}
	if err := Vet(a); err != nil {
		return nil, err
	}
	for q, ok := Next(a); ok; q, ok = Next(a) {
		a[q.Key] = q.Options[0].Value
	}
	if err := Vet(a); err != nil {
		return nil, err
	}
	s := newDraft(a)
	switch a["heats"] {
	case Range:
		s.oven()
		s.surface()
	case Oven:
		s.oven()
	case Cooktop:
		s.surface()
	case Dryer:
		s.dryer()
	case WaterHeater:
		s.waterHeater()
	case Heater:
		s.heater()
	}
	s.lamp()
	text, err := s.text(name)
	if err != nil {
		return nil, err
	}
	return netlists.Tidy("the netlist begun", text)
}
