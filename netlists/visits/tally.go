package visits

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/netlists/wholefile"
)

// Counter counts visits, each read once, and keeps what it has worked out of the
// machines they were to.
type Counter struct {
	*visit.Tally
	// Unread are the files that could not be read, with why.
	Unread   []error
	mu       sync.Mutex // of machines
	machines map[string]*counted
	named    map[string]bool // the files so far, wherever a link to them lies
}

// counted is a machine with what was asked of it before.
type counted struct {
	load   sync.Once
	c      *circuit.Circuit
	print  string
	hears  complaints.Listeners
	mu     sync.Mutex // of the prover
	prover *visit.Prover
	err    error
}

// NewCounter begins with nothing counted.
func NewCounter() *Counter {
	return &Counter{Tally: visit.NewTally(), machines: map[string]*counted{}, named: map[string]bool{}}
}

// tallyMark begins a file of counts, tallyLine is the whole of its first line.
const (
	tallyMark = "# Counts of visits, by legtrace tally."
	tallyLine = tallyMark + " Name the file beside others to add them up.\n"
)

// atOnce is how many files are read before they are counted in their order: the sums
// are the same whatever was read first.
const atOnce = 256

// Count counts visits, files of counts made before, or all such files in folders, each
// once however often it is named. A file that is neither is kept in Unread.
func (k *Counter) Count(ctx context.Context, paths ...string) error {
	var files []string
	for _, path := range paths {
		more, err := k.files(path)
		if err != nil {
			return err
		}
		files = append(files, more...)
	}
	for some := range slices.Chunk(files, atOnce) {
		read := make([]outcome, len(some))
		var wait sync.WaitGroup
		var next atomic.Int64
		for range runtime.GOMAXPROCS(0) {
			wait.Go(func() {
				for i := int(next.Add(1)) - 1; i < len(some) && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
					read[i] = k.read(ctx, some[i])
				}
			})
		}
		wait.Wait()
		if err := ctx.Err(); err != nil {
			return err
		}
		for _, o := range read {
			if err := k.add(o); err != nil {
				k.Unread = append(k.Unread, err)
			}
		}
	}
	return nil
}

// files lists the files of a path that were not named before, whatever link leads there.
func (k *Counter) files(path string) (out []string, err error) {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return nil, err
	}
	return out, filepath.WalkDir(real, func(at string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || at != real && !strings.EqualFold(filepath.Ext(at), ".toml") {
			return err
		}
		file := path + strings.TrimPrefix(at, real)
		if d.Type()&fs.ModeSymlink != 0 {
			if leads, err := filepath.EvalSymlinks(at); err == nil {
				at = leads
			}
		}
		if at, err = filepath.Abs(at); err != nil {
			return err
		}
		if k.named[at] {
			k.Left[visit.NamedTwice]++
			return nil
		}
		k.named[at] = true
		out = append(out, file)
		return nil
	})
}

// outcome is what a file came to: counts, a visit that held, or why not.
type outcome struct {
	counts *visit.Tally
	left   string
	c      *circuit.Circuit
	rec    visit.Record
	said   [2][]string
	err    error
}

func (k *Counter) add(o outcome) error {
	switch {
	case o.err != nil:
		return o.err
	case o.counts != nil:
		k.Merge(o.counts)
		return nil
	case o.left != "":
		k.Left[o.left]++
		return nil
	}
	return k.Add(o.c, &o.rec, o.said[0], o.said[1])
}

func (k *Counter) read(ctx context.Context, path string) outcome {
	src, err := netlists.Text(path)
	if err != nil {
		return outcome{err: err}
	}
	if bytes.HasPrefix(src, []byte(tallyMark)) {
		t := visit.NewTally()
		if _, err := toml.Decode(string(src), t); err != nil {
			return outcome{err: fmt.Errorf("%s: %w", path, err)}
		}
		if err := sane(t); err != nil {
			return outcome{err: fmt.Errorf("%s: %w", path, err)}
		}
		return outcome{counts: t}
	}
	v, at, err := Decode(path, src)
	if err != nil {
		return outcome{err: err}
	}
	if v.Verdict == nil || v.Repair == nil {
		return outcome{left: visit.NotFinished}
	}
	f := File{Visit: *v, path: path}
	m := k.machine(f.Netlist())
	if m.err != nil {
		return outcome{err: m.err}
	}
	if e := f.otherMachine(Machine{Name: m.c.Name(), Fingerprint: m.print}, at); e != nil {
		return outcome{err: e}
	}
	if errs := v.checkOn(m.c, at); len(errs) > 0 {
		return outcome{err: errs}
	}
	o := outcome{c: m.c, rec: v.Record()}
	held, err := m.held(ctx, o.rec)
	switch {
	case err != nil:
		o.err = fmt.Errorf("%s: %w", path, err)
	case !held:
		o.left = visit.NotProved
	default:
		o.said = m.meant(&o.rec)
	}
	return o
}

