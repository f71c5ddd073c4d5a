package page

import (
	"bytes"
	"cmp"
	"crypto/rand"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"rsc.io/qr"

	"legtrace/render/page/desk"
)

// Class lets many in by one link, or by a short code typed by hand, and shows the
// teacher how each gets on. Nothing that only fetches the link spends it: a
// learner comes in by giving a name. Nobody is put out to let another in.
type Class struct {
	// Teacher is the teacher's own key; who brings it sees the table.
	Teacher string
	// Code is what learners type, or have in their link.
	Code string

	mu      sync.Mutex
	members []*member
	teacher []string       // cookies of the teacher's browsers
	wrong   map[string]int // codes tried in vain this minute, by who tried
	minute  time.Time
}

// member is a learner who came in.
type member struct {
	session, name string
	drills        []desk.Stand
}

const (
	maxMembers = 120
	maxTeacher = 8
	maxDrilled = 40 // drills that the table keeps of a learner
	maxWrong   = 20 // a minute, from one place
	maxName    = 40
)

// letters are those of a code: none that is taken for another.
const letters = "ACDEFGHJKLMNPQRTUVWXYZ234679"

// NewClass makes one with a code and a teacher's key of its own.
func NewClass() *Class {
	var b [6]byte
	rand.Read(b[:])
	code := ""
	for _, x := range b {
		code += string(letters[int(x)%len(letters)])
	}
	return &Class{Teacher: secret(), Code: code, wrong: map[string]int{}}
}

// Link is the address for all, on a host.
func (c *Class) Link(host string) string { return "http://" + host + "/?code=" + c.Code }

// Square draws a link as a QR code (ISO/IEC 18004) of characters for a terminal,
// two rows in a line, light on dark, with its quiet zone.
func Square(link string) (string, error) {
	code, err := qr.Encode(link, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 2
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		for x := -quiet; x < code.Size+quiet; x++ {
			b.WriteString(map[[2]bool]string{{false, false}: "█", {false, true}: "▀", {true, false}: "▄", {true, true}: " "}[[2]bool{code.Black(x, y), code.Black(x, y+1)}])
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}

// squarePath is the same as the path of an SVG of so many units each way.
func squarePath(link string) (path string, size int, err error) {
	code, err := qr.Encode(link, qr.M)
	if err != nil {
		return "", 0, err
	}
	const quiet = 4
	var b strings.Builder
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	return b.String(), code.Size + 2*quiet, nil
}

// admit lets a request through, or answers it: with the form to come in by, or
// with why not.
func (c *Class) admit(w http.ResponseWriter, r *http.Request) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if r.URL.Path == "/assets/page.css" {
		return true // of the form too
	}
	q := r.URL.Query()
	if q.Has("teacher") && same(q.Get("teacher"), c.Teacher) { // the key goes out of the bar, which is on the wall
		if !c.ofTeacher(r) {
			if len(c.teacher) == maxTeacher {
				c.teacher = c.teacher[1:] // the teacher's own browsers, longest not opened
			}
			c.teacher = append(c.teacher, setCookie(w))
		}
		http.Redirect(w, r, "/class", http.StatusSeeOther)
		return false
	}
	if c.ofTeacher(r) || c.member(r) != nil {
		if r.URL.Path == "/class" || r.URL.Path == "/class/table" {
			if !c.ofTeacher(r) {
				refuse(w, http.StatusForbidden, "the table is the teacher's")
				return false
			}
		}
		return true
	}
	who := from(r)
	switch {
	case c.tooOften(who):
		refuse(w, http.StatusTooManyRequests, "too many codes tried from here: wait a minute")
	case !q.Has("code"):
		c.form(w, http.StatusUnauthorized, q, "")
	case !same(tidyCode(q.Get("code")), c.Code):
		c.wrong[who]++
		c.form(w, http.StatusUnauthorized, q, "That is not the code on the wall.")
	case tidyName(q.Get("name")) == "" || r.Method != http.MethodGet:
		c.form(w, http.StatusOK, q, "")
	case len(c.members) >= maxMembers:
		c.form(w, http.StatusServiceUnavailable, q, fmt.Sprintf("%d are in, and no more can be: the teacher has to begin anew.", maxMembers))
	default:
		m := &member{name: c.free(tidyName(q.Get("name"))), session: setCookie(w)}
		c.members = append(c.members, m)
		q.Del("code")
		q.Del("name")
		http.Redirect(w, r, "/?"+q.Encode(), http.StatusSeeOther)
	}
	return false
}

func setCookie(w http.ResponseWriter) string {
	session := secret()
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: session, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	return session
}

// from is where a request comes from.
func from(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// tooOften reports whether a place has tried too many wrong codes this minute.
func (c *Class) tooOften(who string) bool {
	if now := time.Now(); now.Sub(c.minute) > time.Minute {
		c.minute = now
		clear(c.wrong)
	}
	return c.wrong[who] >= maxWrong
}

func (c *Class) ofTeacher(r *http.Request) bool {
	k, err := r.Cookie(cookieName)
	return err == nil && slices.ContainsFunc(c.teacher, func(s string) bool { return same(s, k.Value) })
}

// member finds who sent a request; nil for nobody of the class.
func (c *Class) member(r *http.Request) *member {
	k, err := r.Cookie(cookieName)
	if err != nil {
		return nil
	}
	if i := slices.IndexFunc(c.members, func(m *member) bool { return same(m.session, k.Value) }); i >= 0 {
		return c.members[i]
	}
	return nil
}

// free is a name, with a number where another has it.
func (c *Class) free(name string) string {
	taken := func(n string) bool {
		return slices.ContainsFunc(c.members, func(m *member) bool { return strings.EqualFold(m.name, n) })
	}
	out := name
	for i := 2; taken(out); i++ {
		out = fmt.Sprintf("%s %d", name, i)
	}
	return out
}

func tidyCode(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(letters, r) {
			return r
		}
		return -1
	}, strings.ToUpper(s[:min(len(s), 40)]))
}

