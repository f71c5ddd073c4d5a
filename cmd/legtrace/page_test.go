package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The command says where the page is, serves it, follows the file, and ends in
// good order when it is told to.
func TestPageIsServedUntilInterrupted(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.toml")
	if err := os.WriteFile(file, []byte(tiny), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, in := io.Pipe()
	var said strings.Builder
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"page", "--netlist", file}, in, &said, false)
		in.Close()
	}()
	address, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("no address: %v; exit code %d: %s", err, <-ended, said.String())
	}
	address = strings.TrimSpace(address)
	if !strings.HasPrefix(address, "http://127.0.0.1:") {
		t.Errorf("address %q is not on this computer alone", address)
	}
	shows := func(want string) {
		t.Helper()
		html := ""
		for range 100 {
			answer, err := http.Get(address + "?door=explore")
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(answer.Body)
			answer.Body.Close()
			if err != nil {
				t.Fatal(err)
			}
			if html = string(body); strings.Contains(html, want) {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
		t.Fatalf("the page never shows %q:\n%.1500s", want, html)
	}
	shows("High limit")
	if err := os.WriteFile(file, []byte(strings.Replace(tiny, "watts", "wats", 1)), 0o666); err != nil {
		t.Fatal(err)
	}
	shows("mine.toml:6:")
	stop()
	select {
	case code := <-ended:
		if code != exitFine {
			t.Errorf("exit code %d: %s", code, said.String())
		}
	case <-time.After(10 * time.Minute):
		t.Error("an interrupt does not end it")
	}
}
