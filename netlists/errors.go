package netlists

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Error is one thing wrong with a netlist. Message and Hint hold no control
// characters.
type Error struct {
	Position
	Message string
	// Hint says what would be right, or names the nearest valid name.
	Hint string
	// Warning marks what does not stop the machine from being used.
	Warning bool
}

// Error returns "file:line:column: message (hint)".
func (e Error) Error() string {
	s := e.Position.String() + ": "
	if e.Warning {
		s += "warning: "
	}
	s += sanitise(e.Message)
	if e.Hint != "" {
		s += " (" + sanitise(e.Hint) + ")"
	}
	return s
}

// Errors is everything wrong with a netlist, by file, line and column; warnings
// come last, since an error may be their cause.
type Errors []Error

// maxPrinted is how many errors are shown: a person mends the first few and
// runs the check again.
const maxPrinted = 50

// Error returns one line for each error, the first 50 of them.
func (e Errors) Error() string {
	var b strings.Builder
	for i, one := range e {
		if i == maxPrinted {
			fmt.Fprintf(&b, "\nand %d more", len(e)-i)
			break
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(one.Error())
	}
	return b.String()
}

// collector gathers what is found wrong.
type collector struct{ errs Errors }

func (c *collector) fail(at Position, hint, format string, args ...any) {
	c.errs = append(c.errs, Error{Position: at, Message: sanitise(fmt.Sprintf(format, args...)), Hint: sanitise(hint)})
}

// add takes what another reading found, of type [Errors].
func (c *collector) add(err error) {
	var list Errors
	errors.As(err, &list)
	c.errs = append(c.errs, list...)
}

// maxHints bounds the work spent on nearest-name hints: nobody reads more.
const maxHints = 500

// hinting reports whether another nearest-name hint is worth its time.
func (c *collector) hinting() bool { return len(c.errs) < maxHints }

func (c *collector) failed() bool {
	return slices.ContainsFunc(c.errs, func(e Error) bool { return !e.Warning })
}

func (c *collector) sorted() Errors {
	slices.SortStableFunc(c.errs, func(a, b Error) int {
		if a.Warning != b.Warning {
			if a.Warning {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return c.errs
}

// maxMessage is the longest piece of text shown, in bytes: names in a hostile
// file may be as long as the file.
const maxMessage = 400

// sanitise makes text safe to show on a terminal: what is not printable is
// escaped, what is too long is cut.
func sanitise(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) < 0 && len(s) <= maxMessage {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if b.Len() > maxMessage {
			b.WriteString("...")
			break
		}
		if unicode.IsPrint(r) {
			b.WriteRune(r)
			continue
		}
		quoted := strconv.QuoteRune(r)
		b.WriteString(quoted[1 : len(quoted)-1])
	}
	return b.String()
}
