package report

// Tidied tells which netlists were given the house look.
type Tidied struct {
	Document string       `json:"document" help:"which document this is"`
	Only     bool         `json:"check_only" help:"nothing was written"`
	Files    []TidiedFile `json:"files" help:"each file named, in that order"`
}

// TidiedFile is one of them.
type TidiedFile struct {
	File    string `json:"file" help:"as given"`
	Changed bool   `json:"changed" help:"it was changed, or would be; false where it had the house look"`
}

// Changed reports whether any file was changed, or would be.
func (d *Tidied) Changed() bool {
	for _, f := range d.Files {
		if f.Changed {
			return true
		}
	}
	return false
}

func (d *Tidied) blocks(p *page) {
	did := "tidied"
	if d.Only {
		did = "would change"
	}
	for _, f := range d.Files {
		word := "tidy already"
		if f.Changed {
			word = did
		}
		p.para(0, oneLine(f.File)+": "+word)
	}
}
