package page

import (
	"context"
	"crypto/sha256"
	"fmt"
	"net/http"
	"sync"

	"legtrace/render/page/desk"
)

// installable serves what a browser needs to keep the page for when there is no
// server: a manifest, and a worker that then answers with the saved page. Browsers
// take both over HTTPS and from this computer itself.
func (s *Site) installable(mux *http.ServeMux) {
	if s.opt.Tool == nil {
		return
	}
	tool := sync.OnceValues(func() ([]byte, error) { return s.opt.Tool(context.Background()) })
	send := func(path, kind string, data func() ([]byte, error)) {
		mux.HandleFunc(path, func(w http.ResponseWriter, _ *http.Request) {
			text, err := data()
			if err != nil {
				refuse(w, http.StatusNotFound, err.Error())
				return
			}
			w.Header().Set("Content-Type", kind)
			w.Write(text)
		})
	}
	asset := func(name string) func() ([]byte, error) {
		return func() ([]byte, error) { return desk.Asset(name), nil }
	}
	send("/manifest.webmanifest", "application/manifest+json", asset("manifest.webmanifest"))
	send("/icon.svg", "image/svg+xml", asset("icon.svg"))
	// A worker with other bytes is a new one, which fetches the saved page anew.
	send("/worker.js", "text/javascript; charset=utf-8", func() ([]byte, error) {
		page, err := tool()
		return fmt.Appendf(desk.Asset("worker.js"), "// %x\n", sha256.Sum256(page)), err
	})
	mux.HandleFunc(toolPath, func(w http.ResponseWriter, _ *http.Request) {
		page, err := tool()
		if err != nil {
			refuse(w, http.StatusNotFound, err.Error())
			return
		}
		w.Header().Set("Content-Security-Policy", "frame-ancestors 'none'") // the rest stands in the page
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write(page)
	})
}

const toolPath = "/tool.html"
