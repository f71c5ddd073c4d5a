package circuit

import "testing"

func TestColoursAsPeopleWriteThem(t *testing.T) {
	for said, want := range map[string]string{
		"yellow": "YE", "blk/wht": "BKWH", "White with red stripe": "WHRD", "bkwh": "BKWH",
		"yegn": "GNYE", "yellow/green": "GNYE", "GNYE": "GNYE", "green with yellow stripe": "GNYE",
		"BKWHRD": "", "mauvish": "", "": "",
	} {
		if have := ColourCode(said); have != want {
			t.Errorf("%q is %q, expected %q", said, have, want)
		}
	}
}
