package desk

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/render/report"
)

// Shop answers for many machines: those of a library, those that a person brings
// along, and one that is given. Any number of goroutines may use it.
type Shop struct {
	lib   Library
	lobby *Desk // without a machine
	desks *memo[*Desk]

	mu    sync.Mutex
	given *Desk
}

// fewDesks is how many machines are kept ready where a library does not say.
const fewDesks = 4

// ErrWanted is returned for a machine that a person brought along and that is not
// here, or no longer: its netlist is to be brought again.
var ErrWanted = errors.New("this machine's netlist is kept in a browser, and is not at hand")

// NewShop opens a shop. Given is shown where an address names no machine; where
// it is nil one is chosen first.
func NewShop(given *circuit.Circuit, lib Library) *Shop {
	ready := cmp.Or(lib.Ready, fewDesks)
	s := &Shop{lib: lib, lobby: &Desk{templates: templates(), shelf: &shelf{}}, desks: newMemo(ready, ready, func(*Desk) int { return 1 })}
	s.Give(given)
	return s
}

// Give puts another machine in the place of the given one.
func (s *Shop) Give(c *circuit.Circuit) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.given = nil
	if c != nil {
		s.given = s.desk(c, s.lib.base("", ""), "")
	}
}

func (s *Shop) desk(c, base *circuit.Circuit, file string) *Desk {
	d := furnish(s.lobby.templates, s.lobby.shelf, c, base)
	d.lib, d.file = &s.lib, file
	return d
}

// Prefixes of a machine's name in an address.
const (
	ownPrefix     = "own:"
	catalogPrefix = "catalog:"
	familyPrefix  = "family:"
)

// at finds the desk of a machine; nil where none is named.
func (s *Shop) at(name string) (*Desk, error) {
	s.mu.Lock()
	given := s.given
	s.mu.Unlock()
	if name == "" {
		return given, nil
	}
	return s.desks.get(name+s.stamp(name), func() (*Desk, error) {
		if strings.HasPrefix(name, ownPrefix) {
			return nil, ErrWanted
		}
		if s.lib.Open == nil {
			return nil, fmt.Errorf("there is no other machine on this page than the one shown: %q is not here", name)
		}
		c, problems := s.lib.Open(name)
		if c == nil {
			return nil, fmt.Errorf("%s cannot be read: %s", name, lines(problems))
		}
		return s.desk(c, s.lib.base(name, ""), name), nil
	})
}

func lines(problems []Problem) string {
	var out []string
	for _, p := range problems {
		out = append(out, p.String())
	}
	return strings.Join(out, "\n")
}

// bringPath is where files are brought to.
const bringPath = "/bring"

// Has reports whether a path is answered.
func (s *Shop) Has(path string) bool { return s.lobby.Has(path) || Takes(path) }

// Takes reports whether a path takes what a person brings.
func Takes(path string) bool { return path == bringPath || path == describePath || path == ringPath }

// Answer answers a path that the shop has.
func (s *Shop) Answer(ctx context.Context, r Request) (Answer, error) {
	switch {
	case r.Path == bringPath:
		return s.bring(r)
	case r.Path == describePath:
		return s.describe(ctx, r)
	case r.Path == ringPath:
		return s.ringOut(r)
	case r.Query.Get("door") == DoorDescribe && s.lib.Enter != nil && r.Path != "/drawing.css":
		return s.choose(r)
	}
	if name := clip(r.Query.Get("machine"), 0); strings.HasPrefix(name, familyPrefix) && s.lib.Family != nil && r.Path != "/drawing.css" {
		return s.narrow(ctx, r, name)
	}
	d, err := s.at(clip(r.Query.Get("machine"), 0))
	if err != nil {
		return Answer{}, err
	}
	if r.Path == "/drawing.css" && d == nil { // one for all machines
		d, err = s.any()
	}
	if err != nil {
		return Answer{}, err
	}
	if d == nil {
		return s.choose(r)
	}
	if r.Query.Get("machine") != "" {
		r.Problems = nil // they are the given one's
	}
	return d.Answer(ctx, r)
}

// any is the desk of the first machine there is.
func (s *Shop) any() (*Desk, error) {
	if s.lib.List != nil {
		for _, e := range s.lib.List() {
			return s.at(e.Name)
		}
	}
	return nil, errors.New("there is no machine")
}

// family is a kind of machine with those to choose from.
type family struct {
	Name     string
	Machines []choice
}

