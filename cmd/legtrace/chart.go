package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// chartProgram draws charts: a program of its own, see cmd/legtrace-chart.
const chartProgram = "legtrace-chart"

// chart writes a graph as what the file's name ends in: DOT as it is, and all
// else as legtrace-chart draws it.
func (t *terminal) chart(ctx context.Context, dot []byte, file string) error {
	if err := t.spare(file); err != nil {
		return err
	}
	switch strings.ToLower(filepath.Ext(file)) {
	case ".dot", ".gv":
		return writeFile(file, dot)
	case ".svg", ".png", ".html":
	default:
		if file == "-" {
			return t.print(dot)
		}
		return fmt.Errorf("a chart is written as NAME.svg, NAME.png, NAME.html or NAME.dot, or as - for DOT on standard output: not as %q", file)
	}
	program, err := findChart()
	if err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, program, "--output", file)
	cmd.Stdin = bytes.NewReader(dot)
	cmd.WaitDelay = time.Second / 2
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Run(); err != nil {
		return errors.Join(ctx.Err(), fmt.Errorf("%s: %w: %s", chartProgram, err, bytes.TrimSpace(said.Bytes())))
	}
	return nil
}

// findChart finds the program on the path, or beside this one.
func findChart() (string, error) {
	if path, err := exec.LookPath(chartProgram); err == nil {
		return path, nil
	}
	if own, err := os.Executable(); err == nil {
		beside := filepath.Join(filepath.Dir(own), chartProgram)
		if runtime.GOOS == "windows" {
			beside += ".exe"
		}
		if _, err := os.Stat(beside); err == nil {
			return beside, nil
		}
	}
	return "", errors.New(`legtrace-chart is not installed, which draws charts. It is in a release's archive;
from a checkout: go install ./cmd/legtrace-chart.
NAME.dot instead writes the graph itself, for any tool that reads DOT`)
}
