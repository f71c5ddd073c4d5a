package desk

import (
	"encoding/json"
	"errors"
)

// describePath is where lines that describe a machine are sent to.
const describePath = "/describe"

func (l *Library) describeHelp() [][2]string {
	if l.Describe == nil {
		return nil
	}
	return l.DescribeHelp
}

// describe writes a line into a netlist that the browser keeps, and tells how the
// machine is then: its lines, what the check says of it and, where it can be
// built, what an address calls it.
func (s *Shop) describe(r Request) (Answer, error) {
	var in struct{ File, Text, Line string }
	if s.lib.Describe == nil || s.lib.Read == nil {
		return Answer{}, errors.New("no machine can be described on this page")
	}
	if err := json.Unmarshal(r.Body, &in); err != nil {
		return Answer{}, errors.New("what describes a machine cannot be read: " + err.Error())
	}
	out := struct {
		Described
		Machine  string   `json:"machine,omitempty"`
		Title    string   `json:"title,omitempty"`
		Problems []string `json:"problems"`
	}{Described: s.lib.Describe(in.File, in.Text, in.Line), Problems: []string{}}
	c, print, problems := s.lib.Read(in.File, out.Text)
	for _, p := range problems {
		out.Problems = append(out.Problems, p.String())
	}
	if c != nil {
		out.Title = c.Title()
		var err error
		if out.Machine, err = s.own(c, print, in.File); err != nil {
			return Answer{}, err
		}
	}
	body, err := json.Marshal(out)
	return Answer{Kind: "application/json", Body: body}, err
}
