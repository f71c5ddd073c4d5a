package suspect

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"

	"legtrace/circuit"
)

// how is how a fault fails, as far as it shows.
type how uint8

const (
	jointOpen how = iota // a wire, a plug or a stud that has let go
	jointHigh            // one that conducts badly
	partOpen
	partShort // to itself or to metal
	contactHigh
	contactStuck
	astray // a supply that brings what it should not, or wires that changed places
	otherwise
)

// ways are the names of how a fault fails, as a netlist writes them.
var ways = map[string]how{"joint_open": jointOpen, "joint_high": jointHigh, "part_open": partOpen, "part_short": partShort,
	"contact_high": contactHigh, "contact_stuck": contactStuck, "astray": astray, "otherwise": otherwise}

// hereOnly and anywhereOnly stand before a way that is meant where a place is told of, or
// where none is; without them both are.
const hereOnly, anywhereOnly = "here_", "anywhere_"

// tale is a row of the table: the chance of being told so where the fault is
// of a way to fail at the place told of, or in a part of a kind anywhere; and
// the chance of it where neither is so, whatever is wrong.
type tale struct {
	words string
	base  float64
	here  map[how]float64
	// anywhere holds where no place is told, kinds by the kind of part at fault.
	anywhere map[how]float64
	kinds    map[circuit.Kind]float64
	// ways limits kinds to these ways to fail; empty means any.
	ways []how
	// alone says that where it is told of one load what others share is less likely.
	alone bool
	// senses says that what a control sees through counts: of a sensor, or of
	// the switches of a latch.
	senses circuit.Kind
	// moves says that only parts of the kind count, and what feeds or drives them.
	moves circuit.Kind
	// metal says that what is shorted to itself does not count: it has to touch metal.
	metal bool
	// neutral says that of the supply its neutral alone counts; legs that of what feeds the
	// machine what opens one of its legs alone does.
	neutral, legs bool
	// bonds is the chance where what alone bonds the metal to neutral is open: whatever
	// is on brings the metal to a hot then.
	bonds float64
	// pole is what is left of the chance where one pole alone is open of what trips with
	// all; 0 for a row that it does not matter to.
	pole float64
	// spares says that a fault at the place speaks against it, by this factor.
	spares float64
	// undriven is the chance where what moves a contact of the part is at fault,
	// 0 for a row that it does not matter to; made where the contact itself is.
	undriven, made float64
	// caused is the chance where a fault elsewhere brought that at the place about; 0 for
	// a row that it does not matter to.
	caused float64
	// when is the occasion of a fault that is told of: where a class may be there
	// always or then, then is meant.
	when when
	// sound is the chance where nothing is wrong with the circuit, of what is
	// mechanical; 0 for the base.
	sound float64
	// setting is the chance where nothing is wrong but how a part is set; 0 for a row that
	// it does not matter to.
	setting float64
	// fact is shared by rows that tell of one fact: they count once.
	fact string
	// first is what comes before any test, where people are in danger; until is the row
	// that ends it, where nothing at all is tested before that.
	first, until string
	why          string
}

// bridgeOut is said of what somebody bridged.
const bridgeOut = "Something was bridged: take the bridge out, supply removed, before anything else. What guards against heat is fitted anew, never left bridged."

// again is how much of a telling counts where its fact was told of before at the
// same place: a burnt end that also smells is one burnt end.
const again = 0.25

var atJoint = map[how]float64{jointHigh: 0.5, jointOpen: 0.35, contactHigh: 0.3, contactStuck: 0.15, partShort: 0.3, partOpen: 0.12}

