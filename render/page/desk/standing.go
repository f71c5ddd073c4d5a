package desk

import (
	"fmt"
	"math/cmplx"
	"strings"

	"legtrace/circuit/meter"
)

// standing is what stays live with the machine switched off.
type standing struct {
	Mode  string
	Nodes []liveNode
	// Chassis says what a person beside the machine touches.
	Chassis string
	Limit   float64
}

// liveNode is places that stand at one voltage.
type liveNode struct {
	Volts   string // and to what, where that differs
	Places  []string
	Through string
	// Light names what of the diagram is live, for the page to show.
	Light string
}

func abs(v complex128) float64 { return cmplx.Abs(v) }

func (b *bench) live(x *situation) (*standing, error) {
	off := b.c.OffMode()
	s, err := b.meter.LiveParts(off, x.faults)
	if err != nil {
		return nil, err
	}
	v := &standing{Mode: b.c.Mode(off).Label, Limit: meter.HazardVolts}
	switch {
	case s.ChassisFloating:
		v.Chassis = "The frame floats: a fault could make it live."
	case s.Chassis >= meter.HazardVolts:
		v.Chassis = fmt.Sprintf("THE FRAME ITSELF IS LIVE: %.0f V to the supply's neutral point.", s.Chassis)
	}
	for _, n := range s.Nodes {
		node := liveNode{Volts: n.Volts.Short()}
		var light, through []string
		for _, t := range n.Terminals {
			node.Places = append(node.Places, b.c.PlaceLabel(t))
			light = append(light, "t:"+b.ref(t))
		}
		for _, id := range n.Way.Through {
			through = append(through, b.c.Label(id))
		}
		node.Through, node.Light = strings.Join(through, ", "), strings.Join(light, " ")
		v.Nodes = append(v.Nodes, node)
	}
	return v, nil
}
