package offline

import (
	"bytes"
	"slices"
	"testing"
)

// bodyOf is a function as Go's compiler lays it out, with the jumps of its second of
// three blocks: on top, within a block that is left to unwind, the loop with the table.
func bodyOf(jumps ...byte) []byte {
	return slices.Concat([]byte{1, 1, 0x7f, opBlock, noResult, opLoop, noResult, opBlock, noResult, opBlock, noResult, opBlock, noResult,
		opLocalGet, 0, opBrTable, 3, 0, 1, 2, 2, end, opI64Const, 1, 0x1a, end}, jumps, []byte{end, end, 0, end, i32Const, 1, end})
}

// A jump ahead goes there, one back over the top; where nothing else is done if something
// holds, the jump itself asks. What is put in the variable for a call stays.
func TestStraightJumps(t *testing.T) {
	to := func(k, loop byte) []byte { return []byte{i32Const, k, opLocalSet, blockVar, opBr, loop} }
	within := func(inner ...[]byte) []byte {
		return slices.Concat([]byte{opLocalGet, 2, opIf, noResult}, slices.Concat(inner...), []byte{end})
	}
	work := []byte{i32Const, 7, 0x1a}
	for _, c := range []struct {
		name     string
		was, got []byte
	}{
		{"ahead", to(2, 1), []byte{opBr, 0}},
		{"back", to(1, 1), to(1, 1)},
		{"back, if", within(to(0, 2)), within(to(0, 2))},
		{"ahead, if", within(to(2, 2)), []byte{opLocalGet, 2, opBrIf, 0}},
		{"ahead, if, after work", within(work, to(2, 2)), within(work, []byte{opBr, 1})},
		{"ahead, if, else", within(to(2, 2), []byte{opElse}, work), within([]byte{opBr, 1, opElse}, work)},
		{"to unwind", []byte{i32Const, 2, opLocalSet, blockVar, opBr, 2}, []byte{i32Const, 2, opLocalSet, blockVar, opBr, 2}},
		{"for a call", []byte{opLocalSet, 0, i32Const, 0, opLocalGet, 0, opCallIndirect, 0, 0}, []byte{opLocalSet, 0, i32Const, 0, opLocalGet, 0, opCallIndirect, 0, 0}},
	} {
		if got, ok := straight(bodyOf(c.was...)); !ok || !bytes.Equal(got, bodyOf(c.got...)) {
			t.Errorf("%s: %x, %v; want %x", c.name, got, ok, bodyOf(c.got...))
		}
	}
	for _, strange := range [][]byte{{opLocalGet, 0, 0x1a}, {0xfd, 12}, {opBlock, 0x7f, i32Const, 1, end, 0x1a}, {end, end, end, end, end}} {
		if got, ok := straight(bodyOf(strange...)); ok {
			t.Errorf("%x is changed to %x", strange, got)
		}
	}
	for n := range bodyOf() {
		straight(bodyOf()[:n]) // cut off anywhere
	}
}
