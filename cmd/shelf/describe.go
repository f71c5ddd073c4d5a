package shelf

import (
	"cmp"
	"errors"
	"path/filepath"
	"strings"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/netlists/describe"
	"legtrace/render/page/desk"
)

// describeLine writes a line into a netlist that a person describes; an empty text
// begins one.
func describeLine(file, text, line string) desk.Described {
	file = filepath.Base(cmp.Or(file, "mine.toml"))
	if text == "" {
		text = string(describe.Begin("mine"))
	}
	out := desk.Described{Text: text, Lines: []string{}, Names: []string{}}
	if from := netlists.StartsFrom(file, []byte(text)); from != "" && !strings.HasPrefix(from, catalogPrefix) {
		out.Error = "it starts from " + from + ", which is not at hand here"
		return out
	}
	after, said, err := describe.Enter(file, []byte(text), line)
	var unknown *describe.Unknown
	switch {
	case errors.As(err, &unknown):
		out.Ask = unknown.Part
	case err != nil:
		out.Error = err.Error()
	default:
		out.Text, out.Said = string(after), said
	}
	spec, _, err := netlists.Parse(file, []byte(out.Text))
	if err != nil {
		return out
	}
	out.Lines = describe.List(spec)
	for _, p := range spec.Parts {
		out.Names = append(out.Names, p.Name)
	}
	if c, _ := circuit.Build(spec); c != nil {
		for _, p := range c.Parts() {
			for _, t := range p.Terminals {
				out.Names = append(out.Names, c.Terminal(t).Ref)
			}
		}
	}
	for _, k := range circuit.Kinds() {
		out.Names = append(out.Names, k.String())
	}
	return out
}

func describeHelp() [][2]string {
	var out [][2]string
	for _, h := range describe.Help {
		out = append(out, [2]string{h.Form, h.Means})
	}
	return out
}
