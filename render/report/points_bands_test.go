package report_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

var (
	between = regexp.MustCompile(`^([0-9.]+) to ([0-9.]+) (V|ohms|kohms)`)
	below   = regexp.MustCompile(`^(?:below|low, near) ([0-9.]+) (V|ohms|kohms)`)
	above   = regexp.MustCompile(`^above ([0-9.]+) (V|ohms|kohms)`)
)

// bounds are the figures that a row of a step begins and ends with.
func bounds(words string) (low, high float64, ok bool) {
	figure := func(s, unit string) float64 {
		v, _ := strconv.ParseFloat(s, 64)
		if unit == "kohms" {
			v *= 1000
		}
		return v
	}
	if m := between.FindStringSubmatch(words); m != nil {
		return figure(m[1], m[3]), figure(m[2], m[3]), true
	}
	if m := below.FindStringSubmatch(words); m != nil {
		return math.Inf(-1), figure(m[1], m[2]), true
	}
	if m := above.FindStringSubmatch(words); m != nil {
		return figure(m[1], m[2]), math.Inf(1), true
	}
	return 0, 0, false
}

// What is good is not bad as well, and none of it lies between.
func TestGoodAndBadOfAStepMeetAndDoNotOverlap(t *testing.T) {
	rows := 0
	everyPoints(t, func(name string, d *report.Points) {
		for _, s := range d.Steps {
			if s.Good.Low == nil || s.Good.High == nil {
				continue
			}
			width := (*s.Good.High - *s.Good.Low) / 100 // what rounding to three figures makes of an end
			for _, o := range s.Bad {
				low, high, ok := bounds(o.Words)
				if !ok {
					continue
				}
				rows++
				slack := width + math.Abs(*s.Good.High)/100 + 0.06
				if low < *s.Good.High-slack && high > *s.Good.Low+slack {
					t.Errorf("%s, step %d: good %s, bad %s", name, s.Number, s.Good.Range, o.Words)
				}
			}
		}
	})
	if rows < 50 {
		t.Errorf("only %d rows seen", rows)
	}
}

// Nobody knows where a sheath or a wire touches metal: any reading is one find there, and
// its leads, lifted, tell it from the rest (common practice, no source).
func TestWhatTouchesMetalIsToldByLiftingItsLeads(t *testing.T) {
	d := complained(t, "range-electronic", suspect.Note{Mode: "bake", Trips: true})
	lifted := 0
	for _, s := range d.Steps {
		if s.To.Terminal != "chassis" || s.Power == "on" {
			continue
		}
		if len(s.Bad) != 1 || s.Bad[0].Words != "anything but OL" {
			t.Errorf("step %d, %s to metal: %+v", s.Number, s.From.Label, s.Bad)
		}
		if s.Lift == nil {
			continue
		}
		lifted++
		if ends := strings.Count(s.Lift.At, "element."); ends != 2 || s.OnlyIf == 0 || strings.Contains(s.Bad[0].Conclude, "wire") {
			t.Errorf("step %d, %s to metal: lifted at %s, after step %d, means %s", s.Number, s.From.Label, s.Lift.At, s.OnlyIf, s.Bad[0].Conclude)
		}
	}
	if lifted < 2 {
		t.Errorf("%d steps lift the leads of an element", lifted)
	}
}
