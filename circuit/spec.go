package circuit

import "slices"

// Spec is a machine as a technician writes it down: plain data, nothing
// resolved. [Build] turns it into a [Circuit]. The toml tags are the key names
// of the netlist format; package netlists reads and writes them.
type Spec struct {
	// Name identifies the machine in output; letters, digits, '_' and '-'.
	Name string `toml:"name"`
	// Title is what a person calls the machine.
	Title string `toml:"title"`
	// Notes is free text shown by the catalog.
	Notes  string      `toml:"notes"`
	Supply SupplySpec  `toml:"supply"`
	Parts  []PartSpec  `toml:"parts"`
	Wires  []WireSpec  `toml:"wires"`
	Modes  []ModeSpec  `toml:"modes"`
	Points []PointSpec `toml:"points"`
	// Panels and Places say where things are and what stands in front of them.
	Panels []PanelSpec `toml:"panels"`
	Places []PlaceSpec `toml:"places"`
	// Bodies is what gets warm.
	Bodies []BodySpec `toml:"bodies"`
	// Priors gives, per part kind, the relative chance that a part of the kind
	// is the one that failed. Kinds not named keep their own.
	Priors map[string]float64 `toml:"priors"`
	// Words are what people call parts and modes of this machine, by their names.
	Words map[string][]string `toml:"words"`
	// Phrases are what people say besides the tables of a language: by the code of the
	// language, "en" or "es", and the row, as "dead" or "burnt".
	Phrases map[string]map[string][]string `toml:"phrases"`
	// Tales change chances of what people tell: by what is told, the chance of
	// it whatever is wrong ("base"), or with a part of a kind at fault, 0 to 1.
	Tales map[string]map[string]float64 `toml:"tales"`
	// Sizes change how large kinds of faults are taken to be: by the name of a
	// [Range], stretches of from, to and share.
	Sizes map[string][][]float64 `toml:"sizes"`
	// Mistakes change how often somebody errs, by the name of a [Mistake].
	Mistakes map[string]float64 `toml:"mistakes"`
}

// SupplySpec describes what feeds the machine.
type SupplySpec struct {
	// System is "split-phase" (two legs 180 degrees apart), "wye" (two legs of
	// a three-phase service, 120 degrees apart), "single-phase" (one leg and
	// neutral), "star" (three legs, neutral at the star point) or "delta"
	// (three legs, neutral in the middle between L1 and L3, L2 the high leg).
	System string `toml:"system"`
	// Volts is the nominal voltage between the legs, or leg to neutral for
	// single-phase. 0 means the system's usual: 240, 208, 120, 208 or 240.
	Volts float64 `toml:"volts"`
	// Wires counts the conductors to the machine: for three legs 5 (with
	// protective earth) or 4 (neutral bonded to the chassis in the machine);
	// for two legs 4 or 3; for single-phase 3 or 2. 0 means the larger.
	Wires int `toml:"wires"`
	// Hertz is the line frequency; 0 means 60.
	Hertz float64 `toml:"hertz"`
	// SourceOhms is the resistance of the service up to the panel and
	// FeederOhms that of the branch circuit, each per conductor; nil means
	// [DefaultSourceOhms] and [DefaultFeederOhms].
	SourceOhms *float64 `toml:"source_ohms"`
	FeederOhms *float64 `toml:"feeder_ohms"`
	// ResidualAmps is the current that goes out by legs and neutral and does not
	// come back by them at which the house's own device opens them all; 0 where it
	// has none.
	ResidualAmps float64 `toml:"residual_amps"`
}

