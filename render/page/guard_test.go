package page_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"legtrace/render/page"
	"legtrace/render/page/desk"
)

func TestGuard(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	host := strings.TrimPrefix(at, "http://")
	_, port, _ := strings.Cut(host, ":")
	for _, c := range []struct {
		name, method, path string
		header             map[string]string
		want               int
	}{
		{"its own name", "GET", "/", nil, 200},
		{"localhost", "GET", "/", map[string]string{"Host": "localhost:" + port}, 200},
		{"a name that another site made point here", "GET", "/", map[string]string{"Host": "evil.example:" + port}, 421},
		{"a name that begins like ours", "GET", "/", map[string]string{"Host": "127.0.0.1.evil.example:" + port}, 421},
		{"another port", "GET", "/", map[string]string{"Host": "127.0.0.1:1"}, 421},
		{"an address of another machine", "GET", "/", map[string]string{"Host": "192.0.2.1:" + port}, 421},
		{"a post", "POST", "/", nil, 405},
		{"a post from another site", "POST", "/bench", map[string]string{"Origin": "http://evil.example"}, 405},
		{"a request sent by another site", "GET", "/bench", map[string]string{"Origin": "http://evil.example"}, 403},
		{"a request sent by a page without an origin", "GET", "/bench", map[string]string{"Origin": "null"}, 403},
		{"another program's page on this machine", "GET", "/bench", map[string]string{"Origin": "http://127.0.0.1:1"}, 403},
		{"an image or script on another site", "GET", "/bench", map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}, 403},
		{"a frame on another site", "GET", "/", map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"}, 403},
		{"a link followed from elsewhere", "GET", "/", map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}, 200},
		{"a delete", "DELETE", "/", nil, 405},
		{"a path out of the assets", "GET", "/assets/../page.go", nil, 404},
		{"the same, escaped", "GET", "/assets/%2e%2e%2fpage.go", nil, 404},
		{"a file that is no asset", "GET", "/assets/page.html", nil, 404},
		{"a very long address", "GET", "/?complaint=" + strings.Repeat("x", 20000), nil, 414},
		{"no such page", "GET", "/nothing", nil, 404},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, body, header := ask(t, c.method, at+c.path, c.header)
			if code == http.StatusMovedPermanently || code == http.StatusTemporaryRedirect { // a path made plain
				code, body, header = ask(t, c.method, at+header.Get("Location"), c.header)
			}
			if code != c.want {
				t.Errorf("status %d, want %d: %.200s", code, c.want, body)
			}
			policy := header.Get("Content-Security-Policy")
			if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") {
				t.Errorf("policy %q", policy)
			}
		})
	}
}

func TestBodyIsRefused(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	r, err := http.NewRequest(http.MethodGet, at+"/bench", bytes.NewReader(make([]byte, 1<<20)))
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d", answer.StatusCode)
	}
}

func TestPageHasNothingInline(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	html := get(t, at+"/?mode=broil&fault=broil_relay.contact:open&pick=part:broil_relay&note=load~broil~broil_element~dead&done=mended&lesson=3")
	html += get(t, at+"/?drill=1.1.3.0&move=try+broil&move=ohms+broil_1+broil_2&pick=part:broil_relay&red=broil_1&black=broil_2")
	html += get(t, at+"/?drill=1.1.3.0&move=give-up")
	for _, bad := range []string{"<style", " style=", " onclick=", " onload=", "javascript:", "<script>", "ZgotmplZ"} {
		if strings.Contains(html, bad) {
			t.Errorf("page holds %s", bad)
		}
	}
	for _, u := range strings.Split(html, "\"") {
		if strings.HasPrefix(u, "http") && u != "http://www.w3.org/2000/svg" {
			t.Errorf("page names %s", u)
		}
	}
}

func TestHostileNamesStayText(t *testing.T) {
	at := serve(t, fileSource(demo(t)), page.Options{})
	script, image := url.QueryEscape(`"></textarea><script>alert(1)</script>`), url.QueryEscape(`<img src=x onerror=alert(1)>`)
	html := get(t, at+"/?mode=broil&complaint="+script+"&fault="+image+":open")
	html += get(t, at+"/?note=load~broil~broil_element~dead&done="+script+"&after="+image+"&date="+image+"&complaint="+script)
	html += get(t, at+"/?drill=1.1.3.0&move="+script+"&move=name+"+image) + get(t, at+"/?drill="+image+"&lesson="+image)
	if strings.Contains(html, "<script>alert") || strings.Contains(html, "<img src=x") {
		t.Error("what an address says is taken for markup")
	}
}

