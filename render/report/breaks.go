package report

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// BreaksOptions tunes [Reporter.Breaks] and [Reporter.KeepsOn].
type BreaksOptions struct {
	Order   int
	Share   float64
	MaxSets int
	// Works and Dead narrow the answer to the sets that leave these loads
	// working, or not working.
	Works, Dead []Symptom

	alone bool // other loads are not asked for
}

// Symptom is a load in a mode; Mode is circuit.None for every mode in which the
// load should work.
type Symptom struct {
	Load circuit.BranchID
	Mode circuit.ModeID
}

// in reports whether a symptom is of a mode.
func (s Symptom) in(mode circuit.ModeID) bool { return s.Mode == circuit.None || s.Mode == mode }

// Breaks tells what would starve a load.
type Breaks struct {
	Head
	Load  Load    `json:"load" help:"the load with nothing broken"`
	Order int     `json:"order" help:"the most opens taken together"`
	Limit float64 `json:"limit" help:"share of its sound power below which an open counts as taking power from it"`
	Works []Named `json:"works" help:"loads said to work: sets that stop them are left out"`
	Dead  []Named `json:"dead" help:"loads said not to work: sets that spare them are left out"`
	Sets  []Set   `json:"sets" help:"minimal sets of opens: by order, those that leave it dead first, along the feed"`
	More  bool    `json:"more" help:"the search stopped at its cap; there are more sets"`
	// Counts is empty unless asked for.
	Counts []SetCount `json:"counts" help:"with --count: how many minimal sets cut the feed, order by order, one open out of each chain; none is listed"`
	// Compared is set when every set was tried on the other loads.
	Compared bool `json:"compared" help:"stops and spares of every set were worked out"`
}

// SetCount is how many minimal sets there are of an order.
type SetCount struct {
	Order int    `json:"order" help:"number of opens in the set"`
	Sets  string `json:"sets" help:"how many there are, in decimal: it may pass any integer"`
}

// Set is a minimal set of opens.
type Set struct {
	Number    int      `json:"number" help:"counts the sets"`
	Order     int      `json:"order" help:"number of opens in the set"`
	Members   []Member `json:"members" help:"one open out of each"`
	Watts     float64  `json:"watts_left" help:"what the load still gets"`
	Share     float64  `json:"share_left" help:"that as a share of its sound power"`
	Dead      bool     `json:"dead" help:"that is next to nothing"`
	Chatters  bool     `json:"chatters" help:"the machine does not settle; watts_left is the least"`
	Confirmed bool     `json:"confirmed" help:"the solver agreed, also that no smaller set does it; of thousands of one order a sample is asked of it, and watts_left of the others is not known"`
	Stops     []Effect `json:"stops" help:"other loads it stops or weakens"`
	Spares    []Named  `json:"spares" help:"other loads that keep working wherever they should"`
	branches  [][]circuit.BranchID
}

// Member is a chain of parts and wires in series: any one of them, open, does
// the same.
type Member struct {
	Via   string `json:"via" help:"feed, beside (a way beside the feed), load, coil, drive, power, sense or other"`
	From  string `json:"from,omitempty" help:"the supply conductor, for feed and power"`
	Holds *Item  `json:"holds,omitempty" help:"the contact it keeps closed, for coil, drive, power and sense"`
	Sense string `json:"sense,omitempty" help:"what the control must see"`
	AnyOf []Item `json:"any_of" help:"the parts and wires, in order"`
}

// Effect is what a set does to another load.
type Effect struct {
	Named
	Modes []Mode `json:"modes" help:"modes in which the load should work and does not"`
	Of    int    `json:"of" help:"number of modes in which the load should work"`
	Every bool   `json:"every" help:"it stops in all of them"`
}

var viaNames = map[trace.ViaKind]string{
	trace.ViaOther: "other", trace.ViaLoad: "load", trace.ViaFeed: "feed", trace.ViaBeside: "beside", trace.ViaCoil: "coil",
	trace.ViaDrive: "drive", trace.ViaPower: "power", trace.ViaSense: "sense",
}

// CountBreaks counts all minimal sets, of whatever order, and lists none. It stands by
// itself: numbers of any size are a large part of a program that never counts.
func (r *Reporter) CountBreaks(ctx context.Context, q Question) (*Breaks, error) {
	d, _, err := r.noBreaks(q, BreaksOptions{})
	if err != nil {
		return nil, err
	}
	counts, err := r.tracer.Count(ctx, q.Mode, q.Load)
	for order, n := range counts {
		if n.Sign() > 0 {
			d.Counts = append(d.Counts, SetCount{order, n.String()})
		}
	}
	return d, err
}

// noBreaks begins the document of them.
func (r *Reporter) noBreaks(q Question, opt BreaksOptions) (*Breaks, *settle.Outcome, error) {
	sound, err := r.sound(q.Mode)
	if err != nil {
		return nil, nil, err
	}
	d := &Breaks{Head: r.head("breaks", q), Load: r.load(q.Load, sound, sound), Order: cmp.Or(opt.Order, trace.DefaultOrder), Limit: cmp.Or(opt.Share, trace.DefaultShare),
		Works: []Named{}, Dead: []Named{}, Sets: []Set{}, Counts: []SetCount{}}
	r.settled(&d.Head, sound)
	return d, sound, nil
}

