package visit_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/circuit/visit/visittest"
	"legtrace/netlists"
)

func machine(t testing.TB, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Every journey ends in what is hidden, and its proof tells whether all of it
// is gone.
func TestJourneysEndInWhatIsHidden(t *testing.T) {
	for _, way := range visittest.Journeys() {
		got := visittest.Play(t, machine(t, way.Machine), way)
		if got.End.Search == visit.Searching || got.End.Search == visit.Sound {
			t.Errorf("%s: ends searching after %v", way.Name, got.Asked)
		}
		if !strings.Contains(got.End.Finding.Words(), way.End) {
			t.Errorf("%s: ends in %s after %v", way.Name, got.End.Finding.Words(), got.Asked)
		}
		if sound := len(way.Mended) == len(way.Hidden) && way.Brought == nil; got.Proof.Proved() != sound || sound && got.Proof.Left != 0 {
			t.Errorf("%s: proved %v, %d checks left, answers %v", way.Name, got.Proof.Proved(), got.Proof.Left, got.Checks)
		}
		if !got.Proof.Bad {
			continue
		}
		if len(got.Proof.Strays) > 0 {
			t.Errorf("%s: %v answer nothing", way.Name, got.Proof.Strays)
		}
		if words := got.Last.Finding.Words(); !strings.Contains(words, way.Rest) || strings.Contains(words, got.End.Finding.Words()) || got.Last.Finding.Sound {
			t.Errorf("%s: after the repair it ends in %s after %v", way.Name, words, got.Again)
		}
	}
}

// What was read before a repair counts after it, as of the machine without it:
// what was replaced is no longer first, and the reading across it is asked anew.
func TestAFailedProofKeepsWhatIsKnown(t *testing.T) {
	for _, way := range []struct{ machine, complaint, cause string }{
		{"range-electronic", "broil element dead in broil; bake element normal in bake", "broil_element:open"},
		{"dryer", "heater dead", "heater:open"},
		{"water-heater", "upper element dead in cold_tank", "upper_element:open"},
	} {
		c := machine(t, way.machine)
		said, err := visit.Complaint(c, way.complaint)
		if err != nil {
			t.Fatal(err)
		}
		e, _, _ := strings.Cut(way.cause, ":")
		open := visit.Note{Mode: said[0].Mode, Function: "ohms", P: e + ".1", Q: e + ".2", Lifted: e + ".1", Answer: "OL"}
		j, err := visit.Start(t.Context(), c, visit.Record{Notes: append(said, open)})
		if err != nil {
			t.Fatal(err)
		}
		f := j.Engine.Finding()
		if !strings.Contains(strings.Join(f.Causes(c), ""), way.cause) {
			t.Fatalf("%s: it is %s", way.machine, f.Words())
		}
		before := len(j.Engine.Evidence())
		if err := errors.Join(j.Conclude(f, "element replaced"), j.AddAfter(said[0]), j.GoOn(t.Context())); err != nil {
			t.Fatal(err)
		}
		if got := len(j.Engine.Evidence()); got != before+1 {
			t.Errorf("%s: %d pieces of evidence of %d", way.machine, got, before+1)
		}
		step, err := j.Next(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		if top := j.Engine.Suspects(1)[0]; top.Words() == f.Words() || len(top.Causes) == 0 {
			t.Errorf("%s: %s is first, %.2f", way.machine, top.Words(), top.P)
		}
		if step.Search == visit.Searching && len(step.Tests) == 0 || step.Search == visit.Sound {
			t.Errorf("%s: no test follows", way.machine)
		}
		again, err := visit.Start(t.Context(), c, j.Record)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := again.Engine.Suspects(1)[0], j.Engine.Suspects(1)[0]; got.Words() != want.Words() || got.P != want.P {
			t.Errorf("%s: taken up again it is %s (%g), not %s (%g)", way.machine, got.Words(), got.P, want.Words(), want.P)
		}
		if _, err := j.Undo(t.Context()); err != nil || len(j.Mended) != 0 {
			t.Errorf("%s: the repair stays after all since is taken back: %v", way.machine, err)
		}
	}
}

// A note on one line is read back the same, whatever it is of.
func TestANoteOnOneLineIsReadBack(t *testing.T) {
	word := rapid.StringMatching(`[a-z0-9_.]{1,8}`)
	rapid.Check(t, func(t *rapid.T) {
		n := visit.Note{Mode: word.Draw(t, "mode")}
		switch rapid.SampledFrom([]string{"load", "either", "trips", "chatters", "read", "trial"}).Draw(t, "kind") {
		case "load":
			n.Load, n.State = word.Draw(t, "load"), word.Draw(t, "state")
		case "either":
			n.Load, n.State = word.Draw(t, "load"), word.Draw(t, "state")
			n = visit.AnyOf([]visit.Note{n, n})
		case "trips":
			n.Trips = true
		case "chatters":
			n.Chatters = true
		case "read":
			n.Function, n.P, n.Q, n.Answer = "ohms", word.Draw(t, "p"), word.Draw(t, "q"), word.Draw(t, "answer")
			n.Lifted = rapid.SampledFrom([]string{"", n.P}).Draw(t, "lifted")
			switch rapid.IntRange(0, 2).Draw(t, "made") {
			case 1:
				n.Skipped, n.Answer = true, ""
			case 2:
				n.Unreachable, n.Answer = n.Q, ""
			}
		case "trial":
			n.Skipped = true
		}
		got, err := visit.ParseLine(n.Line())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(n, got); diff != "" {
			t.Errorf("%s reads back otherwise:\n%s", n.Line(), diff)
		}
	})
}

func TestNotesThatMakeNoSense(t *testing.T) {
	c := machine(t, "range-electronic")
	for _, x := range []struct{ line, blame, says string }{
		{"load~broil~broil_elemen~dead", "load", "broil_element"},
		{"load~brol~broil_element~dead", "mode", "broil"},
		{"load~broil~broil_element~purple", "state", "purple"},
		{"read~broil~volts~broil_1~broil_1~~2", "q", "same terminal"},
		{"read~broil~volt~broil_1~broil_2~~2", "function", "volt"},
		{"read~broil~volts~broil_1~broil_2~~900", "answer", "at most 360 V"},
		{"read~broil~ohms~broil_1~broil_2~nowhere~2", "lifted", "nowhere"},
		{"reach~nowhere~read~broil~ohms~broil_1~broil_2~", "unreachable", "nowhere"},
		{"trips~brol", "mode", "broil"},
	} {
		n, err := visit.ParseLine(x.line)
		if err != nil {
			t.Fatal(err)
		}
		if err := n.Check(c); err == nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("%s: %v, want something of %q", x.line, err, x.says)
		}
		if got := n.Blame(c); got != x.blame {
			t.Errorf("%s: blames %s, want %s", x.line, got, x.blame)
		}
	}
	for _, line := range []string{"", "none", "load~a~b", "read~a", "skip", "reach", "reach~x", "trips"} {
		if n, err := visit.ParseLine(line); err == nil {
			t.Errorf("%q is taken for %+v", line, n)
		}
	}
}

// Nothing reaches the engine before it is kept.
func TestWhatIsNotKeptIsNotWeighed(t *testing.T) {
	c := machine(t, "dryer")
	j, err := visit.Start(t.Context(), c, visit.Record{})
	if err != nil {
		t.Fatal(err)
	}
	full := errors.New("the disk is full")
	j.Keep = func() error { return full }
	if err := j.Add(t.Context(), visit.Note{Mode: "timed_dry", Load: "heater", State: "dead"}); !errors.Is(err, full) {
		t.Errorf("noting says %v", err)
	}
	if n := len(j.Engine.Evidence()); n != 0 {
		t.Errorf("the engine knows %d things", n)
	}
}

// "ok" in a trial is what a sound machine does: on 208 V an element at three
// quarters of its rating is normal.
func TestOkMeansAsASoundMachine(t *testing.T) {
	c := machine(t, "baseboard-heater-208")
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	mode, err := c.FindMode("heat")
	if err != nil {
		t.Fatal(err)
	}
	notes, err := visit.Trial(e, mode, c.Loads(), "ok")
	if err != nil || len(notes) == 0 {
		t.Fatalf("%v, %v", notes, err)
	}
	for _, n := range notes {
		if n.State != "normal" {
			t.Errorf("%s is taken as %s", n.Load, n.State)
		}
	}
}

// A motor kept from turning hums: it is said so in a trial and in a complaint. A
// machine, or a relay, that buzzes chatters.
func TestAHummingMotorIsNoted(t *testing.T) {
	c := machine(t, "dryer")
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	mode, _ := c.FindMode("start")
	motor, _ := c.FindLoad("motor.main")
	notes, err := visit.Trial(e, mode, []circuit.BranchID{motor}, "h")
	if err != nil || notes[0].State != "hums" {
		t.Errorf("%+v, %v", notes, err)
	}
	for said, want := range map[string]visit.Note{
		"motor.main buzzes in start": {Load: "motor.main", State: "hums", Mode: "start"},
		"buzzes in start":            {Chatters: true, Mode: "start"},
		"a relay buzzes in start":    {Chatters: true, Mode: "start"},
	} {
		notes, err := visit.Complaint(c, said)
		if err != nil || len(notes) == 0 || !cmp.Equal(notes[0], want) {
			t.Errorf("%s: %+v, %v", said, notes, err)
		}
	}
}

// What is read live depends on the mode, amps as much as volts.
func TestALiveReadingNeedsItsMode(t *testing.T) {
	c := machine(t, "dryer")
	for _, function := range []string{"volts", "lowz", "amps"} {
		if n, err := visit.Reading(c, function+" supply.L1 supply.L2 = 0", ""); err == nil || !strings.Contains(err.Error(), "say in which mode") {
			t.Errorf("%s: %+v, %v", function, n, err)
		}
	}
	if n, err := visit.Reading(c, "ohms supply.L1 supply.L2 = OL", ""); err != nil || n.Mode != "off" {
		t.Errorf("%+v, %v", n, err)
	}
}

// A reading of one name is across that part, or of the wire at its end, the same in a
// sentence and in a file.
func TestAReadingOfOnePart(t *testing.T) {
	c := machine(t, "dryer")
	for said, want := range map[string]string{
		"ohms motor_protector = OL":        "ohms motor_protector.1 motor_protector.2 = OL",
		"ohms across motor_protector = OL": "ohms motor_protector.1 motor_protector.2 = OL",
		"ohms motor.main = 2":              "ohms motor_1 motor_2 = 2",
		"volts motor.main in start = 0":    "volts motor_1 motor_2 in start = 0",
		"ohms heater to metal = 3":         "ohms heater_1 chassis = 3",
		"ohms heater_1 to frame = 3":       "ohms heater_1 chassis = 3",
	} {
		got, err := visit.Reading(c, said, "")
		same, bad := visit.Reading(c, want, "")
		if err != nil || bad != nil || !cmp.Equal(got, same) {
			t.Errorf("%s: %+v, %v; want %+v, %v", said, got, err, same, bad)
		}
		if told, err := visit.Complaint(c, said); err != nil || !cmp.Equal(told[0], same) {
			t.Errorf("%s as a sentence: %+v, %v", said, told, err)
		}
	}
	file := visit.Note{Mode: "off", Function: "ohms", P: "motor_protector", Answer: "OL"}
	spread := file
	spread.P, spread.Q = "motor_protector.1", "motor_protector.2"
	got, err := file.Evidence(c)
	want, bad := spread.Evidence(c)
	if err != nil || bad != nil || !cmp.Equal(got.Reading.Probes, want.Reading.Probes) {
		t.Errorf("%+v, %v; want %+v, %v", got.Reading, err, want.Reading, bad)
	}
	for said, want := range map[string]string{
		"ohms timer = 3":          "say which terminal, one of timer.",
		"ohms heater_1 = 3":       "is one place: say the other too",
		"ohms motor_protectr = 3": "did you mean",
	} {
		if n, err := visit.Reading(c, said, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %+v, %v; want %q", said, n, err, want)
		}
	}
}

// An answer that could not be written down is not in the record either: record and
// engine know the same.
func TestAnAnswerThatIsNotKeptIsNotKnown(t *testing.T) {
	j, err := visit.Start(t.Context(), machine(t, "water-heater"), visit.Record{})
	if err != nil {
		t.Fatal(err)
	}
	dead := visit.Note{Mode: "top_hot", Load: "lower_element", State: "dead"}
	full := errors.New("no space left")
	j.Keep = func() error { return full }
	if err := j.Add(t.Context(), dead); !errors.Is(err, full) || len(j.Notes) != 0 || len(j.Engine.Evidence()) != 0 {
		t.Errorf("%v: %d notes, %d known", err, len(j.Notes), len(j.Engine.Evidence()))
	}
	j.Keep = nil
	if err := j.Add(t.Context(), dead); err != nil {
		t.Fatal(err)
	}
	j.Keep = func() error { return full }
	if _, err := j.Undo(t.Context()); !errors.Is(err, full) || len(j.Notes) != 1 || len(j.Engine.Evidence()) != 1 {
		t.Errorf("%v: %d notes, %d known", err, len(j.Notes), len(j.Engine.Evidence()))
	}
}

// A relay that was replaced is none of an open element; its wires' ends are its own.
func TestARepairBesideWhatWasNamed(t *testing.T) {
	c := opened(t, "range-electronic")
	j := &visit.Job{Circuit: c}
	part := func(name string) circuit.PartID {
		id, err := c.FindPart(name)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	named := func(cause string) suspect.Finding {
		f, err := c.ParseFault(cause)
		if err != nil {
			t.Fatal(err)
		}
		return suspect.Finding{P: 1, Any: []suspect.Suspect{{P: 1, Causes: []suspect.Class{{Members: []suspect.Cause{{Faults: f, Label: cause}}}}}}}
	}
	for _, x := range []struct {
		cause, part string
		astray      bool
	}{
		{"broil_element:open", "broil_relay", true},
		{"broil_element:open", "broil_element", false},
		{"broil_relay.coil:open", "broil_relay", false},
		{"w15:open", "broil_relay", false}, // it ends there
		{"w15:open", "bake_relay", true},
		{"broil_relay.contact:open", "control", false}, // it sits on that board
	} {
		astray, err := j.Astray(named(x.cause), []circuit.PartID{part(x.part)})
		if err != nil || astray != x.astray {
			t.Errorf("%s, %s repaired: astray %v, %v", x.cause, x.part, astray, err)
		}
	}
	if astray, err := j.Astray(named("broil_element:open"), nil); err != nil || astray {
		t.Errorf("words that name no part: astray %v, %v", astray, err)
	}
}
