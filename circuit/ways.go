package circuit

// Way is a way to fail, or a cause of several faults at once, with its share:
// how often it is the way, of a part's or wire's prior; what the house brings
// has a prior of its own. A netlist's [priors] may give another.
type Way struct {
	Name, Trade string
	Share       float64
}

// ways holds the defaults, all common practice without a published source.
var ways = []Way{
	{"open", "a branch conducts no more; the others are beside this", 1},
	{"high", "a joint or contact conducts badly", 0.4},
	{"welded", "a contact stays closed", 0.15},
	{"short", "a load is shorted", 0.05},
	{"grounded", "touches metal, or leaks to it", 0.1},
	{"drifted", "a sensor off its table; half as often part shorted, half as often with too many ohms", 0.3},
	{"uncalibrated", "a thermostat lets heat off too hot or too cold", 0.4},
	{"part_shorted", "an element's or motor's winding has lost ohms", 0.03},
	{"aged", "an element's or motor's winding has gained ohms", 0.03},
	{"worn", "the elements of one chamber have gained ohms together, as a kiln's do", 0},
	{"seized", "a motor or a fan does not turn", 0.3},
	{"stuck", "a switch or thermostat of several contacts stays in a position, or a motor's switch or relay as it is", 0.25},
	{"tripped", "a breaker is off or tripped, every pole", 0.6},
	{"button", "a limit with a button has tripped, every pole", 2},
	{"pulled", "a plug is not pushed home, every pole", 0.2},
	{"burnt", "a plug or block is burnt over two poles", 0.15},
	{"driven", "a control drives a relay all the time", 0.15},
	{"undriven", "a control never drives a relay", 0.3},
	{"key", "a control does not take a mode", 0.1},
	{"together", "the contacts of both legs of what heats welded by one short, beside one of them welded", 0.25},
	{"runs", "a control runs a mode that nobody selected", 0.15},
	{"blown", "a fuse blown by a short that is still there, beside that short alone", 2},
	{"crossed", "two wires change places at a part that somebody worked on", 0.05},
	{"misplaced", "a wire on another terminal of a part that somebody worked on", 0.03},
	{"strap_on", "neutral strapped to the machine's metal where earth has a wire of its own", 0.1},
	{"strap_off", "the strap from neutral to the metal left off", 0.1},
	{"runs_on", "no fault: a fan runs on until all has cooled, by its thermostat", 0.5},
	{"limited", "no fault: a limiter of several positions opens and closes by heat, as it should", 0.2},
	{"blocked", "no fault: a limit that resets by itself opens by heat that does not get away", 0.05},
	{"damp", "no fault: an element behind a residual-current device is damp and leaks", 0.1},
	{"locked", "no fault: a control's keys are locked, a delay or a demonstration is set", 0.1},
	{"unset", "no fault: a switch that somebody sets stands as it should not for use", 2},
	{"supply_low", "the supply is low on every leg", 0.5},
	{"supply_208", "two legs of a star where 240 V is due", 0.4},
	{"supply_same_leg", "both hots on the same leg", 0.05},
	{"supply_swapped", "a hot and neutral swapped", 0.03},
	{"supply_thin", "a feed too thin or too long", 0.2},
}

// Ways lists the ways to fail with their default shares.
func Ways() []Way { return append([]Way(nil), ways...) }

// Way returns a way's share on this machine.
func (c *Circuit) Way(name string) float64 { return c.ways[name] }
