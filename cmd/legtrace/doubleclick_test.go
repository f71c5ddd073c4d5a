package main

import (
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Opened from a desktop, the program opens its page and a tab that stops it.
func TestADoubleClickOpensThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program")
	}
	if _, err := exec.LookPath("sh"); err != nil || opener("").Args[0] != "xdg-open" {
		t.Skip("the desktop is made of a script for xdg-open")
	}
	dir := t.TempDir()
	seen := filepath.Join(dir, "seen")
	if err := os.WriteFile(filepath.Join(dir, "xdg-open"), []byte("#!/bin/sh\necho \"$1\" >> "+seen+"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0]) // standard input and output are nothing
	cmd.Env = append(os.Environ(), asProgram+"=1", "DISPLAY=:0", "PATH="+dir+string(os.PathListSeparator)+os.Getenv("PATH"))
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	defer cmd.Process.Kill()
	var addresses []string
	for len(addresses) < 2 {
		select {
		case err := <-ended:
			t.Fatalf("it ended with %v, having opened %q", err, addresses)
		case <-time.After(20 * time.Millisecond):
			text, _ := os.ReadFile(seen)
			addresses = strings.Fields(string(text))
		}
	}
	body := func(answer *http.Response, err error) string {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	tab, page := addresses[0], addresses[1]
	if got := body(http.Get(page)); !strings.Contains(got, "Find the fault") {
		t.Errorf("the page is %.300s", got)
	}
	if got := body(http.Get(tab)); !strings.Contains(got, page) || !strings.Contains(got, "Stop legtrace") {
		t.Errorf("the tab is %s", got)
	}
	if got := body(http.Post(tab[:strings.LastIndex(tab, "/")+1], "", nil)); strings.Contains(got, "stopped") {
		t.Error("who does not know the tab's address stops it")
	}
	if got := body(http.Post(tab, "", nil)); !strings.Contains(got, "It is stopped") {
		t.Errorf("stopped, the tab is %s", got)
	}
	if err := <-ended; err != nil {
		t.Errorf("it ended with %v", err)
	}
}
