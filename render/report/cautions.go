package report

// cautionLines go under whatever sends a person to the machine. They repeat
// what OSHA 29 CFR 1910.147 and 1910.333 and NFPA 70E ask for, as something to
// follow; they are no legal advice.
var cautionLines = [...]string{
	"Before touching anything: disconnect, lock out, and prove it dead with a meter proved on a known source before and after.",
	"Live tests are for qualified people only. Local codes and the maker's instructions come first.",
}

// Cautions returns what goes under whatever sends a person to the machine.
func Cautions() []string { return cautionLines[:] }
