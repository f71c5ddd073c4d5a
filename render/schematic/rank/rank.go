// Package rank tells in which column, and in which order from top to bottom,
// the nodes of a drawing belong.
//
// [Layers] is where to start. Graphviz answers, started by the first question;
// a program that draws nothing does not start it. What it compiles itself to is
// kept in a folder that only the user can write (cache.go). A [Book] keeps the
// answers for a program that has no Graphviz, as the saved page has none.
package rank

// Edge points from left to right.
type Edge struct {
	From, To int
	// Weight pulls the two ends together, in column and in height; 0 means 1.
	Weight int
}

// Place is where a node belongs.
type Place struct {
	// Column counts from the left, from 0.
	Column int
	// Height orders the nodes from top to bottom; smaller is higher.
	Height float64
}