// PartSpec describes one part. Which fields a kind takes and which it needs is
// told by [Kinds].
type PartSpec struct {
	Name  string `toml:"name"`
	Kind  string `toml:"kind"`
	Label string `toml:"label"`
	// Place says where on the machine the part is reached.
	Place string `toml:"place"`
	// Note is what saves a part or a finger where it is tested or replaced.
	Note string `toml:"note"`

	Volts       float64 `toml:"volts"`        // rated volts
	Watts       float64 `toml:"watts"`        // rated watts
	PowerFactor float64 `toml:"power_factor"` // 0 < pf <= 1, lagging
	Ohms        float64 `toml:"ohms"`
	Microfarads float64 `toml:"microfarads"`
	Amps        float64 `toml:"amps"` // rating of a breaker, fuse or contact
	// ResidualAmps is the current that goes out and does not come back at
	// which a residual-current device opens.
	ResidualAmps float64 `toml:"residual_amps"`
	// StartOhms gives a motor a start winding between terminals 3 and 2.
	StartOhms float64 `toml:"start_ohms"`
	// ColdOhms is what a good one reads by itself with the supply off, where its
	// sheet or another one tells: of a motor the main winding, of a transformer
	// the primary, of a relay the coil. Without it the rating has to do.
	ColdOhms float64 `toml:"cold_ohms"`

	// Poles names the poles of a breaker, terminal block, connector or
	// multi-pole switch.
	Poles []string `toml:"poles"`
	// Positions lists a selector's positions, the rest position first unless
	// Rest names another.
	Positions []string `toml:"positions"`
	Rest      string   `toml:"rest"`
	// Chart is a contact chart: for each position the groups of terminals it
	// joins.
	Chart map[string][][]string `toml:"chart"`

	// Contact is the form of a single contact: "no", "nc" or "changeover".
	Contact string `toml:"contact"`
	// Contacts names the contacts of a relay that has several.
	Contacts map[string]string `toml:"contacts"`
	// DrivenBy names the control whose board carries this relay, or the motor
	// that works this centrifugal switch.
	DrivenBy string `toml:"driven_by"`
	// PickupShare and DropoutShare are the shares of rated volts at which a
	// coil pulls in and lets go; 0 means [DefaultPickup] and [DefaultDropout].
	PickupShare  float64 `toml:"pickup"`
	DropoutShare float64 `toml:"dropout"`
	// Timed marks a relay whose contacts act only after its coil has stayed
	// energised for the delay.
	Timed bool `toml:"timed"`

	// Curve is a sensor's law: "pt3850", "pt3750" (OhmsAt is ohms at 0 C) or
	// "ntc" (OhmsAt is ohms at 25 C, Beta in kelvin).
	Curve  string  `toml:"curve"`
	OhmsAt float64 `toml:"ohms_at"`
	Beta   float64 `toml:"beta"`

	// MinVolts is the lowest supply a control runs on.
	MinVolts float64 `toml:"min_volts"`
	// Senses lists what a control must see between pins of its own.
	Senses []SenseSpec `toml:"senses"`
	// Codes lists what a control shows when it does not see that.
	Codes []CodeSpec `toml:"codes"`

	// Body names the body whose temperature a sensor, thermostat, limit or
	// thermal fuse has.
	Body string `toml:"body"`
	// ActsCelsius is the temperature above which a thermostat, limit or fuse
	// leaves its rest, ResetsCelsius that below which it returns; 0 means it
	// does not return by itself.
	ActsCelsius   float64 `toml:"acts_celsius"`
	ResetsCelsius float64 `toml:"resets_celsius"`
	// DifferentialKelvin is how far apart a control lets off and calls for heat
	// again, about the temperature of the mode.
	DifferentialKelvin float64 `toml:"differential_kelvin"`

	// SecondaryVolts is a transformer's rated output.
	SecondaryVolts float64 `toml:"secondary_volts"`
}

// SenseSpec is one thing a control must see before it drives its relays: a
// resistance between two of its pins within limits.
type SenseSpec struct {
	Name string   `toml:"name"`
	Pins []string `toml:"pins"`
	// MinOhms and MaxOhms bound what is accepted, both inclusive.
	MinOhms float64 `toml:"min_ohms"`
	MaxOhms float64 `toml:"max_ohms"`
	// Modes limits the demand to these modes; empty means every mode in which
	// the control drives something.
	Modes []string `toml:"modes"`
}

// CodeSpec is a code that a control shows, and what makes it do so.
type CodeSpec struct {
	Code string `toml:"code"`
	// Means is what the code stands for, in words.
	Means string `toml:"means"`
	// Sense names what the control looks at; empty where the code tells of
	// nothing that it senses.
	Sense string `toml:"sense"`
	// Above and Below bound the ohms that bring the code: more than Above,
	// less than Below, or between the two where both are given. Open is above
	// anything. 0 means no bound.
	Above float64 `toml:"above"`
	Below float64 `toml:"below"`
	// Modes limits the code to these modes; empty means any.
	Modes []string `toml:"modes"`
}

// WireSpec describes one wire. From and To are terminals, "part.terminal".
type WireSpec struct {
	Name string `toml:"name"`
	From string `toml:"from"`
	To   string `toml:"to"`
	// Colour is an IEC 60757 code, or two joined for a stripe ("BKWH").
	Colour string `toml:"colour"`
	// AWG or SquareMM is the size; at most one is given.
	AWG      int     `toml:"awg"`
	SquareMM float64 `toml:"mm2"`
	// Metres is the length; with a size it gives the wire's resistance. 0
	// means not known: the wire is then an ideal join.
	Metres float64 `toml:"metres"`
}

