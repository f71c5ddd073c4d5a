package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/page"
	"legtrace/render/page/offline"
)

// usualAt is where the page is served unless told otherwise: what a browser keeps
// of visits it keeps by address, so that is always the same.
const usualAt = "127.0.0.1:24024"

func newPage(t *terminal, n *netlistFlags) *cobra.Command {
	var f pageFlags
	cmd := &cobra.Command{
		Use:   "page [FOLDER]",
		Short: "Show machines as a page: find the fault, explore, learn",
		Long: `Serves a page on this computer. First a machine is chosen, of those that come
with legtrace, of a FOLDER of netlists, or one of your own; --netlist takes one
at once and follows its file as it is saved. Then there are three doors: find the
fault, from the customer's words to the proof of the repair; explore the machine,
its switches, faults, two probes and a meter; learn, by lessons and drills. An
interrupt ends it.

Only this computer can open it. With --listen on another address others on the
network can, each with an address that is good for one browser, once. Visits and
netlists of your own are kept by the browser, under the address of the page.

With --class it lets a class in by one link, drawn as a QR code, or a short code
to type; the teacher has an address of their own, with the table of the drills,
which grows as they go. With --word it opens drills that were sealed with that
word: see legtrace drill key --help.

With --save it writes one file instead that does the same in a browser, on a
phone too, without legtrace and without a network: the engine goes along, about
5 MB. With --only it has one machine, as it is when the page is saved.`,
		Args: cobra.MaximumNArgs(1),
		Example: `  legtrace page
  legtrace page --netlist mine.toml --listen 127.0.0.1:8080
  legtrace page --listen 0.0.0.0:8080 --class --word "three blue lamps"
  legtrace page --save tool.html
  legtrace page --save mine.html --only mine.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			given := cmd.Flag("netlist").Changed
			if err := f.vet(given); err != nil {
				return err
			}
			if f.only != "" {
				n, given = &netlistFlags{netlist: f.only}, true
			}
			p := &pageCommand{t: t, listen: f.listen, patience: f.patience}
			if err := f.lets(p); err != nil {
				return err
			}
			if len(args) > 0 {
				if info, err := os.Stat(args[0]); err != nil || !info.IsDir() {
					return fmt.Errorf("%s is no folder; for one machine: --netlist FILE", args[0])
				}
				p.folder = args[0]
			}
			if given {
				m, err := n.openFor(t) // says what is wrong, with its hints
				if err != nil {
					return err
				}
				p.given = m
			}
			if f.save != "" {
				return p.save(cmd.Context(), f.save, f.only != "")
			}
			return p.serve(cmd.Context())
		},
	}
	cmd.Flags().StringVar(&f.listen, "listen", "", "`ADDRESS` to serve on; port 0 takes a free one (default "+usualAt+", or a free port)")
	cmd.Flags().BoolVar(&f.class, "class", false, "let many in by one link or code, and show the teacher how they get on")
	cmd.Flags().StringVar(&f.word, "word", "", "the `WORD` that opens drills which were sealed with it")
	cmd.Flags().BoolVar(&f.browser, "browser", false, "open it in the browser")
	cmd.Flags().StringVar(&f.save, "save", "", "`FILE` to write the page to, engine and all, for use without legtrace")
	patienceFlag(cmd, &f.patience, page.DefaultPatience, "give an answer up after `N` thousand solutions, and say so")
	cmd.Flags().StringVar(&f.only, "only", "", "with --save: the one `NETLIST` that the page has")
	return cmd
}

// pageFlags say how a page is served, or saved.
type pageFlags struct {
	listen, save, only, word string
	browser, class           bool
	patience                 int
}

// vet refuses what does not go together; given tells that --netlist is.
func (f *pageFlags) vet(given bool) error {
	switch {
	case f.save != "" && (f.class || f.word != ""):
		return errors.New("--class and --word go with a page that is served: a file holds all that is in it, and keeps no secret")
	case f.save != "" && (f.listen != "" || f.browser):
		return errors.New("--save writes a file and serves nothing: leave out --listen and --browser")
	case f.class && f.browser:
		return errors.New("--browser does not go with --class: each of the class opens the page with their own address")
	case f.save == "" && f.only != "":
		return errors.New("--only goes with --save FILE; for a page that is served: --netlist " + f.only)
	case f.only != "" && given:
		return errors.New("give the machine once, by --only or by --netlist")
	}
	return nil
}

// lets sets up who is let in, and what is opened.
func (f *pageFlags) lets(p *pageCommand) (err error) {
	if f.word != "" {
		p.seal, err = drill.NewSeal(f.word)
	}
	if f.class {
		p.class = page.NewClass()
	}
	if f.browser {
		p.opened = browse
	}
	return err
}

// pageCommand is a page to be served or saved.
type pageCommand struct {
	t *terminal
	// given is the machine that is shown where none is chosen; it may be nil.
	given *machine
	// folder has netlists to choose from, if it is not empty.
	folder, listen string
	// patience is how many thousand solutions an answer may take.
	patience int
	// class lets many in, seal opens their drills; both may be nil.
	class *page.Class
	seal  *drill.Seal
	// opened, if any, is told the address.
	opened func(address string) error
}

// at listens where the page is to be served.
func (p *pageCommand) at(ctx context.Context) (net.Listener, error) {
	var config net.ListenConfig
	if p.listen == "" {
		if l, err := config.Listen(ctx, "tcp", usualAt); err == nil {
			return l, nil
		}
		p.t.say("another program has " + usualAt + "; visits that a browser keeps for that address are not seen at this one")
		p.listen = "127.0.0.1:0"
	}
	if _, _, err := net.SplitHostPort(p.listen); err != nil {
		return nil, fmt.Errorf("--listen %q: write it as 127.0.0.1:8080", p.listen)
	}
	l, err := config.Listen(ctx, "tcp", p.listen)
	if err != nil {
		return nil, fmt.Errorf("cannot serve on %s: %w", p.listen, err)
	}
	return l, nil
}

func (p *pageCommand) serve(ctx context.Context) error {
	t := p.t
	l, err := p.at(ctx)
	if err != nil {
		return err
	}
	host, _, err := net.SplitHostPort(cmp.Or(p.listen, usualAt))
	if err != nil {
		return err
	}
	open := !loopback(host)
	if open && p.opened != nil {
		return errors.Join(errors.New("--browser opens a page that is for this machine alone: leave it out where others are let in"), l.Close())
	}
	opt := page.Options{Open: open, Library: library.New(p.folder), Class: p.class, Patience: p.patience}
	opt.Library.Seal = p.seal
	if engine, err := offline.Embedded(); err == nil {
		opt.Tool = func(ctx context.Context) ([]byte, error) {
			return offline.Save(ctx, engine, offline.Page{Library: library.New("")})
		}
	}
	if p.class != nil {
		if err := p.admit(reachable(l.Addr()), open); err != nil {
			return errors.Join(err, l.Close())
		}
	}
	if open && p.class == nil {
		t.warn("others on the network can reach this page. What they send and see is not encrypted.")
		opt.Announce = func(token string) { t.tell(fmt.Sprintf("http://%s/?token=%s", reachable(l.Addr()), token)) }
	}
	var source page.Source
	if p.given != nil {
		opt.Library = opt.Library.Like(p.given.base())
		source = pageSource(p.given.file, p.given.Result)
	}
	site, _, err := page.New(source, opt)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	switch {
	case p.class != nil:
		t.say("an interrupt ends the page")
	case open:
		t.say("each address lets one browser in, once; an interrupt ends the page")
	default:
		address := fmt.Sprintf("http://%s/", l.Addr())
		t.tell(address)
		t.say("open this address in a browser; an interrupt ends the page")
		if p.opened != nil {
			go func() { // a browser may take its time, and is answered meanwhile
				if err := p.opened(address); err != nil {
					t.warn(err.Error())
				}
			}()
		}
	}
	return site.Serve(ctx, l)
}

// admit says how the class and its teacher come in.
func (p *pageCommand) admit(host string, open bool) error {
	t := p.t
	if open {
		t.warn("others on the network can reach this page. What they send and see is not encrypted.")
	} else {
		t.warn("only this computer can reach the page: for others give --listen 0.0.0.0:8080")
	}
	link := p.class.Link(host)
	square, err := page.Square(link)
	if err != nil {
		return err
	}
	t.say("for the class, all of it: " + link)
	t.say("or: http://" + host + "/ and the code " + p.class.Code)
	fmt.Fprint(t.err, square)
	t.say("for the teacher alone:")
	t.tell("http://" + host + "/?teacher=" + p.class.Teacher)
	return nil
}

// tell puts an address where a person or a script can take it from.
func (t *terminal) tell(address string) { fmt.Fprintln(t.out, address) }

func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.Unmap().IsLoopback()
}

// reachable is the address that others open.
func reachable(a net.Addr) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return a.String()
	}
	if ip, err := netip.ParseAddr(host); err != nil || !ip.IsUnspecified() {
		return a.String()
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return a.String()
	}
	for _, x := range addrs {
		if n, ok := x.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLoopback() {
			return net.JoinHostPort(n.IP.String(), port)
		}
	}
	return a.String()
}

// pageSource reads the machine for the page, the first time as it was read
// already.
func pageSource(netlist string, first *netlists.Result) page.Source {
	s := page.Source{Name: netlist, Load: func() (*circuit.Circuit, []page.Problem) {
		r := first
		if r != nil {
			first = nil
			return r.Circuit, nil
		}
		r, err := netlists.ReadFileFull(netlist)
		if err != nil {
			return nil, library.Problems(err)
		}
		return r.Circuit, nil
	}}
	if !strings.HasPrefix(netlist, netlists.CatalogPrefix) {
		s.Stamp = func() string { return library.Stamp(netlist) }
	}
	return s
}

func (p *pageCommand) save(ctx context.Context, file string, alone bool) error {
	if err := p.t.spare(file); err != nil {
		return err
	}
	page := offline.Page{Library: library.New(""), Alone: alone}
	if m := p.given; m != nil {
		page.Machine, page.File, page.Library = m.Circuit, m.file, page.Library.Like(m.base())
	}
	engine, err := offline.Embedded()
	if err != nil {
		p.t.say("building the engine that goes into the page, up to a minute the first time")
		if engine, err = offline.Build(ctx); err != nil {
			return err
		}
	}
	html, err := offline.Save(ctx, engine, page)
	switch {
	case err != nil && p.given != nil:
		return p.given.place(err)
	case err != nil:
		return err
	case file == "-":
		return p.t.print(html)
	}
	if err := p.t.write(file, html); err != nil {
		return err
	}
	p.t.say("page: " + file)
	return nil
}
