package parcel_test

import (
	"encoding/json"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/netlists"
	"legtrace/render/page/desk"
	"legtrace/render/page/offline/parcel"
)

// catalog reads every machine that comes with legtrace.
func catalog(t *testing.T) []*circuit.Circuit {
	t.Helper()
	var out []*circuit.Circuit
	for _, e := range netlists.Catalog() {
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, c)
	}
	return out
}

// sent packs a machine up, and what it is a variant of, and opens it elsewhere.
func sent(t *testing.T, c, base *circuit.Circuit) []byte {
	t.Helper()
	data, err := json.Marshal(parcel.New(c, base, "machine.toml", true))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestEveryMachineArrivesAsItWas(t *testing.T) {
	for _, c := range catalog(t) {
		data := sent(t, c, nil)
		var p parcel.Parcel
		if err := json.Unmarshal(data, &p); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.Spec(), *p.Machine); diff != "" {
			t.Errorf("%s arrives otherwise:\n%s", c.Name(), diff)
		}
		got, problems := circuit.Build(*p.Machine)
		if got == nil {
			t.Fatal(c.Name(), problems)
		}
		if !reflect.DeepEqual(c, got) {
			t.Errorf("%s is another circuit once it has arrived", c.Name())
		}
	}
}

// Whatever the mode, the faults and what is set by hand; a variant in the order of
// its machine.
func TestDrawnAsWhereItCameFrom(t *testing.T) {
	const variant = "range-slide-in-3wire"
	for i, entry := range append(netlists.Machines(), netlists.Entry{Name: variant, Of: "range-slide-in"}) {
		if !circuittest.Sampled(i, 2) && entry.Name != variant {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		var base *circuit.Circuit
		if entry.Of != "" {
			if base, err = netlists.Open(entry.Of); err != nil {
				t.Fatal(err)
			}
		}
		data := sent(t, c, base)
		e, err := parcel.Open(data, desk.Library{})
		if err != nil {
			t.Fatal(err)
		}
		d := desk.NewShop(c, desk.Library{}.Like(base))
		for i, m := range c.Modes()[:min(4, len(c.Modes()))] {
			q := url.Values{"mode": {m.Name}}
			switch wire := c.Wires()[i%len(c.Wires())].Name; i % 4 {
			case 1:
				q["fault"] = []string{wire + ":open", c.Wires()[0].Name + ":open"}
			case 2:
				q["view"] = []string{"feed"}
			case 3:
				for _, part := range c.Parts() {
					if len(part.Positions) > 1 {
						q["set"] = []string{part.Name + ":" + part.Positions[1]}
					}
				}
			}
			want, err := d.Answer(t.Context(), desk.Request{Path: "/drawing", Query: q, File: "machine.toml"})
			if err != nil {
				t.Fatal(err)
			}
			got, err := e.Answer(t.Context(), "/drawing", "?"+q.Encode(), "")
			if err != nil {
				t.Fatal(err)
			}
			if string(got.Body) != string(want.Body) {
				t.Errorf("%s with %s is drawn otherwise", c.Name(), q.Encode())
			}
		}
	}
}

func TestDamagedParcels(t *testing.T) {
	for _, data := range []string{"", "null", "{}", "[]", `{"machine":7}`, `{"machine":{"Name":"x"}}`, strings.Repeat("[", 1<<20)} {
		if _, err := parcel.Open([]byte(data), desk.Library{}); err == nil {
			t.Errorf("%.40q opens", data)
		} else if strings.Contains(err.Error(), "panic") {
			t.Errorf("%.40q: %v", data, err)
		}
	}
}

func TestAddressesThatAreNone(t *testing.T) {
	data := sent(t, catalog(t)[0], nil)
	e, err := parcel.Open(data, desk.Library{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range [][2]string{{"/events", "?"}, {"", ""}, {"/bench", "?" + strings.Repeat("note=a&", 1<<12)}} {
		if got, err := e.Answer(t.Context(), a[0], a[1], ""); err == nil {
			t.Errorf("%q %.40q is answered: %.100s", a[0], a[1], got.Body)
		}
	}
	if _, err := e.Answer(t.Context(), "/bench", "?a=%zz&mode=;", ""); err != nil {
		t.Errorf("a slip in an address: %v", err)
	}
	var none parcel.Engine
	if _, err := none.Answer(t.Context(), "/drawing", "?", ""); err == nil || !strings.Contains(err.Error(), "slipped") {
		t.Errorf("a panic is told as %v", err)
	}
}
