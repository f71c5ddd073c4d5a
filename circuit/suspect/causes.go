package suspect

import (
	"legtrace/circuit"
	"legtrace/circuit/trace"
)

// What parts of a visit take in minutes, as [Progress.Minutes] counts them.
const (
	TrialMinutes = trialMinutes // turn a mode on and look
	AgainMinutes = againMinutes // a place that is open already
	LiftMinutes  = liftMinutes  // a lead off, marked, and back on
)

// Classes lists every single thing that may be wrong with a machine, what no
// listed test point tells apart taken together, with priors that add up to 1.
func Classes(c *circuit.Circuit) []Class { return classes(c, trace.New(c), nil, nil, nil) }

// SeenLoads lists the loads that a person sees working or not.
func SeenLoads(c *circuit.Circuit) []circuit.BranchID { return seenLoads(c) }
