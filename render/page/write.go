package page

import (
	"context"
	"io"
	"net/http"

	"legtrace/render/page/desk"
)

func (s *Site) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("/", s.answer)
	mux.HandleFunc("/events", s.events)
	s.installable(mux)
	if s.opt.Class != nil {
		s.opt.Class.routes(mux)
	}
	for name, kind := range map[string]string{"page.css": "text/css", "page.js": "text/javascript", "diagram.js": "text/javascript", "store.js": "text/javascript", "kept.js": "text/javascript", "describe.js": "text/javascript", "served.js": "text/javascript"} {
		data := desk.Asset(name)
		mux.HandleFunc("/assets/"+name, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", kind+"; charset=utf-8")
			w.Write(data)
		})
	}
	return mux
}

// answer puts a request to the desk of the machine as it is. Where that did
// something the browser is sent on to the state it led to, or told of it in a
// header where it asked for a piece of the page.
func (s *Site) answer(w http.ResponseWriter, r *http.Request) {
	shop, problems, edition := s.news.now()
	if !shop.Has(r.URL.Path) {
		http.NotFound(w, r)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBrought))
	if err != nil {
		refuse(w, http.StatusRequestEntityTooLarge, "what was brought is too long: "+err.Error())
		return
	}
	a, ok := s.inTurn(w, r, func(ctx context.Context) (desk.Answer, error) {
		return shop.Answer(ctx, desk.Request{Path: r.URL.Path, Query: r.URL.Query(), Body: body, File: s.source.Name, Edition: edition, Problems: problems, Installable: s.opt.Tool != nil})
	})
	s.opt.Class.saw(r, a.Drill)
	switch {
	case !ok:
	case a.Moved:
		http.Redirect(w, r, "/?"+a.State, http.StatusSeeOther)
	default:
		w.Header().Set("Content-Type", a.Kind)
		w.Header().Set("Legtrace-State", a.State)
		w.Write(a.Body)
	}
}
