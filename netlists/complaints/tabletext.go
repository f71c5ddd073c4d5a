package complaints

import (
	"cmp"
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// A table is written in TOML, and takes little of it: strings, lists of them, whole
// numbers, truths, and tables of these. A reader of that alone has it in a tenth of the
// time that one of all TOML takes, which a saved page's engine would spend on a phone.

// text is what is left to read of a table.
type text struct {
	rest  string
	order map[string][]string // the keys of each section, as they stand
	named map[reflect.Type]map[string][]int
	err   error
}

// decode reads a table into what holds it, and tells the order of its keys.
func decode(data string, into *file) (order map[string][]string, err error) {
	t := &text{rest: data, order: map[string][]string{}, named: map[reflect.Type]map[string][]int{}}
	root := reflect.ValueOf(into).Elem()
	t.keys(root, "")
	for t.takes('[') {
		if t.takes('[') {
			t.fill(root, t.key(), func(rows reflect.Value) {
				t.want(']')
				t.want(']')
				rows.Set(reflect.Append(rows, reflect.Zero(rows.Type().Elem())))
				t.keys(rows.Index(rows.Len()-1), "")
			})
			continue
		}
		section := t.key()
		t.fill(root, section, func(v reflect.Value) {
			if t.takes(']') {
				t.keys(v, section)
				return
			}
			t.want('.')
			key := t.key()
			t.want(']')
			t.order[section] = append(t.order[section], key)
			t.fill(v, key, func(v reflect.Value) { t.keys(v, "") })
		})
	}
	if t.skip(); t.rest != "" {
		t.slip("%.20q is not expected", t.rest)
	}
	return t.order, t.err
}

// keys fills what its keys name, up to the head of what follows.
func (t *text) keys(v reflect.Value, section string) {
	var order []string
	for t.skip(); t.rest != "" && t.rest[0] != '['; t.skip() {
		key := t.key()
		t.want('=')
		order = append(order, key)
		t.fill(v, key, t.value)
	}
	t.order[section] = order
}

// fill fills what a key names in a structure or a map.
func (t *text) fill(v reflect.Value, key string, with func(reflect.Value)) {
	if v.Kind() == reflect.Map {
		if v.IsNil() {
			v.Set(reflect.MakeMap(v.Type()))
		}
		e := reflect.New(v.Type().Elem()).Elem()
		with(e)
		v.SetMapIndex(reflect.ValueOf(key), e)
		return
	}
	at, ok := t.fields(v.Type())[key]
	if !ok {
		t.slip("unknown key %s", key)
		return
	}
	with(v.FieldByIndex(at))
}

// fields are those of a structure by what they are called in a table.
func (t *text) fields(of reflect.Type) map[string][]int {
	m := t.named[of]
	if m == nil && of.Kind() == reflect.Struct {
		m = map[string][]int{}
		for _, f := range reflect.VisibleFields(of) {
			m[cmp.Or(f.Tag.Get("toml"), strings.ToLower(f.Name))] = f.Index
		}
		t.named[of] = m
	}
	return m
}

func (t *text) value(v reflect.Value) {
	t.skip()
	switch to := v.Addr().Interface().(type) {
	case *string:
		*to = t.quoted()
	case *[]string:
		for t.want('['); t.err == nil && !t.takes(']'); t.takes(',') {
			*to = append(*to, t.quoted())
		}
	case *bool:
		w := t.word()
		if *to = w == "true"; !*to && w != "false" {
			t.slip("%q stands where true or false is wanted", w)
		}
	case *int:
		n, err := strconv.Atoi(t.word())
		if *to = n; err != nil {
			t.slip("%w", err)
		}
	default:
		for t.want('{'); t.err == nil && !t.takes('}'); t.takes(',') {
			key := t.key()
			t.want('=')
			t.fill(v, key, t.value)
		}
	}
}

// slip puts down what is wrong, and ends the reading.
func (t *text) slip(format string, args ...any) {
	t.err, t.rest = cmp.Or(t.err, fmt.Errorf(format, args...)), ""
}

// skip goes on to what is no blank and no comment.
func (t *text) skip() {
	for {
		n := 0
		for n < len(t.rest) && t.rest[n] <= ' ' {
			n++
		}
		if t.rest = t.rest[n:]; !strings.HasPrefix(t.rest, "#") {
			return
		}
		_, t.rest, _ = strings.Cut(t.rest, "\n")
	}
}

// takes takes a mark, if it is what comes.
func (t *text) takes(mark byte) bool {
	t.skip()
	if t.rest == "" || t.rest[0] != mark {
		return false
	}
	t.rest = t.rest[1:]
	return true
}

func (t *text) want(mark byte) {
	if !t.takes(mark) {
		t.slip("%.20q stands where %q is wanted", t.rest, mark)
	}
}

// key is the name of what follows.
func (t *text) key() string {
	if t.skip(); strings.HasPrefix(t.rest, `"`) {
		return t.quoted()
	}
	return t.word()
}

// word takes letters and figures without quotes.
func (t *text) word() string {
	n := 0
	for n < len(t.rest) && (t.rest[n] == '_' || t.rest[n] >= '0' && t.rest[n] <= '9' || t.rest[n] >= 'a' && t.rest[n] <= 'z') {
		n++
	}
	if n == 0 {
		t.slip("%.20q stands where a word is wanted", t.rest)
	}
	w := t.rest[:n]
	t.rest = t.rest[n:]
	return w
}

// quoted is a string, part of the table's own text where that says it as it is.
func (t *text) quoted() string {
	t.skip()
	if said, ok := strings.CutPrefix(t.rest, `"""`); ok {
		said, t.rest, _ = strings.Cut(said, `"""`)
		return strings.TrimPrefix(said, "\n")
	}
	if t.rest != "" && t.rest[0] == '"' {
		n := strings.IndexByte(t.rest[1:], '"') + 1
		if said := t.rest[1:max(n, 1)]; n > 0 && strings.IndexByte(said, '\\') < 0 {
			t.rest = t.rest[n+1:]
			return said
		}
	}
	said, err := strconv.QuotedPrefix(t.rest)
	if err != nil {
		t.slip("%.20q stands where words are wanted", t.rest)
		return ""
	}
	t.rest = t.rest[len(said):]
	said, _ = strconv.Unquote(said)
	return said
}
