package offline

import (
	"bytes"
	"encoding/binary"
	"errors"
	"slices"
)

// Go's linker begins a segment of data at every run of a few zeros, a hundred thousand
// of them: with their heads a twentieth of what is sent, and each is put in place by
// itself when the engine starts.

// farApart is how many zeros it takes for a segment of its own.
const farApart = 64

const dataSection = 11

var errNotWasm = errors.New("what the go command linked is no WebAssembly as it is known here")

// joined is a program for WebAssembly with its segments of data joined where few zeros
// are between them, and without what of them nobody reads: where functions are counted,
// their places.
func joined(program []byte, counted bool) ([]byte, error) {
	const head = 8 // magic and version
	if len(program) < head {
		return nil, errNotWasm
	}
	out := bytes.Clone(program[:head])
	for r := (reader{left: program[head:]}); len(r.left) > 0; {
		kind := r.take(1)
		body := r.take(r.number())
		if r.short {
			return nil, errNotWasm
		}
		var err error
		switch kind[0] {
		case codeSection:
			body, err = straightened(body)
		case dataSection:
			body, err = joinedData(body, counted)
		}
		if err != nil {
			return nil, err
		}
		out = append(binary.AppendUvarint(append(out, kind[0]), uint64(len(body))), body...)
	}
	return out, nil
}

// joinedData joins the segments of a section of data. Each is of memory 0, at a
// constant place.
func joinedData(section []byte, counted bool) ([]byte, error) {
	r := reader{left: section}
	var out, data []byte
	at, count, functions := 0, 0, 0
	flush := func() {
		if functions = max(functions, unnamed(data)); counted {
			unplaced(data, functions)
		}
		for len(data) > 0 {
			part, rest, _ := bytes.Cut(data, make([]byte, farApart))
			if len(part) > 0 {
				out = append(appendSigned(append(out, 0, i32Const), at), end)
				out = append(binary.AppendUvarint(out, uint64(len(part))), part...)
				count++
			}
			left := bytes.TrimLeft(rest, "\x00")
			at += len(data) - len(left)
			data = left
		}
	}
	for range r.number() {
		mem, op := r.number(), r.take(1)
		to, stop := r.signed(), r.take(1)
		bytes := r.take(r.number())
		if r.short || mem != 0 || op[0] != i32Const || stop[0] != end {
			return nil, errNotWasm
		}
		if gap := to - at - len(data); gap >= 0 && gap < farApart {
			data = append(data, make([]byte, gap)...)
		} else {
			flush()
			at = to
		}
		data = append(data, bytes...)
	}
	flush()
	return append(binary.AppendUvarint(nil, uint64(count)), out...), nil
}

// tables is how a table of functions begins that Go 1.20 and later link, on a processor
// like this one.
var tables = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

// unnamed clears in data, where the tables are in it as they are known here, what is only
// there for a trace of calls: names of functions, files and lines. They are a
// twenty-fifth of what is sent, and the engine shows them to nobody. It returns how many
// functions there are.
func unnamed(data []byte) int {
	at := bytes.Index(data, tables)
	if at < 0 || bytes.Count(data, tables) > 1 {
		return 0
	}
	table := data[at:]
	word := func(i int) int { return int(binary.LittleEndian.Uint64(table[8*i:])) }
	count, names, steps, list := word(1), word(4), word(7), word(8)
	if !slices.IsSorted([]int{0, names, steps, list, len(table)}) || list+8*count > len(table) {
		return 0
	}
	clear(table[names:steps])
	for i := range count {
		f := table[list:][binary.LittleEndian.Uint32(table[list+8*i+4:]):]
		clear(f[4:8])   // the name
		clear(f[20:28]) // files and lines, by instruction
		clear(f[32:40]) // of the files, and the first line
	}
	return count
}

// unplaced clears in data the table in which a function is found by a place in it: 320
// bytes for each, a sixth of the engine and as much of a tab's memory. In a program for
// WebAssembly its number stands in the place itself, and there it is read ([byCount]).
func unplaced(data []byte, functions int) {
	var want []byte
	for f := range max(0, functions-2) {
		for range 16 {
			want = append(binary.LittleEndian.AppendUint32(want, uint32(f+1)), make([]byte, 16)...)
		}
	}
	if len(want) == 0 {
		return
	}
	if at := bytes.Index(data, want[:320]); at >= 0 && bytes.HasPrefix(data[at:], want) {
		clear(data[at:][:len(want)])
	}
}

// Instructions: a constant, and the end of what is worked out.
const i32Const, end = 0x41, 0x0b

// reader reads what is left; short is set where that is too little.
type reader struct {
	left  []byte
	short bool
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.left) {
		r.short, r.left = true, nil
		return make([]byte, 1)
	}
	b := r.left[:n]
	r.left = r.left[n:]
	return b
}

func (r *reader) number() int {
	v, n := binary.Uvarint(r.left)
	r.take(max(n, 1))
	return int(v)
}

// signed reads a number in the signed form of LEB128.
func (r *reader) signed() int {
	v := 0
	for shift := 0; ; shift += 7 {
		b := r.take(1)[0]
		v |= int(b&0x7f) << shift
		if b < 0x80 {
			if b&0x40 != 0 {
				v |= -1 << (shift + 7)
			}
			return v
		}
	}
}

// appendSigned writes a number that is not negative in the signed form of LEB128.
func appendSigned(b []byte, v int) []byte {
	for ; v > 0x3f; v >>= 7 {
		b = append(b, byte(v&0x7f|0x80))
	}
	return append(b, byte(v))
}
