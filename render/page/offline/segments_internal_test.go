package offline

import (
	"bytes"
	"encoding/binary"
	"testing"

	"pgregory.net/rapid"
)

// memoryOf is what segments of data put in memory, read by the binary format of
// WebAssembly (the specification, 5.5.14), and how many they are.
func memoryOf(t *rapid.T, section []byte) (memory []byte, segments int) {
	r := reader{left: section}
	segments = r.number()
	for range segments {
		r.take(2)
		at := r.signed()
		r.take(1)
		data := r.take(r.number())
		memory = append(memory, make([]byte, max(0, at+len(data)-len(memory)))...)
		copy(memory[at:], data)
	}
	if r.short || len(r.left) > 0 {
		t.Fatalf("%x is no section of data", section)
	}
	return memory, segments
}

// Joined segments put in memory what they did, and few zeros part none.
func TestJoinedSegments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []byte
		count, at, want := rapid.IntRange(1, 9).Draw(t, "segments"), 0, 0
		for range count {
			gap := rapid.SampledFrom([]int{0, 1, farApart - 1, farApart, 9000}).Draw(t, "gap")
			data := rapid.SliceOfN(rapid.ByteMin(1), 1, 200).Draw(t, "data")
			if want == 0 || gap >= farApart {
				want++
			}
			at += gap
			list = append(appendSigned(append(list, 0, i32Const), at), end)
			list = append(binary.AppendUvarint(list, uint64(len(data))), data...)
			at += len(data)
		}
		section := append(binary.AppendUvarint(nil, uint64(count)), list...)
		program := append([]byte("\x00asm\x01\x00\x00\x00\x00\x02\x01x"), dataSection)
		got, err := joined(append(binary.AppendUvarint(program, uint64(len(section))), section...), true)
		if err != nil {
			t.Fatal(err)
		}
		rest, is := bytes.CutPrefix(got, program)
		_, n := binary.Uvarint(rest)
		if !is || n < 1 {
			t.Fatalf("%x is no program any more", got)
		}
		was, _ := memoryOf(t, section)
		now, left := memoryOf(t, rest[n:])
		if !bytes.Equal(was, now) || left != want {
			t.Errorf("%d segments became %d, %d are wanted; memory %x became %x", count, left, want, was, now)
		}
	})
	if _, err := joined([]byte("\x00asm\x01\x00\x00\x00\x0b\x05\x01\x01"), true); err == nil {
		t.Error("a section cut off is taken for one")
	}
}
