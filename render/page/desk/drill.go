package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/url"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/drill"
)

// drillID is which drill runs. In an address it is LEVEL.FAULTS.NUMBER.BUDGET,
// with .KIND.FORETELL.LOAD after it where one of them is set, or sealed.CODE for
// one that a teacher sealed.
type drillID struct {
	Level, Faults int
	Number        uint64
	Budget        int    // minutes; 0 for as long as it takes
	Kind          string // of fault; empty for any
	Foretell      bool
	Load          string // that the customer complains of; empty for any
	Sealed        string // its code
}

const maxBudget = 9999

func (id drillID) String() string {
	if id.Sealed != "" {
		return sealedWord + id.Sealed
	}
	s := fmt.Sprintf("%d.%d.%d.%d", id.Level, id.Faults, id.Number, id.Budget)
	if id.Kind != "" || id.Foretell || id.Load != "" {
		s += fmt.Sprintf(".%s.%s.%s", id.Kind, map[bool]string{true: "1"}[id.Foretell], id.Load)
	}
	return s
}

const sealedWord = "sealed."

// Next is the drill after it, for another one of the same kind.
func (id drillID) Next() string { id.Number++; return id.String() }

func readDrillID(s string) (drillID, error) {
	var id drillID
	if code, ok := strings.CutPrefix(s, sealedWord); ok {
		id.Sealed = code
		return id, nil
	}
	f := strings.SplitN(s, ".", 7)
	if len(f) != 4 && len(f) != 7 {
		return id, fmt.Errorf("the drill %q is not written as LEVEL.FAULTS.NUMBER.BUDGET", s)
	}
	if len(f) == 7 {
		id.Kind, id.Foretell, id.Load = f[4], f[5] != "", f[6]
	}
	var err error
	if id.Number, err = strconv.ParseUint(f[2], 10, 64); err != nil {
		return id, fmt.Errorf("the drill's number %q: it is a whole number", f[2])
	}
	for _, n := range []struct {
		what, text  string
		into        *int
		least, most int
	}{
		{"level", f[0], &id.Level, int(drill.Apprentice), int(drill.Master)}, {"number of faults", f[1], &id.Faults, 1, drill.MaxFaults},
		{"minutes", f[3], &id.Budget, 0, maxBudget},
	} {
		if *n.into, err = strconv.Atoi(n.text); err != nil || *n.into < n.least || *n.into > n.most {
			return id, fmt.Errorf("the drill's %s %q: from %d to %d", n.what, n.text, n.least, n.most)
		}
	}
	return id, nil
}

// beginning reads a form that begins a drill. The page's script gives a number
// where the learner gives none; without a script it is 1.
func beginning(q url.Values) string {
	field := func(key, none string) string {
		if v := strings.TrimSpace(q.Get(key)); v != "" {
			return strings.ReplaceAll(v, ".", ",")
		}
		return none
	}
	if whole := q.Get("begin"); strings.Contains(whole, ".") {
		return whole
	}
	if code := strings.Join(strings.Fields(q.Get("code")), ""); code != "" {
		return sealedWord + code
	}
	whole := []string{field("level", "1"), field("faults", "1"), field("number", "1"), field("budget", "0")}
	if kind, foretell, load := field("kind", ""), field("foretell", ""), q.Get("of-load"); kind != "" || foretell != "" || load != "" {
		whole = append(whole, kind, foretell, load)
	}
	return strings.Join(whole, ".")
}

// giveUp is the move that is taken even where no further one is.
const giveUp = "give-up"

// exercise is a drill as far as its moves have led.
type exercise struct {
	ID      drillID
	Said    []string // the customer's words
	Steps   []exerciseStep
	Minutes float64
	Left    int // faults still to be named
	On      bool
	Proved  bool
	Lifted  []lead
	End     drill.End
	Figures drill.Figures
	// Expected reports that what a good machine reads has been said for the next
	// reading.
	Expected bool
	// Full is set where no further move fits an address.
	Full bool

	mode     circuit.ModeID
	selected bool // a mode has been turned on
	mainMode string
	mainLoad string
	hidden   []circuit.Fault // once it is over
}

// exerciseStep is a move and what came of it.
type exerciseStep struct {
	*drill.Step
	Number int
	// Text is what was done in words, or what was typed where it is no move.
	Text string
	// Error says why the move could not be made; it cost nothing.
	Error string
}

