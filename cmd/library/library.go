// Package library is what stands between the page, which knows no file formats, and
// the packages that read and write them: the machines of the catalog and of a
// folder, netlists and visits that a person brings along, and a customer's words.
//
// [New] has all of it. Both the command and the engine of the saved page hand
// it to the page.
package library

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/netlists/visits"
	"legtrace/render/page/desk"
)

// New reads and writes for a page that has the catalog's machines and those
// of a folder, if one is given.
func New(folder string) desk.Library {
	return desk.Library{
		List:   func() []desk.Entry { return append(folderEntries(folder), catalogEntries()...) },
		Open:   func(name string) (*circuit.Circuit, []desk.Problem) { return open(folder, name) },
		Base:   func(name, text string) *circuit.Circuit { return base(folder, name, text) },
		Unsure: unsure, Family: family,
		Stamp: func(name string) string { return Stamp(path(folder, name)) },
		Read:  read,
		Hear:  hear,
		Repaired: func(c *circuit.Circuit, words string) []circuit.PartID {
			return complaints.ListenTo(c).Repaired(words)
		},
		Enter: enter, Begin: begin, DescribeHelp: describeHelp(),
		VisitFile: new(visitFiles).file,
		ReadVisit: readVisit,
	}
}

// families are kinds of machine by how their names in the catalog begin.
var families = []struct{ begins, words string }{
	{"range", "Ranges"}, {"oven", "Ovens"}, {"cooktop", "Cooktops"}, {"dryer", "Dryers"}, {"washer", "Washers"},
	{"water-heater", "Water heaters"}, {"dishwasher", "Dishwashers"}, {"", "Other heating machines"},
}

func catalogEntries() []desk.Entry {
	of := make([][]desk.Entry, len(families))
	for _, e := range netlists.Catalog() {
		i := slices.IndexFunc(families, func(f struct{ begins, words string }) bool { return strings.HasPrefix(e.Name, f.begins) })
		of[i] = append(of[i], desk.Entry{Name: netlists.CatalogPrefix + e.Name, Title: e.Title, Summary: e.Summary, Family: families[i].words, Variant: e.Of != ""})
	}
	return slices.Concat(of...)
}

// unsure lists the families of the catalog.
func unsure() []desk.Entry {
	all, err := netlists.Families()
	if err != nil {
		return nil
	}
	var out []desk.Entry
	for _, f := range all {
		out = append(out, desk.Entry{Name: netlists.FamilyPrefix + f.Name, Title: f.Title})
	}
	return out
}

// family reads the machines of a family of the catalog, and of no file: an address
// is anyone's.
func family(name string) ([]visit.Candidate, error) {
	if !slices.ContainsFunc(unsure(), func(e desk.Entry) bool { return e.Name == name }) {
		return nil, fmt.Errorf("%q is no family of this page", name)
	}
	return Members(name)
}

// Members reads the machines of a family, of the catalog or a file.
func Members(name string) ([]visit.Candidate, error) {
	f, err := netlists.FindFamily(strings.TrimPrefix(name, netlists.FamilyPrefix))
	if err != nil {
		return nil, err
	}
	members, err := f.Read()
	var out []visit.Candidate
	for _, m := range members {
		out = append(out, visit.Candidate{Netlist: m.Netlist, Circuit: m.Circuit, Share: m.Share})
	}
	return out, err
}

// mostFiles is how many netlists of a folder are listed.
const mostFiles = 200

// folderEntries lists the netlists of a folder; what is none is passed over.
func folderEntries(folder string) []desk.Entry {
	if folder == "" {
		return nil
	}
	files, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	var out []desk.Entry
	for _, f := range files {
		if len(out) == mostFiles || filepath.Ext(f.Name()) != ".toml" || f.IsDir() {
			continue
		}
		src, err := netlists.Text(filepath.Join(folder, f.Name()))
		if err != nil {
			continue
		}
		spec, _, err := netlists.Parse(filepath.Join(folder, f.Name()), src)
		if err != nil {
			continue
		}
		title := spec.Title
		if title == "" {
			title = f.Name()
		}
		out = append(out, desk.Entry{Name: f.Name(), Title: title, Summary: f.Name(), Family: "In this folder"})
	}
	return out
}

// path is where a machine of the list is: of the catalog, or of the folder and
// nowhere else. It is empty where it is neither.
func path(folder, name string) string {
	switch {
	case strings.HasPrefix(name, netlists.CatalogPrefix):
		return name
	case folder == "" || name != filepath.Base(name) || filepath.Ext(name) != ".toml":
		return ""
	}
	return filepath.Join(folder, name)
}

func open(folder, name string) (*circuit.Circuit, []desk.Problem) {
	at := path(folder, name)
	if at == "" {
		return nil, []desk.Problem{{Text: fmt.Sprintf("%q is no machine of this page", name)}}
	}
	c, err := netlists.ReadFile(at)
	if err != nil {
		return nil, Problems(err)
	}
	return c, nil
}

// base reads what a machine of the list, or a netlist that was brought along, is a
// variant of; nil for none.
func base(folder, name, text string) *circuit.Circuit {
	of := ""
	if text == "" {
		if name = path(folder, name); name != "" {
			of = netlists.Base(name)
		}
	} else if from := netlists.StartsFrom(name, []byte(text)); strings.HasPrefix(from, netlists.CatalogPrefix) {
		of = cmp.Or(netlists.Base(from), from)
	}
	return Base(of)
}

