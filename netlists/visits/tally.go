package visits

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/netlists/wholefile"
)

// Counter counts visits, each in one pass, and keeps what it has worked out of
// the machines they were to.
type Counter struct {
	*visit.Tally
	// Unread are the files that could not be read, with why.
	Unread   []error
	machines map[string]*counted
}

// counted is a machine with what was asked of it before.
type counted struct {
	c     *circuit.Circuit
	print string
	said  map[string][2][]string // by complaint: what it means, and its words
	hears complaints.Listeners
	err   error
}

// NewCounter begins with nothing counted.
func NewCounter() *Counter { return &Counter{Tally: visit.NewTally(), machines: map[string]*counted{}} }

// tallyLine begins a file of counts.
const tallyLine = "# Counts of visits, by legtrace tally. Add them up by naming the file again.\n"

// Count counts a visit, a file of counts made before, or all such files in a
// folder. A file that is neither is kept in Unread.
func (k *Counter) Count(ctx context.Context, path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		k.file(ctx, path)
		return nil
	}
	return filepath.WalkDir(path, func(at string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.EqualFold(filepath.Ext(at), ".toml") {
			k.file(ctx, at)
		}
		return err
	})
}

func (k *Counter) file(ctx context.Context, path string) {
	if err := k.read(ctx, path); err != nil {
		k.Unread = append(k.Unread, err)
	}
}

func (k *Counter) read(ctx context.Context, path string) error {
	src, err := netlists.Text(path)
	if err != nil {
		return err
	}
	if bytes.HasPrefix(src, []byte(tallyLine)) {
		t := visit.NewTally()
		if _, err := toml.Decode(string(src), t); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		if err := sane(t); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		k.Merge(t)
		return nil
	}
	v, at, err := Decode(path, src)
	if err != nil {
		return err
	}
	if v.Verdict == nil || v.Repair == nil {
		k.Left[visit.NotFinished]++
		return nil
	}
	f := File{Visit: *v, path: path}
	m := k.machine(f.Netlist())
	if m.err != nil {
		return m.err
	}
	if v.Machine.Fingerprint != "" && v.Machine.Fingerprint != m.print {
		return netlists.Errors{at.Problem("machine.fingerprint", "", fmt.Sprintf("%s has changed since the visit was written, or is another machine", v.Machine.Netlist))}
	}
	if errs := v.checkOn(m.c, at); len(errs) > 0 {
		return errs
	}
	held, err := m.held(ctx, v.Record())
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if !held {
		k.Left[visit.NotProved]++
		return nil
	}
	rec := v.Record()
	said := m.meant(v.Complaint)
	return k.Add(m.c, &rec, said[0], said[1])
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
	if m := k.machines[netlist]; m != nil {
		return m
	}
	m := &counted{said: map[string][2][]string{}}
	k.machines[netlist] = m
	r, err := netlists.ReadFileFull(netlist)
	if err != nil {
		m.err = err
		return m
	}
	m.c, m.hears = r.Circuit, complaints.ListenTo(r.Circuit)
	m.print, m.err = Fingerprint(r.Spec)
	return m
}

// held reports whether every check of a repair's proof was made, and came out as on a
// sound machine.
func (m *counted) held(ctx context.Context, rec visit.Record) (bool, error) {
	if len(rec.After) == 0 || slices.ContainsFunc(rec.After, func(n visit.Note) bool { return !n.Made() }) {
		return false, nil // without working the checks out
	}
	j, err := visit.Start(ctx, m.c, rec)
	if err != nil {
		return false, err
	}
	p, err := j.Proof(ctx)
	return err == nil && p.Proved(), ctx.Err()
}

// meant tells what a complaint was taken for, by the kind of load it is of, and
// the words of our tables in it: no other word of it goes on from here.
func (m *counted) meant(complaint string) [2][]string {
	if s, ok := m.said[complaint]; ok {
		return s
	}
	var out [2][]string
	add := func(to *[]string, s string) {
		if s != "" && !slices.Contains(*to, s) {
			*to = append(*to, s)
		}
	}
	notes, _, in, _ := m.hears.Complaint(complaint)
	for _, n := range notes {
		add(&out[0], meaning(m.c, n))
	}
	if in != nil {
		for _, w := range in.Known(complaint) {
			add(&out[1], w)
		}
	}
	m.said[complaint] = out
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