// sane refuses counts that no counting gives.
func sane(t *visit.Tally) error {
	numbers := []float64{float64(t.Visits)}
	for _, n := range t.Left {
		numbers = append(numbers, float64(n))
	}
	for _, m := range []map[string]visit.Count{t.Kinds, t.Ways} {
		for _, c := range m {
			numbers = append(numbers, c.Failed, c.Expected)
		}
	}
	for _, m := range []map[string]map[string]float64{t.Said, t.Words} {
		for _, counts := range m {
			numbers = slices.AppendSeq(numbers, maps.Values(counts))
		}
	}
	for _, m := range t.Moves {
		numbers = append(numbers, float64(m.N), m.Sum, m.Squares)
	}
	if slices.ContainsFunc(numbers, func(v float64) bool { return !(v >= 0 && v < 1e12) }) {
		return errors.New("counts below nothing, or beyond counting")
	}
	return nil
}

func (k *Counter) machine(netlist string) *counted {
	k.mu.Lock()
	m := k.machines[netlist]
	if m == nil {
		m = &counted{}
		k.machines[netlist] = m
	}
	k.mu.Unlock()
	m.load.Do(func() {
		r, err := netlists.ReadFileFull(netlist)
		if err != nil {
			m.err = err
			return
		}
		m.c, m.hears = r.Circuit, complaints.ListenTo(r.Circuit)
		m.print, m.err = Fingerprint(r.Spec)
	})
	return m
}

// held reports whether a visit's repair is proved, see [visit.Prover.Held].
func (m *counted) held(ctx context.Context, rec visit.Record) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.prover == nil {
		var err error
		if m.prover, err = visit.NewProver(m.c); err != nil {
			return false, err
		}
	}
	return m.prover.Held(ctx, rec)
}

// Worked is how many engines were started, and proofs worked out with them.
func (k *Counter) Worked() (engines, proofs int) {
	for _, m := range k.machines {
		if m.prover != nil {
			engines, proofs = engines+1, proofs+m.prover.Worked()
		}
	}
	return engines, proofs
}

// meant tells what a complaint was taken for, by the kind of load it is of: what was
// noted of it first, or where nothing was, what it is heard as. Then the words of our
// tables in it: no other word of it goes on from here.
func (m *counted) meant(rec *visit.Record) (out [2][]string) {
	add := func(to *[]string, s string) {
		if s != "" && !slices.Contains(*to, s) {
			*to = append(*to, s)
		}
	}
	notes := rec.Notes
	for i, n := range notes {
		if n.Step != notes[0].Step || n.P != "" || n.Q != "" || n.Ask != "" || !n.Made() {
			notes = notes[:i]
			break
		}
	}
	if len(notes) == 0 {
		notes, _, _, _ = m.hears.Complaint(rec.Complaint)
	}
	for _, n := range notes {
		add(&out[0], meaning(m.c, n))
	}
	out[1] = m.hears.Known(rec.Complaint)
	return out
}

// meaning tells what a note of a complaint says, names left out.
func meaning(c *circuit.Circuit, n visit.Note) string {
	switch {
	case n.Told != "":
		return n.Told
	case n.AllDead:
		return "nothing comes on"
	case n.Trips:
		return "trips"
	case n.Chatters:
		return "chatters"
	case n.Slow:
		return "slow"
	case n.SomeOn:
		return "heats unasked"
	case n.Load != "":
		if id, err := c.FindLoad(n.Load); err == nil {
			return c.Part(c.Branch(id).Part).Kind.String() + " " + n.State
		}
	}
	return ""
}

// Keep writes the counts to a file, to be added to others.
func (k *Counter) Keep(path string) error {
	var b bytes.Buffer
	b.WriteString(tallyLine)
	enc := toml.NewEncoder(&b)
	enc.Indent = ""
	if err := enc.Encode(k.Tally); err != nil {
		return err
	}
	return wholefile.Write(path, b.Bytes(), 0o666)
}
