package audit

import (
	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// cold questions cold ohms that the part's rating speaks against: one of the
// two was copied down wrong.
func (a *auditor) cold() {
	for i := range a.c.Branches() {
		load := circuit.BranchID(i)
		b := a.c.Branch(load)
		if b.Role != circuit.Load || b.Part == circuit.None || b.Sensor != nil {
			continue
		}
		p := a.c.Part(b.Part)
		given := meter.Cold(a.c, load, circuit.RoomCelsius)
		rated := meter.RatedCold(a.c, load)
		if p.Spec.ColdOhms == 0 || given.Ohms != p.Spec.ColdOhms || given.Low <= rated.High && given.High >= rated.Low {
			continue
		}
		a.find(ColdOhms, "parts."+p.Name, circuit.None, []circuit.BranchID{load}, "either the rating or the cold ohms may be copied down wrong",
			"%s is given %.4g ohms cold; by its rating that lies between %.3g and %.3g", a.c.Label(load), given.Ohms, rated.Low, rated.High)
	}
}