// lead is a wire that is off.
type lead struct{ Wire, Label string }

// Over reports whether the drill has ended.
func (x *exercise) Over() bool { return x != nil && x.End != drill.Open }

// Runs reports whether a drill is under way.
func (x *exercise) Runs() bool { return x != nil && x.End == drill.Open }

// MinutesLeft is how many are left of a budget.
func (x *exercise) MinutesLeft() float64 { return math.Max(0, float64(x.ID.Budget)-x.Minutes) }

// Last is the newest step, or nil.
func (x *exercise) Last() *exerciseStep {
	if len(x.Steps) == 0 {
		return nil
	}
	return &x.Steps[len(x.Steps)-1]
}

// drills keeps what drills were asked for lately: a class makes the same one at
// the same time. A drill serves one request at a time.
type drills struct {
	mu    sync.Mutex
	kept  map[drillID]*keptDrill
	order []drillID
	sums  map[string]int // points, by how a drill was played
}

// keptDrill holds copies of one drill: some to make moves, one to sum up, which
// takes hundreds of times as long.
type keptDrill struct{ moves, sums chan *drill.Drill }

const maxDrills = 8

func newDrills() *drills { return &drills{kept: map[drillID]*keptDrill{}, sums: map[string]int{}} }

func (d *drills) of(id drillID) *keptDrill {
	d.mu.Lock()
	defer d.mu.Unlock()
	if k := d.kept[id]; k != nil {
		return k
	}
	k := &keptDrill{moves: make(chan *drill.Drill, runtime.GOMAXPROCS(0)), sums: make(chan *drill.Drill, 1)}
	for range cap(k.moves) {
		k.moves <- nil
	}
	k.sums <- nil
	d.kept[id] = k
	d.order = append(d.order, id)
	if len(d.order) > maxDrills {
		delete(d.kept, d.order[0])
		d.order = d.order[1:]
	}
	return k
}

// lend gives out a drill, made where there is none.
func (d *Desk) lend(ctx context.Context, from chan *drill.Drill, id drillID, do func(*drill.Drill) error) error {
	select {
	case it := <-from:
		defer func() { from <- it }()
		if it == nil {
			made, err := d.hide(ctx, id)
			if err != nil {
				return err
			}
			it = made
		}
		return do(it)
	case <-ctx.Done():
		return ctx.Err()
	}
}

// hide makes a drill.
func (d *Desk) hide(ctx context.Context, id drillID) (*drill.Drill, error) {
	c := d.machine.c
	switch {
	case id.Sealed == "":
		return drill.New(ctx, c, drill.Options{Level: drill.Level(id.Level), Faults: id.Faults, Number: id.Number, Budget: float64(id.Budget),
			Kind: id.Kind, Foretell: id.Foretell, Load: id.Load})
	case d.lib.Seal == nil:
		return nil, errors.New("a sealed drill opens on the teacher's own page alone, served with the word")
	}
	return d.lib.Seal.Open(c, id.Sealed)
}

// exercise plays a state's drill. It is nil where the state has none.
func (d *Desk) exercise(ctx context.Context, s State) (*exercise, error) {
	if s.Drill == "" {
		return nil, nil
	}
	id, err := readDrillID(s.Drill)
	if err != nil {
		return nil, err
	}
	var x *exercise
	err = d.lend(ctx, d.drills.of(id).moves, id, func(dr *drill.Drill) error {
		x, _ = play(dr, id, s.Moves)
		return ctx.Err()
	})
	return x, err
}

