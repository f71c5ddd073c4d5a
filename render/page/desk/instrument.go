package desk

import (
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// reading is what the meter on the page shows.
type reading struct {
	Function string
	// Shows is the display; empty where nothing is placed, or Refused.
	Shows, Range string
	Refused      string
	// Prompt says what is still to do.
	Prompt string
	// Lifted is the same with a lead off, for ohms, and Lead which.
	Lifted, Lead string
	// Sound is what a sound machine shows, where this one is broken.
	Sound string
	Beeps string
	Why   []string
	// Error is the meter's own on this function, in per cent and counts.
	Error string
	// Note is what must be said beside no volts between live ends.
	Note string
	// Ends name the probes' places: red, then black.
	Ends []string
	// Answer and LiftedAnswer are the readings as a visit's answer is typed.
	Answer, LiftedAnswer string
}

// words are what the page says of each function.
var words = []struct {
	Function    meter.Function
	Short, Long string
}{
	{meter.Volts, "V", "AC volts"},
	{meter.LowZVolts, "V low-Z", "AC volts, low-impedance input: pulls stray readings down"},
	{meter.Ohms, "Ω", "Ohms, supply off"},
	{meter.Continuity, "Continuity", "Continuity, supply off"},
	{meter.Amps, "A clamp", "AC amps, clamp around one wire"},
}

// read takes the reading of a situation.
func (b *bench) read(x *situation, out *settle.Outcome) (reading, error) {
	in := b.meter.Instrument
	defer func() { b.meter.Instrument = in }()
	b.meter.Instrument = x.instrument(in)
	r := reading{Function: x.function.String(), Error: b.meter.Instrument.Accuracy(x.function).String()}
	if x.function == meter.Amps {
		return b.clamp(x, out, r)
	}
	if x.red == circuit.None || x.black == circuit.None {
		r.Prompt = "Place both probes: tap two terminals in the diagram, or choose them here."
		return r, nil
	}
	if x.red == x.black {
		r.Refused = "Both probes are on " + x.Red + ": the meter would show nothing of the machine."
		return r, nil
	}
	if r.Refused = b.refuse(x, out); r.Refused != "" {
		return r, nil
	}
	r.Ends = []string{"red on " + b.end(x.red).Name, "black on " + b.end(x.black).Name}
	if !x.function.Live() {
		return b.resistance(x, r)
	}
	v, err := b.meter.Volts(out, x.function, x.red, x.black)
	r.take(v)
	r.Note = b.meter.NoProofOfDead(out, x.red, x.black, v)
	return r, err
}

// instrument is the meter with its own errors set, where they could be a
// meter's.
func (s State) instrument(in meter.Instrument) meter.Instrument {
	for _, e := range s.Errors {
		name, figures := cut(e)
		f, err := meter.ParseFunction(name)
		acc, wrong := meter.ParseAccuracy(figures)
		if err != nil || wrong != nil {
			continue
		}
		set := in
		if *set.Accuracy(f) = acc; set.Check() == nil {
			in = set
		}
	}
	return in
}

// refuse says why a reading must not be taken, or nothing.
func (b *bench) refuse(x *situation, out *settle.Outcome) string {
	probes := [2]circuit.TerminalID{x.red, x.black}
	if x.function.Live() {
		for _, t := range probes {
			if p := b.c.PointAt(t); !x.Off && p != nil && p.Power == "off" {
				return fmt.Sprintf("%s is to be probed with the supply off only. Turn it off, lock it out and test dead.", p.Label)
			}
		}
		return ""
	}
	if !x.Off {
		return "The supply is on. Resistance on a live circuit harms the meter and you, and reads wrong. Turn the supply off, lock it out, prove the meter, test dead."
	}
	upstream := b.meter.Upstream()
	for _, t := range probes {
		if b.meter.Touch(out, t).Live() || upstream[t] && len(b.breakers()) > 0 {
			return fmt.Sprintf("%s stays live with the breaker off: it is on the house side. No resistance is measured there.", b.c.Terminal(t).Ref)
		}
	}
	return ""
}

func (b *bench) resistance(x *situation, r reading) (reading, error) {
	dead, err := b.meter.Dead(x.question.Mode, x.faults)
	if err != nil {
		return r, err
	}
	v, err := b.meter.Ohms(dead, x.red, x.black)
	if err != nil {
		return r, err
	}
	r.take(v.InCircuit)
	if len(v.Parallel) > 0 && len(v.Lift) > 0 {
		var wires []string
		for _, w := range v.Lift {
			wires = append(wires, b.c.Wire(w).Name)
		}
		r.Lead = fmt.Sprintf("with %s off %s", strings.Join(wires, ", "), b.c.Terminal(v.At).Ref)
		r.Lifted, r.LiftedAnswer = plain(v.Lifted.Range()), answerOf(v.Lifted)
	}
	if x.function == meter.Continuity {
		switch {
		case v.InCircuit.Beeps(b.meter.Instrument):
			r.Beeps = "beeps"
		case v.InCircuit.Silent(b.meter.Instrument):
			r.Beeps = "silent"
		default:
			r.Beeps = "may or may not beep"
		}
	}
	return r, nil
}

func (b *bench) clamp(x *situation, out *settle.Outcome, r reading) (reading, error) {
	if x.clamp == circuit.None {
		r.Prompt = "Close the clamp around one wire: tap it in the diagram, or choose it here."
		return r, nil
	}
	v, err := b.meter.Amps(out, x.clamp)
	if errors.Is(err, meter.ErrNoClamp) {
		r.Refused = "A clamp goes around one wire."
		return r, nil
	}
	r.take(v)
	return r, err
}

// take puts a reading on the display.
func (r *reading) take(v meter.Reading) {
	if v.Refused != "" {
		r.Refused = v.Refused
		return
	}
	r.Shows, r.Range, r.Why, r.Answer = plain(v.String()), plain(v.Range()), v.Why, answerOf(v)
	if r.Shows == r.Range {
		r.Range = ""
	}
}

// answerOf writes a reading as a person would type it.
func answerOf(v meter.Reading) string {
	switch {
	case v.OL:
		return "OL"
	case v.Unsteady:
		return "floating"
	}
	return figure(v.Value)
}

// plain writes the unit as the page does.
func plain(s string) string { return strings.NewReplacer("ohms", "Ω", "ohm", "Ω").Replace(s) }
