package desk

import (
	"context"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// machine is one reading of the file, with what was made of it by hand.
type machine struct {
	*stand
	// mainMode is the mode that is shown where none is asked for.
	mainMode func() string

	mu  sync.Mutex
	set map[string]*stand // by positions set by hand
}

// stand is a circuit with the benches that work on it.
type stand struct {
	c     *circuit.Circuit
	base  *circuit.Circuit // what it is a variant of, nil for none
	turns chan struct{}    // one for each that may have a bench

	mu   sync.Mutex
	free []*bench        // the last to be used is the next: it has what was asked for last
	plan *schematic.Plan // once the machine was drawn
	// menus are what is chosen from, once they were shown.
	menus *menus
}

// maxStands is how many circuits with positions set by hand are kept.
const maxStands = 16

func newMachine(c, base *circuit.Circuit) *machine {
	return &machine{stand: newStand(c, base), set: map[string]*stand{},
		mainMode: sync.OnceValue(func() string { return c.Mode(newBench(c).resolve(State{}, "").question.Mode).Name })}
}

func newStand(c, base *circuit.Circuit) *stand {
	return &stand{c: c, base: base, turns: make(chan struct{}, runtime.GOMAXPROCS(0)+1)}
}

// use lends a bench: what it is made of must not be used by two at once.
func (s *stand) use(ctx context.Context, do func(*bench) error) error {
	select {
	case s.turns <- struct{}{}:
		b := s.bench()
		defer func() {
			s.mu.Lock()
			s.free = append(s.free, b)
			s.mu.Unlock()
			<-s.turns
		}()
		return do(b)
	case <-ctx.Done():
		return ctx.Err()
	}
}

// bench is one that nobody has.
func (s *stand) bench() *bench {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := len(s.free)
	if n == 0 {
		b := newBench(s.c)
		b.stand = s
		return b
	}
	b := s.free[n-1]
	s.free = s.free[:n-1]
	return b
}

// laidOut lays the machine out, once: every drawing of it has the parts in the
// same places.
func (s *stand) laidOut(ctx context.Context) (*schematic.Plan, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.plan != nil {
		return s.plan, nil
	}
	plan, err := schematic.Arrange(ctx, s.c, s.base)
	if err == nil {
		s.plan = plan
	}
	return plan, err
}

// byHand names the mode with positions set by hand.
const byHand = "set_by_hand"

// standing returns the circuit for a mode with positions set by hand: the
// machine with one mode more. What was set and is none of the machine's is
// returned as well.
func (m *machine) standing(mode string, set []string) (*stand, string, []error) {
	if len(set) == 0 {
		return m.stand, mode, nil
	}
	key := mode + "?" + strings.Join(set, "&")
	m.mu.Lock()
	defer m.mu.Unlock()
	spec, problems := m.c.Spec(), []error(nil)
	set = slices.DeleteFunc(slices.Clone(set), func(s string) bool {
		err := m.checkPosition(s)
		if err != nil {
			problems = append(problems, err)
		}
		return err != nil
	})
	if len(set) == 0 {
		return m.stand, mode, problems
	}
	if s := m.set[key]; s != nil {
		return s, byHand, problems
	}
	c, err := withMode(spec, mode, set)
	if err != nil {
		return m.stand, mode, append(problems, err)
	}
	if len(m.set) >= maxStands {
		clear(m.set)
	}
	m.set[key] = newStand(c, m.base)
	return m.set[key], byHand, problems
}

func (m *machine) checkPosition(set string) error {
	name, position, _ := strings.Cut(set, ":")
	id, err := m.c.FindPart(name)
	if err != nil {
		return err
	}
	p := m.c.Part(id)
	if !slices.Contains(p.Positions, position) {
		return fmt.Errorf("%s has no position %q (it has %s)", p.Label, position, strings.Join(p.Positions, ", "))
	}
	return nil
}

// withMode adds a mode to a machine: one of its own with positions changed.
func withMode(spec circuit.Spec, mode string, set []string) (*circuit.Circuit, error) {
	at := slices.IndexFunc(spec.Modes, func(m circuit.ModeSpec) bool { return m.Name == mode })
	if at < 0 || slices.ContainsFunc(spec.Modes, func(m circuit.ModeSpec) bool { return m.Name == byHand }) {
		return nil, fmt.Errorf("positions cannot be set by hand in mode %q", mode)
	}
	m := spec.Modes[at]
	m.Name, m.Label = byHand, m.Label+", positions set by hand"
	m.On, m.Off, m.Share = nil, nil, nil
	m.Set = maps.Clone(m.Set)
	if m.Set == nil {
		m.Set = map[string]string{}
	}
	for _, s := range set {
		part, position, _ := strings.Cut(s, ":")
		m.Set[part] = position
	}
	c, problems := circuit.Build(spec.WithMode(m, mode))
	if c == nil {
		return nil, fmt.Errorf("positions cannot be set by hand: %s", problems[0])
	}
	return c, nil
}

// bench is the engine for one circuit, for one request at a time.
type bench struct {
	c     *circuit.Circuit
	stand *stand // whose bench it is
	meter *meter.Bench
	*report.Reporter
}

func newBench(c *circuit.Circuit) *bench {
	return &bench{c: c, meter: meter.New(c, meter.DefaultInstrument()), Reporter: report.New(c)}
}