// Breaks finds what would starve the load.
func (r *Reporter) Breaks(ctx context.Context, q Question, opt BreaksOptions) (*Breaks, error) {
	d, sound, err := r.noBreaks(q, opt)
	if err != nil {
		return nil, err
	}
	found, err := r.tracer.Starve(ctx, q.Mode, q.Load, trace.Options{Order: opt.Order, Share: opt.Share, MaxSets: opt.MaxSets})
	if errors.Is(err, trace.ErrTooMany) {
		d.More, err = true, nil
	}
	if err != nil {
		return nil, err
	}
	order := r.newChainOrder(r.tracer.Feed(sound, q.Load))
	for i := range found {
		d.Sets = append(d.Sets, r.set(&found[i], order))
	}
	if !opt.alone {
		if err := r.compare(ctx, q, opt, d); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(d.Sets, func(a, b Set) int {
		return cmp.Or(cmp.Compare(a.Order, b.Order), firstTrue(a.Dead, b.Dead))
	})
	for i := range d.Sets {
		d.Sets[i].Number = i + 1
	}
	return d, nil
}

func (r namer) set(s *trace.CutSet, order *chainOrder) Set {
	d := Set{Order: s.Order(), Watts: round(s.Watts), Share: round(s.Share), Dead: s.Dead, Chatters: s.Chatters,
		Confirmed: s.Confirmed, Stops: []Effect{}, Spares: []Named{}}
	for _, m := range s.Members {
		branches := order.sorted(m)
		d.branches = append(d.branches, branches)
		member := Member{Via: viaNames[m.Via.Kind], Sense: m.Via.Sense, AnyOf: r.items(branches)}
		if m.Via.Kind == trace.ViaFeed || m.Via.Kind == trace.ViaBeside || m.Via.Kind == trace.ViaPower {
			member.From = r.conductor(m.Via.Source)
		}
		if held := m.Via.Held; held != circuit.None && m.Via.Kind != trace.ViaFeed && m.Via.Kind != trace.ViaLoad && m.Via.Kind != trace.ViaOther {
			member.Holds = new(r.item(held))
		}
		d.Members = append(d.Members, member)
	}
	return d
}

// chainOrder puts the branches of a chain into the order in which a person
// meets them along the feed.
type chainOrder struct {
	r     namer
	feed  *trace.Feed
	along map[circuit.BranchID]int // from the first conductor, through the load, to the second
	holds map[circuit.BranchID]map[circuit.BranchID]int
	sense map[circuit.BranchID]map[string]map[circuit.BranchID]int
	first map[circuit.BranchID]circuit.BranchID // the conductor that holds starts at
}

func (r *Reporter) newChainOrder(f *trace.Feed) *chainOrder {
	o := &chainOrder{r: r.namer, feed: f, along: ranks(through(f)), holds: map[circuit.BranchID]map[circuit.BranchID]int{},
		sense: map[circuit.BranchID]map[string]map[circuit.BranchID]int{}, first: map[circuit.BranchID]circuit.BranchID{}}
	for _, h := range f.Holds {
		o.holds[h.Contact], o.first[h.Contact] = ranks(through(h.Feed)), h.Feed.Ends[0].Source
		o.sense[h.Contact] = map[string]map[circuit.BranchID]int{}
		for _, s := range h.Senses {
			o.sense[h.Contact][s.Sense.Name] = ranks(r.senseOrder(s))
		}
	}
	return o
}

// through lists what current meets on its way through a load.
func through(f *trace.Feed) []circuit.BranchID {
	var out []circuit.BranchID
	for _, h := range f.Ends[0].Hops {
		out = append(out, h.Branch)
	}
	out = append(out, f.Load)
	for _, h := range slices.Backward(f.Ends[1].Hops) {
		out = append(out, h.Branch)
	}
	return out
}

func ranks(ids []circuit.BranchID) map[circuit.BranchID]int {
	m := map[circuit.BranchID]int{}
	for i, id := range ids {
		if _, seen := m[id]; !seen {
			m[id] = i
		}
	}
	return m
}

func (o *chainOrder) sorted(m trace.Member) []circuit.BranchID {
	rank, sign := o.along, 1
	switch m.Via.Kind {
	case trace.ViaFeed:
		if m.Via.Source != o.feed.Ends[0].Source {
			sign = -1
		}
	case trace.ViaCoil, trace.ViaPower:
		rank = o.holds[m.Via.Held]
		if m.Via.Source != circuit.None && m.Via.Source != o.first[m.Via.Held] {
			sign = -1
		}
	case trace.ViaSense:
		rank = o.sense[m.Via.Held][m.Via.Sense]
	}
	out := slices.Clone(m.Branches)
	at := func(id circuit.BranchID) int {
		if i, ok := rank[id]; ok {
			return sign * i
		}
		return len(o.r.c.Branches())
	}
	slices.SortStableFunc(out, func(a, b circuit.BranchID) int { return at(a) - at(b) })
	return out
}