// tales are chances of being told (common practice, no source). They are meant
// to be of the right size, not exact: what counts is their ratio to the base.
var tales = map[string]tale{
	"burnt":       {words: "burnt", fact: "heat", base: 0.003, here: atJoint, anywhere: atJoint, why: "heat is made where a joint conducts badly"},
	"melted":      {words: "melted", fact: "heat", base: 0.003, here: atJoint, anywhere: atJoint, why: "heat is made where a joint conducts badly"},
	"discoloured": {words: "discoloured by heat", fact: "heat", base: 0.015, here: atJoint, anywhere: atJoint, why: "old heat marks are seen on good joints too"},
	"sparks":      {words: "sparks", fact: "arc", base: 0.002, here: map[how]float64{partShort: 0.5, jointOpen: 0.2, jointHigh: 0.2, partOpen: 0.1}, anywhere: map[how]float64{partShort: 0.3, jointOpen: 0.15, jointHigh: 0.15, partOpen: 0.05}, why: "an arc at a gap or to metal"},
	"feels_hot":   {words: "gets hot", fact: "heat", base: 0.02, here: map[how]float64{jointHigh: 0.5, contactHigh: 0.4, jointOpen: 0.1, contactStuck: 0.1, partShort: 0.2, partOpen: 0.05}, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.3, circuit.KindFan: 0.3}, why: "a bad contact that still conducts warms what holds it, a motor that labours itself; what is open gets cold"},
	"smell":       {words: "smell of burning", fact: "heat", base: 0.005, here: atJoint, anywhere: map[how]float64{jointHigh: 0.2, jointOpen: 0.1, partShort: 0.2, contactHigh: 0.1, contactStuck: 0.1, partOpen: 0.05}, why: "overheated insulation smells, a winding or a contact as it burns through, and what stands on a heater that stays on"},
	"noise":       {words: "bang or crackle", fact: "arc", base: 0.01, here: map[how]float64{partShort: 0.4, partOpen: 0.1, jointHigh: 0.2, jointOpen: 0.2}, anywhere: map[how]float64{partShort: 0.3, partOpen: 0.06, jointHigh: 0.08, jointOpen: 0.06}, why: "a short or an arc is heard"},
	"squeal":      {words: "squeal, rattle or thump: of what turns or expands, no fault of the circuit", base: 0.02, sound: 0.2, here: map[how]float64{otherwise: 0.6}, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.2, circuit.KindFan: 0.2, circuit.KindSwitch: 0.2}, why: "worn bearings, rollers and sheet metal are heard, and a belt that snaps and lets its switch go"},
	"parted":      {words: "parted, cut or holed", base: 0.001, here: map[how]float64{jointOpen: 0.6, partOpen: 0.5, partShort: 0.4}, anywhere: map[how]float64{jointOpen: 0.2, partOpen: 0.1, partShort: 0.1}, why: "a break that can be seen conducts no more"},
	"bare":        {words: "bare, rubbed through or pinched", base: 0.001, here: map[how]float64{partShort: 0.5, jointOpen: 0.05}, kinds: map[circuit.Kind]float64{circuit.KindNone: 0.4}, ways: []how{partShort}, why: "a wire that lost its insulation touches metal"},
	"blistered":   {words: "blistered or swollen", base: 0.001, here: map[how]float64{partOpen: 0.4, partShort: 0.4}, anywhere: map[how]float64{partOpen: 0.1, partShort: 0.1}, why: "a sheath blisters where the winding fails"},
	"loose":       {words: "loose or off", base: 0.004, here: map[how]float64{jointOpen: 0.7, jointHigh: 0.6}, anywhere: map[how]float64{jointOpen: 0.3, jointHigh: 0.3}, why: "a loose end is a bad joint"},
	"wet":         {words: "wet or corroded", base: 0.005, here: map[how]float64{partShort: 0.5, jointHigh: 0.3, jointOpen: 0.1, contactHigh: 0.2, otherwise: 0.2}, anywhere: map[how]float64{partShort: 0.2, jointHigh: 0.1}, why: "water leaks to metal and eats joints"},

	"good_elsewhere":  {words: "works in another place", base: 0.3, spares: 0.03, why: "the part is good; its place is not"},
	"like_works_here": {words: "its like works in this place", base: 0.05, here: map[how]float64{partOpen: 0.95, partShort: 0.95, contactHigh: 0.9, contactStuck: 0.9, otherwise: 0.95, jointOpen: 0.3, jointHigh: 0.3}, why: "the place is good; the part is not, or what was loose there was pushed home"},
	"like_dead_here":  {words: "its like is dead in this place too", base: 0.3, spares: 0.03, why: "the place is at fault"},
	"replaced":        {words: "replaced already", fact: "renewed", base: 0.3, spares: 0.25, why: "a part just replaced is rarely at fault again"},
	"no_help":         {words: "replaced without effect", fact: "renewed", base: 0.3, spares: 0.1, why: "two bad parts in a row are rare"},

	"failed_again": {words: "failed again once replaced: find its reason", base: 0.03, caused: 0.9, here: map[how]float64{partOpen: 0.4, partShort: 0.4, contactHigh: 0.3, contactStuck: 0.3, jointOpen: 0.05, jointHigh: 0.2, otherwise: 0.4}, why: "the part is bad again, or only dead again for what it was replaced for; and what spoils a new one is mostly elsewhere: a joint that heats it, heat that does not leave, a short beyond it"},

	"beeps":   {words: "beeps", base: 0.5, why: "a key, a timer or a code: it says which only where one is shown"},
	"no_trip": {words: "the breaker has not tripped", base: 0.5, why: "most faults trip nothing"},
	"reset":   {words: "reset was pressed", base: 0.5, why: "whether it had tripped, and what came of it, is what tells"},
	since:     {words: "since when was said", base: 0.5, why: "when it began tells nothing by itself; what happened then does"},
	"sudden":  {words: "came suddenly", base: 0.5, why: "most faults are there from one day to the next"},
	"gradual": {words: "came gradually", base: 0.5, why: "people seldom remember how it began"},

	"found_good": {words: "found good", base: 0.3, spares: 0.1, why: "a test by somebody else, seldom wrong"},
	"looks_good": {words: "looks good", base: 0.3, spares: 0.5, why: "many a break is not seen"},
	"shorted":    {words: "found shorted, to itself or to metal", base: 0.003, here: map[how]float64{partShort: 0.8, contactStuck: 0.3, otherwise: 0.1}, why: "it was measured"},
	"found_bad":  {words: "found open, blown or bad", base: 0.01, here: map[how]float64{partOpen: 0.8, partShort: 0.5, contactHigh: 0.6, contactStuck: 0.4, otherwise: 0.6}, why: "it was looked at or measured"},
	"welded":     {words: "found welded, or stuck closed", base: 0.001, here: map[how]float64{contactStuck: 0.9, partShort: 0.1, otherwise: 0.3}, why: "it was looked at or measured"},

	"self_clean": {words: "began after self-clean", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindThermalFuse: 0.3, circuit.KindLimit: 0.2, circuit.KindLatch: 0.2, circuit.KindControl: 0.06, circuit.KindRelay: 0.06, circuit.KindSensor: 0.05, circuit.KindElement: 0.05, circuit.KindDoorSwitch: 0.05}, why: "its heat opens limits and fuses and ages boards"},
	"moved":      {words: "began after the machine was moved", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindConnector: 0.2, circuit.KindTerminalBlock: 0.2, circuit.KindSupply: 0.2, circuit.KindBreaker: 0.1, circuit.KindNone: 0.15}, anywhere: map[how]float64{astray: 0.5}, why: "cords, plugs and wires are pulled or cut"},
	"dry":        {words: "its tank was empty or filling with power on", base: 0.01, kinds: map[circuit.Kind]float64{circuit.KindElement: 0.5}, why: "an element without water burns out in a minute"},
	"storm":      {words: "began after a storm or an outage", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.2, circuit.KindRelay: 0.1, circuit.KindSupply: 0.2, circuit.KindBreaker: 0.15, circuit.KindFuse: 0.1, circuit.KindTransformer: 0.1}, why: "surges reach boards and the supply first"},
	"spill":      {words: "began after a spill", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindSurfaceElement: 0.1, circuit.KindConnector: 0.1, circuit.KindCyclingSwitch: 0.1, circuit.KindNone: 0.05, circuit.KindControl: 0.05}, why: "what lies below a spill gets wet"},
	"repair":     {words: "began after somebody worked on it", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindNone: 0.2, circuit.KindConnector: 0.15, circuit.KindTerminalBlock: 0.15, circuit.KindSupply: 0.1}, anywhere: map[how]float64{astray: 0.5}, why: "ends are left off, loose or crossed"},
	"new_cord":   {words: "began after a new cord or outlet", base: 0.01, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.3, circuit.KindConnector: 0.15, circuit.KindTerminalBlock: 0.3, circuit.KindBreaker: 0.1}, anywhere: map[how]float64{astray: 0.9}, why: "the work was at the supply's end"},
	"kitchen":    {words: "began after work in the house", base: 0.01, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.3, circuit.KindBreaker: 0.2, circuit.KindConnector: 0.1}, anywhere: map[how]float64{astray: 0.9}, why: "the work was on the house's wiring"},
	"crossed":    {words: "wires found on each other's terminals", base: 0.001, anywhere: map[how]float64{astray: 0.9}, why: "it was seen where they land"},
	"works_again": {words: "worked again after a reset or by itself", fact: "contact", when: comesAndGoes, pole: tripsPole / tripsWhole, base: 0.05, kinds: map[circuit.Kind]float64{circuit.KindLimit: 0.5, circuit.KindThermostat: 0.15, circuit.KindBreaker: 0.3, circuit.KindControl: 0.1, circuit.KindRelay: 0.15, circuit.KindDoorSwitch: 0.2, circuit.KindSwitch: 0.15, circuit.KindPushSwitch: 0.15, circuit.KindSelector: 0.15, circuit.KindCentrifugalSwitch: 0.15},
		anywhere: map[how]float64{jointHigh: 0.25, jointOpen: 0.2, contactHigh: 0.25}, why: "what closes again: a limit, a joint, a contact"},
	"set_right": {words: "works once it is set", base: 0.002, setting: 0.6, why: "nothing was wrong but how it was set"},
	"meddled":   {words: "somebody played with its keys or knobs", base: 0.004, setting: 0.5, why: "keys get locked, a delay or a programme gets set"},
	"once":      {words: "tripped once and then held", fact: "contact", base: 0.004, anywhere: map[how]float64{partShort: 0.5, partOpen: 0.03, jointOpen: 0.02}, why: "a short that burnt itself open"},

	"intermittent": {words: "comes and goes", fact: "contact", when: comesAndGoes, base: 0.01, kinds: map[circuit.Kind]float64{circuit.KindRelay: 0.3, circuit.KindThermostat: 0.2, circuit.KindSwitch: 0.2, circuit.KindCentrifugalSwitch: 0.2, circuit.KindPushSwitch: 0.15, circuit.KindLimit: 0.1, circuit.KindBreaker: 0.1, circuit.KindSelector: 0.2, circuit.KindDoorSwitch: 0.2, circuit.KindControl: 0.2, circuit.KindThermalFuse: 0.004, circuit.KindElement: 0.01},
		anywhere: map[how]float64{jointHigh: 0.1, jointOpen: 0.4, contactHigh: 0.1}, why: "joints and contacts come and go; one that conducts badly all the time, and a fuse, do not"},
	"touched": {words: "works while touched or moved", fact: "contact", when: comesAndGoes, base: 0.003, kinds: map[circuit.Kind]float64{circuit.KindRelay: 0.2, circuit.KindControl: 0.15, circuit.KindDoorSwitch: 0.25, circuit.KindSwitch: 0.15, circuit.KindPushSwitch: 0.15, circuit.KindSelector: 0.15, circuit.KindCyclingSwitch: 0.15, circuit.KindThermostat: 0.1, circuit.KindThermalFuse: 0.002, circuit.KindElement: 0.03},
		here:     map[how]float64{jointHigh: 0.6, jointOpen: 0.6, contactHigh: 0.4, partOpen: 0.3},
		anywhere: map[how]float64{jointHigh: 0.5, jointOpen: 0.5, contactHigh: 0.2}, why: "what moves is a joint, or a contact that the hand moves"},
	"fails_hot": {words: "works cold, fails hot", when: whenHot, base: 0.005, kinds: map[circuit.Kind]float64{circuit.KindElement: 0.05, circuit.KindSurfaceElement: 0.05, circuit.KindLimit: 0.3, circuit.KindThermostat: 0.2, circuit.KindMotor: 0.1, circuit.KindFan: 0.3, circuit.KindControl: 0.15, circuit.KindRelay: 0.2, circuit.KindSensor: 0.1},
		anywhere: map[how]float64{jointHigh: 0.3, jointOpen: 0.2, contactHigh: 0.2}, why: "what opens with heat: a limit, a joint, a board, a winding whose ends part as it grows"},
	"fails_cold": {words: "works hot, fails cold", base: 0.02, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.2, circuit.KindRelay: 0.2, circuit.KindThermostat: 0.1},
		anywhere: map[how]float64{jointHigh: 0.2, jointOpen: 0.2}, why: "joints close as they warm"},
	"quits":    {words: "stops by itself", when: whenHot, base: 0.01, kinds: map[circuit.Kind]float64{circuit.KindLimit: 0.3, circuit.KindControl: 0.15, circuit.KindFan: 0.2, circuit.KindMotor: 0.15, circuit.KindCentrifugalSwitch: 0.3, circuit.KindSensor: 0.1}, why: "a limit or the control ends it, or a motor's run contact that does not take over from the button"},
	"full":     {words: "full heat only", fact: "full", base: 0.00005, ways: []how{contactStuck, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindCyclingSwitch: 0.5, circuit.KindThermostat: 0.2, circuit.KindSensor: 0.05, circuit.KindRelay: 0.1}, anywhere: map[how]float64{contactStuck: 0.4}, why: "a contact that does not open again"},
	"too_much": {words: "too hot", fact: "full", base: 0.00005, ways: []how{contactStuck, partShort, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindCyclingSwitch: 0.5, circuit.KindThermostat: 0.2, circuit.KindSurfaceElement: 0.003}, anywhere: map[how]float64{contactStuck: 0.4}, why: "a contact that does not open again, seldom a coil that lost some of its turns"},
	"hums":     {words: "hums and does not turn", base: 0.0002, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.4, circuit.KindCentrifugalSwitch: 0.4, circuit.KindCapacitor: 0.4}, why: "current and no start"},
	"pushed":   {words: "turns if pushed", base: 0.0001, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.3, circuit.KindCentrifugalSwitch: 0.4, circuit.KindCapacitor: 0.4}, why: "the run winding is good, the start is not"},

	"sensor":    {words: "a code that names the sensor", base: 0.001, senses: circuit.KindSensor, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.7, circuit.KindControl: 0.1}, why: "what the control sees is out of its limits"},
	"too_hot":   {words: "a code for too hot", base: 0.001, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.3}, anywhere: map[how]float64{contactStuck: 0.5}, why: "heat that was not asked for"},
	"latch":     {words: "a code that names the latch", base: 0.001, senses: circuit.KindLatch, kinds: map[circuit.Kind]float64{circuit.KindLatch: 0.6, circuit.KindDoorSwitch: 0.3, circuit.KindControl: 0.05}, why: "the latch was not found where it should be"},
	"key":       {words: "a code that names a key", base: 0.001, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.6}, why: "the key panel is the control's"},
	"some_code": {words: "a code that nobody read", base: 0.04, senses: circuit.KindSensor, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.4, circuit.KindLatch: 0.1, circuit.KindControl: 0.15}, why: "a control shows what it sees wrong: mostly its sensor"},
	"board":     {words: "a code that names the board", base: 0.002, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.5, circuit.KindRelay: 0.2}, why: "the control found itself at fault"},

	"runs_hot":  {words: "runs too hot", base: 0.0003, ways: []how{contactStuck, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.5, circuit.KindThermostat: 0.4, circuit.KindControl: 0.1, circuit.KindRelay: 0.05}, why: "what measures the heat is off"},
	"runs_cold": {words: "does not get as hot as set", base: 0.004, ways: []how{contactHigh, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.5, circuit.KindThermostat: 0.4, circuit.KindControl: 0.1}, anywhere: map[how]float64{partOpen: 0.05, jointHigh: 0.1, otherwise: 0.03}, why: "what measures the heat is off, or heat is missing: a part that is open, elements that are worn"},

	"runs_out":        {words: "runs out too soon", base: 0.003, ways: []how{partOpen, contactHigh, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindElement: 0.3, circuit.KindThermostat: 0.2, circuit.KindRelay: 0.1}, anywhere: map[how]float64{jointOpen: 0.2, jointHigh: 0.2}, why: "part of the heat is missing"},
	"plenty":          {words: "there is plenty of it, only not hot", base: 0.3, ways: []how{partOpen, partShort}, kinds: map[circuit.Kind]float64{circuit.KindElement: 0.04, circuit.KindThermostat: 0.04, circuit.KindNone: 0.1}, why: "what lacks half its heat runs out; a thermostat set low, or off, does not"},
	"flashing":        {words: "display flashing", base: 0.05, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.2, circuit.KindControl: 0.15, circuit.KindBreaker: 0.15}, anywhere: map[how]float64{jointHigh: 0.12}, why: "its supply was away for a moment"},
	"lights_dim":      {words: "house lights dim", base: 0.01, ways: []how{jointHigh, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.4}, why: "the house's own supply sags under what is drawn: what is open draws nothing"},
	"lights_bright":   {words: "some lights brighten", base: 0.001, neutral: true, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.4}, why: "the neutral of the house is lost"},
	"shock":           {words: "shock or tingle from the metal", base: 0.001, metal: true, first: "Shock or tingle from the metal: nobody touches it; breaker off and locked. No power again before its earth and insulation are proved, but for volts between probes that are clipped on before.", bonds: 0.7, anywhere: map[how]float64{partShort: 0.3}, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.05, circuit.KindTerminalBlock: 0.03}, why: "the metal stands above earth: a hot on it, or a neutral that is none; a leg that brings less, or another phase, bites nobody"},
	"no_click":        {words: "no click is heard", base: 0.1, undriven: 0.85, made: 0.05, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.6}, why: "a coil that is not driven does not click"},
	"click":           {words: "a click is heard", base: 0.5, undriven: 0.05, made: 0.9, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.15}, anywhere: map[how]float64{contactHigh: 0.8}, why: "the coil pulls; the contact may still not conduct"},
	"leg_dead":        {words: "one leg is dead where the supply comes in", base: 0.0005, legs: true, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.6, circuit.KindBreaker: 0.6, circuit.KindConnector: 0.4, circuit.KindTerminalBlock: 0.3, circuit.KindNone: 0.2}, why: "it was read, and nobody says which"},
	"leg_dead_outlet": {words: "one leg is dead at the outlet", base: 0.0005, legs: true, kinds: map[circuit.Kind]float64{circuit.KindSupply: 0.6, circuit.KindBreaker: 0.6, circuit.KindNone: 0.2}, why: "it was read, and nobody says which"},
	"coil_fed":        {words: "its coil gets its volts", base: 0.9, undriven: 0.3, made: 0.95, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.15}, why: "a driven coil that is open gets its volts too, one that is not driven none"},
	"coil_unfed":      {words: "no volts at its coil", base: 0.02, undriven: 0.85, made: 0.02, kinds: map[circuit.Kind]float64{circuit.KindControl: 0.6}, why: "it was measured: nothing drives it"},

	"bridged_works":   {words: "works with it bridged", first: bridgeOut, base: 0.003, undriven: 0.9, made: 0.95, here: map[how]float64{partOpen: 0.9, contactHigh: 0.9, jointOpen: 0.5, jointHigh: 0.5, otherwise: 0.7}, why: "what lies beyond is good; what was bridged, or what moves it, is not"},
	"bridged_no_help": {words: "dead with it bridged as well", first: bridgeOut, base: 0.3, undriven: 0.02, made: 0.02, spares: 0.05, why: "what was bridged is not what is open"},
	"wire_stops":      {words: "stops once its wire is pulled", base: 0.02, here: map[how]float64{contactStuck: 0.9}, anywhere: map[how]float64{contactStuck: 0.9}, why: "what stays on is fed by that wire: its contact is stuck"},
	"leaks":           {words: "a residual-current device tripped", base: 0.002, alone: true, metal: true, anywhere: map[how]float64{partShort: 0.5}, why: "current goes to metal or to water"},
	"trips_late":      {words: "the breaker trips after minutes", when: whenHot, pole: 0.001, base: 0.0002, alone: true, kinds: map[circuit.Kind]float64{circuit.KindBreaker: 0.5}, ways: []how{partOpen, contactHigh}, anywhere: map[how]float64{partShort: 0.5, jointHigh: 0.02}, why: "a worn breaker, or one with a bad joint, lets go as it warms; what touches metal with some of its winding left draws too much, but not all at once"},
	"trips_stalled":   {words: "the breaker trips as the motor hums", base: 0.0005, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.3, circuit.KindCentrifugalSwitch: 0.2, circuit.KindCapacitor: 0.2}, anywhere: map[how]float64{partShort: 0.1}, why: "a motor that stands still draws several times its current, until its protector or the breaker lets go"},
	"stiff":           {words: "turns hard or not at all by hand", base: 0.001, ways: []how{otherwise}, kinds: map[circuit.Kind]float64{circuit.KindMotor: 0.5, circuit.KindFan: 0.5}, here: map[how]float64{partOpen: 0.05, partShort: 0.05}, why: "bearings that bind stall a motor or a fan, and may burn its winding"},
	"lint":            {words: "the air way is clogged", base: 0.1, sound: 0.3, ways: []how{partOpen, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindThermalFuse: 0.5, circuit.KindLimit: 0.4, circuit.KindThermostat: 0.15}, why: "heat that cannot leave opens what guards against it"},
	"gas":             {words: "smell of gas", base: 0.1, until: "gas_cleared", first: "Smell of gas: switch nothing, light nothing. Shut its valve, everybody out, call for help from outside. No test before it is cleared.", why: "parts no electrical fault from another; what leaks comes first"},
	"gas_cleared":     {words: "the gas was cleared", base: 0.5, why: "who answers for gas found it tight, or made it so"},
	"belt":            {words: "the belt is off or broken: mechanical, no fault of the circuit", base: 0.001, sound: 0.5, ways: []how{partOpen}, kinds: map[circuit.Kind]float64{circuit.KindSwitch: 0.4}, why: "the motor runs; a belt that is gone may open its switch"},
	"air_clear":       {words: "the air way is clear", base: 0.5, kinds: map[circuit.Kind]float64{circuit.KindThermalFuse: 0.3, circuit.KindLimit: 0.4}, why: "what guards against heat seldom opens where the air moves"},
	"belt_on":         {words: "the belt is on and whole", base: 0.6, kinds: map[circuit.Kind]float64{circuit.KindSwitch: 0.2}, why: "a belt that is on holds its switch closed"},
	"door_locked":     {words: "the door stays locked", base: 0.002, moves: circuit.KindLatch, kinds: map[circuit.Kind]float64{circuit.KindLatch: 0.6, circuit.KindControl: 0.1, circuit.KindRelay: 0.1, circuit.KindConnector: 0.05}, why: "the latch is not driven, or not found"},
	"off_by":          {words: "off its temperature", senses: circuit.KindSensor, base: 0.004, ways: []how{contactStuck, otherwise}, kinds: map[circuit.Kind]float64{circuit.KindSensor: 0.5, circuit.KindThermostat: 0.4, circuit.KindControl: 0.1}, why: "what measures the heat is off"},
}

