package main

import (
	"path/filepath"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists/visits"
	"legtrace/render/page/desk"
)

// pageVisit writes a visit made on the page as a file for a place beside the
// netlist.
func pageVisit(netlist string) func(*circuit.Circuit, desk.Record) ([]byte, error) {
	if !strings.HasPrefix(netlist, catalogPrefix) {
		netlist = filepath.Base(netlist)
	}
	return func(c *circuit.Circuit, rec desk.Record) ([]byte, error) {
		print, err := visits.Fingerprint(c.Spec())
		if err != nil {
			return nil, err
		}
		v := visits.Visit{Format: visits.Format, Date: rec.Date, Complaint: rec.Complaint,
			Machine: visits.Machine{Netlist: netlist, Name: c.Name(), Fingerprint: print}}
		for _, list := range []struct {
			from []desk.Noted
			to   *[]visits.Note
		}{{rec.Notes, &v.Notes}, {rec.After, &v.After}} {
			for _, n := range list.from {
				note := visits.NoteOf(n.Note)
				note.Step, note.Skipped = n.Step, n.Skipped
				if err := note.Check(c); err != nil {
					return nil, err
				}
				*list.to = append(*list.to, note)
			}
		}
		if len(rec.Causes) > 0 {
			v.Verdict = &visits.Verdict{Causes: rec.Causes, Words: rec.Words, Chance: rec.Chance}
			v.Repair = &visits.Repair{Done: rec.Done}
		}
		return visits.Encode(v)
	}
}