// ModeSpec describes what the person selected.
type ModeSpec struct {
	Name  string `toml:"name"`
	Label string `toml:"label"`
	// Set puts parts with positions into one other than their rest.
	Set map[string]string `toml:"set"`
	// Drives names the board relays that the control calls for.
	Drives []string `toml:"drives"`
	// After names a mode that comes before this one and whose coils and
	// motors are as they were left when this one begins.
	After string `toml:"after"`
	// Brief marks a passing mode, such as a button held for a moment: too
	// short for timed relays to act.
	Brief bool `toml:"brief"`
	// Reached says how the mode comes about: "hand", "wait", "heat", "cool" or
	// "chance"; see [Reach]. Left out it is told from what the mode sets.
	Reached string `toml:"reached"`
	// Minutes is how long that takes, 0 where not known.
	Minutes float64 `toml:"minutes"`
	// How says what to do for it, in words.
	How string `toml:"how"`
	// Cycles names the mode that this one alternates with: heat called for in
	// this one, satisfied in that.
	Cycles string `toml:"cycles"`
	// Duty gives the share of its time that a cycling switch is on.
	Duty map[string]float64 `toml:"duty"`
	// Celsius gives sensors a temperature other than [RoomCelsius]. It is what
	// a control holds them at where it drives relays.
	Celsius map[string]float64 `toml:"celsius"`
	// On, Off and Share say what a sound machine does in this mode: loads at
	// full power, loads without, loads at a share of rated power.
	On    []string           `toml:"on"`
	Off   []string           `toml:"off"`
	Share map[string]float64 `toml:"share"`
}

// WithMode adds a mode that is much as another is: what a control must see there,
// and the codes it shows there, go for it too.
func (s Spec) WithMode(m ModeSpec, like string) Spec {
	also := func(modes []string) []string {
		if slices.Contains(modes, like) {
			return append(slices.Clone(modes), m.Name)
		}
		return modes
	}
	s.Modes, s.Parts = append(slices.Clone(s.Modes), m), slices.Clone(s.Parts)
	for i := range s.Parts {
		p := &s.Parts[i]
		p.Senses, p.Codes = slices.Clone(p.Senses), slices.Clone(p.Codes)
		for k := range p.Senses {
			p.Senses[k].Modes = also(p.Senses[k].Modes)
		}
		for k := range p.Codes {
			p.Codes[k].Modes = also(p.Codes[k].Modes)
		}
	}
	return s
}

// PointSpec names a place a probe can reach.
type PointSpec struct {
	Name  string `toml:"name"`
	Label string `toml:"label"`
	At    string `toml:"at"`
	Place string `toml:"place"`
	// Minutes is the effort to get a probe there.
	Minutes float64 `toml:"minutes"`
	// Power says when it may be probed: "off", "live" or "either" (default).
	Power string `toml:"power"`
}

// PanelSpec describes what has to be opened, taken off or pulled out before
// something can be reached.
type PanelSpec struct {
	Name  string `toml:"name"`
	Label string `toml:"label"`
	// Minutes is the effort to open it, Close that to shut it again; 0 means
	// as long as opening.
	Minutes float64 `toml:"minutes"`
	Close   float64 `toml:"close"`
	// Behind names the panel that has to be open before this one.
	Behind string `toml:"behind"`
}

// PlaceSpec describes a place in the machine. Its name is what the place of a
// part or test point says.
type PlaceSpec struct {
	Name string `toml:"name"`
	// Panel names what stands in front of it; empty where it lies open.
	Panel string `toml:"panel"`
	// View names the side of the machine that shows it. X, Y, W and H are a
	// box in that view, in hundredths of its width and height from its upper
	// left corner.
	View string  `toml:"view"`
	X    float64 `toml:"x"`
	Y    float64 `toml:"y"`
	W    float64 `toml:"w"`
	H    float64 `toml:"h"`
}

// BodySpec describes something that gets warm: an oven's air and walls, a
// tank's water, a drum, a room. It is of one temperature throughout.
type BodySpec struct {
	Name  string `toml:"name"`
	Label string `toml:"label"`
	// Capacity is in joules per kelvin.
	Capacity float64 `toml:"capacity"`
	// Loss is in watts per kelvin, to the body named by Around, or to the room.
	Loss   float64 `toml:"loss"`
	Around string  `toml:"around"`
	// Heats gives the share of each load's watts that goes into the body.
	Heats map[string]float64 `toml:"heats"`
	// Fan names the fan or motor whose air carries FanLoss watts per kelvin
	// more away, to the body named by BlowsInto, or out.
	Fan       string  `toml:"fan"`
	FanLoss   float64 `toml:"fan_loss"`
	BlowsInto string  `toml:"blows_into"`
	// RisesInto names the body above: once warmer than that, the two mix, as
	// water in a tank does.
	RisesInto string `toml:"rises_into"`
}