// toldTrips are the rows that tell of what trips, or once did.
var toldTrips = []string{"trips_late", "trips_stalled", "leaks", "once", "reset", "works_again"}

// most is the largest chance that a row holds where a place is told of, or where none
// is.
func (t tale) most(placed bool) float64 {
	most, chances := t.base, t.anywhere
	if placed {
		chances = t.here
	}
	for _, p := range chances {
		most = max(most, p)
	}
	for _, p := range t.kinds {
		most = max(most, p)
	}
	return most
}

// rowOf is the row of what is told, with the chances that a machine has otherwise.
func rowOf(c *circuit.Circuit, what string) tale {
	row := tales[what]
	given := c.Tales()[what]
	if len(given) == 0 {
		return row
	}
	row.kinds, row.here, row.anywhere = copied(row.kinds), copied(row.here), copied(row.anywhere)
	for _, k := range toldKinds() {
		if p, ok := given[kindName(k)]; ok {
			row.kinds[k] = p
		}
	}
	for name, way := range ways {
		for _, set := range []struct {
			key string
			of  []map[how]float64
		}{{name, []map[how]float64{row.here, row.anywhere}}, {hereOnly + name, []map[how]float64{row.here}}, {anywhereOnly + name, []map[how]float64{row.anywhere}}} {
			for _, chances := range set.of {
				if p, ok := given[set.key]; ok {
					chances[way] = p
				}
			}
		}
	}
	if p, ok := given["base"]; ok {
		row.base = p
	}
	return row
}

