package complaints

import (
	"slices"

	"legtrace/circuit"
)

// notAmiss are tellings of nothing that was wrong, nor that it still is.
var notAmiss = map[string]bool{"normal": true, "rest_normal": true, "reads": true, "replaced": true, "reset": true, "repair": true, "found_good": true,
	"looks_good": true, "no_trip": true, "since": true, "sudden": true, "gradual": true, "click": true, "code": false}

// mending are tellings of what somebody did about it.
var mending = map[string]bool{"replaced": true, "reset": true, "repair": true}

// cured reports whether a clause that tells that something works tells what came of what
// was done about it: "no heat, replaced the heater, heats fine".
func (r *reader) cured(k *clause, s *said) bool {
	all := r.heard.Statements
	at := slices.IndexFunc(all, func(o Statement) bool { return mending[o.What] })
	if at < 0 || !r.mended || k.rest || k.others || k.rarely || k.when != "" || k.past || len(k.butOnly) > 0 || len(k.modes) > 0 || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return p.only }) {
		return false
	}
	for _, o := range all[at:] {
		if !notAmiss[o.What] && o.What != "works_again" {
			return false // "replaced the board, still no bake, but it broils"
		}
	}
	var failed []circuit.BranchID
	amiss := false
	for _, o := range all[:at] {
		if amiss = amiss || !notAmiss[o.What]; o.Load != circuit.None && !notAmiss[o.What] {
			failed = append(failed, o.Load)
		}
	}
	for _, q := range r.heard.Questions {
		for _, c := range q.Choices {
			if amiss = amiss || !notAmiss[q.What]; !notAmiss[q.What] && c.Statements[0].Load != circuit.None {
				failed = append(failed, c.Statements[0].Load)
			}
		}
	}
	of := r.loadsOf(s.of)
	if len(k.subjects) > 0 {
		of = nil
		for _, p := range k.subjects {
			for _, id := range r.parts(p, r.isLoad) {
				of = append(of, r.machine.loads[id]...)
			}
		}
	} else if s.of == "" {
		return amiss
	}
	return amiss && (len(failed) == 0 && len(k.subjects) == 0 || slices.ContainsFunc(of, func(load circuit.BranchID) bool { return slices.Contains(failed, load) }))
}