func TestTokenLetsOneBrowserInOnce(t *testing.T) {
	var tokens []string
	at := serve(t, fileSource(demo(t)), page.Options{Open: true, Announce: func(token string) { tokens = append(tokens, token) }})
	if code, _, _ := ask(t, "GET", at+"/", nil); code != http.StatusUnauthorized {
		t.Fatalf("without a token: status %d", code)
	}
	first := tokens[0]
	// A preview fetches the link, a HEAD asks about it: neither is the browser that
	// it lets in.
	for _, method := range []string{"HEAD", "GET"} {
		if code, _, header := ask(t, method, at+"/?mode=broil&token="+first, nil); code != http.StatusOK || header.Get("Set-Cookie") != "" {
			t.Errorf("%s of the link: status %d", method, code)
		}
	}
	code, _, header := ask(t, "GET", at+"/?mode=broil&enter=1&token="+first, nil)
	if code != http.StatusSeeOther || header.Get("Location") != "/?mode=broil" {
		t.Fatalf("with the token: status %d to %q", code, header.Get("Location"))
	}
	cookie := header.Get("Set-Cookie")
	if !strings.Contains(cookie, "HttpOnly") || !strings.Contains(cookie, "SameSite=Strict") {
		t.Errorf("cookie %q", cookie)
	}
	value, _, _ := strings.Cut(cookie, ";")
	if code, _, _ := ask(t, "GET", at+"/", map[string]string{"Cookie": value}); code != http.StatusOK {
		t.Errorf("with the cookie: status %d", code)
	}
	if code, _, _ := ask(t, "GET", at+"/?token="+first, nil); code != http.StatusUnauthorized {
		t.Errorf("the token once more: status %d", code)
	}
	if len(tokens) != 2 || tokens[1] == first {
		t.Errorf("tokens told: %d", len(tokens))
	}
}

// handler is the site without its network, for what is asked many times.
func handler(t testing.TB, file string) http.Handler {
	t.Helper()
	site, _, err := page.New(fileSource(file), page.Options{Library: desk.Library{VisitFile: visitFile}})
	if err != nil {
		t.Fatal(err)
	}
	return site.Handler("127.0.0.1:80")
}

// No address makes a handler fail: it is answered, sent on or refused, and
// nothing of it comes out as markup. The machine is small, so that many are tried.
func FuzzAddress(f *testing.F) {
	for _, s := range []string{
		"/?mode=hot&fault=limit:open&red=element.1", "/bench?meter=ohms&supply=off&red=element.1&black=element.2",
		"/bench?break=w1:high&figure=4", "/bench?set=limit:open&put=limit:",
		"/visit?note=load~hot~element~dead&note=skip~trial~cold", "/visit?note=read~hot~volts~element.1~supply.L2~~118",
		"/bench?fault=supply:drifted=0.9&fault=element:grounded=0.3&mend=all", "/breaks?load=element&mode=cold", "/standing?fault=w2:open",
		"/bench?pick=wire:w1&meter=amps&clamp=w3", "/bench?set=limit:closed&mode=%00",
		"/bench?drill=1.1.3.0&move=try+hot&move=ohms+element.1+element.2&move=off&move=prove&do=name&of=limit", "/bench?begin=1&level=3&faults=2&number=7&budget=",
		"/drawing?drill=1.1.3.0&move=give-up&mode=hot", "/bench?drill=9.9.9.9&leave=1", "/learn?lesson=-1",
		"/visit?note=load~hot~element~dead&done=replaced&after=load~hot~element~normal&date=2026-05-01",
		"/visit?note=trips~hot&done=x&check=read~hot~volts~element.1~supply.L2~&answer=118&checked=hot&is=element:dead&pass=trial~hot&again=x",
	} {
		f.Add(s)
	}
	h := handler(f, small(f))
	f.Fuzz(func(t *testing.T, address string) {
		u, err := url.ParseRequestURI(address)
		if err != nil || u.Path == "/events" || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(u.Path, "/") {
			return
		}
		r := httptest.NewRequest(http.MethodGet, "http://127.0.0.1/", nil)
		r.URL.Path, r.URL.RawQuery = u.Path, u.RawQuery
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code >= 500 {
			t.Errorf("%s: status %d: %.300s", address, w.Code, w.Body)
		}
		if bytes.Contains(w.Body.Bytes(), []byte("ZgotmplZ")) {
			t.Errorf("%s: the template met something unsafe", address)
		}
	})
}

// A tap waits for this.
func BenchmarkTapToReading(b *testing.B) {
	h := handler(b, demo(b))
	for b.Loop() {
		r := httptest.NewRequest(http.MethodGet, "http://127.0.0.1/bench?mode=broil&fault=broil_relay.contact:open&red=broil_relay.com&black=broil_relay.no&pick=part:broil_relay", nil)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}