// Base reads what a machine is a variant of, by the name that [netlists.Base] gives;
// nil where there is none to read: the drawing then only stands in another order.
func Base(name string) *circuit.Circuit {
	if name == "" {
		return nil
	}
	c, err := netlists.ReadFile(name)
	if err != nil {
		return nil
	}
	return c
}

// read reads a netlist that was brought along. It may start from the catalog's,
// and from no file: there is no folder that it lies in.
func read(file, text string) (*circuit.Circuit, string, []desk.Problem) {
	if file == "" {
		file = "netlist.toml"
	}
	spec, err := alone(filepath.Base(file), text)
	if err != nil {
		return nil, "", Problems(err)
	}
	print, err := visits.Fingerprint(spec.Spec)
	if err != nil {
		return nil, "", Problems(err)
	}
	return spec.Circuit, print, Problems(warnings(spec.Warnings))
}

// warnings are an error, or none.
func warnings(w netlists.Errors) error {
	if len(w) == 0 {
		return nil
	}
	return w
}

// alone reads a netlist by itself.
func alone(file, text string) (*netlists.Result, error) {
	if from := netlists.StartsFrom(file, []byte(text)); from != "" && !strings.HasPrefix(from, netlists.CatalogPrefix) {
		return nil, netlists.Errors{{Position: netlists.Position{File: file}, Message: fmt.Sprintf("it starts from %q, which is not at hand here", from), Hint: "bring one that stands by itself"}}
	}
	return netlists.ReadFull(file, []byte(text))
}

// Problems tells what is wrong with a file, place by place; warnings are left out
// where there are errors.
func Problems(err error) []desk.Problem {
	var list netlists.Errors
	if !errors.As(err, &list) {
		if err == nil {
			return nil
		}
		return []desk.Problem{{Text: err.Error()}}
	}
	failed := slices.ContainsFunc(list, func(e netlists.Error) bool { return !e.Warning })
	var out []desk.Problem
	for _, e := range list {
		if e.Warning && failed {
			continue
		}
		text := e.Message
		if e.Hint != "" {
			text += " (" + e.Hint + ")"
		}
		out = append(out, desk.Problem{Where: e.Position.String(), Text: text})
	}
	return out
}

// Stamp differs whenever one of the files that a netlist is made of has changed.
func Stamp(netlist string) string {
	if strings.HasPrefix(netlist, netlists.CatalogPrefix) {
		return "" // it starts from none but the catalog's, which do not change
	}
	var b strings.Builder
	for _, file := range netlists.Chain(netlist) {
		if strings.HasPrefix(file, netlists.CatalogPrefix) {
			continue
		}
		info, err := os.Stat(file)
		if err != nil {
			fmt.Fprintf(&b, "%s is not there\n", file)
			continue
		}
		fmt.Fprintf(&b, "%s %d %d\n", file, info.Size(), info.ModTime().UnixNano())
	}
	return b.String()
}

// visitFiles writes visits as files. What a machine's netlist sums up to takes longer than
// the rest, and one answer after the other is of one machine.
type visitFiles struct {
	mu    sync.Mutex
	of    *circuit.Circuit // the last
	print string
}

// file writes a visit as a file for a place beside the netlist.
func (v *visitFiles) file(netlist string, c *circuit.Circuit, r visit.Record) ([]byte, error) {
	if !strings.HasPrefix(netlist, netlists.CatalogPrefix) {
		netlist = filepath.Base(netlist)
	}
	print, err := v.fingerprint(c)
	if err != nil {
		return nil, err
	}
	return visits.Written(netlist, print, c, r)
}

func (v *visitFiles) fingerprint(c *circuit.Circuit) (string, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.of != c {
		print, err := visits.Fingerprint(c.Spec())
		if err != nil {
			return "", err
		}
		v.of, v.print = c, print
	}
	return v.print, nil
}

func readVisit(file, text string) (desk.Brought, error) {
	if file == "" {
		file = "visit.toml"
	}
	v, _, err := visits.Decode(file, []byte(text))
	if err != nil {
		return desk.Brought{}, err
	}
	b := desk.Brought{Netlist: v.Machine.Netlist, Fingerprint: v.Machine.Fingerprint, Record: v.Record()}
	if v.Job != nil {
		b.Job = v.Job
	}
	return b, nil
}

// hear reads what a customer says, in the language in which most is understood.
func hear(c *circuit.Circuit, words string, before ...visit.Note) desk.Heard {
	notes, heard, _, err := complaints.ListenTo(c).Complaint(words, before...)
	h := desk.Heard{Notes: notes, Unknown: heard.Unknown, Mended: heard.Mended, Slips: heard.Slips, Perhaps: heard.Perhaps}
	for _, q := range heard.Questions {
		asked := desk.Question{Words: q.Words}
		for _, choice := range q.Choices {
			if meant, err := complaints.Notes(c, choice.Statements); err == nil {
				asked.Choices = append(asked.Choices, desk.Choice{Label: choice.Label, Notes: meant})
			}
		}
		h.Questions = append(h.Questions, asked)
	}
	if err != nil {
		h.Problem = err.Error()
	}
	return h
}
