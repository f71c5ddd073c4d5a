package visits

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/netlists/wholefile"
)

// File is a visit on disk.
type File struct {
	Visit
	path string
	// onDisk is the file as last read or written; nil before the first write.
	onDisk []byte
	// insist writes a file that is marked as not to be written.
	insist bool
}

// ErrChanged is returned by [File.Save] when someone else has written the file
// since it was read.
var ErrChanged = errors.New("someone else has written the visit since it was read")

// ErrNotToBeWritten is returned by [File.Save] when nobody may write the file by
// its permissions; after [File.Insist] it is written.
var ErrNotToBeWritten = errors.New("by its permissions nobody is to write it")

// ErrOtherMachine is in the error of [Open] when the netlist is not the one
// that the visit was made with.
var ErrOtherMachine = errors.New("the visit is to another machine")

// Fingerprint sums up the contents of a netlist: what it says, not how it is
// laid out.
func Fingerprint(spec circuit.Spec) (string, error) {
	var b bytes.Buffer
	if err := netlists.Write(&b, spec); err != nil {
		return "", err
	}
	sum := sha256.Sum256(b.Bytes())
	return "sha256:" + hex.EncodeToString(sum[:]), nil
}

// New starts a visit to a machine, with nothing on disk yet. The netlist is
// named as [netlists.ReadFile] takes it.
func New(path, netlist string, m *netlists.Result) (*File, error) {
	f := &File{path: path, Visit: Visit{Format: Format}}
	var err error
	if f.Machine, err = f.identify(netlist, m); err != nil {
		return nil, err
	}
	return f, nil
}

// Open reads the visit at a path and its machine. Any error in either is of
// type [netlists.Errors].
func Open(path string) (*File, *netlists.Result, error) {
	return open(path, true)
}

// Rebase reads a visit whose netlist was mended since, and takes the netlist
// as it is now.
func Rebase(path string) (*File, *netlists.Result, error) {
	return open(path, false)
}

func open(path string, strict bool) (*File, *netlists.Result, error) {
	src, err := netlists.Text(path)
	if err != nil {
		return nil, nil, err
	}
	v, at, err := Decode(path, src)
	if err != nil {
		return nil, nil, err
	}
	f := &File{Visit: *v, path: path, onDisk: src}
	m, err := netlists.ReadFileFull(f.Netlist())
	if err != nil {
		return nil, nil, err
	}
	now, err := f.identify(f.Netlist(), m)
	if err != nil {
		return nil, nil, err
	}
	if strict {
		if e := f.otherMachine(now, at); e != nil {
			return nil, nil, e
		}
	}
	if errs := v.checkOn(m.Circuit, at); len(errs) > 0 {
		return nil, nil, errs
	}
	now.Netlist, now.Family = f.Machine.Netlist, f.Machine.Family
	f.Machine = now
	return f, m, nil
}

// otherMachineError is [netlists.Errors] that is also [ErrOtherMachine].
type otherMachineError struct{ netlists.Errors }

func (e otherMachineError) Unwrap() []error { return []error{e.Errors, ErrOtherMachine} }

func (f *File) otherMachine(now Machine, at *netlists.Positions) error {
	was := f.Machine
	switch {
	case was.Name != "" && was.Name != now.Name:
		return otherMachineError{netlists.Errors{at.Problem("machine.name", "", fmt.Sprintf("the visit is to %q, and %s is %q", was.Name, was.Netlist, now.Name))}}
	case was.Fingerprint != "" && was.Fingerprint != now.Fingerprint:
		return otherMachineError{netlists.Errors{at.Problem("machine.fingerprint", "if it was mended on purpose, say so with --netlist-mended",
			fmt.Sprintf("%s has changed since the visit was written, or is another machine", was.Netlist))}}
	}
	return nil
}

// Path returns where the visit is kept.
func (f *File) Path() string { return f.path }

// Netlist names the machine's netlist as [netlists.ReadFile] takes it.
func (f *File) Netlist() string {
	return netlists.Beside(f.path, f.Machine.Netlist)
}

