package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"
)

// lines reads lines apart from whoever waits for them, so that an interrupt is
// not held up.
type lines struct {
	next chan string
	err  error
}

// line waits for the next one, its blanks trimmed. The error is the context's, io.EOF
// at the end, or why no more can be read.
func (l *lines) line(ctx context.Context) (string, error) {
	select {
	case <-ctx.Done():
		return "", ctx.Err()
	case line, ok := <-l.next:
		switch {
		case ok:
			return strings.TrimSpace(line), nil
		case l.err != nil:
			return "", l.err
		}
		return "", io.EOF
	}
}

// longest is the longest line taken.
const longest = 4096

// readLines reads what is typed, of a line no more than tells that it is too long.
func readLines(r io.Reader) *lines {
	l := &lines{next: make(chan string)}
	go func() {
		defer close(l.next)
		b := bufio.NewReader(r)
		for {
			line, err := readLine(b)
			if err == nil || line != "" {
				l.next <- line
			}
			if err != nil {
				if !errors.Is(err, io.EOF) {
					l.err = err
				}
				return
			}
		}
	}()
	return l
}

func readLine(b *bufio.Reader) (string, error) {
	var line []byte
	for {
		part, more, err := b.ReadLine()
		line = append(line, part[:min(len(part), longest+1-len(line))]...)
		if err != nil || !more {
			return string(line), err
		}
	}
}

// isTerminal reports whether a person sits at the other end.
func isTerminal(r io.Reader) bool {
	f, ok := r.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&fs.ModeCharDevice != 0
}
