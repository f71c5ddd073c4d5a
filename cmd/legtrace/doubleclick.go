package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net"
	"net/http"
	"os"
	"os/exec"
	"runtime"
	"time"

	"github.com/inconshreveable/mousetrap"
)

// doubleClicked reports whether the program was opened from a desktop: no
// arguments, nobody at a terminal, no script that reads what it writes.
func doubleClicked(args []string) bool {
	switch {
	case len(args) > 0:
		return false
	case runtime.GOOS == "windows":
		return mousetrap.StartedByExplorer()
	case runtime.GOOS != "darwin" && os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "":
		return false
	}
	nothing, err := os.Stat(os.DevNull)
	if err != nil {
		return false
	}
	in, err := os.Stdin.Stat()
	if err != nil || !os.SameFile(in, nothing) {
		return false
	}
	out, err := os.Stdout.Stat() // nothing, or the session's log
	return err == nil && (os.SameFile(out, nothing) || out.Mode()&fs.ModeSocket != 0)
}

// opener is what opens an address in the person's browser.
func opener(address string) *exec.Cmd {
	switch runtime.GOOS {
	case "windows":
		return exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	case "darwin":
		return exec.Command("open", address)
	}
	return exec.Command("xdg-open", address)
}

// browse opens an address in the browser.
func browse(address string) error {
	if err := opener(address).Run(); err != nil {
		return fmt.Errorf("no browser could be opened: %w; open %s in one", err, address)
	}
	return nil
}

// whereItIs is the tab of a page that no terminal tells of.
var whereItIs = template.Must(template.New("where").Parse(`<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>legtrace runs</title>
<style>body { max-width: 34rem; margin: 3rem auto; padding: 0 1rem; font: 1.1rem/1.5 sans-serif; } button { font: inherit; padding: .5rem 1rem; }</style>
<h1>legtrace runs</h1>
{{if .Page}}<p>The page is at <a href="{{.Page}}">{{.Page}}</a>, on this computer alone.</p>
<form method="post"><button>Stop legtrace</button></form>
<p>Disconnect, lock out and prove dead before you touch anything.</p>
{{else}}<p>It is stopped. This tab can be closed.</p>{{end}}
</html>
`))

// hold serves a tab that says where the page is, and ends the program when asked
// to; the address of the tab is known to the browser alone.
func hold(ctx context.Context, page string, stop func()) (string, error) {
	var config net.ListenConfig
	l, err := config.Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	secret := "/" + rand.Text()
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+secret, func(w http.ResponseWriter, _ *http.Request) { show(w, page) })
	mux.HandleFunc("POST "+secret, func(w http.ResponseWriter, _ *http.Request) {
		show(w, "")
		time.AfterFunc(time.Second/4, stop) // once this has been sent
	})
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 10 * time.Second}
	context.AfterFunc(ctx, func() { server.Close() })
	go server.Serve(l)
	return fmt.Sprintf("http://%s%s", l.Addr(), secret), nil
}

func show(w http.ResponseWriter, page string) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'")
	_ = whereItIs.Execute(w, struct{ Page string }{page}) // who has gone is not told
}

// openPage is what a double click does: the page in the browser, and a tab that
// says where it is and stops it.
func openPage(ctx context.Context, t *terminal) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	p := &pageCommand{t: t, opened: func(page string) error {
		tab, err := hold(ctx, page, stop)
		if err != nil {
			return err
		}
		t.say("to stop legtrace, close this window or use the tab at " + tab)
		return errors.Join(browse(tab), browse(page))
	}}
	return p.serve(ctx)
}
