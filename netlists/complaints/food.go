package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// baking are the words of what comes out of an oven.
type baking struct {
	// Food is what was cooked; Raw, Browned and Burnt how it came out, of which Plainly are
	// words of food alone.
	Food, Raw, Browned, Burnt, Plainly []string
	// Top and Bottom are its sides, Ends the others, of which one may be ahead.
	Top, Bottom, Ends []string
	// Half says that it is less.
	Half []string
	// Words may stand beside them, Parts between one side and the other; Before says that
	// what follows was not so.
	Words, Parts, Before []string
}

// done is how well a side of it was, from raw to burnt.
type done int

const (
	unsaid done = iota
	rawFood
	browned
	burntFood
)

// food notes what an oven does to what is in it, sentence piece by piece, and leaves the
// other words: "raw on the bottom and brown on top". A piece counts that holds nothing else.
func (r *reader) food(words []raw) (kept []raw) {
	if len(r.l.Baking.Food) == 0 || len(r.loadsOf(drives)) > 0 || !r.machine.words["oven"] && !r.machine.words["bake"] {
		return words
	}
	if r.ofBurner(words) {
		return words // "the burner goes off, the food never cooks"
	}
	spoken := false // of food
	for len(words) > 0 {
		n := slices.IndexFunc(words, func(w raw) bool { return strings.ContainsRune(".!?", w.mark) })
		if n < 0 {
			n = len(words)
		}
		cut := n
		for ; cut > 0; cut-- { // "pies pale after an hour, sensor replaced"
			if cut == n || words[cut].mark != 0 || slices.Contains(r.l.Baking.Parts, words[cut].word) {
				if st := r.baked(words[:cut], &spoken); len(st) > 0 {
					r.put(st[0])
					break
				}
			}
		}
		next := cut
		if cut == 0 { // none: on from the next one
			for next < n && words[next].mark == 0 && !slices.Contains(r.l.Baking.Parts, words[next].word) {
				next++
			}
			next = min(next+1, len(words))
			kept = append(kept, words[:next]...)
		}
		words = words[next:]
	}
	return kept
}

// ofBurner reports whether burners are spoken of, or a corner of a cooktop, and nothing
// that bakes.
func (r *reader) ofBurner(words []raw) bool {
	burner, where := false, false
	for i, w := range words {
		t := r.l.alone(singular(w.word))
		burner, where = burner || where && t.has(isWhere) && r.corneredBy(joined(words[i-1:i+1]), circuit.None) != circuit.None, t.has(isWhere) // "left rear"
		if !t.has(isNoun) {
			continue
		}
		switch of := r.l.nounOf(t); {
		case of.Of == "oven", of.Verb:
			return false
		case strings.HasPrefix(of.Of, "surface"):
			burner = true
		}
	}
	return burner
}

// baked is what words tell of what is baked, nothing where they tell of anything else.
func (r *reader) baked(words []raw, spoken *bool) []Statement {
	b := &r.l.Baking
	var how [4]done // of the whole, the top, the bottom, an end
	const whole, top, bottom, end = 0, 1, 2, 3
	at, now, plain, denied, food, ends, said := whole, unsaid, false, false, *spoken, 0, false
	part := func() {
		if now != unsaid {
			if said = true; at == end {
				ends++
			}
			how[at] = max(how[at], now)
		}
		at, now, denied = whole, unsaid, false
	}
	for i, w := range words {
		is := func(list []string) bool { return slices.Contains(list, singular(w.word)) || r.l.formOf(w.word, list) }
		which := func(lists ...[]string) int { return 1 + slices.IndexFunc(lists, is) } // 0: none of them
		level := [...]done{unsaid, burntFood, browned, rawFood}[which(b.Burnt, b.Browned, b.Raw)]
		side := [...]int{whole, top, bottom, end}[which(b.Top, b.Bottom, b.Ends)]
		t := r.l.alone(w.word)
		switch {
		case level != unsaid:
			if plain = plain || is(b.Plainly) && (denied || level != browned); denied && level == browned {
				level = rawFood // "does not brown"
			}
			if now != unsaid && now != level { // "raw in the middle burnt outside"
				part()
			}
			now = level
		case side != whole:
			if at != whole && at != side || now != unsaid && i+1 < len(words) && how[whole] == unsaid && at != whole {
				part()
			}
			at = side
		case is(b.Food):
			food, *spoken = true, true
		case w.mark != 0, slices.Contains(b.Parts, w.word):
			part()
			denied = slices.Contains(b.Before, w.word)
		case t.has(not), slices.Contains(b.Half, w.word):
			denied = true
		case !slices.Contains(b.Words, w.word) && !r.l.skip[w.word] && strings.Trim(w.word, "0123456789") != "" && !t.has(isNumber) && !t.has(isUnit) && !t.has(article):
			return nil
		}
	}
	if part(); !said || !food && !plain && !(how[top] != how[bottom] && min(how[top], how[bottom]) > unsaid) {
		return nil
	}
	return r.cooked(how[whole], how[top], how[bottom], ends > 1, joined(words))
}

// cooked tells of which element it is that one side stayed behind, else on which side of
// what was set the oven is.
func (r *reader) cooked(whole, top, bottom done, uneven bool, words string) []Statement {
	st := r.clauses[0].blank(OfWhole, &said{key: "off_by"})
	st.Words, st.Mode = words, mainMode(r.c)
	upper, lower := r.bakes()
	behind := circuit.BranchID(circuit.None)
	switch {
	case bottom == rawFood && top != rawFood:
		behind = lower
	case top == rawFood && bottom != rawFood:
		behind = upper
	}
	switch hot := max(whole, top, bottom); {
	case behind != circuit.None:
		st.Mode, st.About, st.What, st.Load, st.Any = circuit.None, OfLoad, "weak", behind, len(r.heard.Statements)+1
	case uneven, top == rawFood && bottom != unsaid, bottom == rawFood && top != unsaid, top == burntFood && bottom == unsaid, bottom == burntFood && top == unsaid && upper != circuit.None:
	case hot == burntFood:
		st.side = "above"
	case hot == rawFood:
		st.side = "below"
	default:
		return nil // as it should be
	}
	return []Statement{st}
}

// bakes are the loads above and below what is baked, None where there is none or the mode
// that bakes does not use it.
func (r *reader) bakes() (upper, lower circuit.BranchID) {
	upper, lower = circuit.None, circuit.None
	loads := r.mainLoads(mainMode(r.c))
	for _, load := range loads {
		switch set := r.machine.parts[r.c.Branch(load).Part]; {
		case len(loads) == 1, set["lower"], set["bottom"], set["bake"]:
			lower = load
		case set["upper"], set["top"], set["broil"]:
			upper = load
		}
	}
	return upper, lower
}

// scorchedAbove drops what was told of burnt food where what heats below is dead: what is
// above heats alone.
func (r *reader) scorchedAbove() {
	_, lower := r.bakes()
	if lower == circuit.None || r.c.StoresHeat() || !r.wasSaid(lower, "dead") {
		return
	}
	r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool {
		return s.What == "off_by" && s.side == "above" && s.Mode == mainMode(r.c) && s.Amount == 0
	})
}