// choice is a machine with its variants.
type choice struct {
	Entry
	Variants []Entry
}

// families sorts a library's list.
func (l *Library) families() []family {
	if l == nil || l.List == nil {
		return nil
	}
	var out []family
	at := map[string]int{}
	for _, e := range l.List() {
		i, ok := at[e.Family]
		if !ok {
			i = len(out)
			at[e.Family], out = i, append(out, family{Name: e.Family})
		}
		if n := len(out[i].Machines); e.Variant && n > 0 {
			out[i].Machines[n-1].Variants = append(out[i].Machines[n-1].Variants, e)
			continue
		}
		out[i].Machines = append(out[i].Machines, choice{Entry: e})
	}
	return out
}

// choose shows what there is to choose from.
func (s *Shop) choose(r Request) (Answer, error) {
	state := State{Door: readState(r.Query).Door}
	if state.Door == DoorDescribe {
		state.Machine = clip(r.Query.Get("machine"), 0)
	}
	v := &view{situation: &situation{State: state}, Title: "legtrace", Cautions: report.Cautions(), Door: state.door(), Families: s.lib.families(), Unsure: s.lib.unsure(), Bring: s.lib.Read != nil, Edition: r.Edition, Installable: r.Installable, DescribeHelp: s.lib.describeHelp()}
	name := "page"
	if p := pieceAt(r.Path); p != nil {
		name = p.name
	}
	var page bytes.Buffer
	err := s.lobby.templates.ExecuteTemplate(&page, name, v)
	return Answer{Kind: htmlKind, Body: page.Bytes(), State: state.Query()}, err
}

// brought is what is told of a file that a person brings: the address of what it
// leads to, or what is wrong with it.
type brought struct {
	Kind     string   `json:"kind"` // "netlist" or "visit"
	Machine  string   `json:"machine"`
	Title    string   `json:"title,omitempty"`
	State    string   `json:"state,omitempty"`
	Job      any      `json:"job,omitempty"`
	Problems []string `json:"problems,omitempty"`
}

// bring takes a netlist or a visit.
func (s *Shop) bring(r Request) (Answer, error) {
	file := clip(r.Query.Get("file"), 0)
	var out brought
	switch text := string(r.Body); {
	case s.lib.Read == nil || s.lib.ReadVisit == nil:
		return Answer{}, errors.New("nothing can be brought to this page")
	case strings.Contains(text, "\n[machine]"):
		b, err := s.lib.ReadVisit(file, text)
		if err != nil {
			out = brought{Kind: "visit", Problems: strings.Split(err.Error(), "\n")}
			break
		}
		out = brought{Kind: "visit", Machine: b.machine(), Job: b.Job}
		state := stateOf(b.Record)
		state.Machine, state.Door = out.Machine, DoorFind
		out.State = state.Query()
	default:
		c, print, problems := s.lib.Read(file, text)
		out = brought{Kind: "netlist"}
		for _, p := range problems {
			out.Problems = append(out.Problems, p.String())
		}
		if c == nil {
			break
		}
		out.Title = c.Title()
		var err error
		if out.Machine, err = s.own(c, s.lib.base(file, text), print, file); err != nil {
			return Answer{}, err
		}
	}
	body, err := json.Marshal(out)
	return Answer{Kind: "application/json", Body: body}, err
}

// own keeps a machine that a person brought, and gives its name.
func (s *Shop) own(c, base *circuit.Circuit, fingerprint, file string) (string, error) {
	name := ownName(fingerprint)
	_, err := s.desks.get(name+s.stamp(name), func() (*Desk, error) { return s.desk(c, base, file), nil })
	return name, err
}

// stamp is what follows a machine's name where desks are kept.
func (s *Shop) stamp(name string) string {
	if s.lib.Stamp == nil {
		return ""
	}
	return " " + s.lib.Stamp(name)
}

// ownName is what an address calls a netlist that a person brought.
func ownName(fingerprint string) string {
	_, sum, _ := strings.Cut(fingerprint, ":")
	return ownPrefix + sum[:min(16, len(sum))]
}

// machine is what an address calls the machine of a visit.
func (b Brought) machine() string {
	if strings.HasPrefix(b.Netlist, catalogPrefix) {
		return b.Netlist
	}
	return ownName(b.Fingerprint)
}

// Query reads an address's query as it stands there.
func Query(text string) url.Values {
	address := url.URL{RawQuery: strings.TrimPrefix(text, "?")}
	return address.Query()
}
