package netlists

// Decode reads a TOML file that is no netlist, such as a visit, into the
// struct that a pointer leads to, by the toml tags of its fields and as
// strictly as a netlist is read. What names the kind of file in errors: "a
// visit". The error is of type [Errors].
func Decode(name string, src []byte, what string, into any) (*Positions, error) {
	var found collector
	d := decodeInto(name, src, what, into, &found)
	switch {
	case d == nil:
		return nil, found.sorted()
	case found.failed():
		return d.positions, found.sorted()
	}
	return d.positions, nil
}

// decodeInto is [Decode] that says to a collector what is wrong; nil where the text
// cannot be parsed.
func decodeInto(name string, src []byte, what string, into any, found *collector) *decoder {
	root := parseVetted(name, src, found)
	if root == nil {
		return nil
	}
	d := newDecoder(found, root)
	v := reflectOf(into)
	fields := fieldsByTag(v.Type())
	for _, key := range root.table.names {
		n := root.get(key)
		i, ok := fields[key]
		if !ok {
			d.unknownKey(n, key, what, keysOf(fields))
			continue
		}
		cursor{d: d, path: key, item: key}.value(n, v.Field(i))
	}
	return d
}

// Problem places what is wrong with the value of a path.
func (p *Positions) Problem(path, hint, message string) Error {
	return Error{Position: p.Nearest(path), Message: sanitise(message), Hint: sanitise(hint)}
}

// Sorted puts errors in the order of the file.
func (e Errors) Sorted() Errors { return (&collector{errs: e}).sorted() }
