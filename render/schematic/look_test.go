package schematic

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"legtrace/circuit"
)

func TestLook(t *testing.T) {
	for _, c := range append(shipped(t), everyKind(t)) {
		for i := range c.Modes() {
			d := drawn(t, c, circuit.ModeID(i))
			var b, ie bytes.Buffer
			t0 := time.Now()
			if err := Render(context.Background(), &b, d); err != nil {
				t.Fatal(err)
			}
			t1 := time.Since(t0)
			d.Symbols = IEEE
			if err := Render(context.Background(), &ie, d); err != nil {
				t.Fatal(err)
			}
			l, _ := layOut(context.Background(), &d)
			have := map[string]bool{}
			v := 0
			for _, x := range l.texts {
				if x.class == "wirename" {
					for _, f := range strings.Fields(strings.ReplaceAll(x.s, ",", " ")) {
						have[f] = true
					}
				}
				if x.class == "volts" {
					v++
				}
			}
			var miss []string
			for _, w := range c.Wires() {
				if !have[w.Name] {
					miss = append(miss, w.Name)
				}
			}
			known := 0
			for _, n := range l.nets {
				if len(n.wires) > 0 && d.Volts[n.pins[0].terminal()].Known {
					known++
				}
			}
			t.Log(c.Name(), c.Modes()[i].Name, t1, b.Len(), "no name:", miss, "volts", v, "of", known)
			os.WriteFile("/tmp/look/"+c.Name()+"-"+c.Modes()[i].Name+"-ieee.svg", ie.Bytes(), 0o644)
			os.WriteFile("/tmp/look/"+c.Name()+"-"+c.Modes()[i].Name+".svg", b.Bytes(), 0o644)
		}
	}
}
