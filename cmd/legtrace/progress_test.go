package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

// What takes over a second says how far it is: a bar that goes when something else
// is written, or lines that grow seldom.
func TestLongWorkSaysHowFarItIs(t *testing.T) {
	var errs bytes.Buffer
	p := newProgress(nil) // says nothing by itself
	defer p.end()
	p.to = &errs
	at := func(took time.Duration, done int) string {
		errs.Reset()
		p.tell(done, 40)
		p.began = time.Now().Add(-took)
		p.speak()
		return errs.String()
	}
	if got := at(500*time.Millisecond, 1); got != "" {
		t.Errorf("after half a second: %q", got)
	}
	if got := at(1500*time.Millisecond, 10); got != "legtrace: at work for 1 s, this step at 25 %\n" {
		t.Errorf("after a second: %q", got)
	}
	if got := at(1700*time.Millisecond, 11); got != "" {
		t.Errorf("soon after: %q", got)
	}
	p.bar = true
	if got := at(2500*time.Millisecond, 10); got != "\r[#####...............] 2 s" {
		t.Errorf("on a terminal: %q", got)
	}
	errs.Reset()
	(&terminal{err: &errs, progress: p}).warn("a word")
	if blank, rest, _ := strings.Cut(strings.TrimPrefix(errs.String(), "\r"), "\r"); strings.TrimSpace(blank) != "" || rest != "legtrace: warning: a word\n" {
		t.Errorf("beside a bar it says %q", errs.String())
	}
}

// Every command that works out something, and none that converses, is watched.
func TestWhoSaysHowFarItIs(t *testing.T) {
	for _, cmd := range newRoot(&terminal{}).Commands() {
		if got, want := converses(cmd), strings.Contains(" visit page drill new describe ", " "+cmd.Name()+" "); got != want {
			t.Errorf("%s converses: %v", cmd.Name(), got)
		}
	}
}
