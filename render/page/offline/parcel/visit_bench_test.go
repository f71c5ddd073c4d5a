package parcel_test

import (
	"fmt"
	"html"
	"regexp"
	"testing"
	"time"

	"legtrace/cmd/library"
	"legtrace/render/page/offline/parcel"
)

// BenchmarkVisit is a visit as a saved page leads it: a machine chosen, wires broken, the
// visit made ready, the complaint and three answers, each in milliseconds. The page
// has one thread: to be run with -cpu 1.
func BenchmarkVisit(b *testing.B) {
	for _, v := range []struct{ machine, said string }{
		{"range-electronic", "broiler+barely+glows,+bake+is+fine"}, {"range-slide-in-3wire", "oven+does+not+heat"}, {"dryer-electronic", "drum+turns+but+no+heat"},
	} {
		b.Run(v.machine, func(b *testing.B) {
			took := map[string]time.Duration{}
			for range b.N {
				leadVisit(b, "?machine=catalog:"+v.machine, v.said, took)
			}
			for _, lap := range []string{"first", "drawing", "tap", "ready", "complaint", "answer", "redrawn", "told"} {
				b.ReportMetric(float64(took[lap].Microseconds())/1000/float64(b.N), "ms-"+lap)
			}
		})
	}
}

func leadVisit(b *testing.B, machine, said string, took map[string]time.Duration) {
	e, err := parcel.Open([]byte(`{"choose":true}`), library.New(""))
	if err != nil {
		b.Fatal(err)
	}
	ask := func(lap, path, query string) (string, string) {
		began := time.Now()
		a, err := e.Answer(b.Context(), path, query, "")
		took[lap] += time.Since(began)
		if err != nil {
			b.Fatal(err)
		}
		return string(a.Body), a.State
	}
	ask("first", "/bench", machine+"&door=explore")
	ask("drawing", "/drawing", machine+"&door=explore")
	for i := range 4 {
		ask("tap", "/bench", fmt.Sprintf("%s&door=explore&fault=w0%d:open", machine, i+1))
	}
	ask("ready", "/ready", machine+"&door=find")
	_, state := ask("complaint", "/bench", machine+"&door=find&tell="+said)
	for i, lap := range []string{"complaint", "answer", "answer", "answer"} {
		card, _ := ask(lap, "/visit", state)
		ask("redrawn", "/drawing", state)
		ask("told", "/told", state)
		key := answerKey.FindStringSubmatch(card)
		if i == 3 || key == nil && i > 0 {
			return
		}
		if key == nil {
			b.Fatalf("no test to answer: %s", card)
		}
		_, state = ask(lap, "/bench", html.UnescapeString(key[1]))
	}
}

var answerKey = regexp.MustCompile(`data-answer="[^"]*" href="/([^"]*)"`)