// Family names the family of a machine of unknown wiring, as [netlists.FindFamily]
// takes it; it is empty where the machine is known.
func (f *File) Family() string {
	name := strings.TrimPrefix(f.Machine.Family, netlists.FamilyPrefix)
	if filepath.Ext(name) != ".toml" {
		return name
	}
	return netlists.Beside(f.path, name)
}

// OfFamily says that the machine is one of a family.
func (f *File) OfFamily(name string) {
	if filepath.Ext(name) == ".toml" {
		name = f.named(name)
	}
	f.Machine.Family = netlists.FamilyPrefix + name
}

// identify makes out a machine as the file keeps it.
func (f *File) identify(netlist string, m *netlists.Result) (Machine, error) {
	print, err := Fingerprint(m.Spec)
	if err != nil {
		return Machine{}, err
	}
	return Machine{Netlist: f.named(netlist), Name: m.Circuit.Name(), Fingerprint: print}, nil
}

// named is how the file names a netlist: from its own folder.
func (f *File) named(netlist string) string {
	if !strings.HasPrefix(netlist, netlists.CatalogPrefix) {
		if rel, err := relative(filepath.Dir(f.path), netlist); err == nil {
			return filepath.ToSlash(rel)
		}
	}
	return netlist
}

func relative(dir, path string) (string, error) {
	from, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	return filepath.Rel(from, to)
}

// Save replaces the file as a whole. If someone else has written it since, or
// made it, nothing of theirs is touched: ours goes to a file beside it, and
// the error, [ErrChanged], names that.
func (f *File) Save() error {
	data, err := Encode(f.Visit)
	if err != nil {
		return err
	}
	target, err := wholefile.Target(f.path) // one lock, whatever link leads to it
	if err != nil {
		return err
	}
	unlock, err := lock(target + ".lock")
	if err != nil {
		return err
	}
	defer unlock()
	changed, mode, err := f.changed(target)
	switch {
	case err != nil:
		return fmt.Errorf("cannot write %s: %w", f.path, err)
	case changed:
		return f.aside(data)
	case mode&0o222 == 0 && !f.insist:
		return fmt.Errorf("%s: %w", f.path, ErrNotToBeWritten)
	}
	if f.onDisk != nil {
		data = carry(f.onDisk, data)
	}
	if err := wholefile.Write(target, data, 0o666); err != nil {
		return fmt.Errorf("cannot write %s: %w", f.path, err)
	}
	f.onDisk = data
	return nil
}

// changed tells whether someone else has written the file since, and what its
// permissions are.
func (f *File) changed(target string) (bool, fs.FileMode, error) {
	info, err := os.Stat(target)
	if errors.Is(err, fs.ErrNotExist) {
		return false, 0o666, nil // never written, or taken away: ours is all there is
	}
	if err != nil {
		return false, 0, err
	}
	src, err := netlists.Text(target)
	return !bytes.Equal(src, f.onDisk), info.Mode(), err
}

// Insist has the file written whatever its permissions.
func (f *File) Insist() { f.insist = true }

// Move keeps the visit in another file from now on, one that is not there yet.
func (f *File) Move(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s is there already", path)
	}
	netlist := f.Netlist()
	f.path, f.insist = path, false
	f.Machine.Netlist = f.named(netlist)
	return nil
}

// aside keeps our version beside the one that someone else wrote.
func (f *File) aside(data []byte) error {
	ext := filepath.Ext(f.path)
	for n := 1; n < 100; n++ {
		name := fmt.Sprintf("%s.mine-%d%s", strings.TrimSuffix(f.path, ext), n, ext)
		out, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("%s: %w; and yours could not be kept: %w", f.path, ErrChanged, err)
		}
		_, err = out.Write(data)
		if err = errors.Join(err, out.Close()); err != nil {
			return fmt.Errorf("%s: %w; and yours could not be kept: %w", f.path, ErrChanged, err)
		}
		return fmt.Errorf("%s: %w; theirs is left as it is and yours is kept in %s", f.path, ErrChanged, name)
	}
	return fmt.Errorf("%s: %w; and there are too many kept versions beside it", f.path, ErrChanged)
}
