package schematic

type point struct{ x, y int }

// rect is a rectangle with both edges inside.
type rect struct{ x0, y0, x1, y1 int }

func (r rect) overlaps(o rect) bool {
	return r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1
}

func (r rect) grown(by int) rect { return rect{r.x0 - by, r.y0 - by, r.x1 + by, r.y1 + by} }

// segment is a horizontal or vertical line with its first end left or above.
type segment struct{ a, b point }

func (s segment) horizontal() bool { return s.a.y == s.b.y }

func (s segment) length() int { return s.b.x - s.a.x + s.b.y - s.a.y }

func (s segment) box() rect { return rect{s.a.x, s.a.y, s.b.x, s.b.y} }
