package desk

import (
	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// toMend is an engine's finding but for what says that nothing is wrong, which
// no repair mends.
func toMend(e *suspect.Engine) suspect.Finding {
	f := e.Finding()
	if f.Sound && f.Close {
		return suspect.Finding{}
	}
	some := f
	some.Any = nil
	for _, s := range f.Any {
		if len(s.Causes) == 0 {
			some.P -= s.P
			continue
		}
		some.Any = append(some.Any, s)
	}
	return some
}

// shownFaults are those that the diagram shows for a finding: of its likeliest.
func shownFaults(f suspect.Finding) []circuit.Fault {
	var out []circuit.Fault
	for _, k := range f.Mended() {
		out = append(out, k.Members[0].Faults...)
	}
	return out
}
