package page_test

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"legtrace/render/page"
)

// crowd is how many come at once.
const crowd = 500

// small writes a machine that is soon thought through.
func small(t testing.TB) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "warmer.toml")
	err := os.WriteFile(file, []byte(`name = "warmer"
[supply]
system = "split-phase"
[parts]
limit = { kind = "limit", label = "High limit" }
element = { kind = "element", volts = 240, watts = 800 }
[wires]
w1 = { from = "supply.L1", to = "limit.1" }
w2 = { from = "limit.2", to = "element.1" }
w3 = { from = "supply.L2", to = "element.2" }
[modes.hot]
on = ["element"]
[modes.cold]
set = { limit = "open" }
off = ["element"]
`), 0o666)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// Five hundred visits asked for at once are all answered, and meanwhile a style
// and a reading are, long before the last of them.
func TestFiveHundredAtOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	at := serve(t, fileSource(small(t)), page.Options{})
	transport := &http.Transport{MaxConnsPerHost: 0, MaxIdleConnsPerHost: crowd}
	defer transport.CloseIdleConnections()
	client := http.Client{Transport: transport}
	fetch := func(path string) error {
		answer, err := client.Get(at + path)
		if err != nil {
			return err
		}
		defer answer.Body.Close()
		body, err := io.ReadAll(answer.Body)
		if err == nil && answer.StatusCode != http.StatusOK {
			err = fmt.Errorf("status %d: %.100s", answer.StatusCode, body)
		}
		return err
	}
	before := liveHeap()
	var begun, done atomic.Int32
	var all sync.WaitGroup
	for i := range crowd {
		all.Go(func() {
			begun.Add(1)
			// Each is of a day of its own: none is known from another.
			if err := fetch(fmt.Sprintf("/?note=load~hot~element~dead&date=%d-%02d-%02d", 2000+i/300, 1+i/25%12, 1+i%25)); err != nil {
				t.Errorf("visit %d: %v", i, err)
			}
			done.Add(1)
		})
	}
	for begun.Load() < crowd {
		runtime.Gosched()
	}
	for _, path := range []string{"/assets/page.css", "/bench?mode=hot&red=element.1&black=element.2"} {
		if err := fetch(path); err != nil {
			t.Error(err)
		}
		if n := done.Load(); n == crowd {
			t.Errorf("%s waited for all the visits", path)
		} else {
			t.Logf("%s came after %d of %d visits", path, n, crowd)
		}
	}
	all.Wait()
	transport.CloseIdleConnections()
	if after := liveHeap(); after > before+flatWithin {
		t.Errorf("memory grew from %d to %d bytes", before, after)
	}
}

// Five hundred that never finish asking, and five hundred that never read the
// answer, are in nobody's way.
func TestFiveHundredSlowConnections(t *testing.T) {
	if testing.Short() {
		t.Skip("opens a thousand connections")
	}
	at := serve(t, fileSource(small(t)), page.Options{})
	host := strings.TrimPrefix(at, "http://")
	for i := range 2 * crowd {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		request := "GET /?note=load~hot~element~dead HTTP/1.1\r\nHost: " + host + "\r\n"
		if i%2 == 0 {
			request = strings.Repeat(request+"\r\n", 20) // more than the network holds by itself
		}
		if _, err := io.WriteString(c, request); err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range []string{"/", "/bench?mode=hot", "/assets/page.js", "/?note=load~hot~element~weak"} {
		if code, body, _ := ask(t, http.MethodGet, at+path, nil); code != http.StatusOK {
			t.Errorf("%s: status %d: %.100s", path, code, body)
		}
	}
}
