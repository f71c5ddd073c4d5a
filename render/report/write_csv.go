package report

import (
	"encoding/csv"
	"io"
	"iter"
	"strconv"
	"strings"
)

// writeCSV writes rows under a line of titles.
func writeCSV(w io.Writer, titles []string, rows iter.Seq[[]string]) error {
	out := csv.NewWriter(w)
	if err := out.Write(titles); err != nil {
		return err
	}
	for row := range rows {
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// number writes a figure that may be missing.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

// cell keeps text from being taken for a formula by a spreadsheet.
func cell(s string) string {
	s = plain(s)
	if s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		if _, err := strconv.ParseFloat(s, 64); err != nil {
			return "'" + s
		}
	}
	return s
}
