package settle_test

import (
	"context"
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// Opens that leave the water heater's upper element cold: each alone, and two
// that only together do. There are none of these, for the element has one way
// in and one way out.
func ExamplePairTables() {
	c, err := netlists.Open("water-heater")
	if err != nil {
		panic(err)
	}
	var opens []circuit.Fault
	for i := range c.Branches() {
		opens = append(opens, circuit.Fault{Kind: circuit.Open, Branch: circuit.BranchID(i)})
	}
	mode, _ := c.FindMode("cold_tank")
	load, _ := c.FindLoad("upper_element")
	tables := settle.NewPairTables(settle.New(c), phasor.NewNetwork(c), opens)
	pairs, err := tables.Mode(context.Background(), mode)
	if err != nil {
		panic(err)
	}
	cold := func(i, j int) bool {
		o, err := pairs.Outcome(i, j)
		if err != nil {
			panic(err)
		}
		return o.LeastShare(load) < 0.01
	}
	alone, together := 0, 0
	for j := range opens {
		if cold(j, j) {
			alone++
		}
		for i := range j {
			if cold(i, j) && !cold(i, i) && !cold(j, j) {
				together++
			}
		}
	}
	fmt.Println("single opens that leave it cold:", alone)
	fmt.Println("pairs that do so only together:", together)
	// Output:
	// single opens that leave it cold: 19
	// pairs that do so only together: 0
}
