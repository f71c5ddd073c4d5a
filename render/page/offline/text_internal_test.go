package offline

import (
	"bytes"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// plain reads text back as assets/engine.js does.
func plain(t *rapid.T, s string) []byte {
	length, rest, _ := strings.Cut(s, ":")
	n, err := strconv.Atoi(length)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	held, bits := 0, 0
	for _, c := range rest {
		switch c := int(c); {
		case c < 128:
			held, bits = held<<7|c, bits+7
		case c < 192:
			held, bits = held<<13|(c-128), bits+13
		case c < 224:
			held, bits = held<<12|'\r'<<5|(c-192), bits+12
		case c < 240:
			held, bits = held<<11|'/'<<4|c&15, bits+11
		default:
			held, bits = held<<11|'!'<<4|c&15, bits+11
		}
		for ; bits >= 8; bits -= 8 {
			out = append(out, byte(held>>(bits-8)))
		}
		held &= 127
	}
	return out[:n]
}

// Whatever is written as text of a page is read back, and a browser finds nothing in it
// that it reads otherwise (HTML Standard, 13.2.3.5 and 13.2.5.4).
func TestTextOfAPage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOf(rapid.OneOf(rapid.Byte(), rapid.SampledFrom([]byte{0, 13, 0x78, 0x79, 0x5e, 0xf0, 0xbc, 0x2f, 0x1a, 0xff}))).Draw(t, "data")
		for i := range 7 { // at every shift of bits
			with := append(bytes.Repeat([]byte{0xf1}, i), data...)
			s := text(with)
			if bad := strings.IndexAny(s, "\x00\r"); bad >= 0 || strings.Contains(s, "</") || strings.Contains(s, "<!") {
				t.Fatalf("%q", s)
			}
			if got := plain(t, s); !bytes.Equal(got, with) {
				t.Fatalf("%x is read as %x", with, got)
			}
		}
	})
}
