package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// Asks says why more has to be said before there is a test to make.
func Asks(why visit.Search) string {
	if why == visit.Held {
		return "No test before the gas is cleared, by who answers for gas. Once it is, say \"gas cleared\"."
	}
	return "No fault of the circuit is known yet, so there is nothing to test for. Say what it does, or does not do."
}

// Ends is the key of what has to be told before a test is made, see [suspect.Tales];
// empty where nothing holds the tests up.
func Ends(why visit.Search) string {
	if why == visit.Held {
		return "gas_cleared"
	}
	return ""
}

// SearchWords say how far the search of a visit has come; they are empty while a test
// is worth making.
func SearchWords(c *circuit.Circuit, s visit.Step) string {
	p, words := Chance(s.Finding.P), FindingWords(c, s.Finding)
	switch s.Search {
	case visit.Unsaid, visit.Held:
		return Asks(s.Search)
	case visit.Sound:
		return fmt.Sprintf("Nothing is found wrong (%s): what was seen is what a sound machine does.", p)
	case visit.Sure:
		return fmt.Sprintf("Sure enough (%s): %s.", p, words)
	case visit.Likely:
		return fmt.Sprintf("Likely enough (%s), and the next test takes more than it saves: %s.", p, words)
	case visit.Little:
		return fmt.Sprintf("The tests left would tell too little for their time. Likeliest (%s): %s.", p, words)
	case visit.Exhausted:
		return fmt.Sprintf("No listed test tells more. What is left (%s): %s.%s", p, words, further(c, s.Alike))
	}
	return ""
}

// FindingWords say what a finding is, with all that no listed test tells from it: who
// reads of one of them alone changes it in vain.
func FindingWords(c *circuit.Circuit, f suspect.Finding) string {
	return strings.Join(each(f.Any, func(s suspect.Suspect) string { return namer{c: c}.explanation(s).Words() }), ", or ")
}

// further names the test point that is missing, if there is one.
func further(c *circuit.Circuit, alike []suspect.AlikeGroup) string {
	for _, a := range alike {
		if a.Split == circuit.None {
			continue
		}
		at := c.PlaceName(a.Split)
		if place := oneLine(c.PlaceOf(a.Split)); place != "" {
			at += " (" + place + ")"
		}
		return " A test point to add: a probe at " + at + " would tell them apart."
	}
	return ""
}

// ProofWords say what a proof has come to.
func ProofWords(p *visit.Proof) string {
	switch {
	case p.Bad:
		return "The repair is not proved: something is still wrong."
	case p.Left > 0:
		return fmt.Sprintf("Not proved yet: %d of %d checks done.", len(p.Checks)-p.Left, len(p.Checks))
	case p.Out > 0:
		return fmt.Sprintf("Not proved: good as far as it was checked, %d of %d checks left out.", p.Out, len(p.Checks))
	}
	return "Proved: all is as it should be."
}

// NotMended tells of a repair that did not end the trouble.
func NotMended(m visit.Mended) string {
	return fmt.Sprintf("Repaired before: %s (%s). It did not end the trouble.", oneLine(strings.TrimSuffix(m.Done, ".")), oneLine(m.Words))
}

// PartsWords name the parts that a repair may have been of.
func PartsWords(c *circuit.Circuit, parts []circuit.PartID) string {
	return circuit.UpperFirst(strings.Join(each(parts, func(id circuit.PartID) string { return oneLine(c.Part(id).Label) }), " or "))
}

// AstrayWords say of a repair that it was of something else than what was named; they
// are empty where it was not.
func AstrayWords(c *circuit.Circuit, j *visit.Job) string {
	var parts []circuit.PartID
	for _, name := range j.Repair.Parts {
		if id, err := c.FindPart(name); err == nil {
			parts = append(parts, id)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return PartsWords(c, parts) + ": that is not what was named (" + oneLine(j.Verdict.Words) + ")."
}

// Unproved says what none of a proof's checks would show; it may be empty.
func Unproved(p *visit.Proof) string {
	if len(p.Unproved) == 0 {
		return ""
	}
	return "Not shown by any check, should it be there as well: " + firstNamed(p.Unproved) + "."
}

// BeforePower lists what belongs between a repair and the supply: what the netlist says
// of the parts mended, and what may have made the fault.
func BeforePower(p *visit.Proof) []string {
	out := each(p.Notes, oneLine)
	for _, m := range makers(p) {
		out = append(out, "What may have made it: "+m)
	}
	return out
}

func makers(p *visit.Proof) []string {
	return each(p.Makers, func(m suspect.Maker) string { return oneLine(m.What) + " (" + oneLine(m.Why) + ")." })
}

// PointsTo says what a check that came out wrong would point to; it may be empty.
func PointsTo(c *visit.Check) string {
	if len(c.Shows) == 0 {
		return ""
	}
	return "It would point to " + firstNamed(c.Shows) + "."
}

// firstNamed names a few, and says how many more there are.
func firstNamed(list []suspect.Named) string {
	const most = 4
	var names []string
	for i, n := range list {
		if i == most {
			names = append(names, fmt.Sprintf("and %d more", len(list)-most))
			break
		}
		names = append(names, oneLine(n.Label))
	}
	return strings.Join(names, ", ")
}
