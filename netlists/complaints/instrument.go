package complaints

import "legtrace/circuit"

// instrument is how a language tells of what a meter shows.
type instrument struct {
	// Words may stand beside a reading; Measuring say that it is one.
	Words, Measuring []string
	// Open is shown where nothing conducts, Zero where nothing is live, Missing said
	// of a pole that is not.
	Open, Zero, Missing []string
	// Nought is a figure, said in a word.
	Nought []string
	// Through stands between two ends. At stands before where volts are read, Volts are words for them without a figure.
	Through, At, Volts []string
	Ground             []string
	// Good is said of volts as they should be, Closed of a contact, Clear of what does
	// not touch metal.
	Good, Closed, Clear []string
	// Legs are those of the supply, Each says that it is read of every one, One and
	// Other of which of two.
	Legs, Each, One, Other []string
	// Apart is said of a part that was read by itself, of Leads; In stands between a
	// part and where it is; Start is the winding that starts a motor. Opened is Open, said
	// of what was read by itself.
	Apart, Leads, In, Start, Cold, Opened []string
	// Prepared are whole clauses that tell how the machine was made safe to be read.
	Prepared []string
	// Jumps tell of a reading that does not stand still.
	Jumps []string
	// Enters and Leaves tell on which side of a part volts were read, Live that they were
	// there; Primary and Secondary are a transformer's windings.
	Enters, Leaves, Live, Primary, Secondary []string
	// Loaded, Unloaded and AsFound tell how the
	// machine was as it was read, AsOff that it was off. Beside are words that are short for others beside a figure.
	Loaded, Unloaded []string
	AsOff            []string `toml:"as_off"`
	AsFound          []string `toml:"as_found"`
	Beside           map[string]string
	// Behind are such right behind a figure or its unit.
	Behind map[string]string
	Coil   []string // that a contactor is pulled in by
	// Low is what a meter shows where current has a way; Lacking begin what is not there.
	Low, Lacking []string
	// Thermal tell that figures are no volts but a thermometer's.
	Thermal []string
	Gets    []string // volts
	Calling []string // how it is called that a machine heats
	// Unsure are said of a reading that is not sure, Repeated of a second one; Ranges begin
	// those between which it lies.
	Unsure, Repeated, Ranges []string
}

// readout is what a clause tells of a meter.
type readout struct {
	clamped
	hedge
	unit         string // "ohms", "volts", or "" where it was not said
	shown        bool   // there is a figure, or what stands for one
	measuring    bool
	it           bool // it stands for what was spoken of
	zero, lost   bool // nothing is live; a pole is missing
	nought       bool // a figure, said in a word
	denies       bool // a word that denies stands right before
	lacks        bool // or one that tells that something is not there
	denied, not  bool // the figure is denied: "no 240"; by a verb: "not getting 240"
	at, volts    bool
	good, closed bool // without a figure
	reads        bool // the clause itself says that it was read
	figureFirst  bool
	ground, each bool
	clear        bool // of metal
	low          bool // there is a way for current
	megohms      bool
	to           bool // it was read to something
	apart        bool // its wires were off
	live         bool
	calling      bool      // it was read while the machine called for heat
	more         []float64 // figures beside the first, each of another of several parts
	side         string    // of a part, "in" or "out"
	legs         bool
	one, other   bool // of two legs
	poles        []string
	paired       bool // the poles are two terminals of one part: "com to no"
	rest         []raw
	spoken       *phrase   // of what was spoken of before
	in           bool      // the last preposition tells where what stands before it is
	inside       []*phrase // the place that it tells, bay a word of where parts are
	bay          []string
}

// lastRead is of what a clause told last, and in which unit.
type lastRead struct {
	of   *phrase
	unit string
	mode circuit.ModeID
	next bool           // what was read there follows
	legs bool           // it was of what brings the supply
	fed  circuit.PartID // which part that is, and one
	side string         // of what brings it, where one pole was read behind it
	dead bool           // there was nothing, and a word of a list follows
	// poles are those it was read at; megohms says that it was insulation.
	poles   []string
	megohms bool
	// against is where volts at one end were read to.
	against []circuit.TerminalID
}