func tidyName(s string) string {
	s = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, ""))), " ")
	return string([]rune(s)[:min(len([]rune(s)), maxName)])
}

// saw keeps how a learner's drill stands.
func (c *Class) saw(r *http.Request, s *desk.Stand) {
	if c == nil || s == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	m := c.member(r)
	if m == nil {
		return
	}
	at := slices.IndexFunc(m.drills, func(d desk.Stand) bool { return d.Drill == s.Drill && d.Machine == s.Machine })
	switch {
	case at < 0 && len(m.drills) < maxDrilled:
		m.drills = append(m.drills, *s)
	case at < 0:
	case m.drills[at].Over: // moves taken back after the end do not count
		if old := &m.drills[at]; old.End == s.End && old.Moves == s.Moves && s.Points != "" {
			old.Points = s.Points
		}
	default:
		m.drills[at] = *s
	}
}

// Row is a line of the teacher's table.
type Row struct {
	Learner string
	desk.Stand
}

// Rows are all of it, by name.
func (c *Class) Rows() []Row {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []Row
	for _, m := range c.members {
		if len(m.drills) == 0 {
			out = append(out, Row{Learner: m.name})
		}
		for _, d := range m.drills {
			out = append(out, Row{m.name, d})
		}
	}
	slices.SortStableFunc(out, func(a, b Row) int { return cmp.Compare(strings.ToLower(a.Learner), strings.ToLower(b.Learner)) })
	return out
}

//go:embed class.html
var classPages string

//go:embed class.js
var classScript []byte

var classTemplates = sync.OnceValue(func() *template.Template { return template.Must(template.New("class").Parse(classPages)) })

// form asks for the code and a name.
func (c *Class) form(w http.ResponseWriter, status int, q url.Values, trouble string) {
	var kept [][2]string
	for key, values := range q {
		for _, v := range values {
			if key != "code" && key != "name" {
				kept = append(kept, [2]string{key, v})
			}
		}
	}
	slices.SortFunc(kept, func(a, b [2]string) int { return slices.Compare(a[:], b[:]) })
	code := ""
	if same(tidyCode(q.Get("code")), c.Code) {
		code = c.Code
	}
	write(w, status, "form", map[string]any{"Code": code, "Kept": kept, "Trouble": trouble, "MaxName": maxName})
}

func write(w http.ResponseWriter, status int, name string, data any) {
	var b bytes.Buffer
	if err := classTemplates().ExecuteTemplate(&b, name, data); err != nil {
		refuse(w, http.StatusInternalServerError, errors.Join(errors.New("the page cannot be written"), err).Error())
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

// show is the teacher's page: the link as a square, the code, and the table.
func (c *Class) show(w http.ResponseWriter, r *http.Request) {
	link := c.Link(r.Host)
	path, size, err := squarePath(link)
	if err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	write(w, http.StatusOK, "class", map[string]any{"Link": link, "Host": r.Host, "Code": c.Code, "Path": path, "Size": size, "Rows": c.Rows()})
}

func (c *Class) table(w http.ResponseWriter, _ *http.Request) {
	write(w, http.StatusOK, "table", map[string]any{"Rows": c.Rows()})
}

// routes adds the teacher's pages.
func (c *Class) routes(mux *http.ServeMux) {
	mux.HandleFunc("/class", c.show)
	mux.HandleFunc("/class/table", c.table)
	mux.HandleFunc("/assets/class.js", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		w.Write(classScript)
	})
}