// toldKinds are those of which a netlist may give chances: that of a wire is none.
func toldKinds() []circuit.Kind { return append(circuit.Kinds(), circuit.KindSupply, circuit.KindNone) }

// kindName is what a netlist calls a kind.
func kindName(k circuit.Kind) string {
	if k == circuit.KindNone {
		return "wire"
	}
	return k.String()
}

// copied is a copy of a table, never nil.
func copied[K ~uint8](of map[K]float64) map[K]float64 {
	out := make(map[K]float64, len(of))
	maps.Copy(out, of)
	return out
}

// partsNothing reports whether it is told as often whatever is wrong.
func (t tale) partsNothing() bool {
	for _, p := range t.kinds {
		if p < t.base {
			return false // it clears some
		}
	}
	return t.most(true) == t.base && t.most(false) == t.base && t.spares == 0 && t.undriven == 0 && t.setting == 0 && t.sound == 0
}

// Tale is a row of the table of what can be told, for a list of it.
type Tale struct {
	What, Words, Why string
	// First is what comes before any test, where people are in danger.
	First string
	Base  float64 // the chance of it whatever is wrong
}

// Tales lists what can be told, by key.
func Tales() []Tale {
	out := make([]Tale, 0, len(tales))
	for k, t := range tales {
		out = append(out, Tale{k, t.words, t.why, t.first, t.base})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].What < out[j].What })
	return out
}

