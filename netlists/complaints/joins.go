package complaints

// way is how what is said came to what it is said of.
type way uint8

const (
	named     way = iota // its clause names it
	listed               // a clause before names it, and says nothing of it
	placed               // it stands where it is said to be: "no heat from the broiler"
	region               // all that heats in a place
	ofIt                 // "it"
	goesOn               // what was spoken of last
	ofSetting            // what a mode is for
	ofVerb               // all that it can be said of: "no heat"
	ofMachine            // the machine
	others               // the rest, or all of a kind but one
	byDenial             // it is not, and no word tells what: "no bake"
	implied              // what was said last is said, or denied, of it as well
)

var wayNames = [...]string{"named", "listed", "placed", "a region", "it", "spoken of last", "a setting", "a verb", "the machine", "the others", "by denial", "implied"}

func (w way) String() string { return wayNames[w] }
