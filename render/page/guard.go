package page

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"

	"legtrace/render/page/desk"
)

// contentPolicy lets the page have its own script, style and answers, and
// nothing else from anywhere.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headers go with every answer.
var headers = [][2]string{
	{"Content-Security-Policy", contentPolicy},
	{"X-Content-Type-Options", "nosniff"},
	{"Referrer-Policy", "no-referrer"},
	{"Cross-Origin-Opener-Policy", "same-origin"},
	{"Cross-Origin-Resource-Policy", "same-origin"},
	{"Cache-Control", "no-store"},
}

// guarded refuses what is not for us before anything is worked out: a host name
// that another site made point here, a request that another site sends, a
// method or body that nothing of ours takes, an address of unusual length.
func (s *Site) guarded(at string, next http.Handler) http.Handler {
	port := ""
	if _, p, err := net.SplitHostPort(at); err == nil {
		port = p
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for _, h := range headers {
			w.Header().Set(h[0], h[1])
		}
		switch {
		case !ours(r.Host, port, s.opt.Open):
			refuse(w, http.StatusMisdirectedRequest, "this page is not served under that name")
		case r.Method != http.MethodGet && r.Method != http.MethodHead && !brings(r):
			w.Header().Set("Allow", "GET, HEAD")
			refuse(w, http.StatusMethodNotAllowed, "only GET and HEAD are answered")
		case fromElsewhere(r, port, s.opt.Open):
			refuse(w, http.StatusForbidden, "another site sent this request")
		case !brings(r) && (r.ContentLength != 0 || len(r.TransferEncoding) > 0):
			refuse(w, http.StatusRequestEntityTooLarge, "a request here has no body")
		case len(r.URL.RawQuery) > desk.MaxQuery:
			refuse(w, http.StatusRequestURITooLong, "the address is too long")
		case s.keys != nil && !s.keys.admit(w, r):
			return
		case s.opt.Class != nil && !s.opt.Class.admit(w, r):
			return
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// brings reports whether a request brings a file of the person's. The header is
// the page's own: no other site's form sends one, and no other site's script may.
func brings(r *http.Request) bool {
	return r.Method == http.MethodPost && desk.Takes(r.URL.Path) && r.Header.Get("Legtrace-Brings") != ""
}

func refuse(w http.ResponseWriter, code int, why string) {
	http.Error(w, why, code)
}

// ours reports whether a Host is an address of this server. Names are not
// taken, but for localhost: whoever owns a name decides where it points.
func ours(host, port string, open bool) bool {
	name, p, err := net.SplitHostPort(host)
	if err != nil {
		name, p = strings.Trim(host, "[]"), "80"
	}
	if p != port {
		return false
	}
	if name == "localhost" {
		return true
	}
	ip, err := netip.ParseAddr(name)
	return err == nil && (open || ip.Unmap().IsLoopback())
}

// fromElsewhere reports whether the browser says that another site sent the
// request. A link followed from another site is not that.
func fromElsewhere(r *http.Request, port string, open bool) bool {
	if origin := r.Header.Get("Origin"); origin != "" {
		host, ok := strings.CutPrefix(origin, "http://")
		if !ok || !ours(host, port, open) || host != r.Host {
			return true
		}
	}
	site := r.Header.Get("Sec-Fetch-Site")
	followed := r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
	return (site == "cross-site" || site == "same-site") && !followed
}

// keys let browsers in: a token lets one in, once, by a cookie that is its own.
type keys struct {
	announce func(string)

	mu       sync.Mutex
	token    string
	sessions []string
}

const (
	cookieName  = "legtrace"
	tokenKey    = "token"
	enterKey    = "enter"
	maxSessions = 16
)

func newKeys(announce func(string)) *keys {
	k := &keys{announce: announce}
	k.fresh()
	return k
}

func (k *keys) fresh() {
	k.token = secret()
	if k.announce != nil {
		k.announce(k.token)
	}
}

func secret() string {
	var b [24]byte
	rand.Read(b[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// admit lets a request through, or answers it.
func (k *keys) admit(w http.ResponseWriter, r *http.Request) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	if c, err := r.Cookie(cookieName); err == nil && slices.ContainsFunc(k.sessions, func(s string) bool { return same(s, c.Value) }) {
		return true
	}
	q := r.URL.Query()
	if !q.Has(tokenKey) || !same(q.Get(tokenKey), k.token) {
		refuse(w, http.StatusUnauthorized, "open the address that legtrace printed last: each lets one browser in")
		return false
	}
	switch {
	case len(k.sessions) == maxSessions:
		refuse(w, http.StatusServiceUnavailable, "as many browsers are in as can be: end the page and begin anew, or serve it to a class")
		return false
	case r.Method != http.MethodGet || !q.Has(enterKey):
		// A preview fetches the link; a person presses the button.
		write(w, http.StatusOK, "enter", q)
		return false
	}
	k.sessions = append(k.sessions, setCookie(w))
	k.fresh()
	q.Del(tokenKey)
	q.Del(enterKey)
	http.Redirect(w, r, "/?"+q.Encode(), http.StatusSeeOther)
	return false
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
