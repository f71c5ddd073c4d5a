package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"legtrace/circuit"
	"legtrace/render/report"
)

// keepAll writes the sheets, numbered where there are several, and notes their
// files.
func (m *machine) keepAll(t *terminal, d *report.Drawn, sheets [][]byte, file string, mode circuit.ModeID) error {
	for i, svg := range sheets {
		name := file
		if len(sheets) > 1 {
			if name == "" {
				name = m.drawingName(mode)
			}
			ext := filepath.Ext(name)
			name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), i+1, ext)
			if file == "" && !replaceable(name) {
				return notOurs(name)
			}
		}
		kept, err := m.keep(t, svg, name, mode)
		if err != nil {
			return err
		}
		if i == 0 {
			d.File = kept
		}
		if len(sheets) > 1 {
			d.Sheets = append(d.Sheets, kept)
		}
	}
	return nil
}

// keep writes a drawing to the file named, or to one named after the machine
// and mode, and returns which. A file whose name the person did not choose is
// only replaced if it is a drawing of ours.
func (m *machine) keep(t *terminal, svg []byte, file string, mode circuit.ModeID) (string, error) {
	if file != "" {
		return t.wrote(file, svg)
	}
	file = m.drawingName(mode)
	if !replaceable(file) {
		return "", notOurs(file)
	}
	return t.wrote(file, svg)
}

func (m *machine) drawingName(mode circuit.ModeID) string {
	name := m.Circuit.Name()
	if name == "" {
		name = "machine"
	}
	return fmt.Sprintf("legtrace-%s-%s.svg", name, m.Circuit.Mode(mode).Name)
}

func notOurs(file string) error {
	return fmt.Errorf("%s is there already and is not a drawing of legtrace's: choose a name with --output", file)
}

// wrote names a file only if it could be written.
func (t *terminal) wrote(file string, data []byte) (string, error) {
	if err := t.write(file, data); err != nil {
		return "", err
	}
	return file, nil
}

// signature ends every drawing of ours.
const signature = "<!-- drawn by legtrace -->\n"

// replaceable reports whether a file is absent or a drawing of ours.
func replaceable(file string) bool {
	f, err := os.Open(file)
	if err != nil {
		return errors.Is(err, os.ErrNotExist)
	}
	defer f.Close()
	if _, err := f.Seek(-int64(len(signature)), io.SeekEnd); err != nil {
		return false
	}
	end, err := io.ReadAll(io.LimitReader(f, int64(len(signature))))
	return err == nil && string(end) == signature
}
