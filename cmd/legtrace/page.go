package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
	"legtrace/render/page"
	"legtrace/render/page/offline"
)

func newPage(t *terminal, n *netlistFlags) *cobra.Command {
	var listen, save string
	var browser bool
	cmd := &cobra.Command{
		Use:   "page",
		Short: "Show the machine as a page to switch, break and probe",
		Long: `Serves a page on this computer: the diagram with its modes and switches, faults
to put in, two probes and a meter, what stops a load, what stays live, a visit
with its next test and its report, drills and lessons. The page follows the
netlist's file as it is saved. An interrupt ends it.

Only this computer can open it. With --listen on another address others on the
network can, each with an address that is good for one browser, once.

With --save it writes one file instead that does the same in a browser, on a
phone too, without legtrace and without a network: the engine goes along, about
6 MB. It shows the netlist as it is when the page is saved.`,
		Args: cobra.NoArgs,
		Example: `  legtrace page
  legtrace page --netlist mine.toml --listen 127.0.0.1:8080
  legtrace page --netlist mine.toml --save mine.html`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if save != "" {
				if cmd.Flags().Changed("listen") || browser {
					return errors.New("--save writes a file and serves nothing: leave out --listen and --browser")
				}
				return savePage(cmd.Context(), t, n, save)
			}
			var opened func(string) error
			if browser {
				opened = browse
			}
			return servePage(cmd.Context(), t, n, listen, opened)
		},
	}
	cmd.Flags().StringVar(&listen, "listen", "127.0.0.1:0", "`ADDRESS` to serve on; port 0 takes a free one")
	cmd.Flags().BoolVar(&browser, "browser", false, "open it in the browser")
	cmd.Flags().StringVar(&save, "save", "", "`FILE` to write the page to, engine and all, for use without legtrace")
	return cmd
}

// servePage serves the page; opened, if any, is told its address.
func servePage(ctx context.Context, t *terminal, n *netlistFlags, listen string, opened func(address string) error) error {
	m, err := n.openFor(t) // says what is wrong, with its hints
	if err != nil {
		return err
	}
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return fmt.Errorf("--listen %q: write it as 127.0.0.1:8080", listen)
	}
	open := !loopback(host)
	var config net.ListenConfig
	l, err := config.Listen(ctx, "tcp", listen)
	if err != nil {
		return fmt.Errorf("cannot serve on %s: %w", listen, err)
	}
	opt := page.Options{Open: open, VisitFile: visitFile(n.netlist)}
	if open {
		t.warn("others on the network can reach this page. What they send and see is not encrypted.")
		opt.Announce = func(token string) { t.tell(fmt.Sprintf("http://%s/?token=%s", reachable(l.Addr()), token)) }
	}
	site, _, err := page.New(pageSource(n.netlist, m.Result), opt)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	if open {
		t.say("each address lets one browser in, once; an interrupt ends the page")
	} else {
		address := fmt.Sprintf("http://%s/", l.Addr())
		t.tell(address)
		t.say("open this address in a browser; an interrupt ends the page")
		if opened != nil {
			go func() { // a browser may take its time, and is answered meanwhile
				if err := opened(address); err != nil {
					t.warn(err.Error())
				}
			}()
		}
	}
	return site.Serve(ctx, l)
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
			return nil, pageProblems(err)
		}
		return r.Circuit, nil
	}}
	if !strings.HasPrefix(netlist, catalogPrefix) {
		s.Stamp = func() string { return stamp(netlist) }
	}
	return s
}

// pageProblems tells what is wrong with a file, place by place.
func pageProblems(err error) []page.Problem {
	var list netlists.Errors
	if !errors.As(err, &list) {
		return []page.Problem{{Text: err.Error()}}
	}
	var out []page.Problem
	for _, e := range list {
		if e.Warning {
			continue
		}
		text := e.Message
		if e.Hint != "" {
			text += " (" + e.Hint + ")"
		}
		out = append(out, page.Problem{Where: e.Position.String(), Text: text})
	}
	return out
}

// stamp differs whenever one of the files that a netlist is made of has
// changed.
func stamp(netlist string) string {
	var b strings.Builder
	for _, file := range netlists.Chain(netlist) {
		if strings.HasPrefix(file, catalogPrefix) {
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

func savePage(ctx context.Context, t *terminal, n *netlistFlags, file string) error {
	m, err := n.openFor(t)
	if err != nil {
		return err
	}
	if same(file, m.file) {
		return fmt.Errorf("--save %s is the netlist itself", file)
	}
	engine, err := offline.Embedded()
	if err != nil {
		t.say("building the engine that goes into the page, up to a minute the first time")
		if engine, err = offline.Build(ctx); err != nil {
			return err
		}
	}
	html, err := offline.Save(ctx, engine, m.Circuit, n.netlist)
	if err != nil {
		return m.place(err)
	}
	if file == "-" {
		return t.print(html)
	}
	if err := writeFile(file, html); err != nil {
		return err
	}
	t.say("page: " + file)
	return nil
}

// visitFile writes a visit made on the page as a file for a place beside the
// netlist.
func visitFile(netlist string) func(*circuit.Circuit, visit.Record) ([]byte, error) {
	if !strings.HasPrefix(netlist, catalogPrefix) {
		netlist = filepath.Base(netlist)
	}
	return func(c *circuit.Circuit, r visit.Record) ([]byte, error) { return visits.Written(netlist, c, r) }
}