func knownTale(what string) error {
	if p := unknownTale(what); p.Message != "" {
		return errors.New(strings.TrimSuffix(p.Message+": "+p.Hint, ": "))
	}
	return nil
}

// unknownTale is the problem of a key that is no row of the table.
func unknownTale(what string) circuit.Problem {
	if _, ok := tales[what]; ok {
		return circuit.Problem{}
	}
	p := circuit.Problem{Path: "tales." + what, Message: fmt.Sprintf("%q is nothing that can be told", what)}
	var names []string
	for _, t := range Tales() {
		names = append(names, t.What)
	}
	p.Hint = circuit.NearestHint(what, names)
	return p
}

// CheckTales reports the chances that a netlist gives of what cannot be told, or where no
// fault is.
func CheckTales(given map[string]map[string]float64) (out []circuit.Problem) {
	keys := []string{"base"}
	for _, k := range toldKinds() {
		keys = append(keys, kindName(k))
	}
	for name := range ways {
		keys = append(keys, name, hereOnly+name, anywhereOnly+name)
	}
	slices.Sort(keys)
	for _, what := range slices.Sorted(maps.Keys(given)) {
		if p := unknownTale(what); p.Message != "" {
			out = append(out, p)
			continue
		}
		for _, key := range slices.Sorted(maps.Keys(given[what])) {
			if !slices.Contains(keys, key) {
				out = append(out, circuit.Problem{Path: "tales." + what + "." + key, Message: fmt.Sprintf("%q is neither base, a kind of part nor a way to fail", key), Hint: circuit.NearestHint(key, keys)})
			}
		}
	}
	return out
}
