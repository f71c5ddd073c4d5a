package schematic

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestBalanceKeepsLinesAlike(t *testing.T) {
	got := balance("Control supply plug L", labelSize, 120, 3)
	if diff := cmp.Diff([]string{"Control supply", "plug L"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestWrapKeepsToTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		width := rapid.IntRange(1, 200).Draw(t, "width")
		lines := wrap(s, labelSize, width, 3)
		if len(lines) > 3 {
			t.Fatalf("%d lines", len(lines))
		}
		for _, line := range lines {
			if len([]rune(line)) > 2 && textWidth(line, labelSize) > width {
				t.Fatalf("%q is wider than %d", line, width)
			}
		}
	})
}
