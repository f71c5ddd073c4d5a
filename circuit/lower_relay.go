package circuit

import (
	"cmp"
	"strings"
)

func lowerRelay(b *builder, p *Part) {
	s := p.Spec
	mover := BranchID(None)
	rule := Rule{Actuator: ByCoil, Timed: s.Timed}
	if s.DrivenBy != "" {
		if s.Volts > 0 || s.Watts > 0 {
			b.fail(b.path, "leave out volts and watts, or driven_by", "a board relay's coil has no terminals to rate")
			return
		}
		rule.Actuator = ByControl
		mover = b.branch(p, "coil", Drive, None, None).ID
	} else {
		if s.Volts == 0 || s.Watts == 0 {
			b.fail(b.path, "give the coil volts and watts, or driven_by", "a relay needs a coil")
			return
		}
		coil := b.load(p, "coil", "A1", "A2", s.Volts, s.Watts, s.PowerFactor)
		coil.Pickup, coil.Dropout = s.Volts*cmp.Or(s.PickupShare, DefaultPickup), s.Volts*cmp.Or(s.DropoutShare, DefaultDropout)
		if coil.Dropout > coil.Pickup {
			b.fail(b.path+".dropout", "at most the pickup", "the coil lets go at %g V and pulls in at %g V", coil.Dropout, coil.Pickup)
		}
		mover = coil.ID
	}
	rule.By = mover
	contacts := b.contacts(p, rule)
	if rule.Actuator == ByControl {
		b.drivenBy = append(b.drivenBy, pendingDrive{p.ID, contacts, mover})
	}
}

func lowerCentrifugal(b *builder, p *Part) {
	contacts := b.contacts(p, Rule{Actuator: ByCoil})
	b.drivenBy = append(b.drivenBy, pendingDrive{p.ID, contacts, None})
}

// contacts adds the contacts of a relay or centrifugal switch.
func (b *builder) contacts(p *Part, rule Rule) []BranchID {
	forms := p.Spec.Contacts
	if (len(forms) > 0) == (p.Spec.Contact != "") {
		b.fail(b.path, `like contact = "no"`, "a %s needs contact or contacts", p.Kind)
		return nil
	}
	if len(forms) == 0 {
		forms = map[string]string{"": p.Spec.Contact}
	}
	if len(forms) > MaxPoles {
		b.fail(b.path+".contacts", "", "%d contacts, more than the %d legtrace takes", len(forms), MaxPoles)
		return nil
	}
	var out []BranchID
	for _, name := range sortedKeys(forms) {
		prefix := ""
		if name != "" {
			if !validName(name) {
				b.fail(b.path+".contacts", "letters, digits, '_' and '-'", "%q cannot be a contact's name", name)
				continue
			}
			prefix = name + "."
		}
		form := forms[name]
		if form != "no" && form != "nc" && form != "changeover" {
			path := b.path + ".contact"
			if name != "" {
				path = b.path + ".contacts." + name
			}
			b.fail(path, `"no", "nc" or "changeover"`, "unknown contact form %q", form)
			continue
		}
		add := func(terminal string, normallyClosed bool) {
			branch := strings.TrimSuffix(prefix+"contact", ".")
			if form == "changeover" {
				branch = prefix + terminal
			} else if prefix != "" {
				branch = name
			}
			br := b.branch(p, branch, Contact, b.terminal(p, prefix+"com"), b.terminal(p, prefix+terminal))
			br.Rule = rule
			br.Rule.NormallyClosed = normallyClosed
			out = append(out, br.ID)
		}
		if form != "no" {
			add("nc", true)
		}
		if form != "nc" {
			add("no", false)
		}
	}
	return out
}