// play makes a list of moves. What cannot be made is kept among the steps, so
// that the address is as the learner wrote it.
func play(d *drill.Drill, id drillID, moves []string) (*exercise, *drill.Session) {
	c, session := d.Circuit(), d.Start()
	if opt := d.Options(); id.Sealed != "" {
		id.Level, id.Faults, id.Budget, id.Foretell = int(opt.Level), opt.Faults, int(opt.Budget), opt.Foretell
	}
	x := &exercise{ID: id, Said: d.Complaint().Said, Full: len(moves) >= maxMoves}
	for i, line := range moves {
		if session.End() != drill.Open {
			break
		}
		step := exerciseStep{Number: i + 1, Text: line}
		m, err := drill.Parse(c, line)
		if err == nil {
			step.Text = m.Words(c)
			step.Step, err = session.Play(m)
		}
		if err != nil {
			step.Error = err.Error()
		} else {
			x.selected = x.selected || m.Mode != circuit.None
		}
		x.Steps = append(x.Steps, step)
	}
	x.Figures, x.Expected = session.Figures(), session.Expects()
	x.Minutes, x.Left, x.On, x.Proved, x.End, x.mode = session.Minutes(), session.Left(), session.On(), session.Proved(), session.End(), session.Mode()
	for _, w := range session.Lifted() {
		x.Lifted = append(x.Lifted, lead{c.Wire(w).Name, c.DescribeWire(w)})
	}
	for _, e := range d.Complaint().Evidence {
		if e.Symptom != nil && x.mainMode == "" {
			x.mainMode = c.Mode(e.Symptom.Mode).Name
			if e.Symptom.Load != circuit.None {
				x.mainLoad = c.Branch(e.Symptom.Load).Ref
			}
		}
	}
	if x.Over() {
		for _, h := range d.Hidden() {
			x.hidden = append(x.hidden, h.Cause.Faults...)
		}
	}
	return x, session
}

// enter makes a state that of the drill: what is broken, set by hand or switched
// off belongs to the page's own machine. The drill starts where the customer's
// complaint does.
func (x *exercise) enter(s State) State {
	s.Faults, s.Set, s.Off = nil, nil, false
	if s.Mode == "" {
		s.Mode = x.mainMode
	}
	if s.Load == "" {
		s.Load = x.mainLoad
	}
	return s
}

// readingMove is the move that takes the reading which the meter is set up for; it
// is empty where something is missing.
func (b *bench) readingMove(x *situation) string {
	var move string
	switch {
	case x.function.String() == "amps" && x.clamp != circuit.None:
		move = "amps " + x.Clamp
	case x.function.String() == "amps" || x.red == circuit.None || x.black == circuit.None || x.red == x.black:
		return ""
	default:
		move = strings.Join([]string{x.function.String(), b.c.PlaceName(x.red), b.c.PlaceName(x.black)}, " ")
	}
	if mode := x.question.Mode; mode != x.drill.mode && x.function.String() != "amps" {
		move += " in " + b.c.Mode(mode).Name
	}
	return move
}

// Off reports whether a wire's lead is off.
func (x *exercise) Off(wire string) bool {
	return slices.ContainsFunc(x.Lifted, func(l lead) bool { return l.Wire == wire })
}

// Stand is how a learner's drill stands, for who keeps a table of them.
type Stand struct {
	// Machine and Drill say which, Title and Name are what to call them.
	Machine, Drill, Title, Name string
	Moves                       int
	drill.Figures
	End  string
	Over bool
	// Points are known once the drill was summed up; "" until then.
	Points string
}

// words say which drill it is, for a table.
func (id drillID) words() string {
	s := fmt.Sprintf("%d, level %d", id.Number, id.Level)
	if id.Faults > 1 {
		s += fmt.Sprintf(", %d faults", id.Faults)
	}
	if id.Kind != "" {
		s += ", " + id.Kind
	}
	return s
}

// stand tells how the drill of a state stands; nil for none.
func (d *Desk) stand(x *exercise, s State) *Stand {
	if x == nil {
		return nil
	}
	out := &Stand{Machine: d.machine.c.Name(), Drill: s.Drill, Title: d.machine.c.Title(), Name: x.ID.words(), Moves: len(s.Moves), Figures: x.Figures, End: string(x.End), Over: x.Over()}
	if x.ID.Sealed != "" {
		out.Name = "sealed"
	}
	if p, ok := d.drills.points(sumKey(s)); ok {
		out.Points = strconv.Itoa(p)
	}
	return out
}

func sumKey(s State) string { return State{Drill: s.Drill, Moves: s.Moves}.Query() }

// scored keeps the points of a drill as it was played.
func (d *drills) scored(key string, points int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.sums) >= maxSums {
		clear(d.sums)
	}
	d.sums[key] = points
}

func (d *drills) points(key string) (int, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	p, ok := d.sums[key]
	return p, ok
}

// maxSums bounds the points that are kept.
const maxSums = 2000
